//! Two staggered rows of fastener holes along a piece of plate.

use super::divide::Spans;

/// Places of the holes along the piece: outboard row, inboard row.
pub(super) type Rows = [Vec<f64>; 2];

/// Places holes from `from` to `to` (centres), no further apart in a row than
/// `spacing` where the barred spans leave room, each row's spans its own. The
/// inboard row stands midway between the outboard holes.
pub(super) fn stagger(from: f64, to: f64, spacing: f64, barred: &[Spans; 2]) -> Rows {
    if to < from {
        return [vec![], vec![]];
    }
    let mut outboard = Vec::new();
    for (a, b) in barred[0].free(from, to) {
        outboard.extend(even(a, b, spacing));
    }
    let mut wanted: Vec<f64> = outboard.windows(2).map(|w| 0.5 * (w[0] + w[1])).collect();
    wanted.retain(|&x| !barred[1].covers(x));
    // Where the row's own bars took a hole away, or the outboard row left
    // more than the spacing, fill evenly.
    let mut inboard = Vec::new();
    for (a, b) in barred[1].free(from, to) {
        let mut stops: Vec<f64> = wanted
            .iter()
            .copied()
            .filter(|&x| x >= a && x <= b)
            .collect();
        if stops.is_empty() {
            inboard.extend(even(a, b, spacing));
            continue;
        }
        // Ends of the span further than the spacing from the nearest hole.
        if stops[0] - a > spacing {
            stops.insert(0, a);
        }
        if b - stops[stops.len() - 1] > spacing {
            stops.push(b);
        }
        for pair in stops.windows(2) {
            let mut fill = even(pair[0], pair[1], spacing);
            fill.pop();
            inboard.extend(fill);
        }
        inboard.push(stops[stops.len() - 1]);
    }
    [outboard, inboard]
}

/// Evenly spaced places on [a, b], both ends included; one in the middle
/// where two would crowd (closer than a third of the spacing).
fn even(a: f64, b: f64, spacing: f64) -> Vec<f64> {
    let room = b - a;
    if room < spacing / 3.0 {
        return vec![0.5 * (a + b)];
    }
    let count = (room / spacing - 1e-9).ceil().max(1.0);
    let mut out = vec![a];
    let mut k = 1.0;
    while k <= count {
        out.push(a + room * k / count);
        k += 1.0;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_stagger_and_keep_their_spacing() {
        let [out, inb] = stagger(50.0, 1050.0, 250.0, &Default::default());
        assert_eq!(out, vec![50.0, 300.0, 550.0, 800.0, 1050.0]);
        assert_eq!(inb, vec![175.0, 425.0, 675.0, 925.0]);
    }

    #[test]
    fn barred_spans_stay_free_of_holes() {
        let bar = Spans::union(vec![(400.0, 620.0)]);
        let [out, inb] = stagger(0.0, 1000.0, 200.0, &[bar.clone(), Spans::default()]);
        assert!(out.iter().all(|&x| !bar.covers(x)));
        assert!(out.contains(&400.0) && out.contains(&620.0));
        assert!(inb.windows(2).all(|w| w[1] - w[0] <= 200.0 + 1e-9));
        assert!(inb.contains(&510.0));
    }
}
