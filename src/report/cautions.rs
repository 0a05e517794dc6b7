//! The usual cautions, with their sources, and the freeing-port guidance.
//!
//! All of it is guidance: the authority having jurisdiction decides, and
//! strength is for licensed practice to approve.

use crate::layout::BulwarkLength;
use crate::length::{self, FOOT, Show};

/// A caution.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Caution {
    /// What it is about.
    pub subject: String,
    /// What to mind, in plain sentences.
    pub text: String,
    /// Where it comes from.
    pub source: String,
}

impl Caution {
    pub(super) fn of(subject: &str, text: &str, source: &str) -> Self {
        Self {
            subject: subject.to_owned(),
            text: text.to_owned(),
            source: source.to_owned(),
        }
    }

    /// All of it, as a report says it.
    pub(super) fn sentence(&self) -> String {
        format!("{}. {} [{}]", self.subject, self.text, self.source)
    }
}

/// Square millimetres in a square metre and in a square foot.
const MM2: (f64, f64) = (1e6, FOOT * FOOT);

/// Freeing-port area of one side of a well, mm2, for a bulwark of `length` and
/// `height` mm, after the International Convention on Load Lines 1966,
/// Annex I, Regulation 24: 0.7 + 0.035 l m2 up to 20 m, 0.07 l above;
/// 0.004 m2 per metre of length more for each 0.1 m of height above 1.2 m,
/// and as much less below 0.9 m. Never below zero.
#[must_use]
pub fn freeing_area_load_lines(length: f64, height: f64) -> f64 {
    let (l, h) = (length / 1000.0, height / 1000.0);
    let area = if l <= 20.0 { 0.7 + 0.035 * l } else { 0.07 * l };
    let tenths = if h > 1.2 {
        (h - 1.2) / 0.1
    } else if h < 0.9 {
        (h - 0.9) / 0.1
    } else {
        0.0
    };
    (area + 0.004 * l * tenths).max(0.0) * MM2.0
}

/// Freeing-port area of one side, mm2, after 46 CFR 28.555 (c)-(f):
/// 7.6 + 0.115 L ft2 up to 66 ft, 0.23 L above; (h - 4) x 0.04 x L ft2 more
/// where the bulwark is over 4 ft high, (3 - h) x 0.04 x L less where it is
/// under 3 ft (the formula of this last from memory). Never below zero.
#[must_use]
pub fn freeing_area_cfr_28(length: f64, height: f64) -> f64 {
    let (l, h) = (length / FOOT, height / FOOT);
    let area = if l <= 66.0 { 7.6 + 0.115 * l } else { 0.23 * l };
    let feet = if h > 4.0 {
        h - 4.0
    } else if h < 3.0 {
        h - 3.0
    } else {
        0.0
    };
    (area + 0.04 * l * feet).max(0.0) * MM2.1
}

/// A figure in the job's units, then in the others.
fn both(show: Show, metric: &str, feet: &str) -> String {
    match show {
        Show::Mm => format!("{metric} ({feet})"),
        Show::FeetInches => format!("{feet} ({metric})"),
    }
}

/// The cautions that go with every job.
#[must_use]
pub fn usual(bulwarks: &[BulwarkLength], show: Show) -> Vec<Caution> {
    let caution = Caution::of;
    let mut all: Vec<Caution> = bulwarks.iter().map(|b| freeing(b, show)).collect();
    let both = |metric, feet| both(show, metric, feet);
    all.extend([
        caution(
            "freeing ports",
            "A side's bulwark is its length between gates summed up, to the centreline where the \
             edge goes round the stern in one curve. Each well that a deckhouse or the like closes \
             off is reckoned on its own. More area is asked where the deck has no sheer (half as \
             much again); the lower edges lie as near the deck as practicable, two thirds of the \
             area near the lowest point of the sheer (from memory).",
            "International Convention on Load Lines 1966 with the Protocol of 1988, Annex I, \
             Regulation 24",
        ),
        caution(
            "rail height",
            &format!(
                "Rails of passenger vessels are at least {} or {} high by service, and carry {} \
                 at a point in any direction and, not at the same time, {} along the top. Ask \
                 which rule holds for the boat before the height is settled.",
                both("1000 mm", "39.5 in"),
                both("910 mm", "36 in"),
                both("890 N", "200 lb"),
                both("730 N/m", "50 lb/ft"),
            ),
            "46 CFR 177.900",
        ),
        caution(
            "strength",
            "Plate, stanchions, welds and fastenings are not calculated here. Have their strength \
             approved by a licensed naval architect or engineer.",
            "common practice, no source",
        ),
        caution(
            "welding heat",
            &format!(
                "Welding heat takes strength out of the plate about {} to each side of the weld, \
                 and chars timber, bedding and paint. Keep 5086 plate out of {} between passes.",
                both("25 mm", "1 in"),
                both("66 to 204 C", "150 to 400 F"),
            ),
            "weld zone: Aluminum Design Manual; temperatures: NAVSEA S9074-AR-GIB-010/278, Table V",
        ),
        caution(
            "hot work",
            "Hot work on a wooden boat can set her on fire, hours later too. Lift the sections off \
             where they can be, get the yard's permit, clear and wet the work, and keep a fire \
             watch.",
            "common practice, no source",
        ),
        caution(
            "cutting",
            "Order, leads, tabs and times are proposals: the table's operator decides. Cutting \
             makes fumes, glare and hot offcuts that tip; plasma over a water table makes \
             hydrogen from aluminium, which can burst: keep the water moving and the space under \
             the plate aired.",
            "common practice, no source",
        ),
        caution(
            "fairing",
            "Flat parts are true to the survey. Check the first part against the boat before the \
             rest are cut.",
            "common practice, no source",
        ),
    ]);
    all
}

