//! How a sheet is cut: the process's figures, where the job does not say.

use crate::job::{Cutting, Leads, Paths, SmallHoles, Tabs};
use crate::stock;

/// What goes for every cut of a sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Rules {
    /// Width of the cut, mm.
    pub kerf: f64,
    /// True where paths run half a kerf in the waste.
    pub compensated: bool,
    /// Lead-ins and lead-outs.
    pub leads: Option<Leads>,
    /// Tabs.
    pub tabs: Option<Tabs>,
    /// Smallest hole that the process cuts well, mm of diameter; nought where
    /// nothing is known of it.
    pub smallest_hole: f64,
    /// True where smaller holes are drilled.
    pub drill: bool,
    /// Cutting speed, mm/min, where it is known.
    pub speed: Option<f64>,
    /// Time of a pierce, s, where it is known.
    pub pierce_s: Option<f64>,
    /// Speed between cuts, mm/min, where it is known.
    pub travel: Option<f64>,
    /// Speed of the marking head, mm/min, where it is known.
    pub marking: Option<f64>,
    /// Time to drill a hole, s.
    pub drill_s: f64,
}

impl Rules {
    /// The job's figures, or the process's for plate of this thickness, mm.
    #[must_use]
    pub fn of(cutting: &Cutting, thickness: f64) -> Self {
        let process = stock::process(&cutting.process).ok();
        let usual = |f: &dyn Fn(&stock::Process) -> f64| process.map(f);
        Self {
            kerf: cutting.kerf,
            compensated: cutting.paths == Paths::Compensated,
            leads: cutting.leads,
            tabs: cutting.tabs,
            smallest_hole: cutting
                .smallest_hole
                .or_else(|| usual(&|p| p.smallest_hole(thickness)))
                .unwrap_or(0.0),
            drill: cutting.small_holes == SmallHoles::Drill,
            speed: cutting.speed.or_else(|| usual(&|p| p.speed(thickness))),
            pierce_s: cutting.pierce_s.or_else(|| usual(&|p| p.pierce(thickness))),
            travel: cutting.travel.or_else(|| usual(&|p| p.travel)),
            marking: cutting.marking.or_else(|| usual(&|p| p.marking)),
            drill_s: cutting.drill_s,
        }
    }
}
