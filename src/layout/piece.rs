//! Pieces of plate between their joints, with their holes and marks.

use std::sync::Arc;

use super::chain::Chain;
use super::divide::Spans;
use super::fasten::stagger;
use super::guides::Guides;
use super::locate::as_placed_short;
use super::model::{CrossKind, Face, Feature, JointForm, Member, MemberKind, Stretch};
use super::post::Post;
use super::run::{Bay, Obstacle, Segment, doubler_guide};
use super::strip::{EndCut, Guide, Strip};
use crate::job::{Fasteners, Job, Plate, Side};

/// A cut across a plate, in t.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cut {
    pub t: f64,
    pub form: JointForm,
}

/// What the pieces of one plate on one bay share.
pub(super) struct PlateOnBay<'a> {
    pub chain: &'a Chain<'a>,
    pub segment: &'a Segment,
    pub bay: &'a Bay,
    pub kind: MemberKind,
    pub posts: &'a [Post],
    pub obstacles: &'a [Obstacle],
}

impl PlateOnBay<'_> {
    fn job(&self) -> &Job {
        self.chain.job
    }

    fn guides(&self) -> &Guides {
        &self.chain.guides[self.bay.length]
    }

    pub(super) fn guide(&self) -> &Arc<Guide> {
        self.kind.pick(&self.guides().base, &self.guides().top)
    }

    /// The guide's parameter at t.
    pub(super) fn param(&self, t: f64) -> f64 {
        self.kind.pick(t, self.guides().u(t))
    }

    /// What the job says of it.
    pub(super) fn plate(&self) -> &Plate {
        self.kind.pick(&self.job().base, &self.job().top)
    }

    /// Its table in the job.
    pub(super) fn word(&self) -> &'static str {
        self.kind.pick("base", "top")
    }

    fn footprint<'p>(&self, post: &'p Post) -> &'p Feature {
        self.kind.pick(&post.base_print, &post.top_print)
    }

    /// Metal that a joint leaves off each of the pieces it joins, mm.
    fn setback(&self, form: JointForm) -> f64 {
        let j = &self.job().joints;
        match form {
            JointForm::Lift => j.lift_gap / 2.0,
            JointForm::Butt | JointForm::Mitre => (j.weld_gap - j.shrinkage) / 2.0,
        }
    }

    /// The piece between two cuts; a `None` cut is the bay's own end.
    /// `closing` is the fit allowance, mm, and whether it is at the last end.
    pub(super) fn piece(
        &self,
        name: String,
        from: Option<Cut>,
        to: Option<Cut>,
        closing: Option<(f64, bool)>,
    ) -> Member {
        let guide = self.guide();
        let bays = self.kind.pick(&self.bay.base, &self.bay.top);
        let end = |cut: Option<Cut>, last: bool| match cut {
            None => bays[usize::from(last)].clone(),
            Some(c) => {
                let back = self.setback(c.form);
                let signed = if last { -back } else { back };
                EndCut::Across(guide.advance(self.param(c.t), signed))
            }
        };
        let net = [end(from, false), end(to, true)];
        let mut cuts = net.clone();
        let mut allowance = None;
        if let Some((mm, last)) = closing {
            let i = usize::from(last);
            if let EndCut::Across(t) = net[i] {
                cuts[i] = EndCut::Across(guide.advance(t, if last { mm } else { -mm }));
                allowance = Some((mm, last));
            }
        }
        // t of the ends, for places and features, on the outboard edge.
        let ends = [
            from.map_or(self.bay.base[0].at(0.0), |c| c.t),
            to.map_or(self.bay.base[1].at(0.0), |c| c.t),
        ];
        let middle = 0.5 * (ends[0] + ends[1]);
        let mut features = self.holes(&net);
        features.extend(self.footprints(ends));
        features.extend(self.cross_lines(ends));
        if let Some((_, last)) = allowance {
            features.push(Feature::CrossLine {
                t: net[usize::from(last)].at(0.0),
                name: "NET".to_owned(),
                kind: CrossKind::Net,
            });
        }
        Member {
            name,
            kind: self.kind,
            alloy: self.plate().alloy.clone(),
            thickness: self.plate().thickness,
            marked: self.kind.pick(Face::Upper, Face::Lower),
            strip: Strip {
                guide: Arc::clone(guide),
                cuts,
            },
            stretch: Stretch {
                chain: self.chain.index,
                length: self.bay.length,
                from: ends[0],
                to: ends[1],
            },
            side: self.chain.side(middle),
            runs_aft: self.guides().base.tangent(middle).x < 0.0,
            features,
            place: self.chain.stretch(ends),
            allowance,
        }
    }

    fn holes(&self, net: &[EndCut; 2]) -> Vec<Feature> {
        let (base, top) = (&self.job().base_fasteners, &self.job().top_fasteners);
        let Some(f) = self.kind.pick(base, top) else {
            return vec![];
        };
        let guide = self.guide();
        let rows = [f.outboard_row, guide.width - f.inboard_row];
        let (a, b) = (net[0].innermost(false), net[1].innermost(true));
        // On a curve the inboard row is shorter and the outboard row of a
        // leaning top longer than the guiding line: clearances are turned into
        // the parameter with the slowest speed, spacing with the fastest.
        let speeds: Vec<f64> = [a, 0.5 * (a + b), b]
            .iter()
            .flat_map(|&t| rows.map(|v| guide.jet(t, guide.across(v)).along.length()))
            .collect();
        let slow = speeds.iter().copied().fold(f64::INFINITY, f64::min);
        let fast = speeds.iter().copied().fold(0.0, f64::max);
        let end = f.clear_of_butt / slow;
        let barred = rows.map(|v| self.barred_for_row(f, v, slow));
        let flip = self.segment.flip;
        let (from, to) = (a + end, b - end);
        let local = barred.map(|s| s.within(from, to, flip));
        let placed = stagger(0.0, to - from, f.spacing / fast, &local);
        let hole = |x: f64, v: f64| Feature::Hole {
            t: if flip { to - x } else { from + x },
            w: guide.across(v),
            diameter: f.diameter,
        };
        let rows = placed.into_iter().zip(rows);
        rows.flat_map(|(row, v)| row.into_iter().map(move |x| hole(x, v)))
            .collect()
    }

    /// What a row of holes at `v` mm from the outboard edge keeps out of.
    fn barred_for_row(&self, f: &Fasteners, v: f64, slow: f64) -> Spans {
        let guide = self.guide();
        let w = guide.across(v);
        let mut all = Vec::new();
        let reach = f.clear_of_stanchion + f.diameter / 2.0;
        for post in self.posts {
            let Feature::Footprint { corners, .. } = self.footprint(post) else {
                continue;
            };
            let (t, ws) = extent(corners);
            let margin = guide.across(reach);
            if w > ws.0 - margin && w < ws.1 + margin {
                all.push((t.0 - reach / slow, t.1 + reach / slow));
            }
        }
        for o in self.obstacles {
            let (a, b) = (self.param(o.from), self.param(o.to));
            match o.doubler {
                // A doubler lies in the middle of the base plate: a row that
                // passes it with a hole's diameter to spare goes on.
                Some(i) if self.kind == MemberKind::BasePlate => {
                    let half = self.job().doublers[i].width / 2.0;
                    if (v - guide.width / 2.0).abs() < half + 1.5 * f.diameter {
                        let r = 1.5 * f.diameter / slow;
                        all.push((a - r, b + r));
                    }
                }
                Some(_) => {}
                None => {
                    let r = f.diameter / 2.0 / slow;
                    all.push((a - r, b + r));
                }
            }
        }
        Spans::union(all)
    }

    /// Stanchions and doublers that stand on the piece, wholly or in part.
    fn footprints(&self, ends: [f64; 2]) -> Vec<Feature> {
        let mut out = Vec::new();
        for post in self.posts {
            if post.stanchion.t > ends[0] && post.stanchion.t < ends[1] {
                out.push(self.footprint(post).clone());
            }
        }
        if self.kind == MemberKind::BasePlate {
            for o in self.obstacles {
                let Some(i) = o.doubler else { continue };
                if o.from >= ends[0] && o.to <= ends[1] {
                    let width = self.job().doublers[i].width;
                    out.push(doubler_print(self.guide(), o, width, i));
                }
            }
        }
        out
    }

    pub(super) fn cross_lines(&self, ends: [f64; 2]) -> Vec<Feature> {
        // A station line closer to an end than this would sit in the weld.
        const CLEAR_OF_END_MM: f64 = 15.0;
        let mut out = Vec::new();
        for p in &self.chain.fair.points {
            if p.t > ends[0] + CLEAR_OF_END_MM && p.t < ends[1] - CLEAR_OF_END_MM {
                out.push(Feature::CrossLine {
                    t: self.param(p.t),
                    name: self.chain.marked(&p.name),
                    kind: CrossKind::Station,
                });
            }
        }
        out.extend(centreline(self.chain, ends).map(|t| centre_mark(self.param(t))));
        out
    }
}

