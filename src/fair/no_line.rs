//! Why there is no line, for people.

use crate::fault::{Fault, Kind, Place};
use crate::survey::Point;

/// Why no line can be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoLine {
    /// Fewer than two distinct places in plan.
    TooFew,
    /// A coordinate or tolerance that is not finite, or lists of different length.
    NotFinite,
    /// The points double back: no smooth curve runs through them in this order near this point.
    DoublesBack(usize),
    /// The equations are singular.
    Singular,
    /// A direction is asked for at an end of a line of fewer than four points.
    TooFewForDirection,
}

/// Where a measured point is booked.
pub(super) fn place_of(point: &Point) -> Place {
    let side = point.side.name();
    Place::file(&point.file)
        .line(point.line)
        .station(format!("{side}, {}", point.name))
}

/// Why there is no line through points, for people.
pub(super) fn no_line(why: NoLine, points: &[Point], name: &str) -> Fault {
    let at = match why {
        NoLine::DoublesBack(i) => i,
        _ => 0,
    };
    let place = points
        .get(at)
        .or(points.first())
        .map_or_else(Place::default, place_of);
    let (kind, what, mend) = match why {
        NoLine::TooFew => (
            Kind::Survey,
            format!("the {name} from here has fewer than two points at different places in plan"),
            "measure more points, and check for a knuckle marked twice",
        ),
        NoLine::NotFinite => (
            Kind::Range,
            format!("a number of the {name} from here is not finite"),
            "check the rows of this length, and the job's heights, leans and tolerances",
        ),
        NoLine::DoublesBack(_) => (
            Kind::Survey,
            format!("the {name} doubles back on itself about here"),
            "check the order of the points, or mark a corner as a knuckle",
        ),
        NoLine::Singular => (
            Kind::Survey,
            format!("no smooth {name} can be drawn through the points from here"),
            "check the points for gross errors, or mark a corner as a knuckle",
        ),
        NoLine::TooFewForDirection => (
            Kind::Survey,
            format!(
                "the {name} from here has fewer than four points, too few to meet a given angle"
            ),
            "measure more points, or leave out fairing.stem_angle_deg and fairing.stern_angle_deg",
        ),
    };
    Fault::new(kind, place, what, mend)
}
