//! A row or a drawing's vertex as it was taken, before its frame and its
//! side are known.

use super::model::Point;
use super::passes::Near;
use crate::job::{SurveyFile, SurveyJob};
use crate::length::Unit;
use crate::stock::nearest;

/// What reading a row needs to know beside its cells.
pub(super) struct Context<'a> {
    pub(super) file: &'a SurveyFile,
    pub(super) job: &'a SurveyJob,
    pub(super) near: Near,
}

impl Context<'_> {
    /// What a bare number means in this file.
    pub(super) fn unit(&self) -> Unit {
        self.job.unit_of(self.file)
    }
}

/// What a row is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum RowKind {
    /// A point of the edge.
    Edge,
    /// A point of the edge where the curve breaks.
    Knuckle,
    /// A point of the covering board's top, inboard of the edge.
    Inboard,
    /// A reference point of the datum, by its place in the job's list.
    Reference(usize),
    /// Something else.
    Ignored,
}

/// A row as it was taken.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Taken {
    /// The point; its side counts only where `stated`.
    pub(super) point: Point,
    pub(super) kind: RowKind,
    /// True where the row or the job says which side it is.
    pub(super) stated: bool,
}

/// What a code means. A code may be a reference point's own name; else a code
/// of the datum takes the row's name for it.
///
/// # Errors
/// What is wrong and how to mend it.
pub(super) fn kind_of_code(
    code: &str,
    name: Option<&str>,
    context: &Context<'_>,
) -> Result<RowKind, (String, String)> {
    let references = context.job.datum.as_ref().map(|d| d.references.as_slice());
    let references = references.unwrap_or_default();
    let reference = |text: &str| {
        references
            .iter()
            .position(|r| r.name.eq_ignore_ascii_case(text))
    };
    if let Some(i) = reference(code) {
        return Ok(RowKind::Reference(i));
    }
    let kinds = context.file.codes.by_kind();
    let found = kinds
        .iter()
        .find(|(_, codes)| codes.iter().any(|c| c.eq_ignore_ascii_case(code)));
    let known = || references.iter().map(|r| r.name.as_str());
    match found.map(|(kind, _)| *kind) {
        Some("edge") => Ok(RowKind::Edge),
        Some("knuckle") => Ok(RowKind::Knuckle),
        Some("inboard") => Ok(RowKind::Inboard),
        Some("datum") if references.is_empty() => Ok(RowKind::Ignored),
        Some("datum") => name.and_then(reference).map(RowKind::Reference).ok_or_else(|| {
            let given = name.unwrap_or_default();
            let near = nearest(given, known()).unwrap_or_default();
            (
                format!("`{given}` is not a reference point of the job"),
                format!("name the row as in [[survey.datum.reference]]; the nearest name is `{near}`"),
            )
        }),
        Some(_) => Ok(RowKind::Ignored),
        None => {
            let codes = kinds.iter().flat_map(|(_, c)| c.iter().map(String::as_str));
            let near = nearest(code, codes.chain(known())).unwrap_or_default();
            Err((
                format!("the job does not name the code `{code}`"),
                format!("the nearest code is `{near}`: correct the row, or add the code to this file's `codes`, under `ignore` if it is no edge"),
            ))
        }
    }
}
