//! Written files read back, by our own reader and by the `dxf` crate.

use dxf::Drawing as DxfDrawing;

use super::*;
use crate::drawing::{Shape, part_drawing};
use crate::dxf::{Drawing as Read, Entity};
use crate::geom::trig::tan;
use crate::sample;

const ALL: [(DxfVersion, DxfUnits); 4] = [
    (DxfVersion::R12, DxfUnits::Mm),
    (DxfVersion::R12, DxfUnits::In),
    (DxfVersion::R2000, DxfUnits::Mm),
    (DxfVersion::R2000, DxfUnits::In),
];

#[test]
fn a_part_comes_back_with_its_arcs_closed_and_in_mm() {
    let part = sample::ring_sector("B1");
    let drawing = part_drawing(&part, &sample::job());
    let (outer, inner, angle) = sample::RING;
    // Ring sector: (R^2 - r^2) angle / 2.
    let area = (outer * outer - inner * inner) * angle / 2.0;
    for (release, units) in ALL {
        let text = dxf(&drawing, &sample::output(release, units)).unwrap();
        let back = Read::read("B1.dxf", &text).unwrap();
        let unit_mm = back.unit_mm(None, "").unwrap();
        let on = |layer: &str| -> Vec<Entity<'_>> {
            back.entities().filter(|e| e.layer() == layer).collect()
        };
        // Nine decimals of the drawing's unit.
        let same = 1e-9 * unit_mm;
        let cut = on("CUT");
        assert_eq!(cut.len(), 1);
        let cut = cut[0].profile(unit_mm).unwrap().expect("a profile");
        assert!((cut.area() - area).abs() < 1e-5);
        let bulges: Vec<f64> = cut.vertices.iter().map(|v| v.bulge).collect();
        let b = tan(angle / 4.0);
        for (got, want) in bulges.iter().zip([-b, 0.0, b, 0.0]) {
            assert!((got - want).abs() < 1e-11, "{got} {want}");
        }
        for (got, want) in cut.vertices.iter().zip(&part.outline.vertices) {
            assert!(got.at.distance(want.at) < same);
        }
        let holes = on("HOLE");
        assert_eq!(holes.len(), 2);
        assert!((holes[0].radius(unit_mm).unwrap() - 6.0).abs() < same);
        let centre = holes[0].vertices(unit_mm).unwrap()[0].at.plan();
        assert!(centre.distance(part.holes[0].centre) < same);
        let marks = on("MARK");
        assert_eq!(marks.len(), 2);
        assert_eq!(marks[1].vertices(unit_mm).unwrap().len(), 3);
        assert!(marks.iter().all(|m| m.profile(unit_mm) == Ok(None)));
        let texts: Vec<_> = on("LABEL").iter().map(Entity::text).collect();
        assert_eq!(texts, ["B1", "base plate"]);
        assert_eq!(back.entities().count(), 7);
    }
}

#[test]
fn the_header_states_units_and_extents() {
    let drawing = part_drawing(&sample::ring_sector("B1"), &sample::job());
    for (release, units) in ALL {
        let text = dxf(&drawing, &sample::output(release, units)).unwrap();
        let (code, metric) = match units {
            DxfUnits::Mm => ("4", "1"),
            DxfUnits::In => ("1", "0"),
        };
        assert!(text.contains(&format!("$INSUNITS\r\n 70\r\n{code}\r\n")));
        assert!(text.contains(&format!("$MEASUREMENT\r\n 70\r\n{metric}\r\n")));
        let file = DxfDrawing::load(&mut text.as_bytes()).unwrap();
        let (_, hi) = drawing.bounds().unwrap();
        let got = &file.header.maximum_drawing_extents;
        assert!((got.x - hi.x * units_per_mm(units)).abs() < 1e-6);
        assert!((got.y - hi.y * units_per_mm(units)).abs() < 1e-6);
    }
}

#[test]
fn the_same_drawing_is_the_same_bytes_and_holds_no_clock() {
    let drawing = sample::nested().sheet_drawing(0);
    for (release, units) in ALL {
        let output = sample::output(release, units);
        let text = dxf(&drawing, &output).unwrap();
        assert_eq!(text, dxf(&drawing, &output).unwrap());
        assert!(!text.contains("$TD") && !text.contains("GUID"));
        assert!(text.is_ascii());
    }
}

#[test]
fn release_12_has_no_subclass_markers_and_2000_has_unique_handles() {
    let drawing = part_drawing(&sample::ring_sector("B1"), &sample::job());
    let old = dxf(&drawing, &sample::output(DxfVersion::R12, DxfUnits::Mm)).unwrap();
    assert!(!old.contains("\r\n100\r\n") && !old.contains("\n  5\r\n"));
    let new = dxf(&drawing, &sample::output(DxfVersion::R2000, DxfUnits::Mm)).unwrap();
    let lines: Vec<&str> = new.lines().collect();
    let mut handles: Vec<&str> = lines
        .chunks(2)
        .skip_while(|p| p[1] != "TABLES")
        .filter(|p| matches!(p[0].trim(), "5" | "105"))
        .map(|p| p[1])
        .collect();
    let count = handles.len();
    handles.sort_unstable();
    handles.dedup();
    assert_eq!(handles.len(), count);
}

#[test]
fn layers_are_renamed_and_coloured_as_the_job_says() {
    let drawing = part_drawing(&sample::ring_sector("B1"), &sample::job());
    let mut output = sample::output(DxfVersion::R2000, DxfUnits::Mm);
    output.layers.insert(
        "CUT".into(),
        LayerStyle {
            name: "OUTSIDE".into(),
            colour: 3,
        },
    );
    let text = dxf(&drawing, &output).unwrap();
    let file = DxfDrawing::load(&mut text.as_bytes()).unwrap();
    let mut layers: Vec<(String, Option<u8>)> = file
        .layers()
        .map(|l| (l.name.clone(), l.color.index()))
        .collect();
    layers.sort();
    let plain = |n: &str| (n.to_owned(), Some(7));
    let want = [
        plain("0"),
        plain("HOLE"),
        plain("LABEL"),
        plain("MARK"),
        ("OUTSIDE".to_owned(), Some(3)),
    ];
    assert_eq!(layers, want);
}

#[test]
fn names_and_numbers_that_a_reader_refuses_are_faults() {
    let mut drawing = part_drawing(&sample::ring_sector("B1"), &sample::job());
    for (release, name) in [
        (DxfVersion::R12, "OUT SIDE"),
        (DxfVersion::R2000, "a/b"),
        (DxfVersion::R2000, ""),
        (DxfVersion::R2000, " CUT"),
    ] {
        let mut output = sample::output(release, DxfUnits::Mm);
        output.layers.insert(
            "CUT".into(),
            LayerStyle {
                name: name.into(),
                colour: 7,
            },
        );
        assert_eq!(
            dxf(&drawing, &output).unwrap_err().kind,
            Kind::Range,
            "{name}"
        );
    }
    let outline = drawing.items.iter_mut().find_map(|i| match &mut i.shape {
        Shape::Profile(o) => Some(o),
        _ => None,
    });
    outline.unwrap().vertices[0].at.x = f64::NAN;
    let output = sample::output(DxfVersion::R2000, DxfUnits::Mm);
    assert_eq!(dxf(&drawing, &output).unwrap_err().kind, Kind::Geometry);
}
