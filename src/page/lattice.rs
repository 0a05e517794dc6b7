//! A lattice of fields over a turned drawing, and which of them show its ink.
//!
//! Neighbours overlap: along each axis a zone that one field alone shows is
//! followed by one that two show. A field is needed where there is ink in what
//! it alone shows, both ways; what else there is goes to a field that is there
//! already, or to the one that shows most of it. For a shift across, the shifts
//! along at which a field is needed are an open stretch from where ink begins to
//! where it ends: one at every end of such a stretch and one between each two
//! are all there are to try.

use super::cover::{Cells, Cover, Field, Lines, Score, count, hung};
use crate::geom::vector::bounds;
use crate::geom::{Vec2, vec2};

/// Shifts across that are tried from either end of the drawing.
const SHIFTS: usize = 8;
/// Stretches of ink nearer than this are one, mm; and what rounding may do.
pub(super) const NEAR: f64 = 1e-6;

/// The drawing at one turn.
pub(super) struct Turned {
    turn: f64,
    field: Field,
    /// Lower left corner of its box, and the box's size.
    lo: Vec2,
    size: Vec2,
    /// From that corner.
    chords: Vec<[Vec2; 2]>,
    holes: Vec<(Vec2, f64)>,
}

/// Stretches of ink in a zone, from the bottom, none touching another.
type Runs = Vec<(f64, f64)>;

/// Fields along one axis of a drawing whose box begins at nought.
#[derive(Debug, Clone, Copy)]
struct Axis {
    /// Where the first begins, mm: less than a pitch below nought.
    start: f64,
    /// From one to the next, mm.
    pitch: f64,
    /// What two show, mm.
    overlap: f64,
}

impl Axis {
    /// The zone of a place: one field shows an even one, two show an odd one.
    /// What the first would share with one before it is its own.
    fn zone(&self, at: f64) -> usize {
        let from = at - self.start + NEAR;
        let field = count(from / self.pitch);
        let shared = from - field as f64 * self.pitch <= self.overlap + 2.0 * NEAR;
        2 * field - usize::from(shared && field > 0)
    }

    /// Where a zone above the first begins.
    fn edge(&self, zone: usize) -> f64 {
        let shared = if zone.is_multiple_of(2) {
            self.overlap
        } else {
            0.0
        };
        self.start + zone.div_ceil(2) as f64 * self.pitch + shared
    }
}

impl Turned {
    pub(super) fn new(lines: &Lines, field: Field, turn: f64) -> Self {
        let (along, left) = (vec2(1.0, 0.0).turned(turn), vec2(0.0, 1.0).turned(turn));
        let at = |p: Vec2| along * p.x + left * p.y;
        let mut chords: Vec<[Vec2; 2]> = lines.chords.iter().map(|c| c.map(at)).collect();
        let (lo, hi) = bounds(chords.iter().flatten().copied());
        for p in chords.iter_mut().flatten() {
            *p = *p - lo;
        }
        Self {
            turn,
            field,
            lo,
            size: hi - lo,
            chords,
            holes: lines.holes.iter().map(|&(c, r)| (at(c) - lo, r)).collect(),
        }
    }

    fn columns(&self, start: f64) -> Axis {
        Axis {
            start,
            pitch: self.field.pitch().x,
            overlap: self.field.overlap,
        }
    }

    fn rows(&self, start: f64) -> Axis {
        Axis {
            start,
            pitch: self.field.pitch().y,
            overlap: self.field.overlap,
        }
    }

    /// The fewest pages that each shift across needs.
    pub(super) fn needs(&self) -> Vec<usize> {
        let mut zones = Vec::new();
        let of = |start: f64| {
            self.zones(&self.columns(start), &mut zones);
            let along = self.shifts_along(&zones);
            along.first().map_or(0, |(pages, _)| *pages)
        };
        self.shifts_across().into_iter().map(of).collect()
    }

