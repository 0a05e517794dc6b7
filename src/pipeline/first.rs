//! Faults of many at once, and of stages that do not know the job's file.

use rayon::prelude::*;

use crate::fault::{Fault, Faults, Kind, Place};
use crate::job::Job;

/// Maps in parallel; the first fault in order is the one returned.
pub(super) fn every<T: Sync, U: Send>(
    all: &[T],
    f: impl Fn(&T) -> Result<U, Fault> + Sync,
) -> Result<Vec<U>, Fault> {
    let done: Vec<Result<U, Fault>> = all.par_iter().map(&f).collect();
    done.into_iter().collect()
}

/// A fault of a stage that does not know the job's file.
pub(super) fn in_job(mut fault: Fault, job: &Job) -> Fault {
    if fault.place.file.is_empty() {
        fault.place = match fault.place.field.take() {
            Some(field) => Place {
                station: fault.place.station,
                ..job.place(field)
            },
            None => Place {
                file: job.file.clone(),
                ..fault.place
            },
        };
    }
    fault
}

/// The first of a job's faults.
pub(super) fn first(faults: Faults, job: &Job) -> Fault {
    faults.0.into_iter().next().unwrap_or_else(|| {
        Fault::new(
            Kind::Geometry,
            Place::file(&job.file),
            "the bulwark was not laid out",
            "report this job",
        )
    })
}

/// Why something cannot be made, in a line.
pub(super) fn reason(fault: &Fault) -> String {
    let mut out = fault.what.clone();
    if let Some(station) = &fault.place.station {
        out = format!("{station}: {out}");
    }
    format!("{out}; {}", fault.mend)
}
