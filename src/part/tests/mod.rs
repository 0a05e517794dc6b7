//! Parts of closed form, and the brute-force checks of what is drawn.

mod features;
mod labels;
mod shapes;
mod stanchions;

use super::*;
use crate::develop::Stretch;
use crate::geom::{Outline, Vec2, trig, vec2};
use crate::layout::{Face, Feature, MemberKind};

/// A ring sector, t the length along the outboard edge: a cone's flat. A
/// zero curvature is a straight strip. The inboard edge lies to the left of
/// growing t; `hollow` is the sign of the curvature.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ring {
    pub(super) curvature: f64,
    pub(super) width: f64,
    pub(super) turn: f64,
    pub(super) shift: Vec2,
}

impl Ring {
    pub(super) fn new(curvature: f64, width: f64) -> Self {
        Self {
            curvature,
            width,
            turn: 0.0,
            shift: vec2(0.0, 0.0),
        }
    }
}

impl FlatSurface for Ring {
    fn jet(&self, t: f64, w: f64) -> [Vec2; 3] {
        let k = self.curvature;
        let a = k * t;
        let (d, n) = (
            vec2(trig::cos(a), trig::sin(a)),
            vec2(-trig::sin(a), trig::cos(a)),
        );
        let p = if k == 0.0 {
            vec2(t, 0.0)
        } else {
            vec2(trig::sin(a), 1.0 - trig::cos(a)) * (1.0 / k)
        };
        let p = p + n * (self.width * w);
        [
            p.turned(self.turn) + self.shift,
            (d * (1.0 - k * self.width * w)).turned(self.turn),
            (n * self.width).turned(self.turn),
        ]
    }
}

/// A strip whose direction changes along it: y' of a sum of two sines.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wave {
    pub(super) rise: f64,
    pub(super) length: f64,
    pub(super) width: f64,
}

impl FlatSurface for Wave {
    fn jet(&self, t: f64, w: f64) -> [Vec2; 3] {
        let f = std::f64::consts::PI / self.length;
        let y = self.rise * (trig::sin(f * t) + 0.2 * trig::sin(2.3 * f * t));
        let y1 = self.rise * f * (trig::cos(f * t) + 0.46 * trig::cos(2.3 * f * t));
        let y2 = -self.rise * f * f * (trig::sin(f * t) + 1.058 * trig::sin(2.3 * f * t));
        let s = (1.0 + y1 * y1).sqrt();
        let n = vec2(-y1, 1.0) * (1.0 / s);
        // d/dt of the unit normal.
        let n1 = vec2(-1.0, -y1) * (y2 / (s * s * s));
        [
            vec2(t, y) + n * (self.width * w),
            vec2(1.0, y1) + n1 * (self.width * w),
            n * self.width,
        ]
    }
}

/// Another map seen in a mirror (y turned about) and then turned and shifted.
pub(super) struct Moved<'a> {
    pub(super) flat: &'a dyn FlatSurface,
    pub(super) mirrored: bool,
    pub(super) turn: f64,
    pub(super) shift: Vec2,
}

impl FlatSurface for Moved<'_> {
    fn jet(&self, t: f64, w: f64) -> [Vec2; 3] {
        let side = if self.mirrored { -1.0 } else { 1.0 };
        let [p, dt, dw] = self
            .flat
            .jet(t, w)
            .map(|v| vec2(v.x, v.y * side).turned(self.turn));
        [p + self.shift, dt, dw]
    }
}

pub(super) fn input<'a>(
    flat: &'a dyn FlatSurface,
    ends: &'a dyn Fn(f64) -> (f64, f64),
    features: &'a [Feature],
) -> PartInput<'a> {
    PartInput {
        name: "B3",
        kind: MemberKind::BasePlate,
        alloy: "5086-H116",
        thickness: 12.7,
        marked: Face::Upper,
        runs_aft: false,
        side: crate::job::Side::Port,
        place: "port, sta 2105 mm to 5600 mm",
        allowance: None,
        features,
        flat,
        ends,
        bends: &[],
        stretch: Stretch::default(),
    }
}

pub(super) const FINE: Options = Options {
    outline_tolerance: 0.005,
    ordinate_spacing: 200.0,
    letter_height: 25.0,
    show: crate::length::Show::Mm,
};

/// Holes of 10.5 mm in two staggered rows, stanchions of 101.6 mm, stations.
pub(super) fn fit_out(length: f64, width: f64, stanchions: usize) -> Vec<Feature> {
    use crate::layout::CrossKind;
    let mut out = Vec::new();
    let pitch = length / stanchions as f64;
    let clear =
        |t: f64| (0..stanchions).all(|k| (t - pitch * (k as f64 + 0.5)).abs() > 51.0 + 25.0);
    let mut t = 50.0;
    let mut row = false;
    while t < length - 40.0 {
        if clear(t) {
            let off = if row { 30.0 } else { width - 30.0 };
            out.push(Feature::Hole {
                t,
                w: off / width,
                diameter: 10.5,
            });
        }
        row = !row;
        t += 100.0;
    }
    for k in 0..stanchions {
        let c = pitch * (k as f64 + 0.5);
        let (a, b) = (c - 50.8, c + 50.8);
        let (o, i) = (3.0 / width, 104.6 / width);
        out.push(Feature::Footprint {
            corners: vec![(a, o), (b, o), (b, i), (a, i)],
            name: format!("S{}", k + 9),
        });
    }
    let mut k = 1_u32;
    while f64::from(k) * 610.0 <= length {
        out.push(Feature::CrossLine {
            t: f64::from(k) * 610.0 - 100.0,
            name: format!("{:.2} m", f64::from(k) * 0.61),
            kind: CrossKind::Station,
        });
        k += 1;
    }
    out
}
