//! The whole bulwark from faired lines: runs, stanchions, joints, pieces.

use rayon::prelude::*;

use super::bulwark::Tally;
use super::chain::{Chain, chains};
use super::divide::Spans;
use super::fasten::wide_rows;
use super::joint::{ButtRules, Room, butts, lifts};
use super::model::{Joint, JointForm, Layout, MemberKind, RunLength};
use super::number::{crowded, number, rank, spots};
use super::piece::{Cut, PlateOnBay, doublers};
use super::placed::{Placed, placed};
use super::post::{Post, Spot, stand};
use super::run::{Bay, Obstacle, Segment, bays, check_radius, on_chain};
use super::section::Section;
use crate::fair::FairEdge;
use crate::fault::{Fault, Faults};
use crate::job::Job;
use crate::length::show;

/// Least length of a piece beside a butt fixed by hand, mm: a shorter one can
/// hardly be held to be welded (common practice, no source).
const SHORTEST_MM: f64 = 50.0;

/// Lays out the bulwark along a faired edge.
///
/// # Errors
/// What cannot be built, with its place on the boat: a run off the edge, an
/// inside edge bent too tight, no room for a joint, a stanchion that does not
/// meet both plates; what the job places where no bulwark stands, or over
/// something else.
pub fn layout(edge: &FairEdge, job: &Job) -> Result<Layout, Faults> {
    let chains = chains(edge, job)?;
    let (placed, segments) = placed(&chains, job)?;
    let mut plan = Plan {
        job,
        placed,
        out: Layout::default(),
        counts: [0; 2],
    };
    let mut laid = Vec::new();
    for segment in segments {
        let chain = &chains[segment.chain];
        laid.push(plan.bays(chain, segment)?);
    }
    let mut section = Section::default();
    for l in &laid {
        for bay in &l.bays {
            section.look(&chains[l.segment.chain], bay)?;
        }
    }
    number(laid.iter_mut().flat_map(|l| &mut l.spots));
    let mut posts = Vec::new();
    let mut tally = Tally::default();
    for l in &laid {
        let chain = &chains[l.segment.chain];
        let stood = plan.posts(chain, &l.spots)?;
        section.look_at(chain, &stood)?;
        for bay in &l.bays {
            tally.count(chain, bay, &stood);
        }
        posts.push(stood);
    }
    plan.out.bulwarks = tally.told(job);
    plan.out.warnings.extend(section.told(job)?);
    for (l, posts) in laid.iter().zip(posts) {
        plan.segment(&chains[l.segment.chain], l, posts)?;
    }
    for chain in &chains {
        plan.out
            .members
            .extend(doublers(chain, &plan.placed.obstacles));
    }
    let wide = wide_rows(&plan.out.members, job);
    plan.out.warnings.extend(wide);
    plan.out
        .stanchions
        .sort_by_key(|s| (rank(s.side), s.number));
    Ok(plan.out)
}

struct Plan<'a> {
    job: &'a Job,
    placed: Placed,
    out: Layout,
    /// Counters of names: base pieces, top pieces.
    counts: [usize; 2],
}

/// A segment with its bays, and where its stanchions are to stand.
struct Laid {
    segment: Segment,
    bays: Vec<Bay>,
    spots: Vec<Spot>,
}

/// Whether the closing piece is the last of its segment, or the first.
fn closing_is_last(segment: &Segment) -> bool {
    // Mirrored for a segment on starboard alone: its aft end is its first.
    !segment.flip
}

