//! Camber moulds: how far the deck falls from its crown at a distance from
//! the centreline, by the construction named.

use std::f64::consts::PI;

use crate::geom::trig;
use crate::job::Construction;

/// A camber mould.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mould {
    /// Round-up: height of the crown over the mould's ends, mm.
    pub height: f64,
    /// Half the beam it is drawn over, mm, above zero.
    pub half_beam: f64,
    /// How it is drawn.
    pub construction: Construction,
}

impl Mould {
    /// Fall from the crown at `y` off the centreline (its sign is of no
    /// account), mm, and the fall's growth per unit outboard. Nought at the
    /// centreline, the whole round-up at the half-beam; each construction's
    /// own formula is continued a little beyond. `None` where it has no value
    /// (a circular arc beyond its own radius) or the mould is none.
    ///
    /// * Circular arc: R - sqrt(R^2 - y^2), R = (w^2 + h^2) / 2h.
    /// * Parabola: h (y/w)^2.
    /// * Quarter-circle construction: h - h sqrt(1 - 2q sin(pi q / 2) + q^2),
    ///   q = y/w. With e = 1 - q the root is e sqrt(1 + 4 (1 - e) (sin(pi e / 4) / e)^2),
    ///   which loses no figures at the edge and runs smoothly through it.
    #[must_use]
    pub fn fall(&self, y: f64) -> Option<(f64, f64)> {
        let (h, w, y) = (self.height, self.half_beam, y.abs());
        if !(w > 0.0 && (h + w + y).is_finite()) {
            return None;
        }
        let (fall, growth) = match self.construction {
            Construction::Parabola => (h * y * y / (w * w), 2.0 * h * y / (w * w)),
            Construction::CircularArc => {
                // The same with h in the numerator only, so that no round-up is a flat deck.
                let k = 2.0 * h / (w * w + h * h);
                let root = 1.0 - k * k * y * y;
                // Beyond the quarter circle the deck would overhang.
                if root <= 0.0 || h.abs() > w {
                    return None;
                }
                let root = root.sqrt();
                (k * y * y / (1.0 + root), k * y / root)
            }
            Construction::QuarterCircle => {
                let e = 1.0 - y / w;
                let (s, ds) = sine_ratio(e);
                let g = 1.0 + 4.0 * (1.0 - e) * s * s;
                let dg = -4.0 * s * s + 8.0 * (1.0 - e) * s * ds;
                if g <= 0.0 {
                    return None;
                }
                let root = g.sqrt();
                (h - h * e * root, h / w * (root + e * dg / (2.0 * root)))
            }
        };
        (fall.is_finite() && growth.is_finite()).then_some((fall, growth))
    }
}

/// sin(pi e / 4) / e and its derivative, by series where e is small.
fn sine_ratio(e: f64) -> (f64, f64) {
    let a = PI / 4.0;
    if e.abs() < 1e-3 {
        // The next terms are below 1e-12 of the value.
        let a3 = a * a * a;
        return (a - a3 * e * e / 6.0, -a3 * e / 3.0);
    }
    let s = trig::sin(a * e);
    (s / e, (a * trig::cos(a * e) * e - s) / (e * e))
}

#[cfg(test)]
mod tests {
    use super::*;
    use Construction::{CircularArc, Parabola, QuarterCircle};

    fn mould(construction: Construction) -> Mould {
        Mould {
            height: 3.0,
            half_beam: 48.0,
            construction,
        }
    }

    fn rise(construction: Construction, y: f64) -> f64 {
        3.0 - mould(construction).fall(y).expect("on the mould").0
    }

    #[test]
    fn constructions_have_their_worked_values() {
        // Half-beam 48, round-up 3, worked from the formulas: quarter-circle
        // y = h sqrt(1 - (2x/w) sin(pi x / 2w) + (x/w)^2); parabola h (1 - (x/w)^2);
        // circular arc through crown and ends.
        let cases = [
            (QuarterCircle, [3.0, 2.800, 2.210, 1.261, 0.0], 5e-4),
            (Parabola, [3.0, 2.8125, 2.25, 1.3125, 0.0], 1e-12),
            (CircularArc, [3.0, 2.813, 2.252, 1.315, 0.0], 5e-4),
        ];
        for (construction, expected, within) in cases {
            for (k, e) in expected.iter().enumerate() {
                let y = 12.0 * k as f64;
                assert!(
                    (rise(construction, y) - e).abs() <= within,
                    "{construction:?} {y}"
                );
                assert!((rise(construction, -y) - e).abs() <= within);
            }
        }
    }

    #[test]
    fn the_quarter_circle_is_its_published_formula_everywhere() {
        for k in 0..48 {
            let x = f64::from(k);
            let q = x / 48.0;
            let f = 3.0 * (1.0 - 2.0 * q * trig::sin(PI * q / 2.0) + q * q).sqrt();
            assert!((rise(QuarterCircle, x) - f).abs() < 1e-12, "{x}");
        }
    }

    #[test]
    fn growth_is_the_derivative_of_the_fall_also_through_the_edge() {
        let h = 1e-4;
        for c in [CircularArc, Parabola, QuarterCircle] {
            for y in [0.01, 5.0, 20.0, 47.0, 47.96, 48.0, 48.04, 50.0] {
                let m = mould(c);
                let at = |y: f64| m.fall(y).expect("on the mould");
                let difference = (at(y + h).0 - at(y - h).0) / (2.0 * h);
                assert!((at(y).1 - difference).abs() < 1e-8, "{c:?} {y}");
            }
            assert!(mould(c).fall(0.0).expect("on the mould").1.abs() < 1e-15);
        }
        // At the edge, in closed form.
        let edge = |c: Construction| mould(c).fall(48.0).expect("on the mould").1;
        assert!((edge(Parabola) - 2.0 * 3.0 / 48.0).abs() < 1e-15);
        assert!((edge(CircularArc) - 48.0 / (385.5 - 3.0)).abs() < 1e-15);
        let quarter = 3.0 / 48.0 * (1.0 + PI * PI / 4.0).sqrt();
        assert!((edge(QuarterCircle) - quarter).abs() < 1e-15);
    }

    #[test]
    fn no_mould_no_value() {
        for c in [CircularArc, Parabola, QuarterCircle] {
            let flat = Mould {
                height: 0.0,
                half_beam: 1000.0,
                construction: c,
            };
            assert_eq!(flat.fall(700.0), Some((0.0, 0.0)));
            let none = Mould {
                height: 10.0,
                half_beam: 0.0,
                construction: c,
            };
            assert_eq!(none.fall(0.0), None);
            let unending = Mould {
                height: f64::NAN,
                half_beam: 1.0,
                construction: c,
            };
            assert_eq!(unending.fall(0.0), None);
        }
        assert_eq!(mould(CircularArc).fall(400.0), None);
    }
}
