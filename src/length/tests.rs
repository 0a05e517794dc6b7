use proptest::prelude::*;

use super::*;

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9 * (1.0 + b.abs())
}

fn check(text: &str, mm: f64) {
    let got = parse(text);
    assert!(
        got.as_ref().is_ok_and(|&v| close(v, mm)),
        "{text}: {got:?}, not {mm}"
    );
}

fn refuse(text: &str, kind: Kind) {
    let got = parse(text);
    assert!(
        got.as_ref().is_err_and(|e| e.kind == kind),
        "{text}: {got:?}, not {kind:?}"
    );
}

// The inch is 25.4 mm by international definition (1959); the rest follows.
#[test]
fn lengths_with_units_are_read() {
    for (text, mm) in [
        ("12.7 mm", 12.7),
        ("12.7mm", 12.7),
        ("-3 mm", -3.0),
        ("2.5 cm", 25.0),
        ("1.2 m", 1200.0),
        ("1/2 in", 12.7),
        ("5/4 in", 31.75),
        ("4 in", 101.6),
        ("4 in.", 101.6),
        ("1 3/4 in", 44.45),
        ("1-3/4 in", 44.45),
        ("1 3/4\"", 44.45),
        ("5 ft 3 1/2 in", 1612.9),
        ("5' 3-1/2\"", 1612.9),
        ("5'-3 1/2\"", 1612.9),
        ("5\u{2032} 3-1/2\u{2033}", 1612.9),
        ("5-3/4\"", 146.05),
        ("5.25 ft", 1600.2),
        ("5.5 inches", 139.7),
        ("-5 ft 6 in", -1676.4),
        ("5 ft", 1524.0),
        ("0 mm", 0.0),
        (".5 in", 12.7),
        ("\u{bd} in", 12.7),
        ("4\u{bd}\"", 114.3),
        ("5 ft 3\u{215c} in", 1609.725),
        ("1 \u{be} in", 44.45),
        // As reports and loftsmen write a place.
        ("14-6-0", 4419.6),
        ("-0-11-7+", -303.2125),
    ] {
        check(text, mm);
    }
}

#[test]
fn bad_lengths_are_refused_by_kind() {
    for text in ["12.7", "1/2", "5 ft 3", "0", "5-3/4"] {
        refuse(text, Kind::Unit);
    }
    for text in [
        "",
        "mm",
        "5/0 in",
        "5/ in",
        "5/",
        "/2 in",
        "1 4/4 in",
        "1 5/4 in",
        "1.5/2 in",
        "1.5 1/2 in",
        "5 ft 12 in",
        "5.5 ft 3 in",
        "1/2 mm",
        "1,200 mm",
        "1e3 mm",
        "1 2 mm",
        "5 mm 3 mm",
        "3 in 5 ft",
        "1..2 mm",
        "twelve mm",
        "5 furlongs",
        "12 % mm",
        "--5 mm",
        "5 mm -",
        "\u{2153} in",
        "1\u{bd} mm",
        "1.5\u{bd} in",
        "14-12-0",
    ] {
        refuse(text, Kind::Syntax);
    }
    for text in ["inf mm", "nan mm", "NaN", "-inf", "2000000 mm", "1001 m"] {
        refuse(text, Kind::Range);
    }
}

fn check_cell(text: &str, unit: Unit, mm: f64) {
    let got = parse_cell(text, unit);
    assert!(
        got.as_ref().is_ok_and(|&v| close(v, mm)),
        "{text} in {unit:?}: {got:?}, not {mm}"
    );
}