    /// Tries every shift along with one across.
    pub(super) fn search(&self, shift: usize, best: &mut Option<(Score, Cover)>) {
        let Some(columns) = self.shifts_across().get(shift).map(|s| self.columns(*s)) else {
            return;
        };
        let mut zones = Vec::new();
        self.zones(&columns, &mut zones);
        for (pages, start) in self.shifts_along(&zones) {
            let enough = |best: &Option<(Score, Cover)>, pages: usize| {
                (best.as_ref()).is_some_and(|(s, _)| s.enough(pages, &self.field))
            };
            if enough(best, pages) {
                break;
            }
            let rows = self.rows(start);
            let cells = hung(showing(&zones, &rows));
            if enough(best, cells.len()) {
                continue;
            }
            let cover = self.cover(vec2(columns.start, rows.start), &cells);
            let at = |&(c, r): &(Vec2, f64)| (c + self.lo, r);
            let score = cover.score(&self.holes.iter().map(at).collect::<Vec<_>>());
            if best.as_ref().is_none_or(|(least, _)| score < *least) {
                *best = Some((score, cover));
            }
        }
    }

    /// Left edges of the first column that are tried, mm: in even steps from the
    /// drawing's left end, and from its right end as from the left of the drawing
    /// upside down.
    fn shifts_across(&self) -> Vec<f64> {
        let (pitch, width) = (self.field.pitch().x, self.field.width);
        if self.size.x <= width {
            return vec![0.5 * (self.size.x - width)];
        }
        let below = |at: f64| -(-at).rem_euclid(pitch);
        // The last column ends where the drawing does.
        let end = self.size.x - width;
        let both = |k: usize| {
            let step = pitch * k as f64 / SHIFTS as f64;
            [below(-step), below(end + step)]
        };
        (0..SHIFTS).flat_map(both).collect()
    }

    /// Ink of every zone across.
    fn zones(&self, columns: &Axis, out: &mut Vec<Runs>) {
        out.resize_with(columns.zone(self.size.x) + 1, Runs::new);
        out.iter_mut().for_each(Runs::clear);
        for &[a, b] in &self.chords {
            let (a, b) = if a.x <= b.x { (a, b) } else { (b, a) };
            let (first, last) = (columns.zone(a.x), columns.zone(b.x));
            let mut from = a.y;
            for (zone, runs) in out.iter_mut().enumerate().take(last).skip(first) {
                let part = (columns.edge(zone + 1) - a.x) / (b.x - a.x);
                let to = a.y + (b.y - a.y) * part.clamp(0.0, 1.0);
                add(runs, from, to);
                from = to;
            }
            add(&mut out[last], from, b.y);
        }
        for &(centre, radius) in &self.holes {
            let (left, right) = (centre.x - radius, centre.x + radius);
            let (first, last) = (columns.zone(left), columns.zone(right));
            for (zone, runs) in out.iter_mut().enumerate().take(last + 1).skip(first) {
                // Where the zone is nearest to the hole's middle.
                let (mut from, mut to) = (left, right);
                if zone > first {
                    from = columns.edge(zone);
                }
                if zone < last {
                    to = columns.edge(zone + 1);
                }
                let off = centre.x.clamp(from, to) - centre.x;
                let half = (radius * radius - off * off).max(0.0).sqrt();
                add(runs, centre.y - half, centre.y + half);
            }
        }
        out.iter_mut().for_each(merge);
    }

    /// Lower edges of the first row that are tried, mm, each with how many
    /// fields are needed there; the fewest first.
    fn shifts_along(&self, zones: &[Runs]) -> Vec<(usize, f64)> {
        let pitch = self.field.pitch().y;
        if self.size.y <= self.field.length {
            let columns = zones.iter().step_by(2);
            let needed = columns.filter(|runs| !runs.is_empty()).count();
            return vec![(needed, 0.5 * (self.size.y - self.field.length))];
        }
        // Where stretches begin, +1, and end, -1; those of shared zones, 0, only
        // part what is tried.
        let mut ends: Vec<(f64, i8)> = vec![(0.0, 0)];
        for (zone, runs) in zones.iter().enumerate() {
            let weight = i8::from(zone.is_multiple_of(2));
            needed(runs, &self.rows(0.0), |from, to| {
                ends.extend([(from, weight), (to, -weight)]);
            });
        }
        ends.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let mut out = Vec::new();
        let (mut open, mut k) = (0_usize, 0);
        while let Some(&(at, _)) = ends.get(k) {
            let here = ends[k..].iter().take_while(|e| e.0 <= at + NEAR).count();
            let of = |weight: i8| ends[k..k + here].iter().filter(|e| e.1 == weight).count();
            open -= of(-1).min(open);
            if at > -pitch && at <= 0.0 {
                out.push((open, at));
            }
            open += of(1);
            k += here;
            if let Some(&(next, _)) = ends.get(k) {
                let (from, to) = (at.max(-pitch), next.min(0.0));
                if from < to {
                    out.push((open, 0.5 * (from + to)));
                }
            }
        }
        out.sort_by_key(|s| s.0);
        out
    }

