//! What can be bought and how it is cut: alloys, box tube, remnants, and cutting
//! processes. Tables with their sources; the job may override what a yard knows
//! better.

mod alloys;
mod processes;
mod remnant;

pub use alloys::{ALLOYS, Alloy};
pub use processes::{PROCESSES, Process, SPEED_SOURCE};
pub use remnant::{ALLOY_WORD, EDGE_LAYER, HOLE_LAYER, Remnant, THICKNESS_WORD, read_remnant};

use crate::fault::{Kind, Refused};
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

/// The alloy of this name, letter case, spaces and dashes aside.
///
/// # Errors
/// [`Kind::Unknown`] with the tempers of an alloy that is named without one, else
/// with the nearest name and the list.
pub fn alloy(name: &str) -> Result<&'static Alloy, Refused> {
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
        _ => {
            let what = format!("`{}` is an alloy without its temper", name.trim());
            let list: Vec<String> = tempers.iter().map(|t| format!("\"{t}\"")).collect();
            let list = list.join(" or ");
            let mend = format!("strength is the temper's: write {list} as the plate is stamped");
            Refused::new(Kind::Unknown, what, mend)
        }
    })
}

/// The cutting process of this name.
///
/// # Errors
/// [`Kind::Unknown`] with the nearest name and the list.
pub fn process(name: &str) -> Result<&'static Process, Refused> {
    PROCESSES
        .iter()
        .find(|p| p.name.eq_ignore_ascii_case(name.trim()))
        .ok_or_else(|| not_held("cutting process", name, PROCESSES.iter().map(|p| p.name)))
}

fn not_held(what: &str, given: &str, names: impl Iterator<Item = &'static str> + Clone) -> Refused {
    let list = names.clone().collect::<Vec<_>>().join(", ");
    let near = nearest(given, names).map_or(String::new(), |n| format!("did you mean {n}? "));
    let what = format!("{what} `{given}` is not in the table");
    Refused::new(Kind::Unknown, what, format!("{near}the table holds {list}"))
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

    // Sharp-cornered 4 x 4 x 1/4 in box tube: A = 3.750 in2, so 4.41 lb/ft at
    // 0.098 lb/in3.
    #[test]
    fn box_tube_has_its_area_and_mass() {
        let area = box_tube_area(101.6, 6.35);
        assert!((area / 645.16 - 3.75).abs() < 1e-9);
        let pounds = area * alloy("6061-T6").unwrap().density_kg_mm3() * 304.8 / 0.453_592_37;
        assert!((pounds - 4.41).abs() < 0.01, "{pounds}");
    }

    #[test]
    fn every_row_is_sound() {
        for a in &ALLOYS {
            assert!((2600.0..2750.0).contains(&a.density_kg_m3));
            assert!((69_000.0..72_000.0).contains(&a.modulus_mpa));
            assert_eq!(alloy(a.name), Ok(a));
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