fn freeing(bulwark: &BulwarkLength, show: Show) -> Caution {
    let [length, height] = [bulwark.length, bulwark.height].map(|mm| length::show(mm, show));
    let Some(side) = bulwark.side else {
        return Caution::of(
            "freeing ports",
            &format!(
                "across the boat: a bulwark {length} long and {height} high stands across her \
                 from corner to corner, as on a transom, and is counted on neither side: the \
                 formulas speak of the bulwarks of each side. How the water that it holds leaves \
                 the deck, and what ports it needs itself, is to be judged with the local rule: \
                 defer to the authority having jurisdiction.",
            ),
            SIDES_SOURCE,
        );
    };
    let a = freeing_area_load_lines(bulwark.length, bulwark.height);
    let b = freeing_area_cfr_28(bulwark.length, bulwark.height);
    let area = |mm2: f64| {
        let metric = format!("{} m2", length::number(mm2 / MM2.0, 3));
        both(
            show,
            &metric,
            &format!("{} ft2", length::number(mm2 / MM2.1, 2)),
        )
    };
    Caution::of(
        "freeing ports",
        &format!(
            "{}: a bulwark {length} long and {height} high asks for about {} of freeing ports on \
             this side by the load-line formula, and {} by the fishing-vessel formula; by both no \
             more than 0.7 of the hull's length counts. Guidance only: defer to the authority \
             having jurisdiction.",
            side.name(),
            area(a),
            area(b),
        ),
        "A = 0.7 + 0.035 l m2 to 20 m, 0.07 l above, with the height correction: ICLL 1966, \
         Regulation 24; A = 7.6 + 0.115 L ft2 to 66 ft, 0.23 L above, with the height correction: \
         46 CFR 28.555",
    )
}

/// Both ask for an area "on each side".
const SIDES_SOURCE: &str = "ICLL 1966, Regulation 24 (1); 46 CFR 28.555 (c)";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Side;

    /// ICLL 1966, Regulation 24, worked from the formula.
    #[test]
    fn load_line_areas_are_those_of_the_formula() {
        for (l, h, m2) in [
            (10.0, 1.0, 1.050),
            (10.0, 0.6, 0.930),
            (20.0, 1.0, 1.400),
            (24.0, 1.4, 1.872),
        ] {
            let got = freeing_area_load_lines(l * 1000.0, h * 1000.0) / 1e6;
            assert!((got - m2).abs() < 1e-9, "{l} {h}: {got}");
        }
    }

    /// 46 CFR 28.555 (a)-(e), worked from the formula in feet.
    #[test]
    fn fishing_vessel_areas_are_those_of_the_formula() {
        for (l, h, ft2) in [
            (30.0, 3.5, 11.05),
            (70.0, 4.5, 17.50),
            // Under 3 ft: 7.6 + 0.115 x 30 - 0.5 x 0.04 x 30.
            (30.0, 2.5, 10.45),
        ] {
            let got = freeing_area_cfr_28(l * 304.8, h * 304.8) / MM2.1;
            assert!((got - ft2).abs() < 1e-9, "{l} {h}: {got}");
        }
    }

    #[test]
    fn every_caution_names_its_source_and_ports_defer() {
        let side = BulwarkLength {
            side: Some(Side::Port),
            length: 10_000.0,
            height: 600.0,
        };
        let all = usual(&[side], Show::Mm);
        assert!(
            all.iter()
                .all(|c| !c.source.is_empty() && c.text.is_ascii())
        );
        assert!(all[0].text.contains("0.930 m2"));
        assert!(
            all[0]
                .text
                .contains("defer to the authority having jurisdiction")
        );
        for subject in ["rail height", "strength", "welding heat", "hot work"] {
            assert!(all.iter().any(|c| c.subject == subject), "{subject}");
        }
    }

    #[test]
    fn figures_stand_in_the_units_of_the_job_first() {
        let side = BulwarkLength {
            side: Some(Side::Port),
            length: 10_000.0,
            height: 600.0,
        };
        for (show, first) in [
            (Show::Mm, ["0.930 m2 (10.01 ft2)", "1000 mm (39.5 in)"]),
            (
                Show::FeetInches,
                ["10.01 ft2 (0.930 m2)", "39.5 in (1000 mm)"],
            ),
        ] {
            let all = usual(std::slice::from_ref(&side), show);
            for words in first {
                assert!(all.iter().any(|c| c.text.contains(words)), "{words}");
            }
        }
    }

    /// Both rules ask for an area on each side: across the boat none is told.
    #[test]
    fn a_bulwark_across_the_boat_is_left_to_the_local_rule() {
        let across = BulwarkLength {
            side: None,
            length: 3000.0,
            height: 600.0,
        };
        let told = &usual(&[across], Show::Mm)[0];
        assert!(told.text.contains("a bulwark 3000 mm long and 600 mm high"));
        for words in ["counted on neither side", "defer to the authority"] {
            assert!(told.text.contains(words), "{}", told.text);
        }
        assert!(!told.text.contains("m2"), "{}", told.text);
    }
}