impl Plan<'_> {
    fn bays(&mut self, chain: &Chain<'_>, segment: Segment) -> Result<Laid, Fault> {
        let j = &self.job.joints;
        let bays = bays(chain, &segment, (j.weld_gap - j.shrinkage) / 2.0)?;
        for bay in &bays {
            check_radius(chain, bay)?;
        }
        self.check_doublers(chain, &segment, &bays)?;
        let mut all = Vec::new();
        for bay in &bays {
            let stands = self.placed.stands.as_deref();
            let (on_bay, wide) = spots(chain, &segment, bay, &self.placed.obstacles, stands);
            all.extend(on_bay);
            self.out.warnings.extend(wide);
        }
        Ok(Laid {
            segment,
            bays,
            spots: all,
        })
    }

    fn segment(&mut self, chain: &Chain<'_>, laid: &Laid, posts: Vec<Post>) -> Result<(), Fault> {
        let Laid { segment, bays, .. } = laid;
        let clear = self.job.stanchions.side / 2.0 + self.job.joints.clear_of_stanchion;
        let mut barred: Vec<(f64, f64)> = posts
            .iter()
            .map(|p| (p.stanchion.t - clear, p.stanchion.t + clear))
            .collect();
        barred.extend(on_chain(&self.placed.obstacles, chain).map(|o| (o.from, o.to)));
        let mass = self.mass_per_length(&posts, segment)?;
        let lift = lifts(chain, segment, bays, &Spans::union(barred.clone()), mass)?;
        for bay in bays {
            self.bay(chain, segment, bay, &posts, &lift, &barred)?;
        }
        self.mitres(chain, bays);
        self.run_lengths(chain, segment, bays);
        self.out
            .stanchions
            .extend(posts.into_iter().map(|p| p.stanchion));
        Ok(())
    }

    /// A doubler must lie on one smooth length of one run.
    fn check_doublers(
        &self,
        chain: &Chain<'_>,
        segment: &Segment,
        bays: &[Bay],
    ) -> Result<(), Fault> {
        for o in on_chain(&self.placed.obstacles, chain) {
            let Some(i) = o.doubler else { continue };
            let touches = o.to > segment.from && o.from < segment.to;
            if touches && !bays.iter().any(|b| o.from >= b.from && o.to <= b.to) {
                let what = "the doubler runs over a corner or an end of the bulwark";
                let (field, middle) = (format!("doubler[{}]", i + 1), 0.5 * (o.from + o.to));
                return Err(chain.fault(field, middle, what, "shorten it or move it along"));
            }
        }
        Ok(())
    }

    /// Mass of bulwark metal per length of edge, kg/mm: both plates, and stanchions
    /// spread over their spacing.
    fn mass_per_length(&self, posts: &[Post], segment: &Segment) -> Result<f64, Fault> {
        let mut plates = 0.0;
        for plate in [&self.job.base, &self.job.top] {
            let density = self.job.alloy(&plate.alloy)?.density_kg_mm3();
            plates += plate.width * plate.thickness * density;
        }
        let stanchions: f64 = posts.iter().map(|p| p.stanchion.mass_kg).sum();
        Ok(plates + stanchions / (segment.to - segment.from))
    }

    fn posts(&mut self, chain: &Chain<'_>, spots: &[Spot]) -> Result<Vec<Post>, Fault> {
        let stood: Vec<Result<Post, Fault>> = spots.par_iter().map(|s| stand(chain, s)).collect();
        let posts = stood.into_iter().collect::<Result<Vec<Post>, Fault>>()?;
        let crowded = crowded(chain, &posts, &self.placed.obstacles);
        self.out.warnings.extend(crowded);
        Ok(posts)
    }

    fn bay(
        &mut self,
        chain: &Chain<'_>,
        segment: &Segment,
        bay: &Bay,
        posts: &[Post],
        lift: &[f64],
        barred: &[(f64, f64)],
    ) -> Result<(), Fault> {
        let job = self.job;
        let own: Vec<Post> = posts
            .iter()
            .filter(|p| p.length == bay.length)
            .cloned()
            .collect();
        let near: Vec<Obstacle> = on_chain(&self.placed.obstacles, chain).cloned().collect();
        let mut stops = vec![bay.from];
        stops.extend(lift.iter().copied().filter(|&t| t > bay.from && t < bay.to));
        stops.push(bay.to);
        let mut base_butts: Vec<f64> = Vec::new();
        let mut crowded: Vec<String> = Vec::new();
        for kind in MemberKind::PLATES {
            let plate = PlateOnBay {
                chain,
                segment,
                bay,
                kind,
                posts: &own,
                obstacles: &near,
            };
            let (word, data) = (plate.word(), plate.plate());
            let hand = kind.pick(&self.placed.hand[0], &self.placed.hand[1]);
            let room = Room::of(job, &data.alloy, data.thickness);
            let mut all = barred.to_vec();
            let stagger = job.joints.stagger;
            all.extend(base_butts.iter().map(|t| (t - stagger, t + stagger)));
            let all = Spans::union(all);
            let mut cuts: Vec<Cut> = Vec::new();
            for (k, pair) in stops.windows(2).enumerate() {
                if k > 0 {
                    cuts.push(Cut {
                        t: pair[0],
                        form: JointForm::Lift,
                    });
                }
                let rules = |piece: &[f64]| ButtRules {
                    plate: &plate,
                    barred: &all,
                    room: &room,
                    closing: self.closing_in(segment, piece),
                };
                let fixed = by_hand(hand, chain, pair);
                for &t in fixed.iter().filter(|&&t| all.covers(t)) {
                    crowded.push(format!(
                        "a butt of the {word} plate fixed at {} stands nearer than the job's rules allow to a stanchion, a doubler, a length to keep clear, a lift joint or a butt of the other plate",
                        chain.name(t),
                    ));
                }
                // By rule between those fixed by hand, where a piece would be too long.
                let mut found = fixed.clone();
                let ends = [&pair[..1], &fixed, &pair[1..]].concat();
                for piece in ends.windows(2) {
                    if ends.len() > 2 && piece[1] - piece[0] < SHORTEST_MM {
                        return Err(short_piece(chain, word, piece[1]));
                    }
                    found.extend(butts(&rules(piece), piece[0], piece[1])?);
                }
                found.sort_by(f64::total_cmp);
                cuts.extend(found.into_iter().map(|t| Cut {
                    t,
                    form: JointForm::Butt,
                }));
            }
            if kind == MemberKind::BasePlate {
                let butts = cuts.iter().filter(|c| c.form == JointForm::Butt);
                base_butts.extend(butts.map(|c| c.t));
            }
            self.pieces(&plate, &cuts);
        }
        self.out.warnings.extend(crowded);
        Ok(())
    }

    /// The closing allowance, if the closing piece lies in this section.
    fn closing_in(&self, segment: &Segment, section: &[f64]) -> Option<f64> {
        let mm = self.job.joints.closing_allowance;
        let last = closing_is_last(segment);
        let here = if last {
            section[1] > segment.to - self.job.stanchions.end_clearance
        } else {
            section[0] < segment.from + self.job.stanchions.end_clearance
        };
        (mm > 0.0 && here).then_some(mm)
    }

    fn pieces(&mut self, plate: &PlateOnBay<'_>, cuts: &[Cut]) {
        let (letter, slot) = plate.kind.pick(('B', 0), ('T', 1));
        let mut joints: Vec<Option<Cut>> = vec![None];
        joints.extend(cuts.iter().copied().map(Some));
        joints.push(None);
        let count = joints.len() - 1;
        let mm = self.job.joints.closing_allowance;
        let last = closing_is_last(plate.segment);
        let bay_closes = !plate.bay.mitred[usize::from(last)];
        let mut before: Option<String> = None;
        for (k, pair) in joints.windows(2).enumerate() {
            self.counts[slot] += 1;
            let name = format!("{letter}{}", self.counts[slot]);
            let closes = mm > 0.0 && bay_closes && k == if last { count - 1 } else { 0 };
            // The allowance is at the joint that is fitted last: the piece's
            // inner end, or its outer one where there is no joint.
            let inner_end = !last;
            let at_last_end = if count > 1 { inner_end } else { last };
            let closing = closes.then_some((mm, at_last_end));
            let member = plate.piece(name.clone(), pair[0], pair[1], closing);
            if let (Some(cut), Some(previous)) = (pair[0], before.take()) {
                self.joint(plate.chain, plate.kind, cut, [previous, name.clone()]);
            }
            before = Some(name);
            self.out.members.push(member);
        }
    }

    fn joint(&mut self, chain: &Chain<'_>, kind: MemberKind, cut: Cut, between: [String; 2]) {
        self.out.joints.push(Joint {
            kind,
            chain: chain.index,
            t: cut.t,
            between,
            form: cut.form,
            place: chain.name(cut.t),
        });
    }

    /// Mitred corners, listed with the pieces that meet there.
    fn mitres(&mut self, chain: &Chain<'_>, bays: &[Bay]) {
        for pair in bays.windows(2) {
            let t = chain.guides[pair[0].length].range().1;
            for kind in MemberKind::PLATES {
                let meets = |bay: &Bay, end: usize| {
                    let cuts = kind.pick(&bay.base, &bay.top);
                    let mut own = self.out.members.iter().filter(|m| m.kind == kind);
                    let there = own.find(|m| m.strip.cuts[end] == cuts[end]);
                    there.map(|m| m.name.clone())
                };
                if let (Some(a), Some(b)) = (meets(&pair[0], 1), meets(&pair[1], 0)) {
                    let form = JointForm::Mitre;
                    self.joint(chain, kind, Cut { t, form }, [a, b]);
                }
            }
        }
    }

    fn run_lengths(&mut self, chain: &Chain<'_>, segment: &Segment, bays: &[Bay]) {
        for kind in MemberKind::PLATES {
            let length = |b: &Bay| {
                let g = &chain.guides[b.length];
                let (guide, cuts) = kind.pick((&g.base, &b.base), (&g.top, &b.top));
                guide.edge_length(cuts[0].at(0.0), cuts[1].at(0.0))
            };
            self.out.runs.push(RunLength {
                name: segment.name.clone(),
                kind,
                edge_length_mm: bays.iter().map(length).sum(),
            });
        }
    }
}

fn short_piece(chain: &Chain<'_>, word: &str, t: f64) -> Fault {
    let what = format!(
        "a piece of the {word} plate ends here that is shorter than {}: two butts fixed by hand, or a butt and an end, are that near each other",
        show(SHORTEST_MM, chain.job.show)
    );
    let mend = "take one of them out, or move it along";
    chain.fault(format!("joints.{word}_butts"), t, what, mend)
}

/// Butts fixed by hand that lie in a section.
fn by_hand(hand: &[(usize, f64)], chain: &Chain<'_>, section: &[f64]) -> Vec<f64> {
    let mut out: Vec<f64> = hand
        .iter()
        .filter(|h| h.0 == chain.index && h.1 > section[0] && h.1 < section[1])
        .map(|h| h.1)
        .collect();
    out.sort_by(f64::total_cmp);
    out
}
