//! Common lines: parts laid a kerf apart along straight edges of one length,
//! so that one cut frees both.
//!
//! Before packing, parts that may share a cut are joined into blocks, end to
//! end, and a block is packed as one part; after it they are parts again. The
//! packer knows nothing of it, and the check measures every common line anew.

use super::{CommonLine, CommonRule, Nest, NestJob, NestPart, NestedSheet, Placed, check};
use crate::geom::outline::hull;
use crate::geom::{Outline, Placement, Vec2, trig, vec2};
use crate::job::Rotation;

/// Edges shorter than this are not worth their pierce, mm. Common practice,
/// no source.
const SHORTEST: f64 = 25.0;
/// Edges are of one length within this, mm.
const MATCH: f64 = 0.02;
/// A part lies on one side of its edge's line within this, mm.
const BESIDE: f64 = 1e-6;
/// A turn this near to one that the job allows is taken for it, rad: 1e-4 mm
/// over a metre.
const TURN: f64 = 1e-7;
/// Chords of arcs where only an extent is wanted, mm.
const COARSE: f64 = 1.0;

/// Parts joined by common lines.
struct Block {
    members: Vec<Placed>,
    lines: Vec<CommonLine>,
    outline: Outline,
}

/// A straight edge that the whole part lies on the left of.
#[derive(Debug, Clone, Copy)]
struct Edge {
    from: Vec2,
    to: Vec2,
}

impl Edge {
    fn length(self) -> f64 {
        self.from.distance(self.to)
    }

    fn along(self) -> Vec2 {
        (self.to - self.from).unit()
    }

    fn placed(self, at: Placement) -> Self {
        Self {
            from: at.apply(self.from),
            to: at.apply(self.to),
        }
    }
}

/// The job with blocks in place of the parts in them.
pub(super) struct Joined {
    pub(super) job: NestJob,
    /// What each part of it is.
    blocks: Vec<Block>,
}

impl Joined {
    /// The nest with the blocks taken apart again.
    pub(super) fn apart(&self, nest: &Nest) -> Nest {
        let sheet = |s: &NestedSheet| {
            let mut out = NestedSheet::new(s.stock, Vec::new());
            for p in &s.placed {
                let block = &self.blocks[p.part];
                out.placed.extend(block.members.iter().map(|m| Placed {
                    part: m.part,
                    placement: after(p.placement, m.placement),
                }));
                out.common.extend(block.lines.iter().map(|l| CommonLine {
                    ends: l.ends.map(|e| p.placement.apply(e)),
                    ..*l
                }));
            }
            out.placed.sort_by_key(|p| p.part);
            out
        };
        Nest {
            sheets: nest.sheets.iter().map(sheet).collect(),
        }
    }
}

/// One placement after another; only a lone part is ever flipped, and its own
/// placement is none.
fn after(last: Placement, first: Placement) -> Placement {
    Placement {
        turn: last.turn + first.turn,
        shift: last.apply(first.shift),
        flipped: last.flipped,
    }
}

/// The job with all blocks that can be made; `None` where there are none. With
/// a gap below the kerf there are none: a neighbour would lie in the cuts.
pub(super) fn joined(job: &NestJob) -> Option<Joined> {
    let rule = (job.common.as_ref()).filter(|r| r.kerf > 0.0 && r.kerf <= job.gap)?;
    let longest = (job.sheets.iter())
        .map(|s| s.length.min(s.width) - 2.0 * job.edge_margin)
        .fold(0.0, f64::max);
    let mut free: Vec<usize> = rule.parts.clone();
    free.retain(|&p| p < job.parts.len());
    let edges: Vec<Vec<Edge>> = (0..job.parts.len())
        .map(|p| {
            if free.contains(&p) {
                edges(&job.parts[p].outline)
            } else {
                Vec::new()
            }
        })
        .collect();
    let mut blocks = Vec::new();
    while !free.is_empty() {
        let first = free.remove(0);
        let mut block = Block::of(job, first);
        for &edge in &edges[first] {
            if block.grow(job, rule, (edge, longest), &edges, &mut free) {
                break;
            }
        }
        if block.members.len() > 1 {
            blocks.push(block);
        }
    }
    if blocks.is_empty() {
        return None;
    }
    let in_block = |p: usize| blocks.iter().any(|b| b.members.iter().any(|m| m.part == p));
    let single: Vec<Block> = (0..job.parts.len())
        .filter(|&p| !in_block(p))
        .map(|p| Block::of(job, p))
        .collect();
    blocks.extend(single);
    let mut with = job.clone();
    with.parts = blocks.iter().map(|b| b.part(job)).collect();
    with.common = None;
    Some(Joined { job: with, blocks })
}

