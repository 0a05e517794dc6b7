//! Gauss-Legendre places and weights on -1..1.

/// Three points: places 0 and sqrt(3/5), weights 8/9 and 5/9. Exact to the
/// fifth degree.
pub const GAUSS_3: [(f64, f64); 3] = [
    (-0.774_596_669_241_483_4, 5.0 / 9.0),
    (0.0, 8.0 / 9.0),
    (0.774_596_669_241_483_4, 5.0 / 9.0),
];

/// Five points (Abramowitz & Stegun, table 25.4). Exact to the ninth degree.
pub const GAUSS_5: [(f64, f64); 5] = [
    (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.0, 0.568_888_888_888_888_9),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.906_179_845_938_664, 0.236_926_885_056_189_1),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn even_powers_integrate_to_their_closed_form() {
        // The integral of x^n over -1..1 is 2 / (n + 1) for even n.
        for (table, most) in [(&GAUSS_3[..], 4), (&GAUSS_5[..], 8)] {
            for n in (0..=most).step_by(2) {
                let power = |x: f64| (0..n).fold(1.0, |p, _| p * x);
                let sum: f64 = table.iter().map(|(x, w)| w * power(*x)).sum();
                assert!((sum - 2.0 / f64::from(n + 1)).abs() < 1e-15, "{n}");
            }
        }
    }
}