/// Where a stretch that goes round the stern passes the centreline.
fn centreline(chain: &Chain<'_>, [from, to]: [f64; 2]) -> Option<f64> {
    let pieces = chain.by_side(from, to);
    let passes = pieces.windows(2).find(|pair| pair[0].0 == Side::Port)?;
    Some(passes[1].1)
}

fn centre_mark(t: f64) -> Feature {
    Feature::CrossLine {
        t,
        name: "CL".to_owned(),
        kind: CrossKind::Centreline,
    }
}

/// Least and greatest t and w of a footprint.
fn extent(corners: &[(f64, f64)]) -> ((f64, f64), (f64, f64)) {
    let all = (f64::INFINITY, f64::NEG_INFINITY);
    corners.iter().fold((all, all), |(t, w), &(a, b)| {
        ((t.0.min(a), t.1.max(a)), (w.0.min(b), w.1.max(b)))
    })
}

/// A doubler on the base plate, in the middle of its width.
fn doubler_print(guide: &Guide, o: &Obstacle, width: f64, index: usize) -> Feature {
    Feature::Doubler {
        t: (o.from, o.to),
        w: (
            guide.across((guide.width - width) / 2.0),
            guide.across((guide.width + width) / 2.0),
        ),
        name: format!("D{}", index + 1),
    }
}

