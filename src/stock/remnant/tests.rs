use super::*;
use crate::geom::{trig, vec2};
use std::f64::consts::PI;

/// A drawing of entities, in a unit by its number.
fn drawing(unit: &str, entities: &str) -> String {
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n{unit}\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"
    )
}

fn light(layer: &str, closed: bool, vertices: &[(f64, f64, f64)]) -> String {
    let mut out = format!(
        "0\nLWPOLYLINE\n5\nA1\n8\n{layer}\n90\n{}\n70\n{}\n",
        vertices.len(),
        i32::from(closed)
    );
    for (x, y, b) in vertices {
        out.push_str(&format!("10\n{x}\n20\n{y}\n42\n{b}\n"));
    }
    out
}

fn heavy(layer: &str, vertices: &[(f64, f64, f64)]) -> String {
    let mut out = format!("0\nPOLYLINE\n8\n{layer}\n66\n1\n70\n1\n");
    for (x, y, b) in vertices {
        out.push_str(&format!(
            "0\nVERTEX\n8\n{layer}\n10\n{x}\n20\n{y}\n42\n{b}\n"
        ));
    }
    out + "0\nSEQEND\n"
}

/// A quarter disc of radius 1000 with its corner cut back, and two holes.
const QUARTER: [(f64, f64, f64); 4] = [
    (100.0, 50.0, 0.0),
    (1100.0, 50.0, 0.414_213_562_373_095_05),
    (100.0, 1050.0, 0.0),
    (100.0, 300.0, 0.0),
];

// Quarter disc pi r^2 / 4, a square and a circle out of it.
#[test]
fn a_remnant_is_read_whatever_form_its_profiles_have() {
    let square = [
        (300.0, 200.0, 0.0),
        (400.0, 200.0, 0.0),
        (400.0, 300.0, 0.0),
        (300.0, 300.0, 0.0),
    ];
    let circle = "0\nCIRCLE\n8\nhole\n10\n600.0\n20\n300.0\n40\n50.0\n";
    let texts = "0\nTEXT\n8\nLABEL\n1\nTHICKNESS 1/2 in\n0\nTEXT\n8\nLABEL\n1\nALLOY 5086-H116\n";
    let exact = PI * 1e6 / 4.0 - 1e4 - PI * 2500.0;
    let shared = light("HOLE", true, &square)
        + circle
        + texts
        + "0\nLINE\n8\nNOTES\n10\n0\n20\n0\n11\n9\n21\n9\n";
    for edge in [light("SHEET", true, &QUARTER), heavy("Sheet", &QUARTER)] {
        for (unit, factor) in [("4", 1.0), ("1", 25.4)] {
            let text = drawing(unit, &(edge.clone() + &shared));
            let r = read_remnant("r.dxf", &text, None).unwrap();
            assert!((r.region.area() / (exact * factor * factor) - 1.0).abs() < 1e-12);
            let (lo, hi) = r.region.bounds();
            assert!(lo.length() < 1e-9 * factor);
            assert!((hi.x - 1000.0 * factor).abs() < 1e-9 && (hi.y - 1000.0 * factor).abs() < 1e-9);
            assert_eq!(r.region.holes.len(), 2);
            assert!((r.thickness.unwrap() - 12.7).abs() < 1e-12);
            assert_eq!(r.alloy.as_deref(), Some("5086-H116"));
        }
    }
    // Half way along the arc, as the bulge says.
    let r = read_remnant(
        "r.dxf",
        &drawing("4", &light("SHEET", true, &QUARTER)),
        None,
    )
    .unwrap();
    let middle = vec2(trig::cos(PI / 4.0), trig::sin(PI / 4.0));
    assert!(r.region.outer.contains(middle * 999.9, 0.001));
    assert!(!r.region.outer.contains(middle * 1000.1, 0.001));
}

#[test]
fn what_is_no_remnant_is_refused_with_its_place() {
    let edge = light("SHEET", true, &QUARTER);
    let hole = |x: f64| format!("0\nCIRCLE\n8\nHOLE\n10\n{x}\n20\n300.0\n40\n50.0\n");
    let bow = [
        (0.0, 0.0, 0.0),
        (90.0, 100.0, 0.0),
        (100.0, 0.0, 0.0),
        (0.0, 90.0, 0.0),
    ];
    // The same with halves of one size, which bound no area between them.
    let even = [
        (0.0, 0.0, 0.0),
        (100.0, 100.0, 0.0),
        (100.0, 0.0, 0.0),
        (0.0, 100.0, 0.0),
    ];
    let aside = "0\nLINE\n8\nNOTES\n10\n0\n20\n0\n11\n9\n21\n9\n";
    let cases = [
        ("4", light("SHEET", false, &QUARTER), "open", Some(15)),
        ("4", String::new(), "nothing in the drawing", None),
        ("0", String::new(), "nothing in the drawing", None),
        ("4", aside.to_owned(), "has 0 profiles", None),
        ("4", light("SHEET", true, &even), "the edge crosses", None),
        ("4", edge.clone() + &edge, "has 2 profiles", None),
        (
            "4",
            edge.clone() + &hole(2000.0),
            "hole 1 does not lie inside",
            None,
        ),
        (
            "4",
            edge.clone() + &hole(500.0) + &hole(560.0),
            "holes 1 and 2 meet",
            None,
        ),
        ("4", light("SHEET", true, &bow), "the edge crosses", None),
        (
            "4",
            edge.clone() + "0\nARC\n8\nHOLE\n10\n1\n20\n1\n40\n1\n",
            "ARC on layer HOLE",
            Some(49),
        ),
        (
            "4",
            edge.clone() + &light("CUT", true, &bow),
            "nested sheet",
            Some(49),
        ),
        ("4", edge.replace("1100", "inf"), "not finite", Some(32)),
        ("4", edge.replace("20\n1050\n", ""), "missing", Some(37)),
        ("0", edge.clone(), "does not say in what unit", Some(8)),
        ("7", edge.clone(), "unit `7`", Some(8)),
        (
            "4",
            edge.clone() + "0\nTEXT\n8\nLABEL\n1\nTHICKNESS 12.7\n",
            "no unit",
            Some(49),
        ),
    ];
    for (unit, entities, says, line) in cases {
        let fault = read_remnant("r.dxf", &drawing(unit, &entities), None).unwrap_err();
        assert!(fault.what.contains(says), "{says}: {fault}");
        assert_eq!(fault.place.line, line, "{says}: {fault}");
        assert_eq!(fault.place.file, "r.dxf");
        assert!(!fault.mend.is_empty());
    }
    // The job's word for the unit stands where the drawing has none, and must
    // agree where it has one.
    assert!(read_remnant("r.dxf", &drawing("0", &edge), Some(Unit::Ft)).is_ok());
    assert!(read_remnant("r.dxf", &drawing("1", &edge), Some(Unit::Mm)).is_err());
    assert!(read_remnant("r.dxf", "no drawing", None).is_err());
}
