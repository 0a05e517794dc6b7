//! The reader against the `dxf` crate, and against what is no drawing.

use std::fs;

use dxf::entities::{Entity as Other, EntityType};

use super::*;
use crate::geom::{Outline, Vec3, vec3};

/// A drawing of entities.
fn drawing(entities: &str) -> String {
    format!("0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n")
}

/// Places and bulges of an entity.
type Figures = Vec<(Vec3, f64)>;

fn ours(e: &Entity<'_>) -> Figures {
    let vertices = e.vertices(1.0).expect("sound");
    vertices.iter().map(|v| (v.at, v.bulge)).collect()
}

/// By the crate.
fn theirs(e: &Other) -> Figures {
    let at = |p: &dxf::Point| (vec3(p.x, p.y, p.z), 0.0);
    match &e.specific {
        EntityType::ModelPoint(p) => vec![at(&p.location)],
        EntityType::Line(l) => vec![at(&l.p1), at(&l.p2)],
        EntityType::Circle(c) => vec![at(&c.center)],
        EntityType::Text(t) => vec![at(&t.location)],
        EntityType::LwPolyline(p) => {
            let z = e.common.elevation;
            let each = p.vertices.iter();
            each.map(|v| (vec3(v.x, v.y, z), v.bulge)).collect()
        }
        EntityType::Polyline(p) => {
            let z = |own: f64| if p.flags & 8 == 0 { p.location.z } else { own };
            let each = p.vertices().map(|v| (&v.location, v.bulge));
            each.map(|(p, b)| (vec3(p.x, p.y, z(p.z)), b)).collect()
        }
        other => panic!("{other:?}"),
    }
}

fn same(bytes: Vec<u8>) {
    let other = dxf::Drawing::load(&mut &bytes[..]).expect("sound");
    let text = drawing_text(bytes);
    let own = Drawing::read("a.dxf", &text).expect("sound");
    assert_eq!(own.entities().count(), other.entities().count());
    for (a, b) in own.entities().zip(other.entities()) {
        assert_eq!(a.layer(), b.common.layer);
        assert_eq!(ours(&a), theirs(b));
        match &b.specific {
            EntityType::Circle(c) => assert!((a.radius(1.0).unwrap() - c.radius).abs() < 1e-12),
            EntityType::Text(t) => assert_eq!(a.text(), t.value),
            EntityType::LwPolyline(p) => {
                assert_eq!(a.profile(1.0).unwrap().is_some(), p.is_closed());
            }
            _ => {}
        }
    }
}

#[test]
fn the_dxf_crate_reads_the_same() {
    for version in ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"] {
        let top = env!("CARGO_MANIFEST_DIR");
        let path = format!("{top}/fixtures/drawings/edge-{version}.dxf");
        same(fs::read(path).expect("a fixture"));
    }
    same(drawing(
        "0\nLWPOLYLINE\n8\nA\\U+00C5\n90\n3\n70\n1\n38\n7.5\n10\n1\n20\n2\n42\n0.5\n10\n3\n20\n4\n10\n5\n20\n-6e1\n\
         0\nPOLYLINE\n8\nB\n66\n1\n70\n0\n10\n0\n20\n0\n30\n9.25\n0\nVERTEX\n8\nB\n10\n1\n20\n2\n30\n3\n42\n-1\n\
         0\nVERTEX\n8\nB\n10\n4\n20\n5\n0\nSEQEND\n8\nB\n0\nLWPOLYLINE\n8\nC\n90\n2\n70\n0\n10\n1\n20\n2\n10\n3\n20\n4\n",
    ).into_bytes());
}

/// Why people's drawings are not read by the crate.
#[test]
fn the_dxf_crate_loses_figures_in_silence() {
    let line = "0\nLINE\n8\n0\n10\n1\n20\n2\n11\n3\n21\n4\n";
    let load = |entities: &str| {
        let text = drawing(entities);
        let drawing = dxf::Drawing::load(&mut text.as_bytes()).expect("taken");
        drawing.entities().map(theirs).collect::<Vec<_>>()
    };
    let nought = load(&line.replace("20\n2\n", ""));
    assert_eq!(
        nought,
        [[(vec3(1.0, 0.0, 0.0), 0.0), (vec3(3.0, 4.0, 0.0), 0.0)]]
    );
    assert!(
        load(&line.replace("20\n2\n", "20\nnan\n"))[0][0]
            .0
            .y
            .is_nan()
    );
    let two = [line, &line.replace("21\n4\n", "21\n4O\n")].concat();
    assert_eq!(load(&two).len(), 1);
}

