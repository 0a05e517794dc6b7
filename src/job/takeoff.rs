//! How the edge was taken off: the survey, its files and their codes, the
//! instrument's datum, verdicts on doubted figures, and the fairing.

use super::bulwark::Fairing;
use super::key_kind::Word;
use super::keys::CODES;
use super::surveyed::*;
use super::table::Table;
use super::text::Reader;
use crate::fault::Kind;
use crate::geom::{Vec3, vec3};
use crate::length::Show;

pub(super) fn survey(t: &Table<'_, '_>, show: Show, folder: &str) -> SurveyJob {
    let stations_aft = t.chosen::<Stations>("stations") == Stations::Aft;
    let mirrored = t.flag("mirrored");
    let files: Vec<SurveyFile> = t.tables("file").iter().map(|t| file(t, folder)).collect();
    if files.iter().any(|f| f.form == TableForm::Offsets) {
        t.needed(
            "stern",
            "an offset table ends at its last station: say how the sides meet aft, stern = \"transom\", \"open\", \"mitre\" or, where its points close at the centreline or another file measures round it, \"round\"",
        );
    }
    t.reader
        .set_frame(stations_aft, only_side(&files, mirrored));
    SurveyJob {
        unit: t.chosen("unit"),
        show,
        stations_aft,
        accuracy: t.maybe("accuracy").unwrap_or_default(),
        // Which tolerances follow it is for [`fairing`] to say.
        estimate: (!t.gives("accuracy")).then_some(Follow {
            base: true,
            top: true,
        }),
        line: t.chosen("line"),
        mirrored,
        stern: t.choice("stern").unwrap_or(Stern::Round),
        stem: stem(t),
        round_up: round_up(&t.table("round_up")),
        slope: t.maybe("slope"),
        datum: datum(&t.table("datum")),
        verdicts: {
            let tables = t.tables("verdict");
            tables.iter().filter_map(|t| verdict(t, folder)).collect()
        },
        files,
    }
}

/// The side, where every file states the same and it is not mirrored.
fn only_side(files: &[SurveyFile], mirrored: bool) -> Option<Side> {
    let first = files.first()?.side?;
    (!mirrored && files.iter().all(|f| f.side == Some(first))).then_some(first)
}

fn stem(t: &Table<'_, '_>) -> EndStyle {
    let half_siding = t.figure("stem_half_siding");
    if t.chosen::<Stem>("stem") == Stem::Mitre {
        return EndStyle::Mitre { half_siding };
    }
    if t.gives("stem_half_siding") {
        t.conflict(
            "stem_half_siding",
            "a square stem has no half-siding",
            "take the key out, or set stem = \"mitre\"",
        );
    }
    EndStyle::Square
}

fn round_up(t: &Table<'_, '_>) -> Option<RoundUp> {
    t.present().then(|| RoundUp {
        height: t.figure("height"),
        half_beam: t.maybe("half_beam"),
        construction: t.chosen("construction"),
    })
}

pub(super) fn fairing(t: &Table<'_, '_>, survey: &mut SurveyJob) -> Fairing {
    if let Some(follow) = &mut survey.estimate {
        follow.base = !t.gives("base");
        follow.top = !t.gives("top");
    }
    let top = TOP_OVER_BASE * survey.accuracy;
    let fairing = Fairing {
        base: t.maybe("base").unwrap_or(survey.accuracy),
        top: t.maybe("top").unwrap_or(top),
        stem_angle: t.maybe("stem_angle_deg"),
        stern_angle: t.maybe("stern_angle_deg"),
        sides: t.chosen("sides"),
    };
    if fairing.stern_angle.is_some() && survey.stern == Stern::Round {
        t.conflict(
            "stern_angle_deg",
            "a round stern is one smooth curve: its sides do not end there",
            "take the key out, or set survey.stern to \"transom\", \"open\" or \"mitre\"",
        );
    }
    fairing
}

