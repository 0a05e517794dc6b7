//! Every tolerance of the project, named for what it compares.

/// Tolerances, with their units in their names.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// Measured points closer than this are the same point.
    pub doubled_point_mm: f64,
    /// Largest distance of a part's arcs and lines from its true edge. The
    /// job may override it. Finer than 0.05 mm gives a table controller more
    /// vertices than a cut shows.
    pub outline_mm: f64,
    /// A clearance short by less than this holds: rounding of written
    /// coordinates, not metal.
    pub clearance_slack_mm: f64,
    /// What a part folded back from its files may lie off its member beyond
    /// the outline's tolerance: the schedule's own 0.02 mm, written digits and
    /// the fit. More is a fault of the drawing or the schedule.
    pub refold_mm: f64,
    /// Furthest apart the rows of a bend schedule lie along the edge.
    pub bend_step_mm: f64,
}

impl Default for Tolerance {
    fn default() -> Self {
        Self {
            doubled_point_mm: 0.5,
            outline_mm: 0.05,
            clearance_slack_mm: 0.001,
            refold_mm: 0.05,
            bend_step_mm: 50.0,
        }
    }
}