#[test]
fn a_figure_that_is_none_is_told_at_its_line() {
    let light =
        "0\nLWPOLYLINE\n5\n2A\n8\n0\n70\n1\n10\n1\n20\n2\n42\n0\n10\n3\n20\n4\n10\n5\n20\n9\n";
    let heavy = "0\nPOLYLINE\n8\n0\n70\n9\n0\nVERTEX\n10\n1\n20\n2\n30\n3\n0\nVERTEX\n10\n4\n20\n5\n30\n6\n0\nSEQEND\n";
    let circle = "0\nCIRCLE\n8\n0\n10\n1\n20\n2\n40\n3\n";
    for (entity, find, put, says, line) in [
        (
            light,
            "20\n4\n",
            "",
            "y of a point (code 20) is missing",
            19,
        ),
        (light, "10\n3\n", "", "code 20 stands twice", 19),
        (
            light,
            "10\n1\n",
            "",
            "x of a point (code 10) is missing",
            13,
        ),
        (light, "20\n9\n", "20\n9O\n", "`9O` is not a number", 26),
        (light, "42\n0\n", "42\n\n", "`` is not a number", 18),
        (light, "10\n5\n", "10\nnan\n", "`nan` is not finite", 24),
        (light, "10\n5\n", "10\n1e999\n", "`1e999` is not finite", 24),
        (light, "10\n5\n", "10\n1000001\n", "beyond 1 km", 24),
        (
            light,
            "70\n1\n",
            "70\n1.5\n",
            "`1.5` is not a whole number",
            12,
        ),
        (heavy, "70\n9\n", "70\n13\n", "fitted by a curve", 5),
        (
            heavy,
            "20\n5\n",
            "",
            "y of a point (code 20) is missing",
            21,
        ),
        (heavy, "30\n6\n", "30\nz\n", "`z` is not a number", 26),
        (heavy, "0\nVERTEX\n10\n4", "0\nTEXT\n10\n4", "no SEQEND", 5),
        (heavy, &heavy[20..68], "", "no points", 5),
        (light, "8\n0\n", "90\n4\n", "states 4 points, and has 3", 10),
        (circle, "40\n3\n", "", "radius (code 40) is missing", 5),
        (circle, "40\n3\n", "40\ninf\n", "`inf` is not finite", 14),
    ] {
        let read = |entity: &str| {
            let text = drawing(entity);
            let read = Drawing::read("a.dxf", &text)?;
            let first = read.entities().next().expect("an entity");
            first.profile(1.0).map(|p| p.map(|p| p.vertices.len()))
        };
        assert!(read(entity).is_ok());
        let fault = read(&entity.replace(find, put)).expect_err(says);
        assert!(fault.what.contains(says), "{says}: {fault}");
        assert_eq!(fault.place.line, Some(line), "{says}: {fault}");
        let field = fault.place.field.expect("a field");
        assert!(
            entity.contains(field.split(' ').next().expect("a kind")),
            "{field}"
        );
        assert_eq!(field == "LWPOLYLINE 2A", entity == light);
    }
}

#[test]
fn a_text_that_is_no_drawing_is_told_at_its_line() {
    let sound = drawing("0\nPOINT\n10\n1\n20\n2\n");
    for (text, says, line) in [
        ("hello".to_owned(), "`hello` stands where", Some(1)),
        ("AutoCAD Binary DXF\r\n".to_owned(), "binary", None),
        (sound.replace("0\nEOF\n", ""), "breaks off", Some(12)),
        (sound.replace("0\nENDSEC\n", ""), "does not end", Some(1)),
        (sound.replace("EOF\n", ""), "no value", Some(13)),
        (sound.replace("ENTITIES", "OBJECTS"), "no entities", None),
        (format!("8\n0\n{sound}"), "code 8 with `0`", Some(1)),
        (
            sound.replace("10\n1", "1x\n1"),
            "`1x` stands where",
            Some(7),
        ),
        ("0\nEOF\n".to_owned(), "no entities", None),
    ] {
        let fault = Drawing::read("a.dxf", &text).expect_err(says);
        assert!(fault.what.contains(says), "{says}: {fault}");
        assert_eq!(
            (fault.place.line, fault.kind),
            (line, Kind::Syntax),
            "{fault}"
        );
        assert!(fault.place.file == "a.dxf" && !fault.mend.is_empty());
    }
    for sound in [
        format!("\u{feff}999\na comment\n{sound}\n\n"),
        sound.replace('\n', "\r\n"),
        sound.replace("0\nPOINT", "  0  \n  POINT "),
    ] {
        assert_eq!(
            Drawing::read("a.dxf", &sound)
                .expect("sound")
                .entities()
                .count(),
            1
        );
    }
}

