//! What can be bought and how it is cut: alloys, sheet sizes, box tube, and
//! cutting processes. Tables with their sources; the job may override what a
//! yard knows better. Strengths are guidance: a structure that people's lives
//! hang on is for licensed practice and the local rules.

mod alloys;
mod processes;
mod remnant;

pub use alloys::{ALLOYS, Alloy};
pub use processes::{PROCESSES, Process, SPEED_SOURCE};
pub use remnant::{ALLOY_WORD, EDGE_LAYER, HOLE_LAYER, Remnant, THICKNESS_WORD, read_remnant};

use crate::length::FOOT;
use crate::limits::NEAREST_OF;

/// Thicknesses closer than this are the same stock, mm. Rounding of inches to
/// millimetres in a job stays far below it, and the thinnest step between
/// stock plates (0.1 mm gauge steps) far above.
pub const SAME_THICKNESS_MM: f64 = 0.02;

/// True where two stated thicknesses mean the same stock.
#[must_use]
pub fn same_thickness(a: f64, b: f64) -> bool {
    (a - b).abs() <= SAME_THICKNESS_MM
}

/// A name that a table does not hold.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct NotHeld {
    /// One sentence.
    pub what: String,
    /// One sentence with the nearest name and the whole list.
    pub mend: String,
}

/// The alloy of this name, letter case, spaces and dashes aside.
///
/// # Errors
/// [`NotHeld`] with the tempers of an alloy that is named without one, else
/// with the nearest name and the list.
pub fn alloy(name: &str) -> Result<&'static Alloy, NotHeld> {
    let plain = |s: &str| s.replace([' ', '-'], "").to_ascii_uppercase();
    let given = plain(name);
    if let Some(alloy) = ALLOYS.iter().find(|a| plain(a.name) == given) {
        return Ok(alloy);
    }
    let tempers: Vec<&str> = ALLOYS
        .iter()
        .map(|a| a.name)
        .filter(|n| n.split('-').next() == Some(given.as_str()))
        .collect();
    Err(match tempers[..] {
        [] => not_held("alloy", name, ALLOYS.iter().map(|a| a.name)),
        _ => NotHeld {
            what: format!("`{}` is an alloy without its temper", name.trim()),
            mend: format!(
                "strength is the temper's: write {} as the plate is stamped",
                tempers
                    .iter()
                    .map(|t| format!("\"{t}\""))
                    .collect::<Vec<_>>()
                    .join(" or ")
            ),
        },
    })
}

/// The cutting process of this name.
///
/// # Errors
/// [`NotHeld`] with the nearest name and the list.
pub fn process(name: &str) -> Result<&'static Process, NotHeld> {
    PROCESSES
        .iter()
        .find(|p| p.name.eq_ignore_ascii_case(name.trim()))
        .ok_or_else(|| not_held("cutting process", name, PROCESSES.iter().map(|p| p.name)))
}

fn not_held(what: &str, given: &str, names: impl Iterator<Item = &'static str> + Clone) -> NotHeld {
    let list = names.clone().collect::<Vec<_>>().join(", ");
    let near = nearest(given, names).map_or(String::new(), |n| format!("did you mean {n}? "));
    NotHeld {
        what: format!("{what} `{given}` is not in the table"),
        mend: format!("{near}the table holds {list}"),
    }
}

/// The known name nearest to a given one, by edit distance with swapped
/// neighbours counted once (Damerau-Levenshtein), letter case aside; the
/// first of equals, sought among the first [`NEAREST_OF`]. `None` only where
/// nothing is known.
#[must_use]
pub fn nearest<'a>(given: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let given = given.to_lowercase();
    let some = known.take(NEAREST_OF);
    some.min_by_key(|name| strsim::damerau_levenshtein(&given, &name.to_lowercase()))
}

/// A sheet as mills and merchants sell it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetSize {
    /// Usual name.
    pub name: &'static str,
    /// Length, mm.
    pub length: f64,
    /// Width, mm.
    pub width: f64,
    /// Where the size comes from.
    pub source: &'static str,
}

const KISSELL: &str =
    "Kissell and Ferry, Aluminum Structures: widths 24 to 72 in, lengths 96, 120 and 144 in";
const SIZE_MEMORY: &str = "from memory";

const fn feet(name: &'static str, width: f64, length: f64, source: &'static str) -> SheetSize {
    SheetSize {
        name,
        length: length * FOOT,
        width: width * FOOT,
        source,
    }
}

const fn metric(name: &'static str, width: f64, length: f64) -> SheetSize {
    SheetSize {
        name,
        length,
        width,
        source: SIZE_MEMORY,
    }
}

/// Usual sheet and plate sizes.
pub const SHEET_SIZES: [SheetSize; 11] = [
    feet("4 x 8 ft", 4.0, 8.0, KISSELL),
    feet("4 x 10 ft", 4.0, 10.0, KISSELL),
    feet("4 x 12 ft", 4.0, 12.0, KISSELL),
    feet("5 x 10 ft", 5.0, 10.0, SIZE_MEMORY),
    feet("5 x 12 ft", 5.0, 12.0, SIZE_MEMORY),
    feet("6 x 12 ft", 6.0, 12.0, KISSELL),
    feet("6 x 20 ft", 6.0, 20.0, SIZE_MEMORY),
    feet("8 x 20 ft", 8.0, 20.0, SIZE_MEMORY),
    metric("1250 x 2500 mm", 1250.0, 2500.0),
    metric("1500 x 3000 mm", 1500.0, 3000.0),
    metric("2000 x 4000 mm", 2000.0, 4000.0),
];

