//! Both plates rolled out along their outboard edges, drawn apart, so that
//! the stagger of their butts shows: a row of the edge below the other.

use super::input::{Boat, short};
use super::model::{FloorSheet, LEAST_LETTER, NAME, Stand, Stroke, largest};
use super::roll::{Roll, nearest_stanchions};
use crate::dxf::wrapped;
use crate::geom::{Vec2, vec2};
use crate::job::Side;
use crate::layout::{EdgeMarkKind, Feature, JointForm, Member, MemberKind};

/// Heights of a row on paper beside its bands, mm: its heading and stations
/// above, the room between base and top, and what is left below.
const ABOVE: f64 = 12.0;
const BETWEEN: f64 = 17.0;
const BELOW: f64 = 4.0;
/// Ends of a row that are kept free, mm of paper.
const SIDES: f64 = 14.0;
/// Least space of stanchions on paper, mm: a number with air on both sides.
const STANCHIONS_APART: f64 = 11.0;
/// Letters in a line of the name of a length to keep clear.
const CLEAR_LETTERS: usize = 14;
/// Length of a name with air, mm of paper.
const NAME_ROOM: f64 = 12.0;
/// Largest scale: beyond, a row shows too little of the boat.
const MOST: f64 = 0.1;
/// Places along a band are no further apart, mm of paper.
const CHORD: f64 = 3.0;

/// Sheets of rows for a room of this size, mm of paper.
pub(super) fn strip_sheets(boat: &Boat<'_>, room: Vec2) -> Vec<FloorSheet> {
    let rolls: Vec<Roll<'_>> = boat.along.iter().map(Roll::new).collect();
    let widths = boat.job.base.width + boat.job.top.width;
    let tall = |s: f64| ABOVE + BETWEEN + BELOW + widths * s;
    let long = room.x - 2.0 * SIDES;
    let rows = |s: f64| {
        rolls
            .iter()
            .map(|r| rows_of(r.length(), long / s))
            .sum::<f64>()
    };
    let a_sheet = |s: f64| (room.y / tall(s)).floor().max(1.0);
    let sheets = |s: f64| (rows(s) / a_sheet(s)).ceil();
    let apart = nearest_stanchions(boat, &rolls);
    let legible = |s: f64| apart * s >= STANCHIONS_APART;
    // As large as all fits one sheet; where that is not legible, the smallest
    // scale that is.
    let mut scale = largest(boat.job.show, |s| s <= MOST && sheets(s) <= 1.0);
    if !legible(scale) {
        let from = super::model::scales(boat.job.show).filter(|s| *s <= MOST);
        scale = from.take_while(|s| legible(*s)).last().unwrap_or(scale);
    }
    let mut out: Vec<FloorSheet> = Vec::new();
    let mut upper = 0.0;
    for (chain, roll) in rolls.iter().enumerate() {
        let count = rows_of(roll.length(), long / scale);
        let each = roll.length() / count;
        let mut k = 0.0;
        while k < count {
            if out.is_empty() || upper - tall(scale) < -1e-6 {
                out.push(empty(out.len(), scale));
                upper = room.y;
            }
            let row = Row {
                boat,
                roll,
                chain,
                from: k * each,
                to: (k + 1.0) * each,
                scale,
                left: (room.x - each * scale) / 2.0,
                upper,
            };
            if let Some(sheet) = out.last_mut() {
                row.draw(sheet);
            }
            upper -= tall(scale);
            k += 1.0;
        }
    }
    out
}

fn rows_of(length: f64, long: f64) -> f64 {
    (length / long).ceil().max(1.0)
}

fn empty(before: usize, scale: f64) -> FloorSheet {
    FloorSheet {
        name: format!("strips {}", before + 1),
        heading: "Plates rolled out, seen from above: base plate over top plate".to_owned(),
        scale: Some(scale),
        shows: "Rows of the deck edge rolled out straight along the plates' outboard \
                edges: the base plate above, the top plate below, with names, \
                stanchions, butts, lift joints, mitres, doublers, gates and stations."
            .to_owned(),
        ..FloorSheet::default()
    }
}