// Feet-inches-eighths: 2-3-4 is 2 ft 3 4/8 in; "+" adds 1/16 in, "-" takes
// 1/16 off (loft usage, from memory).
#[test]
fn cells_follow_their_unit() {
    check_cell("12.7", Unit::Mm, 12.7);
    check_cell("-1.5", Unit::M, -1500.0);
    check_cell("15 1/2", Unit::In, 393.7);
    check_cell("15.5", Unit::In, 393.7);
    check_cell("5.25", Unit::Ft, 1600.2);
    check_cell("5 ft 3 1/2 in", Unit::FeetInches, 1612.9);
    check_cell("0", Unit::FeetInches, 0.0);
    check_cell("2-3-4", Unit::FeetInchesEighths, 698.5);
    check_cell("2-3-4+", Unit::FeetInchesEighths, 698.5 + 1.5875);
    check_cell("2-3-4-", Unit::FeetInchesEighths, 698.5 - 1.5875);
    check_cell("-2-3-4", Unit::FeetInchesEighths, -698.5);
    check_cell("-2-3-4+", Unit::FeetInchesEighths, -698.5 - 1.5875);
    check_cell("0-0-0", Unit::FeetInchesEighths, 0.0);
    check_cell("0", Unit::FeetInchesEighths, 0.0);
    // A cell that states its own unit is taken at its word.
    check_cell("12.7 mm", Unit::FeetInchesEighths, 12.7);
    check_cell("1/2 in", Unit::Mm, 12.7);
    check_cell("15\u{bd}", Unit::In, 393.7);
}

/// A bare number under feet and inches is told both ways it could be meant.
#[test]
fn a_bare_number_among_feet_and_inches_is_shown_as_booked() {
    for (unit, mend) in [
        (
            Unit::FeetInchesEighths,
            "write 9-0-0, if these are feet, or 0-9-0, if they are inches",
        ),
        (
            Unit::FeetInches,
            "write 9 ft, if these are feet, or 9 in, if they are inches",
        ),
    ] {
        let e = parse_cell("9.0", unit).unwrap_err();
        assert_eq!(e.mend, mend);
        assert!(e.what.contains("in a table of feet-inches"), "{}", e.what);
    }
}

// 1 in = 25.4 mm: 500 mm is 1 ft 7 11/16 in (19.685), 5 mm 0.197 in.
#[test]
fn faults_tell_lengths_in_the_jobs_units_and_limits_unrounded() {
    for (mm, metric, feet) in [
        (500.0, "500 mm", "1 ft 7 11/16 in (500 mm)"),
        (9.525, "9.525 mm", "3/8 in (9.525 mm)"),
        (5.0, "5 mm", "0.197 in (5 mm)"),
        (0.0, "0 mm", "0 in (0 mm)"),
    ] {
        assert_eq!(told(mm, Show::Mm), metric);
        assert_eq!(told(mm, Show::FeetInches), feet);
    }
}

/// A limit, typed back as it is printed, in either of its units.
fn typed_back(text: &str) -> Vec<f64> {
    let (first, second) = text.split_once(" (").unwrap_or((text, text));
    [first, second.trim_end_matches(')')]
        .map(|t| parse(t).unwrap())
        .to_vec()
}

proptest! {
    #[test]
    fn a_limit_typed_back_is_within_itself(mm in -2e5..2e5_f64, small in 0.0..30.0_f64) {
        let decimal = |v: f64| (v * 1000.0).round() / 1000.0;
        let sixteenth = mm.round() * 15_875.0 / 10_000.0;
        for limit in [decimal(mm), decimal(small), mm.round(), small.round(), sixteenth] {
            for shown in [Show::Mm, Show::FeetInches] {
                for read in typed_back(&told_unrounded(limit, shown, Round::Up)) {
                    prop_assert!(read >= limit && read < limit + INCH / 15.9, "{limit}: {read}");
                }
                for read in typed_back(&told_unrounded(limit, shown, Round::Down)) {
                    prop_assert!(read <= limit && read > limit - INCH / 15.9, "{limit}: {read}");
                }
            }
        }
    }
}

