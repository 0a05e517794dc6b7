//! From a nested sheet to its cuts in order.

use super::lead::{self, Ground, Start};
use super::marks::Marks;
use super::model::{Cut, CutPath, Drill, Figures, Input, Plan, Step};
use super::profile::{Compensated, compensated};
use super::tabs;
use super::walk::Walk;
use crate::fault::{Fault, Kind, Place};
use crate::geom::{Outline, Vec2, vec2};
use crate::part::Part;

/// A start without a lead keeps this far from corners, mm, where it can.
const OFF_CORNER: f64 = 10.0;
/// Names told in one warning.
const MOST_TOLD: usize = 12;

/// A net profile on the sheet.
pub(super) struct Net {
    pub(super) placed: usize,
    pub(super) hole: Option<usize>,
    pub(super) profile: Outline,
}

impl Net {
    /// True for the outer profile of a part.
    pub(super) fn round(&self, placed: usize) -> bool {
        self.hole.is_none() && self.placed == placed
    }
}

pub(super) struct Planner<'a> {
    pub(super) input: &'a Input<'a>,
    pub(super) nets: Vec<Net>,
    /// Walks of all net profiles in their order, then of the sheet's edge and
    /// its clamps.
    pub(super) walks: Vec<Walk>,
    shortened: Vec<String>,
    bare: Vec<String>,
    notched: Vec<String>,
    untabbed: Vec<String>,
}

/// Plans the cutting of a sheet.
///
/// # Errors
/// A profile that the cut cannot follow at all: a hole narrower than the
/// kerf that is not to be drilled, or a profile that does not come out as one
/// loop ([`Kind::Geometry`]).
pub fn plan(input: &Input<'_>) -> Result<Plan, Fault> {
    let mut planner = Planner::new(input);
    let rules = input.rules;
    let mut drills = Vec::new();
    let mut steps = Vec::new();
    let mut small = 0;
    for k in 0..planner.nets.len() {
        let (placed, hole) = (planner.nets[k].placed, planner.nets[k].hole);
        if let (Some(h), Some(part)) = (hole, planner.part(placed)) {
            let drilled = part.holes[h];
            if drilled.diameter < rules.smallest_hole {
                if rules.drill {
                    drills.push(Drill {
                        placed,
                        hole: h,
                        centre: input.nested.placed[placed].placement.apply(drilled.centre),
                        diameter: drilled.diameter,
                    });
                    continue;
                }
                small += 1;
            }
        }
        steps.push(planner.step(k)?);
    }
    let listed = travel(&steps);
    let steps = planner.ordered(steps);
    let cuts = || steps.iter().flat_map(|s| &s.cuts);
    let marks = Marks::of(input, &drills);
    let cut_length: f64 = cuts().map(Cut::length).sum();
    let mut figures = Figures {
        pierces: cuts().count(),
        cut_length,
        kerf_loss: cut_length * rules.kerf,
        travel: travel(&steps),
        travel_as_listed: listed,
        time_s: None,
        drilled: drills.len(),
        drill_time_s: drills.len() as f64 * rules.drill_s,
        mark_strokes: marks.strokes,
        mark_length: marks.length,
        mark_time_s: marks.time(input),
        small_holes: small,
        tabs: cuts()
            .filter(|c| matches!(c.path, CutPath::Open(_)))
            .count(),
    };
    figures.time_s = time(&figures, input);
    let plain = !rules.compensated && rules.leads.is_none() && figures.tabs == 0 && !rules.drill;
    Ok(Plan {
        steps,
        drills,
        figures,
        warnings: planner.warnings(),
        plain,
    })
}

/// Seconds: cut length over speed, pierces, travel over its speed.
fn time(f: &Figures, input: &Input<'_>) -> Option<f64> {
    let r = input.rules;
    Some(
        f.cut_length / r.speed? * 60.0
            + f.pierces as f64 * r.pierce_s?
            + f.travel / r.travel? * 60.0,
    )
}