impl Block {
    fn of(job: &NestJob, part: usize) -> Self {
        Self {
            members: vec![Placed {
                part,
                placement: Placement::IDENTITY,
            }],
            lines: Vec::new(),
            outline: job.parts[part].outline.clone(),
        }
    }

    /// As the packer is to see it: a lone part is itself.
    fn part(&self, job: &NestJob) -> NestPart {
        if let [one] = &self.members[..] {
            return job.parts[one.part].clone();
        }
        let of = |m: &Placed| &job.parts[m.part];
        let names: Vec<&str> = (self.members.iter()).map(|m| of(m).name.as_str()).collect();
        NestPart {
            name: names.join(", "),
            outline: self.outline.clone(),
            holes: (self.members.iter())
                .flat_map(|m| of(m).holes.iter().map(|h| h.placed(m.placement)))
                .collect(),
            flip: false,
        }
    }

    /// Joins parts on from an edge, one beyond the other, while the block is
    /// no longer than `longest` mm; false where none joins.
    fn grow(
        &mut self,
        job: &NestJob,
        rule: &CommonRule,
        (edge, longest): (Edge, f64),
        edges: &[Vec<Edge>],
        free: &mut Vec<usize>,
    ) -> bool {
        let mut at = edge;
        let alone = self.members.len();
        while let Some((k, own, placement)) = free.iter().enumerate().find_map(|(k, &p)| {
            edges[p].iter().find_map(|&own| {
                let placement = facing(job.rotation, at, own, rule.kerf)?;
                self.with(job, rule, (p, placement), (at, own), longest)
                    .then_some((k, own, placement))
            })
        }) {
            let part = free.remove(k);
            // On from the edge most opposite to the one joined.
            let back = |e: &Edge| e.along().dot(own.along());
            let next = (edges[part].iter())
                .min_by(|a, b| back(a).total_cmp(&back(b)))
                .filter(|e| back(e) < -trig::cos(MOST_ASKEW));
            match next {
                Some(e) => at = e.placed(placement),
                None => break,
            }
        }
        self.members.len() > alone
    }

    /// Joins a part at a place, its edge `own` beyond the edge `at`, where
    /// the block so made is short enough and passes the check.
    fn with(
        &mut self,
        job: &NestJob,
        rule: &CommonRule,
        (part, placement): (usize, Placement),
        (at, own): (Edge, Edge),
        longest: f64,
    ) -> bool {
        let there = job.parts[part].outline.placed(placement);
        let own = own.placed(placement);
        let (Some(i), Some(j)) = (
            self.outline.straight_edge(at.from, at.to, BESIDE),
            there.straight_edge(own.from, own.to, BESIDE),
        ) else {
            return false;
        };
        let outline = self.outline.joined(i, &there, j);
        if extent(&outline) > longest {
            return false;
        }
        // The part whose edge it is: the one joined last.
        let Some(last) = self.members.last().map(|m| m.part) else {
            return false;
        };
        self.members.push(Placed { part, placement });
        self.lines.push(CommonLine {
            between: [last, part],
            ends: [at.from.lerp(own.to, 0.5), at.to.lerp(own.from, 0.5)],
        });
        if self.sound(job, rule) {
            self.outline = outline;
            true
        } else {
            self.members.pop();
            self.lines.pop();
            false
        }
    }

