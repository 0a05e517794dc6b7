//! How much of a long work is done.

use std::sync::atomic::{AtomicUsize, Ordering};

/// Counts steps, and tells the fraction done from any thread.
pub(super) struct Steps<'a> {
    done: AtomicUsize,
    all: usize,
    tell: &'a (dyn Fn(f64) + Sync),
}

impl<'a> Steps<'a> {
    /// Of `all` steps.
    pub(super) fn new(all: usize, tell: &'a (dyn Fn(f64) + Sync)) -> Self {
        Self {
            done: AtomicUsize::new(0),
            all,
            tell,
        }
    }

    /// One more is done.
    pub(super) fn step(&self) {
        self.done.fetch_add(1, Ordering::Relaxed);
        self.within(0.0);
    }

    /// Tells how far the step that is under way is, 0 to 1.
    pub(super) fn within(&self, step: f64) {
        let done = self.done.load(Ordering::Relaxed) as f64 + step;
        (self.tell)(done / self.all.max(1) as f64);
    }
}
