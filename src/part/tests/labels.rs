//! The label: one block on any part, however narrow or short.

use super::features::badly_placed;
use super::*;
use crate::layout::CrossKind;
use proptest::prelude::*;

/// Letters and figures alone: what folding leaves of a text.
fn bare(text: &str) -> String {
    text.chars().filter(char::is_ascii_alphanumeric).collect()
}

/// What is wrong with a part's label: it is one block with all its words in
/// their order, or the name alone, or not there; if not whole, that is told.
fn badly_labelled(part: &Part) -> Vec<String> {
    let kind = match part.kind {
        MemberKind::BasePlate => "base plate",
        MemberKind::TopPlate => "top plate",
        MemberKind::Doubler => "doubler",
        MemberKind::Cap => "wood cap",
    };
    let face = match part.face {
        Face::Upper => "above",
        Face::Lower => "below",
    };
    let (name, alloy, place) = (&part.name, &part.alloy, &part.place);
    let thickness = crate::quantity::thickness(part.thickness, FINE.show);
    let whole = format!("{name} {kind} seen from {face} {alloy} {thickness} qty 1 {place}");
    // Marked words that found no room as letters are lines of their own.
    let marked = [
        "D1",
        "S1",
        "CL",
        "PORT",
        "STBD",
        "THIS FACE UP",
        "UNDERSIDE",
        "OUTB'D",
    ];
    let (blocks, others): (Vec<&Label>, Vec<&Label>) =
        (part.labels.iter()).partition(|l| l.lines.join(" ").starts_with(name));
    let told = part.left_out.contains(&"its label".to_owned());
    let mut out = Vec::new();
    for l in others {
        if l.lines.len() != 1 || !marked.contains(&l.lines[0].as_str()) {
            out.push(format!("{:?} stands apart", l.lines));
        }
    }
    match blocks[..] {
        [] if told => {}
        [block] => {
            let said = bare(&block.lines.concat());
            let right = if told { bare(name) } else { bare(&whole) };
            if said != right {
                out.push(format!("{:?} for {whole}", block.lines));
            }
            if block.height < 2.5 - 1e-9 {
                out.push(format!("{} mm high", block.height));
            }
        }
        _ => out.push(format!("{} labels", blocks.len())),
    }
    out
}

/// A place of so many letters.
fn place(letters: usize) -> String {
    let long = "port 4 ft 1 7/16 in to stbd 4 ft 1 7/16 in off CL, by the mizzen chain plate aft";
    long.repeat(2)[..letters].trim_end().to_owned()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn a_label_is_one_block_on_narrow_short_and_transom_parts(
        width in 30.0..110.0_f64, length in 60.0..700.0_f64, turn in -0.4..0.4_f64,
        letters in 4..120_usize, kind in 0..3_usize, holes in 0..8_u32,
        lower: bool, post: bool, across: bool,
    ) {
        let flat = Ring::new(turn / length, width);
        let ends = |_: f64| (0.0, length);
        let mut features: Vec<Feature> = (0..holes).map(|k| Feature::Hole {
            t: length * (f64::from(k) + 0.5) / f64::from(holes),
            w: if k % 2 == 0 { 15.0 / width } else { 1.0 - 15.0 / width },
            diameter: 10.0,
        }).collect();
        if post && length > 300.0 {
            let (a, b) = (0.3 * length, 0.3 * length + 50.0);
            let corners = vec![(a, 0.1), (b, 0.1), (b, 0.9), (a, 0.9)];
            features.retain(|f| !matches!(f, Feature::Hole { t, .. } if *t > a - 12.0 && *t < b + 12.0));
            features.push(Feature::Footprint { corners, name: "S1".into() });
        }
        if across {
            features.push(Feature::CrossLine {
                t: 0.5 * length, name: "CL".into(), kind: CrossKind::Centreline,
            });
        }
        let place = place(letters);
        let mut given = input(&flat, &ends, &features);
        given.kind = [MemberKind::BasePlate, MemberKind::TopPlate, MemberKind::Doubler][kind];
        given.marked = if lower { Face::Lower } else { Face::Upper };
        given.place = &place;
        match detail(&given, &FINE) {
            Ok(part) => {
                prop_assert_eq!(badly_labelled(&part), Vec::<String>::new());
                prop_assert_eq!(badly_placed(&part), Vec::<String>::new());
            }
            // Holes that break out of a narrow part, or no room for its name.
            Err(e) => prop_assert!(holes > 0 && (e.what.contains("hole") || e.what.contains("name")), "{}", e.what),
        }
    }
}

/// The plain cases of narrow pieces have their whole label, and letters that
/// are read.
#[test]
fn narrow_pieces_bear_their_whole_label() {
    for (width, length, least) in [
        (65.0, 305.0, 3.0),
        (65.0, 150.0, 2.5),
        (40.0, 250.0, 2.5),
        (90.0, 90.0, 2.5),
    ] {
        let flat = Ring::new(0.0001, width);
        let ends = |_: f64| (0.0, length);
        let place = place(49);
        let mut given = input(&flat, &ends, &[]);
        (given.kind, given.place) = (MemberKind::Doubler, &place);
        let part = detail(&given, &FINE).expect("a part");
        assert!(badly_labelled(&part).is_empty() && badly_placed(&part).is_empty());
        let told: Vec<&String> = part
            .left_out
            .iter()
            .filter(|t| t.contains("label"))
            .collect();
        assert!(told.is_empty(), "{width} x {length}: {told:?}");
        let block = part
            .labels
            .iter()
            .find(|l| l.lines[0].starts_with("B3"))
            .expect("a block");
        assert!(
            block.height > least - 1e-9,
            "{width} x {length}: {} mm",
            block.height
        );
    }
}

#[test]
fn a_spoilt_label_is_found() {
    let flat = Ring::new(0.0001, 65.0);
    let ends = |_: f64| (0.0, 400.0);
    let good = detail(&input(&flat, &ends, &[]), &FINE).expect("a part");
    assert!(badly_labelled(&good).is_empty() && badly_placed(&good).is_empty());
    let block = good.labels[0].clone();
    let with = |labels: Vec<Label>| Part {
        labels,
        ..good.clone()
    };
    // Scattered, as each line by itself.
    let line = |text: &String| Label {
        lines: vec![text.clone()],
        ..block.clone()
    };
    assert!(!badly_labelled(&with(block.lines.iter().map(line).collect())).is_empty());
    // A word lost, twice there, not there.
    let short = Label {
        lines: block.lines[..1].to_vec(),
        ..block.clone()
    };
    for labels in [vec![short], vec![block.clone(), block.clone()], vec![]] {
        assert!(!badly_labelled(&with(labels)).is_empty());
    }
    // Too small to be read.
    assert!(
        !badly_labelled(&with(vec![Label {
            height: 2.0,
            ..block.clone()
        }]))
        .is_empty()
    );
    // On the marked name, over the edge.
    let name = good.marks[0].strokes[0][0];
    for at in [name, vec2(block.at.x, block.at.y - 60.0)] {
        assert!(
            !badly_placed(&with(vec![Label {
                at,
                ..block.clone()
            }]))
            .is_empty()
        );
    }
    // The name on the picture so large that it touches the edge.
    let caption = good.caption.map(|c| Caption {
        height: 2.2 * c.height,
        ..c
    });
    assert!(caption.is_some());
    assert!(!badly_placed(&Part { caption, ..good }).is_empty());
}
