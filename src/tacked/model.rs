//! What is told of a tacked or welded line.

use std::ops::Range;

use super::moves::Verdict;
use crate::job::Side;

/// A survey of the tacked or welded line, judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    /// Every stanchion measured, along the edge.
    pub stanchions: Vec<Stood>,
    /// Smooth lengths of the line, each judged alone.
    pub rows: Vec<Judged>,
    /// Stanchions not measured.
    pub missing: Vec<String>,
    /// Accuracy of the survey, mm: the reach of the smooth line at each stanchion.
    pub accuracy: f64,
    /// Most that a stanchion of a fair line may stand out, mm.
    pub smooth: f64,
}

/// A stanchion as it was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Stood {
    /// Name, such as `12P`.
    pub name: String,
    /// Side; `None` on the centreline at the stern.
    pub side: Option<Side>,
    /// Place for people.
    pub place: String,
    /// Measured line less planned one, square to the edge in plan, outboard positive, mm.
    pub out: f64,
    /// The same vertically, up positive, mm.
    pub up: f64,
    /// How far it can be moved, mm; `None`: it is fixed.
    pub limit: Option<f64>,
    /// Move that is proposed, outboard positive, mm.
    pub move_out: f64,
    /// Move that is proposed, up positive, mm.
    pub move_up: f64,
}

/// A smooth length of the line between two knuckles or ends, judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Which of [`Checked::stanchions`].
    pub within: Range<usize>,
    /// In plan; `None` where too few stanchions were measured.
    pub plan: Option<Verdict>,
    /// In height; `None` where too few stanchions were measured.
    pub height: Option<Verdict>,
}

impl Judged {
    /// Both views with their names, where they were judged.
    pub fn views(&self) -> impl Iterator<Item = (&'static str, &Verdict)> {
        let all = [("in plan", &self.plan), ("in height", &self.height)];
        all.into_iter()
            .filter_map(|(name, v)| v.as_ref().map(|v| (name, v)))
    }
}

impl Checked {
    /// True where every length that could be judged is fair.
    #[must_use]
    pub fn fair(&self) -> bool {
        self.verdicts().all(Verdict::fair)
    }

    /// True where the proposed moves make every length fair, or it is so already.
    #[must_use]
    pub fn mends(&self) -> bool {
        self.verdicts().all(|v| v.left.is_none())
    }

    /// True where no smaller set of moves would do.
    #[must_use]
    pub fn fewest(&self) -> bool {
        self.verdicts().all(|v| v.fewest)
    }

    fn verdicts(&self) -> impl Iterator<Item = &Verdict> {
        self.rows.iter().flat_map(Judged::views).map(|(_, v)| v)
    }
}

/// How far welding pulled a stanchion.
#[derive(Debug, Clone, PartialEq)]
pub struct Pull {
    /// Name.
    pub name: String,
    /// Place for people.
    pub place: String,
    /// Welded less tacked, outboard positive, mm.
    pub out: f64,
    /// Welded less tacked, up positive, mm.
    pub up: f64,
}

impl Pull {
    /// Its size, mm.
    #[must_use]
    pub fn size(&self) -> f64 {
        (self.out * self.out + self.up * self.up).sqrt()
    }
}

/// The pull at every stanchion that both surveys have, along the edge.
#[must_use]
pub fn pulls(tacked: &Checked, welded: &Checked) -> Vec<Pull> {
    let before = |name: &str| tacked.stanchions.iter().find(|s| s.name == name);
    welded
        .stanchions
        .iter()
        .filter_map(|after| {
            let before = before(&after.name)?;
            Some(Pull {
                name: after.name.clone(),
                place: after.place.clone(),
                out: after.out - before.out,
                up: after.up - before.up,
            })
        })
        .collect()
}