/// A stretch of a chain on paper.
struct Row<'a> {
    boat: &'a Boat<'a>,
    roll: &'a Roll<'a>,
    chain: usize,
    /// Distances along the base plate's edge, mm.
    from: f64,
    to: f64,
    scale: f64,
    left: f64,
    upper: f64,
}

/// A plate's band: where its outboard edge lies, and how distances along it
/// are shifted, mm.
#[derive(Clone, Copy)]
struct Band {
    top: bool,
    foot: f64,
    shift: f64,
    width: f64,
}

impl Row<'_> {
    fn draw(&self, sheet: &mut FloorSheet) {
        let job = self.boat.job;
        let base = Band {
            top: false,
            foot: self.upper - ABOVE - job.base.width * self.scale,
            shift: 0.0,
            width: job.base.width,
        };
        // In the middle of the row the plates' edges stand over each other.
        let (length, t) = self.roll.place(0.5 * (self.from + self.to));
        let u = self.roll.along.lengths[length].u(t);
        let top = Band {
            top: true,
            foot: base.foot - BETWEEN - job.top.width * self.scale,
            shift: self.roll.base(length, t) - self.roll.top(length, u),
            width: job.top.width,
        };
        self.heading(sheet);
        for band in [base, top] {
            self.plates(sheet, band);
            self.joints(sheet, band);
        }
        self.doublers(sheet, base);
        self.stanchions(sheet, base, top);
        self.marks(sheet, base, top);
    }

    /// Distance of a place of a plate from the row's beginning, mm of boat.
    fn run(&self, band: Band, length: usize, t: f64) -> f64 {
        let x = match band.top {
            true => self.roll.top(length, t),
            false => self.roll.base(length, t),
        };
        x + band.shift - self.from
    }

    fn place(&self, band: Band, length: usize, (t, w): (f64, f64)) -> Vec2 {
        let x = self.left + self.run(band, length, t) * self.scale;
        vec2(x, band.foot + w * band.width * self.scale)
    }

    /// What is shown, from the row's beginning: beyond an end of the edge what
    /// stands over it too.
    fn reach(&self) -> (f64, f64) {
        let over = SIDES / self.scale;
        let from = if self.from > 1e-6 { 0.0 } else { -over };
        let row = self.to - self.from;
        let goes_on = self.to < self.roll.length() - 1e-6;
        (from, if goes_on { row } else { row + over })
    }

    /// A place on a border is of the row before it.
    fn shows(&self, x: f64) -> bool {
        let (from, to) = self.reach();
        x > from && x <= to
    }

    /// True in the one row that shows t of the base line: what belongs to both
    /// plates goes by the base plate.
    fn holds(&self, t: f64) -> bool {
        let length = self.roll.length_at(t);
        self.shows(self.roll.base(length, t) - self.from)
    }

    fn heading(&self, sheet: &mut FloorSheet) {
        let sides = [self.from, self.to].map(|x| {
            let (_, t) = self.roll.place(x);
            self.boat.side(self.chain, t)
        });
        let words = match sides {
            [Side::Port, Side::Port] => "PORT, forward to the left",
            [Side::Starboard, Side::Starboard] => "STARBOARD, forward to the right",
            _ => "ROUND THE STERN, forward on port to the left, on starboard to the right",
        };
        let y = self.upper - 4.0;
        sheet.tag(words, LEAST_LETTER, vec2(self.left + 17.0, y), Stand::At);
        let right = self.left + (self.to - self.from) * self.scale;
        let mut arrow = |from: Vec2, to: Vec2, words: Vec2| {
            sheet.line(Stroke::Thin, from, to);
            let back = (from - to).unit();
            let barb = [
                back * 3.0 + back.left() * 0.9,
                Vec2::default(),
                back * 3.0 - back.left() * 0.9,
            ];
            sheet.shape(Stroke::Solid, &barb.map(|p| to + p));
            sheet.tag("FWD", LEAST_LETTER, words, Stand::At);
        };
        let y = y + 1.3;
        if sides[0] == Side::Port {
            let x = self.left;
            arrow(vec2(x + 5.0, y), vec2(x, y), vec2(x + 6.0, y - 1.3));
        }
        if sides[1] == Side::Starboard {
            arrow(
                vec2(right - 5.0, y),
                vec2(right, y),
                vec2(right - 13.0, y - 1.3),
            );
        }
    }

    /// Pieces of a plate, as much of each as the row shows.
    fn plates(&self, sheet: &mut FloorSheet, band: Band) {
        let own = |m: &&Member| {
            m.stretch.chain == self.chain
                && match m.kind {
                    MemberKind::BasePlate => !band.top,
                    MemberKind::TopPlate => band.top,
                    MemberKind::Doubler | MemberKind::Cap => false,
                }
        };
        for m in self.boat.members().filter(own) {
            let length = m.stretch.length;
            let row = self.to - self.from;
            for w in [0.0, 1.0] {
                let (a, b) = (m.strip.cuts[0].at(w), m.strip.cuts[1].at(w));
                if let Some((a, b)) = self.shown(band, length, (a, b)) {
                    sheet.stroke(Stroke::Edge, self.along(band, length, (a, b), w));
                }
            }
            for cut in &m.strip.cuts {
                let run = |w: f64| self.run(band, length, cut.at(w));
                if [0.0, 0.5, 1.0].into_iter().all(|w| self.shows(run(w))) {
                    let at = |w: f64| self.place(band, length, (cut.at(w), w));
                    sheet.stroke(Stroke::Edge, [0.0, 0.25, 0.5, 0.75, 1.0].map(at).to_vec());
                }
            }
            for feature in &m.features {
                let Feature::Footprint { corners, name } = feature else {
                    continue;
                };
                let stands = self.boat.stanchions().find(|s| s.name == *name);
                if stands.is_some_and(|s| self.holds(s.t)) {
                    let at = |&c: &(f64, f64)| self.place(band, length, c);
                    let corners: Vec<Vec2> = corners.iter().map(at).collect();
                    sheet.shape(Stroke::Shade, &corners);
                    let closed = corners.iter().chain(corners.first()).copied();
                    sheet.stroke(Stroke::Thin, closed.collect());
                }
            }
            // Its name stands where the longer share of it is shown.
            let ends = [0, 1].map(|k| self.run(band, length, m.strip.cuts[k].at(0.5)));
            if self.holds(0.5 * (m.stretch.from + m.stretch.to)) {
                let shown = (ends[0].max(0.0), ends[1].min(row));
                let x = self.left + self.free_middle(m, band, shown) * self.scale;
                let at = vec2(x, band.foot + 0.5 * band.width * self.scale);
                let height = NAME.min(0.6 * band.width * self.scale).max(LEAST_LETTER);
                sheet.tag(m.name.clone(), height, at, Stand::On);
            }
        }
        for x in [self.from, self.to] {
            self.break_line(sheet, band, x);
        }
    }

    /// The middle of the length without a stanchion or a doubler that is
    /// nearest to the middle of what is shown, of those wide enough for a name.
    fn free_middle(&self, m: &Member, band: Band, (lo, hi): (f64, f64)) -> f64 {
        let run = |t: f64| self.run(band, m.stretch.length, t);
        let mut full: Vec<(f64, f64)> = (m.features.iter())
            .filter_map(|f| match f {
                Feature::Footprint { corners, .. } => {
                    let at = corners.iter().map(|c| run(c.0));
                    let all = (f64::INFINITY, f64::NEG_INFINITY);
                    Some(at.fold(all, |(a, b), x| (a.min(x), b.max(x))))
                }
                Feature::Doubler { t, .. } => Some((run(t.0), run(t.1))),
                _ => None,
            })
            .chain([(hi, hi)])
            .collect();
        full.sort_by(|a, b| a.0.total_cmp(&b.0));
        let middle = 0.5 * (lo + hi);
        let need = NAME_ROOM / self.scale;
        let (mut from, mut best, mut far) = (lo, middle, f64::INFINITY);
        for (a, b) in full {
            let centre = 0.5 * (from + a);
            if a - from >= need && (centre - middle).abs() < far {
                (best, far) = (centre, (centre - middle).abs());
            }
            from = from.max(b);
        }
        best
    }

    /// Where the row ends within a plate it goes on in another row.
    fn break_line(&self, sheet: &mut FloorSheet, band: Band, x: f64) {
        if x <= 1e-6 || x >= self.roll.length() - 1e-6 {
            return;
        }
        let x = self.left + (x - self.from) * self.scale;
        let (lo, hi) = (band.foot - 1.5, band.foot + band.width * self.scale + 1.5);
        sheet.line(Stroke::Dashed, vec2(x, lo), vec2(x, hi));
    }

    /// What of a stretch of a plate's parameter lies in the row.
    fn shown(&self, band: Band, length: usize, (a, b): (f64, f64)) -> Option<(f64, f64)> {
        let x = |t: f64| self.run(band, length, t);
        let (first, last) = self.reach();
        if x(b) <= first || x(a) >= last {
            return None;
        }
        let at = |want: f64| {
            let (mut lo, mut hi) = (a, b);
            for _ in 0..50 {
                let mid = 0.5 * (lo + hi);
                if x(mid) < want {
                    lo = mid;
                } else {
                    hi = mid;
                }
            }
            0.5 * (lo + hi)
        };
        let from = if x(a) < first { at(first) } else { a };
        let to = if x(b) > last { at(last) } else { b };
        Some((from, to))
    }

    fn along(&self, band: Band, length: usize, (a, b): (f64, f64), w: f64) -> Vec<Vec2> {
        let n = ((b - a) * self.scale / CHORD).ceil().max(1.0);
        let mut out = Vec::new();
        let mut k = 0.0;
        while k <= n {
            out.push(self.place(band, length, (a + (b - a) * k / n, w)));
            k += 1.0;
        }
        out
    }

    fn joints(&self, sheet: &mut FloorSheet, band: Band) {
        let kind = match band.top {
            true => MemberKind::TopPlate,
            false => MemberKind::BasePlate,
        };
        let here = self.boat.joints_of(kind).filter(|j| j.chain == self.chain);
        for joint in here {
            let (_, t) = self.boat.on_plate(joint);
            let length = self.roll.length_at(joint.t);
            if !self.holds(joint.t) {
                continue;
            }
            let w = if band.top { 1.0 } else { 0.0 };
            let way = if band.top { 1.0 } else { -1.0 };
            let at = self.place(band, length, (t, w));
            let tip = at + vec2(0.0, 1.5 * way);
            sheet.line(Stroke::Thin, at, tip);
            let word = match joint.form {
                JointForm::Butt => "butt",
                JointForm::Lift => "lift",
                JointForm::Mitre => "mitre",
            };
            sheet.tag(word, LEAST_LETTER, tip, Stand::By(vec2(0.0, way)));
        }
    }

    fn doublers(&self, sheet: &mut FloorSheet, band: Band) {
        let own = |m: &&Member| m.stretch.chain == self.chain && m.kind == MemberKind::Doubler;
        for m in self.boat.members().filter(own) {
            let length = m.stretch.length;
            let guide = &m.strip.guide;
            let cuts = [0, 1].map(|k| m.strip.cuts[k].at(0.5));
            let Some((a, b)) = self.shown(band, length, (cuts[0], cuts[1])) else {
                continue;
            };
            let [lo, hi] = [guide.inset, guide.inset + guide.width].map(|mm| mm / band.width);
            let corners = [(a, lo), (b, lo), (b, hi), (a, hi)];
            let at = corners.map(|c| self.place(band, length, c));
            let closed = at.iter().chain(at.first()).copied();
            sheet.stroke(Stroke::Thin, closed.collect());
            if self.holds(0.5 * (cuts[0] + cuts[1])) {
                sheet.tag(
                    m.name.clone(),
                    LEAST_LETTER,
                    (at[0] + at[2]) * 0.5,
                    Stand::On,
                );
            }
        }
    }

    /// A line from foot to head, and the number on it.
    fn stanchions(&self, sheet: &mut FloorSheet, base: Band, top: Band) {
        for s in self.boat.stanchions().filter(|s| s.chain == self.chain) {
            let length = self.roll.length_at(s.t);
            if !self.holds(s.t) {
                continue;
            }
            let u = self.roll.along.lengths[length].u(s.t);
            let foot = self.place(base, length, (s.t, 0.0));
            let head = self.place(top, length, (u, 1.0));
            sheet.line(Stroke::Centre, foot, head);
            sheet.tag(s.name.clone(), LEAST_LETTER, (foot + head) * 0.5, Stand::On);
        }
    }

    fn marks(&self, sheet: &mut FloorSheet, base: Band, top: Band) {
        for mark in &self.roll.along.marks {
            let place = |t: f64, w: f64| self.place(base, self.roll.length_at(t), (t, w));
            let run = |t: f64| self.run(base, self.roll.length_at(t), t);
            if !self.holds(0.5 * (mark.from + mark.to)) {
                continue;
            }
            if mark.kind == EdgeMarkKind::Station {
                let foot = place(mark.from, 1.0);
                let tip = foot + vec2(0.0, 1.8);
                sheet.line(Stroke::Thin, foot, tip);
                let stand = Stand::MayBy(vec2(0.0, 1.0));
                sheet.tag(short(&mark.name), LEAST_LETTER, tip, stand);
                continue;
            }
            let clip = |t: f64| {
                let x = run(t).clamp(0.0, self.to - self.from);
                self.left + x * self.scale
            };
            let (a, b) = (clip(mark.from), clip(mark.to));
            let over = base.foot + 0.5 * base.width * self.scale;
            if mark.kind == EdgeMarkKind::Gate {
                let at = vec2(0.5 * (a + b), over);
                sheet.tag(short(&mark.name), LEAST_LETTER, at, Stand::On);
                continue;
            }
            let (lo, hi) = (top.foot + top.width * self.scale + 1.0, base.foot - 1.0);
            let closed = [(a, lo), (b, lo), (b, hi), (a, hi), (a, lo)].map(|(x, y)| vec2(x, y));
            sheet.stroke(Stroke::Dashed, closed.to_vec());
            let at = vec2(0.5 * (a + b), 0.5 * (lo + hi));
            let lines = wrapped(&short(&mark.name), CLEAR_LETTERS);
            for (k, line) in lines.iter().enumerate() {
                let up = 0.5 * (lines.len() - 1) as f64 - k as f64;
                let at = at + vec2(0.0, 1.7 * LEAST_LETTER * up);
                sheet.tag(line.clone(), LEAST_LETTER, at, Stand::Over);
            }
        }
        let x = self.centreline();
        if let Some(x) = x {
            let x = self.left + x * self.scale;
            let y = [top.foot - 2.0, base.foot + base.width * self.scale + 3.0];
            sheet.line(Stroke::Centre, vec2(x, y[0]), vec2(x, y[1]));
            sheet.tag("CL", LEAST_LETTER, vec2(x, y[1]), Stand::By(vec2(0.0, 1.0)));
        }
    }

    /// Where the row passes the centreline, from its beginning.
    fn centreline(&self) -> Option<f64> {
        let side = |x: f64| self.boat.side(self.chain, self.roll.place(x).1);
        if side(self.from) == side(self.to) {
            return None;
        }
        let (mut lo, mut hi) = (self.from, self.to);
        for _ in 0..50 {
            let mid = 0.5 * (lo + hi);
            if side(mid) == side(self.from) {
                lo = mid;
            } else {
                hi = mid;
            }
        }
        Some(lo - self.from)
    }
}
