//! What each kind of part is thought to take of a sheet, learnt from the
//! mixes that found room and those that did not. Area alone says too little:
//! seven strips fill a sheet by two thirds, and seven that curve more or are
//! a little wider find no room.

use super::fill::Spec;
use super::sheets::{Plan, Used};
use crate::geom::trig;

/// How sharply a mix is thought to fit or not: at 40 one load over by a
/// twentieth is given one chance in eight. Of tries of strips those given more
/// cleared more often; small chances are thought too high by some times.
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
        let mut held: Vec<f64> = plan.sheets.iter().map(Used::share).collect();
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
    use crate::nest::packer::made;
    use crate::nest::packer::random::Random;
    use crate::nest::tests::{job, rectangle, sheet};

    /// Parts of like area that take more and less of a sheet than it says:
    /// after a thousand mixes nine of ten are told right, and more than by area.
    #[test]
    fn what_parts_take_beyond_their_area_is_learnt() {
        let sizes = [1000.0, 1001.0, 1002.0, 500.0];
        let takes = [0.135, 0.145, 0.165, 0.083];
        let parts: Vec<_> = (0..40).map(|i| rectangle(sizes[i % 4], 190.0)).collect();
        let job = job(parts, vec![sheet(3000.0, 1500.0, None, None)], 6.0, 10.0);
        let (spec, _) = made::set(&job);
        let room = 7.0 * 190_000.0;
        let by_area = Loads {
            of: spec.classes.iter().map(|c| c.area).collect(),
            holds: 1.0,
        };
        let mut learnt = by_area.clone();
        let mut random = Random::new(1);
        // Mixes near what a sheet holds: others are told by area too.
        let mut mix = || loop {
            let count = 5 + random.below(8);
            let mix: Vec<usize> = (0..count).map(|_| random.below(40)).collect();
            let load: f64 = mix.iter().map(|i| takes[i % 4]).sum();
            if (load - 1.0).abs() < 0.1 {
                return (mix, load <= 1.0);
            }
        };
        for _ in 0..1000 {
            let (mix, fits) = mix();
            learnt.learn(&spec, &mix, room, fits);
        }
        let asked: Vec<_> = (0..200).map(|_| mix()).collect();
        let right = |loads: &Loads| {
            let told = |mix: &[usize]| Loads::chance(loads.share(&spec, mix, room)) > 0.5;
            asked
                .iter()
                .filter(|(mix, fits)| told(mix) == *fits)
                .count()
        };
        let (learnt, by_area) = (right(&learnt), right(&by_area));
        assert!(learnt > 180 && learnt > by_area + 10, "{learnt}, {by_area}");
    }

    /// A mix that came out as was thought changes next to nothing, one against
    /// the odds a fiftieth at most.
    #[test]
    fn surprises_teach_most() {
        let job = job(
            vec![rectangle(1000.0, 200.0)],
            vec![sheet(3000.0, 1500.0, None, None)],
            6.0,
            10.0,
        );
        let (spec, _) = made::set(&job);
        for (room, fits, by) in [
            (400_000.0, true, 0.0),
            (400_000.0, false, 0.02),
            (100_000.0, true, -0.02),
            (100_000.0, false, 0.0),
            (200_000.0, false, 0.01),
            (200_000.0, true, -0.01),
        ] {
            let mut loads = Loads {
                of: vec![200_000.0],
                holds: 1.0,
            };
            loads.learn(&spec, &[0], room, fits);
            let change = loads.of[0] / 200_000.0 - 1.0;
            assert!((change - by).abs() < 1e-6, "{room} {fits}: {change}");
        }
    }
}