#[test]
fn limits_are_rounded_to_their_own_side_and_sixteenths_stay() {
    for (mm, least, most) in [
        (50.0, "2 in (50 mm)", "1 15/16 in (50 mm)"),
        (3.175, "1/8 in (3.175 mm)", "1/8 in (3.175 mm)"),
        (9.0, "0.355 in (9 mm)", "0.354 in (9 mm)"),
        (762.0, "2 ft 6 in (762 mm)", "2 ft 6 in (762 mm)"),
        (0.0, "0 in (0 mm)", "0 in (0 mm)"),
    ] {
        assert_eq!(told_unrounded(mm, Show::FeetInches, Round::Up), least);
        assert_eq!(told_unrounded(mm, Show::FeetInches, Round::Down), most);
    }
}

#[test]
fn fine_lengths_are_decimals_and_never_less_than_asked() {
    assert_eq!(fine(3.0, Show::Mm), "3.00 mm");
    assert_eq!(fine(3.0, Show::FeetInches), "0.118 in");
    assert_eq!(fine_up(0.001, Show::Mm), "0.01 mm");
    assert_eq!(fine_up(0.001, Show::FeetInches), "0.001 in");
    let at = Vec2 { x: 38.1, y: 0.3 };
    assert_eq!(place(at, Show::Mm), "x 38.1 mm, y 0.3 mm");
    assert_eq!(place(at, Show::FeetInches), "x 1 1/2 in, y 0 in");
}

#[test]
fn bad_cells_are_refused_by_kind() {
    for (text, unit, kind) in [
        ("2-3", Unit::FeetInchesEighths, Kind::Syntax),
        ("2-3-4-5", Unit::FeetInchesEighths, Kind::Syntax),
        ("2-12-0", Unit::FeetInchesEighths, Kind::Syntax),
        ("2-3-8", Unit::FeetInchesEighths, Kind::Syntax),
        ("2-3-4x", Unit::FeetInchesEighths, Kind::Syntax),
        ("2.5", Unit::FeetInchesEighths, Kind::Unit),
        ("5", Unit::FeetInches, Kind::Unit),
        ("1/2", Unit::Mm, Kind::Syntax),
        ("5/", Unit::In, Kind::Syntax),
        ("5/0", Unit::In, Kind::Syntax),
        ("inf", Unit::Mm, Kind::Range),
        ("nan", Unit::Mm, Kind::Range),
        ("1e400", Unit::Mm, Kind::Syntax),
        ("", Unit::Mm, Kind::Syntax),
        ("4000", Unit::Ft, Kind::Range),
        ("2-3-4", Unit::Mm, Kind::Syntax),
    ] {
        let got = parse_cell(text, unit);
        assert!(
            got.as_ref().is_err_and(|e| e.kind == kind),
            "{text} in {unit:?}: {got:?}"
        );
    }
}

#[test]
fn lengths_are_shown() {
    for (mm, plain, trade) in [
        (1612.9, "1612.9 mm", "5 ft 3 1/2 in"),
        (12.7, "12.7 mm", "1/2 in"),
        (0.0, "0 mm", "0 in"),
        (-0.01, "0 mm", "0 in"),
        (1524.0, "1524 mm", "5 ft"),
        (1536.7, "1536.7 mm", "5 ft 1/2 in"),
        (-44.45, "-44.5 mm", "-1 3/4 in"),
        (304.79, "304.8 mm", "1 ft"),
        (1.5875, "1.6 mm", "1/16 in"),
        (1200.0, "1200 mm", "3 ft 11 1/4 in"),
    ] {
        assert_eq!(show(mm, Show::Mm), plain);
        assert_eq!(show(mm, Show::FeetInches), trade);
    }
}

#[test]
fn numbers_have_no_minus_nought_and_no_exponent() {
    assert_eq!(number(-0.0, 2), "0.00");
    assert_eq!(number(-0.0004, 3), "0.000");
    assert_eq!(number(-0.0006, 3), "-0.001");
    assert_eq!(number(1e21, 0), "1000000000000000000000");
    assert_eq!(number(1e-9, 4), "0.0000");
    assert_eq!(number(-0.2, 0), "0");
    assert_eq!(trimmed(12.70, 3), "12.7");
    assert_eq!(trimmed(100.0, 0), "100");
    assert_eq!(trimmed(-0.0001, 2), "0");
}