/// The doublers as members: plates on the base plate, in the middle of its width.
pub(super) fn doublers(chain: &Chain<'_>, obstacles: &[Obstacle]) -> Vec<Member> {
    let job = chain.job;
    let mut out = Vec::new();
    for o in obstacles.iter().filter(|o| o.chain == chain.index) {
        let Some(i) = o.doubler else { continue };
        let d = &job.doublers[i];
        let middle = 0.5 * (o.from + o.to);
        let length = chain.length_at(middle);
        let base = &chain.guides[length].base;
        let guide = doubler_guide(base, job, d);
        out.push(Member {
            name: format!("D{}", i + 1),
            kind: MemberKind::Doubler,
            alloy: d.alloy.clone(),
            thickness: d.thickness,
            marked: Face::Upper,
            strip: Strip {
                guide: Arc::new(guide),
                cuts: [EndCut::Across(o.from), EndCut::Across(o.to)],
            },
            stretch: Stretch {
                chain: chain.index,
                length,
                from: o.from,
                to: o.to,
            },
            side: chain.side(middle),
            runs_aft: base.tangent(middle).x < 0.0,
            features: centreline(chain, [o.from, o.to])
                .map(centre_mark)
                .into_iter()
                .collect(),
            place: format!(
                "{}, {}, {}",
                d.name,
                chain.side(middle).short(),
                as_placed_short(d.at.at, job)
            ),
            allowance: None,
        });
    }
    out
}