/// Way between cuts, mm, from the sheet's lower left corner.
fn travel(steps: &[Step]) -> f64 {
    let mut at = vec2(0.0, 0.0);
    let mut sum = 0.0;
    for cut in steps.iter().flat_map(|s| &s.cuts) {
        sum += at.distance(cut.pierce());
        at = cut.end();
    }
    sum
}

impl<'a> Planner<'a> {
    fn new(input: &'a Input<'a>) -> Self {
        let mut nets = Vec::new();
        for (i, placed) in input.nested.placed.iter().enumerate() {
            let Some(part) = input.parts.get(placed.part) else {
                continue;
            };
            for (h, hole) in part.holes.iter().enumerate() {
                let circle = Outline::circle(hole.centre, hole.diameter / 2.0).reversed();
                nets.push(Net {
                    placed: i,
                    hole: Some(h),
                    profile: circle.placed(placed.placement),
                });
            }
            nets.push(Net {
                placed: i,
                hole: None,
                profile: part.outline.placed(placed.placement),
            });
        }
        nets.retain(|n| n.profile.perimeter() > 0.0);
        let mut walks: Vec<Walk> = nets.iter().map(|n| Walk::new(&n.profile)).collect();
        let rectangle = |lo: Vec2, hi: Vec2| Walk::new(&Outline::rectangle(lo, hi));
        match &input.stock.shape {
            Some(region) => walks.extend(region.profiles().map(Walk::new)),
            None => walks.push(rectangle(
                vec2(0.0, 0.0),
                vec2(input.stock.length, input.stock.width),
            )),
        }
        walks.extend(input.stock.clamps.iter().map(|z| rectangle(z.lo, z.hi)));
        Self {
            input,
            nets,
            walks,
            shortened: Vec::new(),
            bare: Vec::new(),
            notched: Vec::new(),
            untabbed: Vec::new(),
        }
    }

