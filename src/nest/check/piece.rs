//! Lines and arcs, and exact distances between them: closed forms, written
//! for the check alone.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use crate::geom::{Outline, Vec2, trig, vec2};

/// An arc that bulges less than this from its chord is taken as the chord,
/// mm: its centre lies so far off that rounding would cost more.
const FLAT: f64 = 1e-5;

/// A piece of an outline.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    pub a: Vec2,
    pub b: Vec2,
    pub arc: Option<Circle>,
    /// Corners of the box that holds it.
    pub lo: Vec2,
    pub hi: Vec2,
}

/// The circle of an arc, and the part of it that the arc covers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Circle {
    pub centre: Vec2,
    pub radius: f64,
    /// Angle of the end that the arc leaves to the left.
    from: f64,
    /// Sweep to the left from there.
    sweep: f64,
}

impl Circle {
    fn covers(&self, direction: Vec2) -> bool {
        let angle = trig::atan2(direction.y, direction.x);
        (angle - self.from).rem_euclid(TAU) <= self.sweep
    }

    /// True where the arc's end that it leaves to the left is `p`.
    fn starts_at(&self, p: Vec2) -> bool {
        let start = self.toward(vec2(trig::cos(self.from), trig::sin(self.from)));
        let end = self.from + self.sweep;
        let end = self.toward(vec2(trig::cos(end), trig::sin(end)));
        start.distance(p) <= end.distance(p)
    }

    fn toward(&self, direction: Vec2) -> Vec2 {
        self.centre + direction.unit() * self.radius
    }
}

impl Piece {
    /// A piece from its ends and bulge.
    pub(super) fn new(a: Vec2, b: Vec2, bulge: f64) -> Self {
        let chord = b - a;
        let length = chord.length();
        let mut lo = vec2(a.x.min(b.x), a.y.min(b.y));
        let mut hi = vec2(a.x.max(b.x), a.y.max(b.y));
        let arc = (0.5 * length * bulge.abs() >= FLAT).then(|| {
            // Height of the arc over its chord is h = bulge length / 2, the
            // radius (h^2 + (length / 2)^2) / 2h, the centre radius - h on the
            // chord's left for a left turn.
            let h = 0.5 * length * bulge.abs();
            let radius = (h * h + 0.25 * length * length) / (2.0 * h);
            let side = if bulge > 0.0 { 1.0 } else { -1.0 };
            let centre = (a + b) * 0.5 + chord.unit().left() * (side * (radius - h));
            let start = if bulge > 0.0 { a } else { b } - centre;
            Circle {
                centre,
                radius,
                from: trig::atan2(start.y, start.x),
                sweep: 4.0 * trig::atan(bulge.abs()),
            }
        });
        if let Some(c) = arc {
            for d in [
                vec2(1.0, 0.0),
                vec2(0.0, 1.0),
                vec2(-1.0, 0.0),
                vec2(0.0, -1.0),
            ] {
                if c.covers(d) {
                    let p = c.toward(d);
                    lo = vec2(lo.x.min(p.x), lo.y.min(p.y));
                    hi = vec2(hi.x.max(p.x), hi.y.max(p.y));
                }
            }
        }
        Self { a, b, arc, lo, hi }
    }

    /// Point of the piece nearest to `p`.
    fn nearest(&self, p: Vec2) -> Vec2 {
        match self.arc {
            None => {
                let along = self.b - self.a;
                let square = along.dot(along);
                if square > 0.0 {
                    self.a + along * ((p - self.a).dot(along) / square).clamp(0.0, 1.0)
                } else {
                    self.a
                }
            }
            Some(c) => {
                let out = p - c.centre;
                // The centre itself is as near to every point of the arc.
                if out.length() > 0.0 && c.covers(out) {
                    c.toward(out)
                } else if p.distance(self.a) <= p.distance(self.b) {
                    self.a
                } else {
                    self.b
                }
            }
        }
    }

    /// Distance of a point, mm.
    pub(super) fn distance_to(&self, p: Vec2) -> f64 {
        p.distance(self.nearest(p))
    }