proptest! {
    #[test]
    fn shown_lengths_read_back(mm in -5.0e4..5.0e4f64) {
        let plain = parse(&show(mm, Show::Mm)).unwrap();
        prop_assert!((plain - mm).abs() <= 0.05 + 1e-9);
        let trade = parse(&show(mm, Show::FeetInches)).unwrap();
        prop_assert!((trade - mm).abs() <= INCH / 32.0 + 1e-9);
        // A shown length is a fixed point of reading and showing.
        prop_assert_eq!(show(trade, Show::FeetInches), show(mm, Show::FeetInches));
    }

    #[test]
    fn sixteenths_read_back_exactly(total in 0u32..20_000, minus: bool) {
        let (feet, inches) = (total / 192, total % 192 / 16);
        let sign = if minus { "-" } else { "" };
        let want = f64::from(total) / 16.0 * INCH * if minus { -1.0 } else { 1.0 };
        let spelt = format!("{sign}{feet} ft {inches} {}/16 in", total % 16);
        prop_assert!(close(parse(&spelt).unwrap(), want));
        let plus = if total % 2 == 1 { "+" } else { "" };
        let booked = format!("{sign}{feet}-{inches}-{}{plus}", total % 16 / 2);
        prop_assert!(close(parse_cell(&booked, Unit::FeetInchesEighths).unwrap(), want));
    }

    #[test]
    fn decimals_read_back(value in -900.0..900.0f64) {
        let text = number(value, 6);
        prop_assert!((parse_cell(&text, Unit::M).unwrap() - value * 1000.0).abs() < 1e-3);
        prop_assert!((parse_cell(&text, Unit::Ft).unwrap() - value * FOOT).abs() < 1e-3);
        let inches = format!("{text} in");
        prop_assert!((parse(&inches).unwrap() - value * INCH).abs() < 1e-3);
    }

    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,24}") {
        for (_, unit) in Unit::NAMES {
            if let Ok(mm) = parse_cell(&text, unit) {
                prop_assert!(mm.is_finite());
            }
        }
        if let Ok(mm) = parse(&text) {
            prop_assert!(mm.is_finite());
        }
    }

    #[test]
    fn near_lengths_are_read_or_refused(text in "[-+]?[0-9./ '\"-]{0,12}(mm|in|ft|m)?") {
        if let Ok(mm) = parse(&text) {
            prop_assert!(mm.abs() <= LONGEST_MM);
        }
    }

    #[test]
    fn numbers_are_the_correctly_rounded_ones(value in -1.0e7..1.0e7f64, decimals in 0usize..10, tie: bool) {
        // Ties as doubles hold them: halves of a power of ten, rounded.
        let power = (0..decimals).fold(1.0, |p, _| p * 10.0);
        let value = if tie { ((value * power).floor() + 0.5) / power } else { value };
        let text = format!("{value:.decimals$}");
        let nought = text.bytes().all(|b| b"-0.".contains(&b));
        let want = if nought { text.trim_start_matches('-') } else { &text };
        prop_assert_eq!(number(value, decimals), want);
    }

    #[test]
    fn numbers_read_back(value in -1.0e9..1.0e9f64, decimals in 0usize..7) {
        let text = number(value, decimals);
        prop_assert!(!text.contains('e'));
        let back: f64 = text.parse().unwrap();
        prop_assert!((back - value).abs() <= 0.5 * libm::pow(10.0, -f64::from(u32::try_from(decimals).unwrap())) + 1e-6);
    }
}

#[test]
fn a_figure_beside_its_limit_is_not_rounded_to_it() {
    for (value, text) in [
        (0.0, "0"),
        (12.7, "12.7"),
        (5.3 * FOOT, "1615.44"),
        (0.0004, "0.0004"),
        (-0.04, "-0.04"),
        (49.96, "49.96"),
        (45.000_000_000_1, "45.0000000001"),
        (1e-12, "1e-12"),
        (1e300, "1e300"),
    ] {
        assert_eq!(unrounded(value), text);
    }
}