    fn part(&self, placed: usize) -> Option<&'a Part> {
        let placed = self.input.nested.placed.get(placed)?;
        self.input.parts.get(placed.part).copied()
    }

    /// A profile's name for people.
    fn name(&self, k: usize) -> String {
        let net = &self.nets[k];
        let part = self.part_name(net.placed);
        match net.hole {
            None => part.to_owned(),
            Some(h) => format!("{part} hole {}", h + 1),
        }
    }

    fn part_name(&self, placed: usize) -> &'a str {
        self.part(placed).map_or("?", |p| p.name.as_str())
    }

    /// The cuts of a net profile.
    fn step(&mut self, k: usize) -> Result<Step, Fault> {
        let rules = self.input.rules;
        let net = &self.nets[k];
        let (placed, hole) = (net.placed, net.hole);
        let mut path = net.profile.clone();
        if rules.compensated {
            match compensated(&net.profile, rules.kerf) {
                Compensated::Path { path: way, left } => {
                    path = way;
                    if left.is_some() {
                        self.notched.push(self.name(k));
                    }
                }
                Compensated::None => return Err(self.no_path(k)),
            }
        }
        if rules.leads.is_some() {
            path = path.reversed();
        }
        let walk = Walk::new(&path);
        let held = match (hole, rules.tabs) {
            (None, Some(tabs)) if self.is_small(placed) => {
                let open = tabs.width + rules.kerf;
                let off = rules.leads.map_or(0.0, |l| l.off_corner);
                let at = tabs::places(&walk, &tabs, open, (off, self.ground(k).tight()));
                if at.len() < tabs.count {
                    self.untabbed.push(self.name(k));
                }
                at.into_iter().map(|s| (s, open)).collect()
            }
            _ => Vec::new(),
        };
        let cuts = if held.is_empty() {
            vec![self.whole(k, &walk, path)]
        } else {
            self.held(k, &walk, &held)
        };
        Ok(Step { placed, hole, cuts })
    }

    fn no_path(&self, k: usize) -> Fault {
        let (what, mend) = match self.nets[k].hole {
            Some(_) => (
                "is no wider than the cut",
                "set cutting.small_holes = \"drill\", or a narrower cutting.kerf",
            ),
            None => (
                "does not come out as one loop",
                "set cutting.paths = \"net\", or a narrower cutting.kerf",
            ),
        };
        Fault::new(
            Kind::Geometry,
            Place::default().field("cutting.paths"),
            format!(
                "{} on {} {what} when its path is moved by half of cutting.kerf",
                self.name(k),
                self.input.name
            ),
            mend,
        )
    }

    /// True for a part that is held by tabs.
    fn is_small(&self, placed: usize) -> bool {
        let (Some(tabs), Some(part)) = (self.input.rules.tabs, self.part(placed)) else {
            return false;
        };
        let index = self.input.nested.placed[placed].part;
        let mass = self.input.masses_kg.get(index);
        tabs.hold(mass.copied().unwrap_or(f64::INFINITY), &part.outline)
    }

    fn ground(&self, k: usize) -> Ground<'_> {
        let half_kerf = 0.5 * self.input.rules.kerf;
        Ground {
            all: &self.walks,
            own: k,
            net: &self.nets[k].profile,
            hole: self.nets[k].hole.is_some(),
            half_kerf,
            off: if self.input.rules.compensated {
                half_kerf
            } else {
                0.0
            },
        }
    }

    /// One cut all round.
    fn whole(&mut self, k: usize, walk: &Walk, path: Outline) -> Cut {
        let Some(leads) = self.input.rules.leads else {
            return Cut {
                lead_in: Vec::new(),
                path: CutPath::Closed(path),
                lead_out: Vec::new(),
            };
        };
        let start = lead::start(walk, &leads, &self.ground(k));
        let bare = lead::plain_start(walk, OFF_CORNER, self.ground(k).tight());
        let start = self.noted(k, start, bare);
        Cut {
            lead_in: start.lead_in,
            path: CutPath::Closed(walk.begun(start.at)),
            lead_out: start.lead_out,
        }
    }

    /// The start found, or one on the profile itself; what is short is noted.
    fn noted(&mut self, k: usize, found: Option<Start>, bare: f64) -> Start {
        match found {
            Some(start) => {
                // In a hole a lead is as long as the hole lets it be.
                if start.shortened && self.nets[k].hole.is_none() {
                    self.shortened.push(self.name(k));
                }
                start
            }
            None => {
                self.bare.push(self.name(k));
                Start {
                    at: bare,
                    lead_in: Vec::new(),
                    lead_out: Vec::new(),
                    shortened: false,
                }
            }
        }
    }

    /// Cuts between tabs, each from just behind one to just before the next.
    fn held(&mut self, k: usize, walk: &Walk, tabs: &[(f64, f64)]) -> Vec<Cut> {
        let mut out = Vec::new();
        for (i, &(s, open)) in tabs.iter().enumerate() {
            let next = match tabs.get(i + 1) {
                Some(n) => n.0,
                None => tabs[0].0 + walk.length,
            };
            let from = s + 0.5 * open;
            let length = next - 0.5 * open - from;
            let lead_in = match self.input.rules.leads {
                Some(leads) => {
                    let start = lead::start_at(walk, from, &leads, &self.ground(k));
                    self.noted(k, start, from).lead_in
                }
                None => Vec::new(),
            };
            out.push(Cut {
                lead_in,
                path: CutPath::Open(walk.stretch(from, length)),
                lead_out: Vec::new(),
            });
        }
        out
    }

    fn warnings(&self) -> Vec<String> {
        let told = |names: &[String], text: &str| {
            (!names.is_empty()).then(|| {
                let mut list = names.to_vec();
                list.dedup();
                let more = list.len().saturating_sub(MOST_TOLD);
                list.truncate(MOST_TOLD);
                let more = if more > 0 {
                    format!(" and {more} more")
                } else {
                    String::new()
                };
                format!("{}: {text}: {}{more}", self.input.name, list.join(", "))
            })
        };
        [
            told(&self.shortened, "the lead is shortened for want of room"),
            told(&self.bare, "no room for a lead, the pierce is on the line"),
            told(
                &self.notched,
                "the cut does not reach into a notch or corner, more than half a kerf of metal stays",
            ),
            told(&self.untabbed, "too little straight edge for all tabs"),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}
