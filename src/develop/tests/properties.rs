//! What must not change the flat: moving the strip, running through it the
//! other way, mirroring it.

use proptest::prelude::*;

use super::super::shapes::{Deck, Shape, deck};
use super::super::{Options, refold::gap};
use super::{flat, lifted, places};
use crate::geom::{Vec2, Vec3, trig, vec3};

fn decks() -> impl Strategy<Value = Deck> {
    (
        600.0..5000.0_f64,
        80.0..220.0_f64,
        1500.0..30_000.0_f64,
        -0.1..0.2_f64,
        -4e-5..4e-5_f64,
        -8e-5..8e-5_f64,
    )
        .prop_map(|(length, width, radius, slope, slope_rate, sheer)| Deck {
            length,
            width,
            radius,
            slope,
            slope_rate,
            sheer,
        })
}

fn skewed(d: Deck, skew: f64) -> Shape {
    let half = 0.5 * d.length - 100.0;
    deck(d).with_ends(move |w| (-half + skew * w, half + skew * w))
}

/// Turn about a slanting axis: about z, then about x.
fn turn(a: f64, b: f64) -> impl Fn(Vec3) -> Vec3 + Send + Sync + 'static {
    let (sa, ca, sb, cb) = (trig::sin(a), trig::cos(a), trig::sin(b), trig::cos(b));
    move |v| {
        let v = vec3(ca * v.x - sa * v.y, sa * v.x + ca * v.y, v.z);
        vec3(v.x, cb * v.y - sb * v.z, sb * v.y + cb * v.z)
    }
}

/// Flat places of the strip's own places.
fn points(shape: &Shape, at: &[(f64, f64)]) -> (Vec<Vec2>, f64) {
    let f = flat(shape, &Options::default());
    let points = at.iter().map(|&(t, w)| f.map.at(t, w)).collect();
    (points, f.stretch.signed)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn the_flat_does_not_change(
        d in decks(),
        skew in -60.0..60.0_f64,
        a in 0.0..6.0_f64,
        b in 0.0..3.0_f64,
    ) {
        let shape = skewed(d, skew);
        let at = places(&shape, 20, 4);
        let (original, stretch) = points(&shape, &at);

        let moved = skewed(d, skew).moved(turn(a, b), vec3(1e4, -3e3, 50.0));
        let (other, other_stretch) = points(&moved, &at);
        let off = gap(&lifted(&other), &lifted(&original)).expect("as many");
        prop_assert!(off < 1e-5, "moved: {off} mm");
        prop_assert!((stretch - other_stretch).abs() < 1e-9);

        let back: Vec<_> = at.iter().map(|&(t, w)| (-t, 1.0 - w)).collect();
        let (other, other_stretch) = points(&skewed(d, skew).reversed(), &back);
        let off = gap(&lifted(&other), &lifted(&original)).expect("as many");
        prop_assert!(off < 1e-5, "reversed: {off} mm");
        prop_assert!((stretch - other_stretch).abs() < 1e-9);

        let back: Vec<_> = at.iter().map(|&(t, w)| (-t, w)).collect();
        let (other, other_stretch) = points(&skewed(d, skew).mirrored(), &back);
        // The mirror image, turned over out of the plane, is no rigid fit in
        // the plane: compare with the mirrored flat.
        let flipped: Vec<Vec2> = other.iter().map(|p| Vec2 { x: p.x, y: -p.y }).collect();
        let off = gap(&lifted(&flipped), &lifted(&original)).expect("as many");
        prop_assert!(off < 1e-5, "mirrored: {off} mm");
        prop_assert!((stretch - other_stretch).abs() < 1e-9);
    }
}
