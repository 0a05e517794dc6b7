//! How the edge was taken off: survey files, their codes, and the
//! instrument's datum.

use std::path::Path;

use super::table::{Table, above_zero_to, from};
use super::*;
use crate::fault::Kind;
use crate::geom::{Vec3, vec3};
use crate::length::Unit;

/// Largest residual that a job may allow, mm: more is no fit.
const MOST_RESIDUAL: f64 = 100.0;

pub(super) fn files(tables: &[Table<'_, '_>], folder: &str) -> Vec<SurveyFile> {
    tables.iter().map(|t| file(t, folder)).collect()
}

fn file(t: &Table<'_, '_>, folder: &str) -> SurveyFile {
    let path = t.path_needed("path");
    let forms = [
        ("offsets", TableForm::Offsets),
        ("points", TableForm::Points),
        ("list", TableForm::List),
        ("dxf", TableForm::Dxf),
    ];
    let form = t.choice("form", &forms).unwrap_or(TableForm::Offsets);
    let side = t.side("side");
    let unit = t.choice("unit", &Unit::NAMES);
    let only = |key, wanted, word: &str| {
        if t.gives(key) && form != wanted {
            t.fault(
                Kind::Conflict,
                key,
                format!("`{key}` belongs to form = \"{word}\""),
                format!("take the key out, or set form = \"{word}\""),
            );
        }
    };
    only("codes", TableForm::List, "list");
    only("layer", TableForm::Dxf, "dxf");
    let codes = codes(&t.table("codes"));
    let layer = t.text("layer");
    if form == TableForm::Dxf && layer.as_deref().unwrap_or_default().is_empty() {
        t.missing(
            "layer",
            "name the layer that holds the edge: layer = \"EDGE\"",
        );
    }
    t.finish();
    SurveyFile {
        path: Path::new(folder).join(path).to_string_lossy().into_owned(),
        form,
        side,
        unit,
        codes,
        layer: layer.unwrap_or_default(),
        place: t.reader.place_of(&t.field("path")),
    }
}

/// The codes of a point list; a kind of point that the job does not name
/// keeps its own word.
fn codes(t: &Table<'_, '_>) -> Codes {
    let usual = Codes::default();
    let codes = Codes {
        edge: t.texts("edge").unwrap_or(usual.edge),
        knuckle: t.texts("knuckle").unwrap_or(usual.knuckle),
        inboard: t.texts("inboard").unwrap_or(usual.inboard),
        datum: t.texts("datum").unwrap_or(usual.datum),
        ignore: t.texts("ignore").unwrap_or(usual.ignore),
    };
    let kinds = codes.by_kind();
    for (i, (key, list)) in kinds.iter().enumerate() {
        for code in *list {
            let same = |c: &String| c.eq_ignore_ascii_case(code);
            let earlier = kinds.iter().take(i).find(|(_, l)| l.iter().any(same));
            if let Some((other, _)) = earlier {
                t.fault(
                    Kind::Conflict,
                    key,
                    format!("the code `{code}` stands under `{other}` and under `{key}`"),
                    "give each code one meaning",
                );
            }
        }
    }
    t.finish();
    codes
}

/// The instrument's datum, if the job has one.
pub(super) fn datum(t: &Table<'_, '_>) -> Option<Datum> {
    if !t.present() {
        return None;
    }
    let level = t.flag("level");
    let limit = t.length("limit", above_zero_to(MOST_RESIDUAL));
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
            table.fault(
                Kind::Conflict,
                "name",
                format!("the name `{}` is used twice", r.name),
                "give each its own name",
            );
        }
    }
    t.finish();
    Some(Datum {
        level,
        limit,
        references,
    })
}

fn reference(t: &Table<'_, '_>) -> Reference {
    let name = t.text_needed("name");
    if !t.gives("boat") {
        t.missing("boat", XYZ);
    }
    let boat = xyz(&t.table("boat"));
    let measured = t.table("measured");
    let measured = measured.present().then(|| xyz(&measured));
    t.finish();
    Reference {
        name,
        boat,
        measured,
    }
}

const XYZ: &str = "write it as { x = \"4 m\", y = \"0 mm\", z = \"1.2 m\" }";

fn xyz(t: &Table<'_, '_>) -> Vec3 {
    let all = from(f64::NEG_INFINITY);
    let [x, y, z] = ["x", "y", "z"].map(|key| {
        if t.present() && !t.gives(key) {
            t.missing(key, XYZ);
        }
        t.length(key, all).unwrap_or_default()
    });
    t.finish();
    vec3(x, y, z)
}
