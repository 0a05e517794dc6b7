//! How a tube's end is cut to the plate that it meets.
//!
//! The seat is the plate's face under the tube's outline, which may be curved
//! or twisted; a saw cuts a plane. The plane is the one of least squares
//! through the seat at places spread evenly round the outline, moved along the tube until it
//! touches: what is then left open is the gap that the weld must fill.
//! Angles are in the tube's own axes, so that they are what a protractor
//! shows on the tube: from square, rising forward along its outboard face and
//! rising inboard.

use crate::geom::trig;

/// A place of the seat in the tube's axes, mm: forward along its outboard
/// face, inboard from it, and up along the tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct On {
    pub forward: f64,
    pub inboard: f64,
    pub up: f64,
}

/// The cut of one end of a tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TubeEnd {
    /// Angle from square, rad, positive where the cut rises forward.
    pub rise_forward: f64,
    /// Angle from square, rad, positive where the cut rises inboard.
    pub rise_inboard: f64,
    /// Largest gap between the cut and the plate's face round the tube's
    /// outline when they touch, square to the cut, mm.
    pub gap: f64,
}

impl TubeEnd {
    /// Tilt of the blade, rad, where the tube lies on its outboard face and
    /// the saw is swung by `rise_forward`: atan(tan b cos a), for the blade
    /// tilts about its own swung line.
    #[must_use]
    pub fn saw_tilt(&self) -> f64 {
        trig::atan(trig::tan(self.rise_inboard) * trig::cos(self.rise_forward))
    }
}

/// A plane across a tube: up = `at` + forward tan a + inboard tan b.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plane {
    pub end: TubeEnd,
    slopes: [f64; 2],
    at: f64,
}

impl Plane {
    /// The cut to a seat: on top of it for a foot, under it for a head.
    /// `None` where the places do not span a plane.
    pub(super) fn on(seat: &[On], head: bool) -> Option<Self> {
        let n = seat.len() as f64;
        let mean = |of: &dyn Fn(&On) -> f64| seat.iter().map(of).sum::<f64>() / n;
        let (f0, i0) = (mean(&|p| p.forward), mean(&|p| p.inboard));
        let part = |a: &dyn Fn(&On) -> f64, b: &dyn Fn(&On) -> f64| mean(&|p| a(p) * b(p));
        let forward = |p: &On| p.forward - f0;
        let inboard = |p: &On| p.inboard - i0;
        let up = |p: &On| p.up;
        let (ff, ii) = (part(&forward, &forward), part(&inboard, &inboard));
        let (fi, fu, iu) = (
            part(&forward, &inboard),
            part(&forward, &up),
            part(&inboard, &up),
        );
        let det = ff * ii - fi * fi;
        let slopes = [(fu * ii - iu * fi) / det, (iu * ff - fu * fi) / det];
        if !slopes.iter().all(|s| s.is_finite()) {
            return None;
        }
        let over = |p: &On| p.up - slopes[0] * p.forward - slopes[1] * p.inboard;
        let high = seat.iter().map(over).fold(f64::NEG_INFINITY, f64::max);
        let low = seat.iter().map(over).fold(f64::INFINITY, f64::min);
        let steep = (1.0 + slopes[0] * slopes[0] + slopes[1] * slopes[1]).sqrt();
        Some(Self {
            end: TubeEnd {
                rise_forward: trig::atan(slopes[0]),
                rise_inboard: trig::atan(slopes[1]),
                gap: (high - low) / steep,
            },
            slopes,
            at: if head { low } else { high },
        })
    }

