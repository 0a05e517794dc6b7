//! The check of the tacked and the welded line.

use super::fairness::Faired;
use super::shape::lay;
use crate::fault::Faults;
use crate::job::{Job, SurveyFile};
use crate::report::fairness::misgivings;
use crate::report::tacked::{Line, Subject, tacked_json, tacked_text};
use crate::tacked::{check, marks, pulls, read};

/// What the check says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TackedCheck {
    /// The line that was surveyed last is fair.
    pub fair: bool,
    /// As a person reads it.
    pub text: String,
    /// As a machine reads it.
    pub json: String,
}

/// Checks a survey of the tacked line, and one of the welded line if there is one: each the
/// file's name and its text.
///
/// # Errors
/// All problems of the job's survey, then of the layout, then of both tables.
pub fn tacked_check(
    job: &Job,
    tables: &[(SurveyFile, String)],
    tacked: &(String, String),
    welded: Option<&(String, String)>,
) -> Result<TackedCheck, Faults> {
    let (Faired { survey, edge }, layout) = lay(job, tables)?;
    let marks = marks(&edge, &layout);
    let line = |(file, text): &(String, String)| -> Result<Line, Faults> {
        let rows = read(text, file, job, &marks)?;
        Ok(Line {
            file: file.clone(),
            checked: check(job, &edge, &marks, &rows, file)?,
        })
    };
    let (tacked, welded) = match (line(tacked), welded.map(line).transpose()) {
        (Ok(tacked), Ok(welded)) => (tacked, welded),
        (Err(mut f), Err(g)) => {
            f.0.extend(g.0);
            return Err(f);
        }
        (Err(f), _) | (_, Err(f)) => return Err(f),
    };
    let pulled = welded
        .as_ref()
        .map(|w| pulls(&tacked.checked, &w.checked))
        .unwrap_or_default();
    let warnings = misgivings(&survey, &edge.doubts);
    let subject = Subject {
        job,
        warnings: &warnings,
        tacked: &tacked,
        welded: welded.as_ref(),
        pulls: &pulled,
    };
    Ok(TackedCheck {
        fair: subject.last().checked.fair(),
        text: tacked_text(&subject),
        json: tacked_json(&subject)?,
    })
}