fn file(t: &Table<'_, '_>, folder: &str) -> SurveyFile {
    let form = t.chosen("form");
    for (key, wanted) in [("codes", TableForm::List), ("layer", TableForm::Dxf)] {
        if t.gives(key) && form != wanted {
            let word = wanted.word();
            t.conflict(
                key,
                format!("`{key}` belongs to form = \"{word}\""),
                format!("take the key out, or set form = \"{word}\""),
            );
        }
    }
    let layer = t.text("layer").unwrap_or_default();
    if form == TableForm::Dxf && layer.is_empty() {
        t.missing(
            "layer",
            "name the layer that holds the edge: layer = \"EDGE\"",
        );
    }
    SurveyFile {
        path: t.path("path", folder).unwrap_or_default(),
        form,
        side: t.choice("side"),
        unit: t.choice("unit"),
        codes: codes(&t.table("codes")),
        layer,
        place: t.place("path"),
    }
}

/// The codes of a point list; a kind of point that the job does not name
/// keeps its own word.
fn codes(t: &Table<'_, '_>) -> Codes {
    let list = |kind| t.texts(kind).unwrap_or_default();
    let codes = Codes {
        edge: list("edge"),
        knuckle: list("knuckle"),
        inboard: list("inboard"),
        datum: list("datum"),
        ignore: list("ignore"),
    };
    let kinds = codes.by_kind();
    for (i, (key, list)) in kinds.iter().enumerate() {
        for code in *list {
            let same = |c: &String| c.eq_ignore_ascii_case(code);
            let earlier = kinds.iter().take(i).find(|(_, l)| l.iter().any(same));
            if let Some((other, _)) = earlier {
                t.conflict(
                    key,
                    format!("the code `{code}` stands under `{other}` and under `{key}`"),
                    "give each code one meaning",
                );
            }
        }
    }
    codes
}

impl Default for Codes {
    /// As where a job names none.
    fn default() -> Self {
        codes(&Table::new(
            &Reader::new("", ""),
            String::new(),
            CODES,
            None,
        ))
    }
}

/// The instrument's datum, if the job has one.
fn datum(t: &Table<'_, '_>) -> Option<Datum> {
    if !t.present() {
        return None;
    }
    let tables = t.tables("reference");
    let references: Vec<Reference> = tables.iter().map(reference).collect();
    if references.len() < 3 {
        t.fault(
            Kind::Missing,
            "reference",
            format!("the datum has {} reference points", references.len()),
            "give three or more [[survey.datum.reference]], not on one line",
        );
    }
    for (i, (r, table)) in references.iter().zip(&tables).enumerate() {
        let same = |o: &Reference| o.name.eq_ignore_ascii_case(&r.name);
        if !r.name.is_empty() && references.iter().take(i).any(same) {
            table.used_twice(&r.name);
        }
    }
    Some(Datum {
        level: t.flag("level"),
        limit: t.maybe("limit"),
        references,
    })
}

fn reference(t: &Table<'_, '_>) -> Reference {
    Reference {
        name: t.text("name").unwrap_or_default(),
        boat: point(t, "boat").unwrap_or_default(),
        measured: point(t, "measured"),
    }
}

fn point(t: &Table<'_, '_>, key: &str) -> Option<Vec3> {
    let mend = "write it as { x = \"4 m\", y = \"0 mm\", z = \"1.2 m\" }";
    let at = t.table_in(key, "a point", mend);
    at.present()
        .then(|| vec3(at.figure("x"), at.figure("y"), at.figure("z")))
}

fn verdict(t: &Table<'_, '_>, folder: &str) -> Option<Verdict> {
    let (point, value) = (t.text("point"), t.text("value"));
    let figure = t.choice("figure");
    let does = t.choice::<Do>("do");
    if does == Some(Do::Replace) {
        t.needed("value", "write the figure as its table would, in quotes");
        t.needed("figure", "say which figure of the row is replaced");
    } else if does.is_some() && t.gives("value") {
        t.conflict(
            "value",
            "only a replaced figure has a value",
            "take the key out, or set do = \"replace\"",
        );
    }
    if does == Some(Do::Exclude) && t.gives("figure") {
        t.conflict(
            "figure",
            "a row is excluded whole",
            "take the key out, or replace the figure",
        );
    }
    Some(Verdict {
        file: t.path("file", folder),
        point: point.unwrap_or_default(),
        side: t.choice("side"),
        figure,
        act: match does? {
            Do::Accept => Act::Accept,
            Do::Replace => Act::Replace(value?),
            Do::Exclude => Act::Exclude,
        },
        places: ["file", "point", "figure", "value"]
            .map(|key| (key, t.place(key)))
            .into(),
    })
}
