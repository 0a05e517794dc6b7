//! The bulwark in space and its members.

use super::seat::TubeEnd;
use super::strip::Strip;
use crate::geom::Vec3;
use crate::job::Side;

/// All members.
#[derive(Debug, Clone, Default)]
pub struct Layout {
    /// Plates and doublers, in the order they lie along each chain.
    pub members: Vec<Member>,
    /// Stanchions: port from forward, on the centreline, starboard from forward.
    pub stanchions: Vec<Stanchion>,
    /// Joints, for lists.
    pub joints: Vec<Joint>,
    /// Lengths of the runs' reference edges, mm.
    pub runs: Vec<RunLength>,
    /// Port, across, starboard: those that there are.
    pub bulwarks: Vec<BulwarkLength>,
    /// Sentences for people: cautions that came of the layout.
    pub warnings: Vec<String>,
}

impl Layout {
    /// Length of a joint across its plate, mm, from the outboard to the inboard
    /// edge: the plate's width at a butt, more at a mitre. `None` where its
    /// members are not in the layout.
    #[must_use]
    pub fn joint_length(&self, joint: &Joint) -> Option<f64> {
        let member = self
            .members
            .iter()
            .find(|m| m.kind == joint.kind && m.name == joint.between[0])?;
        let to_end = [member.stretch.from, member.stretch.to].map(|t| (t - joint.t).abs());
        let cut = &member.strip.cuts[usize::from(to_end[1] < to_end[0])];
        let at = |w: f64| member.strip.guide.jet(cut.at(w), w).point;
        Some(at(0.0).distance(at(1.0)))
    }
}

/// Kind of a flat member.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum MemberKind {
    /// On the covering board.
    BasePlate,
    /// Under the cap.
    TopPlate,
    /// Stiffening on the base plate.
    Doubler,
    /// The wood cap on the top plate: sawn, not part of a layout's members.
    Cap,
}

impl MemberKind {
    /// The two plates.
    pub(super) const PLATES: [Self; 2] = [Self::BasePlate, Self::TopPlate];

    /// Of the base plate's and the top plate's its own; a doubler is of the base plate,
    /// the cap goes with the top plate.
    pub(super) fn pick<T>(self, base: T, top: T) -> T {
        match self {
            Self::TopPlate | Self::Cap => top,
            Self::BasePlate | Self::Doubler => base,
        }
    }
}

/// The face that is marked and drawn upward.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Face {
    /// Seen from above.
    Upper,
    /// Seen from below: the outline is mirrored.
    Lower,
}

/// A plate member.
#[derive(Debug, Clone)]
pub struct Member {
    /// Short name, such as `B3`: marked on the part.
    pub name: String,
    /// Kind.
    pub kind: MemberKind,
    /// Alloy and temper.
    pub alloy: String,
    /// Thickness, mm.
    pub thickness: f64,
    /// Face that is marked.
    pub marked: Face,
    /// Mid-thickness surface.
    pub strip: Strip,
    /// Stretch of edge that it lies along.
    pub stretch: Stretch,
    /// Side of its middle.
    pub side: Side,
    /// True where t runs aft (port): forward is at the first end.
    pub runs_aft: bool,
    /// Holes and marks.
    pub features: Vec<Feature>,
    /// Where it goes, in short words: `port, sta 2105 mm to 5600 mm`.
    pub place: String,
    /// Fit allowance included in the outline, mm, and at which end (true: the last).
    pub allowance: Option<(f64, bool)>,
}

/// A stretch of one smooth length of the base line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Index of the chain.
    pub chain: usize,
    /// Index of the chain's length.
    pub length: usize,
    /// First t, mm.
    pub from: f64,
    /// Last t, mm.
    pub to: f64,
}

/// A hole or mark, in the strip's own coordinates (t along, w across 0..1).
#[derive(Debug, Clone, PartialEq)]
pub enum Feature {
    /// A round hole.
    Hole {
        /// Centre.
        t: f64,
        /// Centre.
        w: f64,
        /// Diameter, mm.
        diameter: f64,
    },
    /// A closed outline on the surface: a stanchion's footprint.
    Footprint {
        /// Corners (t, w), straight between them on the plate.
        corners: Vec<(f64, f64)>,
        /// Stanchion's name.
        name: String,
    },
    /// Where a doubler is welded on: what lies under it is then hidden.
    Doubler {
        /// First and last t.
        t: (f64, f64),
        /// Its edges across.
        w: (f64, f64),
        /// Doubler's name.
        name: String,
    },
    /// A line along at constant w: an edge of the plate below.
    EdgeLine {
        /// First and last t.
        t: (f64, f64),
        /// Where.
        w: f64,
    },
    /// A line across at constant t.
    CrossLine {
        /// Where.
        t: f64,
        /// Station as people say it; the net line says NET.
        name: String,
        /// What it is.
        kind: CrossKind,
    },
}

/// What a line across means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CrossKind {
    /// A surveyed station.
    Station,
    /// The net end of a closing piece.
    Net,
    /// The boat's centreline.
    Centreline,
    /// Where a scarf begins.
    Scarf,
}

/// A box stanchion.
#[derive(Debug, Clone, PartialEq)]
pub struct Stanchion {
    /// Name, such as `12P`: its number and its side's letter, `C` on the
    /// centreline.
    pub name: String,
    /// Number on its side, from forward.
    pub number: usize,
    /// Index of the chain.
    pub chain: usize,
    /// t on the base line, mm.
    pub t: f64,
    /// Side; `None` where it stands on the centreline at the stern.
    pub side: Option<Side>,
    /// Place for people.
    pub place: String,
    /// Middle of its outboard face at the foot, mm.
    pub foot: Vec3,
    /// Middle of its outboard face at the head, mm.
    pub head: Vec3,
    /// Length to cut, long point to long point, mm.
    pub length: f64,
    /// Cut of the foot, to the base plate's upper face.
    pub foot_cut: TubeEnd,
    /// Cut of the head, to the top plate's lower face.
    pub head_cut: TubeEnd,
    /// Lean of the tube from plumb, athwart the edge, rad, outboard positive.
    pub lean: f64,
    /// Mass, kg.
    pub mass_kg: f64,
}

/// A stanchion's side in words, or the centreline.
#[must_use]
pub fn side_name(side: Option<Side>) -> &'static str {
    side.map_or("centreline", Side::name)
}

/// A joint across a plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// Plate.
    pub kind: MemberKind,
    /// Index of the chain.
    pub chain: usize,
    /// t, mm.
    pub t: f64,
    /// Names of the members it joins.
    pub between: [String; 2],
    /// Form.
    pub form: JointForm,
    /// Place for people.
    pub place: String,
}

/// Form of a joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum JointForm {
    /// Welded butt.
    Butt,
    /// Unwelded, spliced: the bulwark lifts off here.
    Lift,
    /// Mitre at a knuckle, a corner or the stem.
    Mitre,
}

/// The bulwark on one side of the boat, or across it.
#[derive(Debug, Clone, PartialEq)]
pub struct BulwarkLength {
    /// Side; `None` across the boat from corner to corner, as on a transom.
    pub side: Option<Side>,
    /// Length of the base plates' outboard edge, gates left out, mm.
    pub length: f64,
    /// Mean height over its stanchions, from the covering board to the top
    /// plate's upper face; the job's where none stands there. mm.
    pub height: f64,
}

/// Length of a run's edge on the plates' mid-thickness.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct RunLength {
    /// Name of the run.
    pub name: String,
    /// Plate.
    pub kind: MemberKind,
    /// Outboard edge from end to end, mm.
    pub edge_length_mm: f64,
}
