//! Where the names of stanchions stand.

use proptest::prelude::*;

use super::features::{bears, check_room};
use super::*;
use crate::geom::outline::polygon_contains;
use crate::layout::CrossKind;

/// A word's letters, all of them.
fn letters_of<'p>(part: &'p Part, word: &str) -> Option<&'p [Vec<Vec2>]> {
    let first = bears(part, word)?;
    let marks = part.marks.iter().find(|m| m.strokes[0][0] == first);
    marks.map(|m| &m.strokes[..])
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// A stanchion's name stands in its footprint, whatever runs through that;
    /// where it has no room there, that is told.
    #[test]
    fn the_name_of_a_stanchion_is_in_its_footprint_or_told(
        line in -70.0..70.0_f64, lean in -30.0..30.0_f64, skew in -12.0..12.0_f64,
        side in 25.0..101.6_f64, hole in 0.0..1.0_f64, turn in -0.001..0.001_f64,
        lower: bool, runs_aft: bool,
    ) {
        let (t, width) = (900.0, 180.0);
        let (a, b) = (t - 0.5 * side, t + 0.5 * side);
        let (o, i) = (3.0 / width, (3.0 + side) / width);
        let sloped = skew / width;
        let corners = vec![(a, o), (b, o + sloped.max(0.0)), (b + lean, i), (a + lean, i - sloped.min(0.0))];
        let features = [
            Feature::Footprint { corners: corners.clone(), name: "1C".into() },
            Feature::CrossLine { t: t + line, name: "CL".into(), kind: CrossKind::Centreline },
            Feature::Hole { t: a + hole * side, w: 0.6, diameter: 10.5 },
        ];
        let flat = Ring::new(turn, width);
        let ends = |_: f64| (0.0, 1800.0);
        let mut given = input(&flat, &ends, &features);
        given.marked = if lower { Face::Lower } else { Face::Upper };
        given.runs_aft = runs_aft;
        let part = detail(&given, &Options::default()).expect("a part");
        check_room(&part);
        let box_: Vec<Vec2> = corners
            .iter()
            .map(|&(t, w)| part.frame.apply(flat.jet(t, w)[0]))
            .collect();
        let outside = letters_of(&part, "1C").is_none_or(|strokes| {
            strokes.iter().flatten().any(|&p| !polygon_contains(&box_, p))
        });
        let told = part.left_out.iter().any(|l| l.starts_with("1C"));
        prop_assert_eq!(outside, told, "{:?}", part.left_out);
    }
}
