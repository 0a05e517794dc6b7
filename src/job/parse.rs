//! From the text of a job file to a [`Job`].
//!
//! Defaults are common practice in the trade, without a source, unless a
//! comment names one; `docs/job-file.md` lists them all.

use std::collections::BTreeMap;

use toml::de::DeTable;

use super::choices;
use super::cutting;
use super::parts;
use super::sheets;
use super::table::{Limits, Table, above_zero_to, between};
use super::takeoff;
use super::text::Reader;
use super::verdict;
use super::*;
use crate::fault::{Faults, Kind};
use crate::length::{INCH, Unit};

/// Widest timber or plate that is believed, mm: a slip of the unit shows here.
pub(super) const WIDE: f64 = 2000.0;
/// Thickest plate that is believed, mm.
pub(super) const THICK: f64 = 100.0;
/// Steepest lean or slope, degrees: beyond it the section's words (width,
/// overhang) lose their meaning.
pub(super) const STEEP_DEG: f64 = 45.0;

/// The job in the text of a job file. `file` is its name as the user gave it,
/// `folder` the folder against which its survey paths are resolved.
///
/// # Errors
/// Every fault of the file in one pass, each with line, column and the key's
/// full name: syntax, unknown keys with the nearest known one, missing keys,
/// lengths without unit, figures out of range, contradictions, a section that
/// does not hold together, and plates that no listed sheet can give.
pub fn parse(text: &str, file: &str, folder: &str) -> Result<Job, Faults> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = Reader::new(file, text);
    let (root, errors) = DeTable::parse_recoverable(text);
    for e in &errors {
        let mut place = reader.place(e.span().map_or(0, |s| s.start));
        place.field = None;
        reader.push(Fault::new(
            Kind::Syntax,
            place,
            e.message(),
            "mend the text there: a line is `key = value`, text stands in double quotes, a key stands once",
        ));
    }
    if !reader.clean() {
        return Err(reader.into_faults());
    }
    reader.index(root.get_ref());
    let table = Table::new(&reader, String::new(), Some(root.get_ref()));
    let job = job(&table, file, folder);
    check::cross_check(&job, &reader);
    if reader.clean() {
        Ok(job)
    } else {
        Err(reader.into_faults())
    }
}

fn job(root: &Table<'_, '_>, file: &str, folder: &str) -> Job {
    let name = root.text_needed("name");
    let date = root.date("date").unwrap_or_default();
    let note = root.text("note").unwrap_or_default();
    let show = root
        .choice(
            "show",
            &[("mm", Show::Mm), ("feet-inches", Show::FeetInches)],
        )
        .unwrap_or_default();
    let mut survey = survey(&root.table("survey"), folder);
    let fairing = fairing(&root.table("fairing"), &mut survey);
    let check = tacked(&root.table("check"));
    let bulwark = bulwark(&root.table("bulwark"));
    let (base, bedding, base_fasteners) = base(&root.table("base"));
    let (top, top_slope, top_fasteners) = top(&root.table("top"));
    let section = section(&root.table("section"));
    let stanchions = parts::stanchions(&root.table("stanchions"));
    let joints = parts::joints(&root.table("joints"));
    let doublers = parts::doublers(&root.tables("doubler"), &base);
    let keep_clear = parts::keep_clear(&root.tables("keep_clear"));
    let runs = parts::stretches(&root.tables("run"), "run");
    let gaps = parts::stretches(&root.tables("gap"), "gap");
    let sheets = sheets::sheets(&root.tables("sheet"), &base, folder);
    let cutting = cutting::cutting(&root.table("cutting"));
    let remnants = cutting::remnants(&root.table("remnants"));
    let estimate = choices::choices(&root.table("estimate"), &sheets, &cutting);
    let priced = sheets.iter().any(|s| s.price.is_some()) || estimate.iter().any(Choice::priced);
    let prices = parts::prices(&root.table("prices"), priced);
    let (output, outline_mm) = parts::output(&root.table("output"));
    root.finish();
    Job {
        file: file.to_owned(),
        name,
        date,
        note,
        show,
        survey,
        fairing,
        check,
        bulwark,
        base,
        bedding,
        top,
        top_slope,
        section,
        stanchions,
        base_fasteners,
        top_fasteners,
        joints,
        doublers,
        keep_clear,
        runs,
        gaps,
        sheets,
        cutting,
        remnants,
        prices,
        estimate,
        output,
        tolerance: Tolerance {
            outline_mm,
            ..Tolerance::default()
        },
    }
}