    /// True where the check finds nothing against the block by itself.
    fn sound(&self, job: &NestJob, rule: &CommonRule) -> bool {
        let Some(stock) = job.sheets.first() else {
            return false;
        };
        let mut alone = job.clone();
        alone.rotation = Rotation::Free;
        alone.common = Some(CommonRule {
            kerf: rule.kerf,
            parts: (0..self.members.len()).collect(),
        });
        alone.parts = (self.members.iter())
            .map(|m| job.parts[m.part].clone())
            .collect();
        let (mut lo, mut hi) = (vec2(0.0, 0.0), vec2(0.0, 0.0));
        for m in &self.members {
            let (a, b) = job.parts[m.part].outline.placed(m.placement).bounds();
            lo = vec2(lo.x.min(a.x), lo.y.min(a.y));
            hi = vec2(hi.x.max(b.x), hi.y.max(b.y));
        }
        let room = vec2(job.edge_margin, job.edge_margin) + vec2(1.0, 1.0);
        let size = hi - lo + room * 2.0;
        let mut sheet = stock.clone();
        (sheet.length, sheet.width, sheet.quantity) = (size.x, size.y, None);
        (sheet.shape, sheet.clamps) = (None, Vec::new());
        alone.sheets = vec![sheet];
        let shift = room - lo;
        let place = |p: usize| (self.members.iter()).position(|m| m.part == p).unwrap_or(0);
        let mut nested = NestedSheet::new(
            0,
            (self.members.iter().enumerate())
                .map(|(i, m)| Placed {
                    part: i,
                    placement: Placement {
                        shift: m.placement.shift + shift,
                        ..m.placement
                    },
                })
                .collect(),
        );
        nested.common = (self.lines.iter())
            .map(|l| CommonLine {
                between: l.between.map(place),
                ends: l.ends.map(|e| e + shift),
            })
            .collect();
        let nest = Nest {
            sheets: vec![nested],
        };
        check(&alone, &nest).is_ok()
    }
}

/// An edge runs on from one within this of opposite to it, rad: a block is to
/// be a straight one.
const MOST_ASKEW: f64 = 0.2;

/// Straight edges that the whole profile lies on the left of, the longest first.
fn edges(outline: &Outline) -> Vec<Edge> {
    let mut out: Vec<Edge> = (outline.pieces())
        .filter(|&(a, b, bulge)| bulge == 0.0 && a.distance(b) >= SHORTEST)
        .filter(|&(a, b, _)| {
            let level = Placement {
                turn: -(b - a).angle(),
                shift: vec2(0.0, 0.0),
                flipped: false,
            };
            let line = level.apply(a).y;
            outline.placed(level).bounds().0.y >= line - BESIDE
        })
        .map(|(from, to, _)| Edge { from, to })
        .collect();
    out.sort_by(|a, b| b.length().total_cmp(&a.length()));
    out
}

/// Where a part lies so that its edge `own` faces `at` a kerf beyond it,
/// middle to middle; `None` where their lengths differ or the job allows no
/// such turn.
fn facing(rotation: Rotation, at: Edge, own: Edge, kerf: f64) -> Option<Placement> {
    if (at.length() - own.length()).abs() > MATCH {
        return None;
    }
    let wanted = (at.from - at.to).angle() - (own.to - own.from).angle();
    let step = match rotation {
        Rotation::Free => None,
        Rotation::Within(_) => Some(std::f64::consts::PI),
        Rotation::Steps(step) => Some(if step > 0.0 {
            step
        } else {
            std::f64::consts::TAU
        }),
    };
    let turn = match step {
        None => wanted,
        Some(step) => {
            let near = step * (wanted / step).round();
            if (near - wanted).abs() > TURN {
                return None;
            }
            near
        }
    };
    let middle = |e: Edge| e.from.lerp(e.to, 0.5);
    let to = middle(at) - at.along().left() * kerf;
    Some(Placement {
        turn,
        shift: to - middle(own).turned(turn),
        flipped: false,
    })
}

/// The greatest distance between two points of a profile, mm, more or less.
fn extent(outline: &Outline) -> f64 {
    let hull = hull(outline.flatten(COARSE));
    let far = |p: &Vec2| hull.iter().map(|q| p.distance(*q)).fold(0.0, f64::max);
    hull.iter().map(far).fold(0.0, f64::max)
}