    /// Height of the plane along the tube, mm.
    pub(super) fn up(&self, forward: f64, inboard: f64) -> f64 {
        self.at + self.slopes[0] * forward + self.slopes[1] * inboard
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIDE: f64 = 101.6;

    /// Sixteen places round a tube over a face of this height.
    fn round(face: impl Fn(f64, f64) -> f64) -> Vec<On> {
        let half = SIDE / 2.0;
        let corners = [(-half, 0.0), (half, 0.0), (half, SIDE), (-half, SIDE)];
        let mut out = Vec::new();
        for k in 0..4 {
            let (a, b): ((f64, f64), (f64, f64)) = (corners[k], corners[(k + 1) % 4]);
            for i in 0..4 {
                let f = f64::from(i) / 4.0;
                let (x, y) = (a.0 + f * (b.0 - a.0), a.1 + f * (b.1 - a.1));
                out.push(On {
                    forward: x,
                    inboard: y,
                    up: face(x, y),
                });
            }
        }
        out
    }

    /// Seats that slope alpha forward and beta inboard: saw mitre alpha, blade
    /// tilt atan(tan beta cos alpha), both together atan sqrt(tan^2 alpha +
    /// tan^2 beta), in degrees to a thousandth.
    #[test]
    fn a_plane_seat_is_cut_at_its_own_angles_and_leaves_no_gap() {
        for (alpha, beta, tilt, total) in [
            (4.0_f64, 2.5_f64, 2.494, 4.713),
            (10.0, 10.0, 9.851, 14.002),
        ] {
            let (p, q) = (trig::tan(alpha.to_radians()), trig::tan(beta.to_radians()));
            let plane = Plane::on(&round(|x, y| 7.0 + p * x + q * y), false).expect("a plane");
            let end = plane.end;
            assert!((end.rise_forward.to_degrees() - alpha).abs() < 1e-9);
            assert!((end.rise_inboard.to_degrees() - beta).abs() < 1e-9);
            assert!((end.saw_tilt().to_degrees() - tilt).abs() < 5e-4);
            let both = trig::atan((p * p + q * q).sqrt());
            assert!((both.to_degrees() - total).abs() < 5e-4);
            // The saw's plane is the seat's: swung by a and tilted by c its
            // normal is (-cos c sin a, -sin c, cos c cos a).
            let (a, c) = (end.rise_forward, end.saw_tilt());
            assert!((trig::tan(c) / trig::cos(a) - q).abs() < 1e-12);
            assert!(end.gap < 1e-12 && (plane.up(0.0, 0.0) - 7.0).abs() < 1e-9);
        }
    }

    /// A cylinder across the tube: the gap is the sagitta r - sqrt(r^2 - (a/2)^2).
    /// On a hump the foot rides on its middle, in a hollow on its edges.
    #[test]
    fn a_curved_seat_leaves_its_sagitta_open() {
        let (r, half): (f64, f64) = (1500.0, SIDE / 2.0);
        let sagitta = r - (r * r - half * half).sqrt();
        for sign in [1.0, -1.0] {
            let drop = |x: f64| sign * (r - (r * r - x * x).sqrt());
            let seat = round(|x, _| -drop(x));
            let foot = Plane::on(&seat, false).expect("a plane");
            assert!((foot.end.gap - sagitta).abs() < 1e-12);
            assert!(foot.end.rise_forward.abs() < 1e-12);
            let touches = if sign > 0.0 { 0.0 } else { sagitta };
            assert!((foot.up(half, SIDE) - touches).abs() < 1e-9);
            let head = Plane::on(&seat, true).expect("a plane");
            let touches = if sign > 0.0 { -sagitta } else { 0.0 };
            assert!((head.up(half, SIDE) - touches).abs() < 1e-9);
        }
    }

    /// A seat twisted by k per mm each way stands k a^2 / 4 high and low at
    /// its corners in turn about its own plane.
    #[test]
    fn a_twisted_seat_leaves_twice_its_corners() {
        let k = 2e-5;
        let half = SIDE / 2.0;
        let plane = Plane::on(&round(|x, y| k * x * (y - half)), false).expect("a plane");
        assert!((plane.end.gap - 2.0 * k * half * half).abs() < 1e-9);
    }
}