fn survey(t: &Table<'_, '_>, folder: &str) -> SurveyJob {
    let unit = t.choice("unit", &Unit::NAMES);
    if !t.gives("unit") {
        t.missing("unit", "say what a bare number in the tables means: unit = \"mm\", \"m\", \"in\", \"ft\", \"feet-inches\" or \"feet-inches-eighths\"");
    }
    let stations_aft = t
        .choice("stations", &[("forward", false), ("aft", true)])
        .unwrap_or(false);
    let accuracy = t.length_or("accuracy", between(0.0, 50.0), 0.0);
    let line = t
        .choice(
            "line",
            &[
                ("covering-board-edge", SurveyedLine::CoveringBoardEdge),
                ("outside-of-planking", SurveyedLine::OutsideOfPlanking),
            ],
        )
        .unwrap_or(SurveyedLine::CoveringBoardEdge);
    let mirrored = t.flag("mirrored");
    let stern = t
        .choice(
            "stern",
            &[
                ("round", Stern::Round),
                ("transom", Stern::Transom),
                ("open", Stern::Open),
                ("mitre", Stern::Mitre),
            ],
        )
        .unwrap_or(Stern::Round);
    let files = takeoff::files(&t.tables("file"), folder);
    if !t.gives("file") {
        t.missing("file", "add a [[survey.file]] with path and form");
    } else if files.is_empty() && !t.reader.faulty().contains("survey.file") {
        t.fault(
            Kind::Missing,
            "file",
            "no survey file is listed",
            "add a [[survey.file]] with path and form",
        );
    }
    if !t.gives("stern") && files.iter().any(|f| f.form == TableForm::Offsets) {
        t.missing(
            "stern",
            "an offset table ends at its last station: say how the sides meet aft, stern = \"transom\", \"open\", \"mitre\" or, where its points close at the centreline or another file measures round it, \"round\"",
        );
    }
    let only = only_side(&files, mirrored);
    t.reader.set_frame(stations_aft, only);
    let survey = SurveyJob {
        unit: unit.unwrap_or(Unit::Mm),
        stations_aft,
        accuracy,
        // Which tolerances follow it is for [`fairing`] to say.
        estimate: (!t.gives("accuracy")).then_some(Follow {
            base: true,
            top: true,
        }),
        line,
        mirrored,
        stern,
        stem: stem(t),
        round_up: round_up(&t.table("round_up")),
        slope: t.number("slope", between(-1.0, 1.0), ""),
        datum: takeoff::datum(&t.table("datum")),
        verdicts: verdict::verdicts(&t.tables("verdict"), &files, folder),
        files,
    };
    t.finish();
    survey
}

/// The side, where every file states the same and it is not mirrored.
fn only_side(files: &[SurveyFile], mirrored: bool) -> Option<Side> {
    let first = files.first()?.side?;
    (!mirrored && files.iter().all(|f| f.side == Some(first))).then_some(first)
}

fn stem(t: &Table<'_, '_>) -> EndStyle {
    let mitred = t
        .choice("stem", &[("square", false), ("mitre", true)])
        .unwrap_or(false);
    let half_siding = t.length("stem_half_siding", between(0.0, 1000.0));
    if mitred {
        return EndStyle::Mitre {
            half_siding: half_siding.unwrap_or(0.0),
        };
    }
    if t.gives("stem_half_siding") {
        t.fault(
            Kind::Conflict,
            "stem_half_siding",
            "a square stem has no half-siding",
            "take the key out, or set stem = \"mitre\"",
        );
    }
    EndStyle::Square
}