    /// Distance of another piece, mm: nought where they meet.
    pub(super) fn distance(&self, o: &Self) -> f64 {
        if !self.crossings(o).is_empty() {
            return 0.0;
        }
        // Apart, the nearest points are an end of one and its nearest on the
        // other, or inner points of both, square to both: on the line through
        // the centres, or through a centre square to the line.
        let mut best = self
            .distance_to(o.a)
            .min(self.distance_to(o.b))
            .min(o.distance_to(self.a))
            .min(o.distance_to(self.b));
        let mut inner = |direction: Vec2, c: Circle, other: &Self| {
            for d in [direction, -direction] {
                if d.length() > 0.0 && c.covers(d) {
                    best = best.min(other.distance_to(c.toward(d)));
                }
            }
        };
        match (self.arc, o.arc) {
            (None, None) => {}
            (Some(c), None) => inner((o.b - o.a).left(), c, o),
            (None, Some(c)) => inner((self.b - self.a).left(), c, self),
            (Some(c), Some(e)) => {
                // Arcs about one centre are as near everywhere that both cover,
                // which the ends have measured.
                inner(e.centre - c.centre, c, o);
                inner(e.centre - c.centre, e, self);
            }
        }
        best
    }

    /// Points where two pieces meet; where they run along each other, ends
    /// of that stretch.
    pub(super) fn crossings(&self, o: &Self) -> Vec<Vec2> {
        match (self.arc, o.arc) {
            (None, None) => line_line(self, o),
            (Some(c), None) => line_circle(o, &c),
            (None, Some(c)) => line_circle(self, &c),
            (Some(c), Some(e)) => circle_circle(&c, &e),
        }
    }

    /// True where the ray from `p` to the right crosses the piece an odd
    /// number of times. Ends at the height of the ray count as below it, for
    /// every piece alike, so a ray through a corner is counted rightly.
    fn crossed_by_ray(&self, p: Vec2) -> bool {
        let Some(c) = self.arc else {
            let (a, b) = (self.a, self.b);
            return (a.y > p.y) != (b.y > p.y)
                && p.x < a.x + (p.y - a.y) * (b.x - a.x) / (b.y - a.y);
        };
        // The arc is cut at its top and bottom; each stretch rises or falls
        // all along and lies right or left of the centre.
        let left_turn = c.starts_at(self.a);
        let (start, end) = if left_turn {
            (self.a, self.b)
        } else {
            (self.b, self.a)
        };
        let rise = p.y - c.centre.y;
        let half = ((c.radius - rise) * (c.radius + rise)).max(0.0).sqrt();
        let to = c.from + c.sweep;
        let mut crossed = false;
        let mut from = (c.from, start.y);
        let mut cut = FRAC_PI_2 + PI * ((c.from - FRAC_PI_2) / PI).ceil();
        loop {
            let last = cut >= to;
            let next = if last {
                (to, end.y)
            } else {
                (cut, c.centre.y + c.radius * trig::sin(cut))
            };
            let right = trig::cos(0.5 * (from.0 + next.0)) > 0.0;
            let x = c.centre.x + if right { half } else { -half };
            if (from.1 > p.y) != (next.1 > p.y) && p.x < x {
                crossed = !crossed;
            }
            if last {
                return crossed;
            }
            from = next;
            cut += PI;
        }
    }

    /// A point part way along.
    pub(super) fn at(&self, fraction: f64) -> Vec2 {
        match self.arc {
            None => self.a.lerp(self.b, fraction),
            Some(c) => {
                let f = if c.starts_at(self.a) {
                    fraction
                } else {
                    1.0 - fraction
                };
                let angle = c.from + c.sweep * f;
                c.toward(vec2(trig::cos(angle), trig::sin(angle)))
            }
        }
    }

    /// How far along a point of the piece lies, for sorting: 0 to 1.
    pub(super) fn fraction(&self, p: Vec2) -> f64 {
        match self.arc {
            None => {
                let along = self.b - self.a;
                ((p - self.a).dot(along) / along.dot(along).max(f64::MIN_POSITIVE)).clamp(0.0, 1.0)
            }
            Some(c) => {
                let d = p - c.centre;
                let f = (trig::atan2(d.y, d.x) - c.from).rem_euclid(TAU) / c.sweep;
                let f = if f > 1.0 { 1.0 } else { f };
                if c.starts_at(self.a) { f } else { 1.0 - f }
            }
        }
    }
}