/// Usual stock lengths of box tube, mm: 20, 24 and 25 ft (from memory).
pub const TUBE_LENGTHS: [f64; 3] = [6096.0, 7315.2, 7620.0];

/// Area of metal in a square box tube with sharp corners, mm2:
/// side^2 - (side - 2 wall)^2.
#[must_use]
pub fn box_tube_area(side: f64, wall: f64) -> f64 {
    4.0 * wall * (side - wall)
}

#[cfg(test)]
mod tests {
    use super::*;

    const LB_FT2: f64 = 4.882_427_636; // kg/m2 in 1 lb/ft2
    const KSI: f64 = 6.894_757_293; // MPa in 1 ksi

    // Plate weights worked out from 0.096, 0.097 and 0.098 lb/in3.
    #[test]
    fn half_inch_plate_weighs_what_handbooks_say() {
        for (name, pounds) in [
            ("5083-H116", 6.912),
            ("5086-H116", 6.912),
            ("5052-H32", 6.984),
            ("6061-T6", 7.056),
        ] {
            let kg = alloy(name).unwrap().mass_per_area(12.7) * 1.0e6;
            assert!((kg / LB_FT2 / pounds - 1.0).abs() < 0.002, "{name}: {kg}");
        }
    }

    // ABS Rules for Materials 2016, Table 1B: 5083-H116 305/215, 5086-H116
    // 275/195 MPa; 6061-T6 extrusion 38/35 ksi.
    #[test]
    fn strengths_are_the_published_ones() {
        let figures = |n: &str| alloy(n).map(|a| (a.ultimate_mpa, a.yield_mpa)).unwrap();
        assert_eq!(figures("5083-H116"), (305.0, 215.0));
        assert_eq!(figures("5086-H116"), (275.0, 195.0));
        let (ultimate, yields) = figures("6061-T6");
        assert!((ultimate - 38.0 * KSI).abs() < 0.6 && (yields - 35.0 * KSI).abs() < 0.6);
    }

    // Sharp-cornered 4 x 4 x 1/4 in box tube: A = 3.750 in2, so 4.41 lb/ft at
    // 0.098 lb/in3.
    #[test]
    fn box_tube_has_its_area_and_mass() {
        let area = box_tube_area(101.6, 6.35);
        assert!((area / 645.16 - 3.75).abs() < 1e-9);
        let pounds = area * alloy("6061-T6").unwrap().density_kg_mm3() * 304.8 / 0.453_592_37;
        assert!((pounds - 4.41).abs() < 0.01, "{pounds}");
    }

    // Growth of 30 ft of 5086 over 60 F, worked out as alpha L dT =
    // 23.8e-6 x 360 in x 33.33 K: 0.285 in.
    #[test]
    fn thirty_feet_grow_as_worked_out() {
        let inches = alloy("5086-H116").unwrap().expansion_per_k * 360.0 * 60.0 / 1.8;
        assert!((inches - 0.285).abs() < 0.001, "{inches}");
    }

    #[test]
    fn every_row_is_sound() {
        for a in &ALLOYS {
            assert!(a.welded_yield_mpa <= a.yield_mpa && a.yield_mpa < a.ultimate_mpa);
            assert!(a.welded_ultimate_mpa <= a.ultimate_mpa);
            assert!((2600.0..2750.0).contains(&a.density_kg_m3));
            assert!((69_000.0..72_000.0).contains(&a.modulus_mpa));
            assert_eq!(alloy(a.name), Ok(a));
        }
        for s in &SHEET_SIZES {
            assert!(s.width < s.length, "{}", s.name);
        }
    }

    #[test]
    fn the_nearest_name_is_sought_among_so_many() {
        let names: Vec<String> = (0..2 * NEAREST_OF).map(|i| format!("{i}P")).collect();
        let found = |name: &str| nearest(name, names.iter().map(String::as_str));
        let last = format!("{}p", NEAREST_OF - 1);
        assert!(found(&last).is_some_and(|n| n.eq_ignore_ascii_case(&last)));
        let beyond = format!("{NEAREST_OF}P");
        assert_ne!(found(&beyond), Some(beyond.as_str()));
    }

    #[test]
    fn names_not_held_are_helped() {
        assert!(alloy("5086-h116").is_ok() && alloy(" 5086-H116").is_ok());
        assert!(alloy("5086H116").is_ok() && alloy("5086 H116").is_ok());
        let e = alloy("5086").unwrap_err();
        assert!(e.mend.contains("\"5086-H116\" or \"5086-H32\" as"), "{e:?}");
        let e = alloy("5068-H116").unwrap_err();
        assert!(e.mend.contains("did you mean 5086-H116") && e.mend.contains("6061-T6"));
        let e = process("plasmer").unwrap_err();
        assert!(e.mend.contains("did you mean plasma"));
    }
}