    /// Pages from the first row and column that are there; one row or column in
    /// the middle of its paper, a roll cut where a single row ends.
    fn cover(&self, shift: Vec2, cells: &Cells) -> Cover {
        let row = cells.iter().map(|c| c.0).min().unwrap_or(0);
        let column = cells.iter().map(|c| c.1).min().unwrap_or(0);
        let pitch = self.field.pitch();
        let mut out = Cover {
            turn: self.turn,
            origin: self.lo + shift + vec2(column as f64 * pitch.x, row as f64 * pitch.y),
            field: self.field,
            cells: cells.iter().map(|c| (c.0 - row, c.1 - column)).collect(),
        };
        if out.rows() == 1 {
            if out.field.roll {
                out.field.length = self.size.y;
            }
            out.origin.y = self.lo.y - 0.5 * (out.field.length - self.size.y);
        }
        if out.columns() == 1 {
            out.origin.x = self.lo.x - 0.5 * (out.field.width - self.size.x);
        }
        out
    }
}

/// Tells the stretch of shifts, of those not above nought and less than a pitch
/// below it, at which each row is needed for a zone's ink; its ends may lie
/// beyond. `rows` has its first field at nought.
fn needed(runs: &Runs, rows: &Axis, mut tell: impl FnMut(f64, f64)) {
    let Some(&(_, top)) = runs.last() else { return };
    for row in 0..=count(top / rows.pitch + 1.0) {
        let lower = match row {
            0 => f64::NEG_INFINITY,
            _ => row as f64 * rows.pitch + rows.overlap,
        };
        let upper = (row + 1) as f64 * rows.pitch;
        let mut open: Option<(f64, f64)> = None;
        for &(a, b) in runs {
            let (from, to) = (a - upper, b - lower);
            if to <= from || to <= -rows.pitch || from >= 0.0 {
                continue;
            }
            match &mut open {
                Some(o) if from <= o.1 => o.1 = o.1.max(to),
                _ => {
                    if let Some(o) = open.replace((from, to)) {
                        tell(o.0, o.1);
                    }
                }
            }
        }
        if let Some(o) = open {
            tell(o.0, o.1);
        }
    }
}

/// The fields that show all ink of the zones across.
fn showing(zones: &[Runs], rows: &Axis) -> Cells {
    let mut out = Cells::new();
    let mut shared = Vec::new();
    for (across, runs) in zones.iter().enumerate() {
        let mut next = 0;
        for &(a, b) in runs {
            let last = rows.zone(b);
            for along in rows.zone(a).max(next)..=last {
                if across.is_multiple_of(2) && along.is_multiple_of(2) {
                    out.insert((along / 2, across / 2));
                } else {
                    shared.push((across, along));
                }
            }
            next = last + 1;
        }
    }
    let fields = |zone: usize| [zone / 2, zone.div_ceil(2)];
    let by = |&(across, along): &(usize, usize)| {
        fields(along).map(|row| fields(across).map(|column| (row, column)))
    };
    loop {
        shared.retain(|zone| !by(zone).as_flattened().iter().any(|c| out.contains(c)));
        let every: Cells = shared.iter().flat_map(by).flatten().collect();
        let shows = |cell: &(usize, usize)| {
            let has = |zone: &&(usize, usize)| by(zone).as_flattened().contains(cell);
            shared.iter().filter(has).count()
        };
        // Of equals the lowest.
        let Some(most) = every.iter().rev().max_by_key(|cell| shows(cell)) else {
            return out;
        };
        out.insert(*most);
    }
}

/// Adds a stretch; it mostly goes on where the last one ends.
fn add(runs: &mut Runs, from: f64, to: f64) {
    let (from, to) = (from.min(to), from.max(to));
    match runs.last_mut() {
        Some(last) if from <= last.1 && to >= last.0 => {
            *last = (last.0.min(from), last.1.max(to));
        }
        _ => runs.push((from, to)),
    }
}

/// Sorts stretches and makes one of those that touch.
fn merge(runs: &mut Runs) {
    runs.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    runs.dedup_by(|next, last| {
        let touch = next.0 <= last.1 + NEAR;
        if touch {
            last.1 = last.1.max(next.1);
        }
        touch
    });
}