fn line_line(s: &Piece, o: &Piece) -> Vec<Vec2> {
    let (d, e) = (s.b - s.a, o.b - o.a);
    let cross = d.cross(e);
    if cross.abs() <= 1e-14 * d.length() * e.length() {
        return Vec::new();
    }
    let t = (o.a - s.a).cross(e) / cross;
    let u = (o.a - s.a).cross(d) / cross;
    if (0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u) {
        vec![s.a + d * t]
    } else {
        Vec::new()
    }
}

fn line_circle(line: &Piece, c: &Circle) -> Vec<Vec2> {
    let along = line.b - line.a;
    let length = along.length();
    if length <= 0.0 {
        return Vec::new();
    }
    let unit = along.unit();
    let foot = (c.centre - line.a).dot(unit);
    let off = (c.centre - line.a).cross(unit);
    let square = (c.radius - off) * (c.radius + off);
    if square < 0.0 {
        return Vec::new();
    }
    let half = square.sqrt();
    [foot - half, foot + half]
        .into_iter()
        .filter(|t| (0.0..=length).contains(t))
        .map(|t| line.a + unit * t)
        .filter(|p| c.covers(*p - c.centre))
        .collect()
}

fn circle_circle(c: &Circle, e: &Circle) -> Vec<Vec2> {
    let between = e.centre - c.centre;
    let d = between.length();
    if d <= 0.0 || d > c.radius + e.radius || d < (c.radius - e.radius).abs() {
        return Vec::new();
    }
    // Along the line of centres, (d^2 + r^2 - s^2) / 2d from the first.
    let along = 0.5 * (d + (c.radius - e.radius) * (c.radius + e.radius) / d);
    let square = (c.radius - along) * (c.radius + along);
    let half = square.max(0.0).sqrt();
    let (u, middle) = (between.unit(), c.centre + between.unit() * along);
    [half, -half]
        .into_iter()
        .map(|h| middle + u.left() * h)
        .filter(|p| c.covers(*p - c.centre) && e.covers(*p - e.centre))
        .collect()
}

/// A placed part, its profiles cut into pieces.
#[derive(Debug, Clone)]
pub(super) struct Shape {
    pub pieces: Vec<Piece>,
    pub lo: Vec2,
    pub hi: Vec2,
}

impl Shape {
    /// A shape without holes.
    pub(super) fn new(outline: &Outline) -> Self {
        Self::of(std::iter::once(outline.clone()))
    }

    /// The pieces of an outer profile and then of its holes; those of no
    /// length are left out.
    pub(super) fn of(profiles: impl Iterator<Item = Outline>) -> Self {
        let mut pieces = Vec::new();
        for outline in profiles {
            let n = outline.vertices.len();
            let ends = (0..n).map(|i| (outline.vertices[i], outline.vertices[(i + 1) % n].at));
            pieces.extend(
                ends.filter(|(v, b)| v.at.distance(*b) > 0.0)
                    .map(|(v, b)| Piece::new(v.at, b, v.bulge)),
            );
        }
        let mut lo = vec2(f64::INFINITY, f64::INFINITY);
        let mut hi = vec2(f64::NEG_INFINITY, f64::NEG_INFINITY);
        for p in &pieces {
            lo = vec2(lo.x.min(p.lo.x), lo.y.min(p.lo.y));
            hi = vec2(hi.x.max(p.hi.x), hi.y.max(p.hi.y));
        }
        Self { pieces, lo, hi }
    }

    /// True where a point lies inside: a ray to the right crosses the profiles
    /// an odd number of times.
    pub(super) fn holds(&self, p: Vec2) -> bool {
        if p.x < self.lo.x || p.x > self.hi.x || p.y < self.lo.y || p.y > self.hi.y {
            return false;
        }
        self.pieces
            .iter()
            .fold(false, |inside, piece| inside != piece.crossed_by_ray(p))
    }

    /// Distance of the profile from a point, mm.
    pub(super) fn profile_distance(&self, p: Vec2) -> f64 {
        self.pieces
            .iter()
            .map(|q| q.distance_to(p))
            .fold(f64::INFINITY, f64::min)
    }
}

/// Distance between two boxes, mm; nought where they overlap.
pub(super) fn box_distance(a: (Vec2, Vec2), b: (Vec2, Vec2)) -> f64 {
    let dx = (b.0.x - a.1.x).max(a.0.x - b.1.x).max(0.0);
    let dy = (b.0.y - a.1.y).max(a.0.y - b.1.y).max(0.0);
    vec2(dx, dy).length()
}