fn round_up(t: &Table<'_, '_>) -> Option<RoundUp> {
    if !t.present() {
        return None;
    }
    let round_up = RoundUp {
        height: t.length_needed("height", between(0.0, WIDE)),
        half_beam: t.length("half_beam", above_zero_to(50_000.0)),
        construction: t
            .choice(
                "construction",
                &[
                    ("circular-arc", Construction::CircularArc),
                    ("parabola", Construction::Parabola),
                    ("quarter-circle", Construction::QuarterCircle),
                ],
            )
            .unwrap_or(Construction::CircularArc),
    };
    t.finish();
    Some(round_up)
}

/// Furthest a tacked stanchion can be moved, mm, if the job does not say: about 1/4 in
/// (common practice, no source).
const TACKED_LIMIT: f64 = 6.0;

/// The check of the tacked line.
fn tacked(t: &Table<'_, '_>) -> Check {
    let check = Check {
        limit: t.length_or("limit", between(0.0, 100.0), TACKED_LIMIT),
        accuracy: t.length("accuracy", between(TACKED_ACCURACY, 50.0)),
        fixed: t.texts("fixed").unwrap_or_default(),
        place: t.reader.place_of(&t.field("fixed")),
    };
    t.finish();
    check
}

fn fairing(t: &Table<'_, '_>, survey: &mut SurveyJob) -> Fairing {
    if let Some(follow) = &mut survey.estimate {
        follow.base = !t.gives("base");
        follow.top = !t.gives("top");
    }
    let right = between(-90.0, 90.0);
    let angle = |key| t.number(key, right, "degrees").map(f64::to_radians);
    let fairing = Fairing {
        base: t.length_or("base", between(0.0, 200.0), survey.accuracy),
        top: t.length_or("top", between(0.0, 200.0), TOP_OVER_BASE * survey.accuracy),
        stem_angle: angle("stem_angle_deg"),
        stern_angle: angle("stern_angle_deg"),
        sides: t
            .choice("sides", &[("own", Sides::Own), ("alike", Sides::Alike)])
            .unwrap_or_default(),
    };
    if fairing.stern_angle.is_some() && survey.stern == Stern::Round {
        t.fault(
            Kind::Conflict,
            "stern_angle_deg",
            "a round stern is one smooth curve: its sides do not end there",
            "take the key out, or set survey.stern to \"transom\", \"open\" or \"mitre\"",
        );
    }
    t.finish();
    fairing
}

fn bulwark(t: &Table<'_, '_>) -> Bulwark {
    let bulwark = Bulwark {
        height: t.length_needed("height", between(50.0, 3000.0)),
        height_from: t
            .choice(
                "from",
                &[
                    ("covering-board", HeightFrom::CoveringBoard),
                    ("base-plate", HeightFrom::BasePlate),
                ],
            )
            .unwrap_or(HeightFrom::CoveringBoard),
        height_to: t
            .choice(
                "to",
                &[
                    ("top-plate", HeightTo::TopPlate),
                    ("under-top-plate", HeightTo::UnderTopPlate),
                    ("cap", HeightTo::Cap),
                ],
            )
            .unwrap_or(HeightTo::TopPlate),
        lean: degrees(t, "lean_deg").unwrap_or(0.0),
    };
    t.finish();
    bulwark
}

fn degrees(t: &Table<'_, '_>, key: &'static str) -> Option<f64> {
    t.number(key, between(-STEEP_DEG, STEEP_DEG), "degrees")
        .map(f64::to_radians)
}