#[test]
fn a_profile_closes_by_its_flag_or_by_its_ends() {
    let read = |flag: &str, last: &str| -> Result<Option<Outline>, Fault> {
        let text = drawing(&format!(
            "0\nLWPOLYLINE\n70\n{flag}\n10\n0\n20\n0\n10\n9\n20\n0\n42\n1\n10\n{last}\n20\n0\n"
        ));
        let drawing = Drawing::read("a.dxf", &text)?;
        drawing.entities().next().expect("one").profile(25.4)
    };
    let by_flag = read("1", "4").unwrap().expect("a profile");
    assert_eq!(by_flag.vertices.len(), 3);
    let by_ends = read("0", "0.0003").unwrap().expect("a profile");
    assert_eq!(by_ends.vertices.len(), 2);
    assert!((by_ends.vertices[1].at.x - 9.0 * 25.4).abs() < 1e-12);
    assert!((by_ends.vertices[1].bulge - 1.0).abs() < 1e-12);
    assert_eq!(read("0", "0.0005").unwrap(), None);
}

#[test]
fn a_plane_of_its_own_is_level_or_not() {
    let level = |entity: &str| {
        let text = drawing(entity);
        let drawing = Drawing::read("a.dxf", &text).expect("sound");
        drawing.entities().next().expect("one").is_level()
    };
    let up = |x: &str, z: &str| format!("210\n{x}\n220\n0\n230\n{z}\n");
    for kind in ["0\nCIRCLE\n", "0\nLWPOLYLINE\n", "0\nPOLYLINE\n70\n1\n"] {
        assert!(level(kind).unwrap());
        assert!(level(&(kind.to_owned() + &up("0", "1"))).unwrap());
        assert!(!level(&(kind.to_owned() + &up("0", "-1"))).unwrap());
        assert!(!level(&(kind.to_owned() + &up("0.1", "0.99"))).unwrap());
        assert!(level(&(kind.to_owned() + &up("o", "1"))).is_err());
    }
    for kind in ["0\nLINE\n", "0\nPOINT\n", "0\nPOLYLINE\n70\n8\n"] {
        assert!(level(&(kind.to_owned() + &up("0", "-1"))).unwrap());
    }
}

#[test]
fn the_unit_is_the_drawings_and_the_jobs() {
    let unit = |stated: &str, given| {
        let head = format!("0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n{stated}\n0\nENDSEC\n");
        let text = head + &drawing("");
        let drawing = Drawing::read("a.dxf", &text)?;
        drawing.unit_mm(given, "[[sheet]]")
    };
    for (stated, name, mm) in UNITS {
        assert!((unit(stated, None).unwrap() - mm).abs() < 1e-12);
        let own = Unit::NAMES.iter().find(|u| u.1.mm() == Some(mm));
        assert!(unit(stated, own.map(|u| u.1)).is_ok(), "{name}");
        let other = if mm < 30.0 { Unit::M } else { Unit::Mm };
        let fault = unit(stated, Some(other)).unwrap_err();
        assert_eq!((fault.kind, fault.place.line), (Kind::Conflict, Some(8)));
        assert!(
            fault.what.contains(name) && fault.mend.contains("[[sheet]]"),
            "{fault}"
        );
    }
    assert!((unit("0", Some(Unit::Ft)).unwrap() - FOOT).abs() < 1e-12);
    assert_eq!(unit("0", None).unwrap_err().kind, Kind::Unit);
    for odd in ["21", "x", "", "4.0"] {
        assert!(unit(odd, Some(Unit::Mm)).unwrap_err().what.contains("unit"));
    }
    // Without a header.
    let text = drawing("");
    let bare = Drawing::read("a.dxf", &text).expect("sound");
    assert!((bare.unit_mm(Some(Unit::In), "").unwrap() - INCH).abs() < 1e-12);
}

#[test]
fn letters_are_read_in_either_page_and_paper_is_left_out() {
    let entity = "0\nPOINT\n8\nLAYER \u{c5} \u{152}\n10\n1\n20\n2\n0\nPOINT\n67\n1\n8\nP\n";
    let utf = drawing(entity).into_bytes();
    let letter = |c| match c {
        '\u{152}' => 0x8C,
        c => u8::try_from(u32::from(c)).expect("Latin-1"),
    };
    let page: Vec<u8> = drawing(entity).chars().map(letter).collect();
    let escaped = drawing(
        &entity
            .replace('\u{c5}', "\\U+00C5")
            .replace('\u{152}', "\\U+0152"),
    );
    for bytes in [utf, page, escaped.into_bytes()] {
        let text = drawing_text(bytes);
        let drawing = Drawing::read("a.dxf", &text).expect("sound");
        let layers: Vec<String> = drawing.entities().map(|e| e.layer().into_owned()).collect();
        assert_eq!(layers, ["LAYER \u{c5} \u{152}"]);
    }
}
