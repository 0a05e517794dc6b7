//! Which points are worth measuring a second time.

use std::collections::BTreeMap;

use super::edge::FairChain;
use super::uncertainty::Again;
use crate::survey::Survey;

/// All measured points, the one whose second measurement brings most first.
pub(super) fn again(chains: &[FairChain], survey: &Survey) -> Vec<Again> {
    let (mut plan, mut up) = (0.0, 0.0);
    let lengths = || chains.iter().flat_map(|c| &c.lengths);
    for s in lengths().filter_map(|l| l.uncertainty.as_ref()) {
        plan += s.plan.whole;
        up += s.up.whole;
    }
    let share = |gain: f64, whole: f64| if whole > 0.0 { gain / whole } else { 0.0 };
    // A mirrored row stands for two points, a knuckle for one of two lengths.
    let mut rows: BTreeMap<(&str, usize), Again> = BTreeMap::new();
    for (chain, (fair, measured)) in chains.iter().zip(&survey.chains).enumerate() {
        for (length, (first, t)) in fair.lengths.iter().zip(starts(fair)) {
            let Some(s) = &length.uncertainty else {
                continue;
            };
            for (k, (p, u)) in s.plan.gains.iter().zip(&s.up.gains).enumerate() {
                let index = first + k;
                let point = &measured.points[index];
                let t = fair.points.get(index).map_or(t, |f| f.t);
                let row = rows
                    .entry((&point.file, point.line))
                    .or_insert_with(|| Again {
                        chain,
                        index,
                        name: point.name.clone(),
                        side: point.side,
                        both: false,
                        t,
                        plan_share: 0.0,
                        height_share: 0.0,
                    });
                row.both |= row.side != point.side;
                row.plan_share += share(*p, plan);
                row.height_share += share(*u, up);
            }
        }
    }
    let mut out: Vec<Again> = rows.into_values().collect();
    let by = |a: &Again| a.plan_share + a.height_share;
    out.sort_by(|a, b| {
        let order = by(b).total_cmp(&by(a));
        order.then((a.chain, a.index).cmp(&(b.chain, b.index)))
    });
    out
}

/// For each length of a chain, the index of its first point and its first t.
fn starts(chain: &FairChain) -> Vec<(usize, f64)> {
    let mut out = Vec::new();
    let mut first = 0;
    for length in &chain.lengths {
        out.push((first, length.range().0));
        let count = length
            .uncertainty
            .as_ref()
            .map_or(0, |s| s.plan.gains.len());
        // The next length begins with the knuckle that ends this one.
        first += count.saturating_sub(1);
    }
    out
}