fn plate(t: &Table<'_, '_>, width: f64) -> Plate {
    Plate {
        width: t.length_or("width", between(20.0, WIDE), width),
        thickness: t.length_or("thickness", above_zero_to(THICK), INCH / 2.0),
        alloy: t.alloy("alloy").unwrap_or_else(|| "5086-H116".to_owned()),
    }
}

fn base(t: &Table<'_, '_>) -> (Plate, f64, Option<Fasteners>) {
    let plate = plate(t, 7.0 * INCH);
    let bedding = t.length_or("bedding", between(0.0, 50.0), INCH / 8.0);
    let holes = fasteners(&t.table("fasteners"), 9.0 / 16.0 * INCH, 1.5 * INCH);
    t.finish();
    (plate, bedding, holes)
}

fn top(t: &Table<'_, '_>) -> (Plate, TopSlope, Option<Fasteners>) {
    let plate = plate(t, 5.0 * INCH);
    let word = t.choice(
        "slope",
        &[("level", TopSlope::Level), ("deck", TopSlope::Deck)],
    );
    let angle = degrees(t, "slope_deg");
    if t.gives("slope") && t.gives("slope_deg") {
        t.fault(
            Kind::Conflict,
            "slope_deg",
            "the top plate has both `slope` and `slope_deg`",
            "give one of them",
        );
    }
    let slope = angle
        .map(TopSlope::Angle)
        .or(word)
        .unwrap_or(TopSlope::Level);
    let holes = fasteners(&t.table("fasteners"), 7.0 / 16.0 * INCH, 1.25 * INCH);
    t.finish();
    (plate, slope, holes)
}

/// Rows of holes; none where the job has no such table. `clear_of_butt` keeps
/// holes out of the weld-affected zone, 1 in each side of a weld (Aluminum
/// Design Manual 2015, from memory), with half an inch to spare.
fn fasteners(t: &Table<'_, '_>, diameter: f64, row: f64) -> Option<Fasteners> {
    if !t.present() {
        return None;
    }
    let lengths = between(0.0, WIDE);
    let holes = Fasteners {
        diameter: t.length_or("diameter", between(2.0, 100.0), diameter),
        spacing: t.length_or("spacing", above_zero_to(WIDE), 8.0 * INCH),
        outboard_row: t.length_or("outboard_row", lengths, row),
        inboard_row: t.length_or("inboard_row", lengths, row),
        clear_of_stanchion: t.length_or("clear_of_stanchion", lengths, INCH),
        clear_of_butt: t.length_or("clear_of_butt", lengths, 1.5 * INCH),
    };
    t.finish();
    Some(holes)
}

fn section(t: &Table<'_, '_>) -> Section {
    let timber: Limits = between(0.0, 500.0);
    let section = Section {
        planking: t.length_or("planking", timber, INCH),
        planking_inset: t.length_or("planking_inset", between(-500.0, 500.0), 0.0),
        weld_setback: t.length_or("weld_setback", between(0.0, 50.0), INCH / 8.0),
        inwale: t.length_or("inwale", timber, 0.75 * INCH),
        cap_width: t.length_or("cap_width", above_zero_to(WIDE), 8.0 * INCH),
        cap_thickness: t.length_or("cap_thickness", timber, 1.75 * INCH),
        overhang_outboard: t.length_or("overhang_outboard", timber, INCH / 2.0),
        overhang_inboard: t.length_or("overhang_inboard", timber, INCH / 2.0),
    };
    t.finish();
    section
}

/// Layers with their own names in the default colour.
pub(super) fn default_layers() -> BTreeMap<String, LayerStyle> {
    LAYER_NAMES
        .iter()
        .map(|&name| {
            let style = LayerStyle {
                name: name.to_owned(),
                colour: 7,
            };
            (name.to_owned(), style)
        })
        .collect()
}

/// Prices and rates: a billion is a slip of the pen, and sums stay finite.
pub(super) const NONE_OR_MORE: Limits = between(0.0, 1e9);
