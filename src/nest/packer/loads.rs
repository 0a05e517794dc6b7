//! What each kind of part is thought to take of a sheet, learnt from the
//! mixes that found room and those that did not. Area alone says too little:
//! seven strips fill a sheet by two thirds, and seven that curve more or are
//! a little wider find no room.

use super::fill::Spec;
use super::plan::Plan;
use crate::geom::trig;

/// How sharply a mix is thought to fit or not: at 40 one load over by a
/// twentieth is given one chance in eight. Tries of strips bear that out:
/// about as many cleared as were thought to.
const SHARP: f64 = 40.0;
/// How much a mix that comes out against all odds changes its loads, as a
/// share of them.
const LEARN: f64 = 0.02;

/// Loads of the kinds of parts.
#[derive(Debug, Clone)]
pub(super) struct Loads {
    /// Of each class, as if it were area, mm2.
    of: Vec<f64>,
    /// Load that a sheet is thought to hold, as a share of its room.
    holds: f64,
}

impl Loads {
    /// Areas at first, and sheets that hold as much as half of them do.
    pub(super) fn new(spec: &Spec, plan: &Plan) -> Self {
        let share = |area: f64, room: f64| if room > 0.0 { area / room } else { 0.0 };
        let mut held: Vec<f64> = plan
            .sheets
            .iter()
            .map(|s| share(s.lay.area, s.lay.room.area()))
            .collect();
        held.sort_by(f64::total_cmp);
        Self {
            of: spec.classes.iter().map(|c| c.area).collect(),
            holds: held.get(held.len() / 2).copied().unwrap_or(1.0),
        }
    }

    /// Load of some parts, as a share of what a room of this area holds.
    pub(super) fn share(&self, spec: &Spec, parts: &[usize], room: f64) -> f64 {
        let sum: f64 = parts.iter().map(|&p| self.of[spec.of[p]]).sum();
        sum / (self.holds * room).max(f64::MIN_POSITIVE)
    }

    /// The chance that a load finds room, of what a room holds.
    pub(super) fn chance(load: f64) -> f64 {
        1.0 / (1.0 + trig::exp(SHARP * (load - 1.0)))
    }

    /// Learns from a mix that found room, or did not: a step up the slope of
    /// the likelihood (logistic regression, the loads taken in proportion).
    pub(super) fn learn(&mut self, spec: &Spec, parts: &[usize], room: f64, fits: bool) {
        let chance = Self::chance(self.share(spec, parts, room));
        let by = if fits { chance - 1.0 } else { chance };
        for &p in parts {
            self.of[spec.of[p]] *= 1.0 + LEARN * by;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::nest::packer::random::Random;
    use crate::nest::packer::shape::classes;
    use crate::nest::packer::spec;
    use crate::nest::tests::{job, rectangle, sheet};

    /// Parts of like area that take more and less of a sheet than it says:
    /// after some hundred mixes drawn at random nine of ten more are told right,
    /// which by area alone they are not.
    #[test]
    fn what_parts_take_beyond_their_area_is_learnt() {
        let sizes = [1000.0, 1001.0, 1002.0, 500.0];
        let takes = [0.135, 0.145, 0.165, 0.083];
        let parts: Vec<_> = (0..40).map(|i| rectangle(sizes[i % 4], 190.0)).collect();
        let job = job(parts, vec![sheet(3000.0, 1500.0, None, None)], 6.0, 10.0);
        let (classes, of) = classes(&job);
        let spec = spec(&job, classes, of);
        let room = 7.0 * 190_000.0;
        let mut loads = Loads {
            of: spec.classes.iter().map(|c| c.area).collect(),
            holds: 1.0,
        };
        let mut random = Random::new(1);
        let mut right = [0, 0];
        for k in 0..1200 {
            // Mixes near what a sheet holds: others are told by area too.
            let (mix, load) = loop {
                let count = 5 + random.below(8);
                let mix: Vec<usize> = (0..count).map(|_| random.below(40)).collect();
                let load: f64 = mix.iter().map(|i| takes[i % 4]).sum();
                if (load - 1.0).abs() < 0.1 {
                    break (mix, load);
                }
            };
            let told = Loads::chance(loads.share(&spec, &mix, room)) > 0.5;
            let fits = load <= 1.0;
            if !(200..1000).contains(&k) {
                right[usize::from(k >= 1000)] += usize::from(told == fits);
            }
            loads.learn(&spec, &mix, room, fits);
        }
        assert!(right[1] > 180, "{right:?}");
        let plain: f64 = 7.0 * 0.165;
        let wide: Vec<usize> = vec![2; 7];
        assert!(plain > 1.1 && Loads::chance(loads.share(&spec, &wide, room)) < 0.1);
    }
}
