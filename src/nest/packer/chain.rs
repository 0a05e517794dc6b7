//! Upper and lower chains: regions cut into pieces that a vertical line
//! meets once, and the exact vertical distances between such pieces.

use crate::geom::{Vec2, vec2};

/// Coordinates closer than this are one, mm: well under any clearance, well
/// over the rounding of coordinates of some metres (1e-12 mm). With 0,
/// corners that a turn leaves almost above each other make slivers.
const SAME: f64 = 1e-9;

/// A region between two chains over the same stretch of x, both with x
/// strictly increasing and at least two points.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Piece {
    pub lower: Vec<Vec2>,
    pub upper: Vec<Vec2>,
    pub lo: Vec2,
    pub hi: Vec2,
}

impl Piece {
    pub(super) fn shifted(&self, by: Vec2) -> Self {
        let shift = |chain: &[Vec2]| chain.iter().map(|&p| p + by).collect();
        Self {
            lower: shift(&self.lower),
            upper: shift(&self.upper),
            lo: self.lo + by,
            hi: self.hi + by,
        }
    }

    fn close(mut self) -> Self {
        let ys = |chain: &[Vec2]| chain.iter().map(|p| p.y).collect::<Vec<_>>();
        let (l, u) = (ys(&self.lower), ys(&self.upper));
        self.lo.y = l.iter().copied().fold(f64::INFINITY, f64::min);
        self.hi.y = u.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        self.hi.x = self.upper.last().map_or(self.lo.x, |p| p.x);
        self
    }
}

struct Edge {
    a: Vec2,
    b: Vec2,
}

impl Edge {
    fn at(&self, x: f64) -> f64 {
        height(self.a, self.b, x)
    }
}

fn height(a: Vec2, b: Vec2, x: f64) -> f64 {
    if x <= a.x {
        a.y
    } else if x >= b.x {
        b.y
    } else {
        a.y + (b.y - a.y) * ((x - a.x) / (b.x - a.x))
    }
}

struct Open {
    piece: Piece,
    low: usize,
    high: usize,
}

/// Cuts the region inside `rings` (even-odd) into pieces. Rings may be
/// nested but do not cross.
pub(super) fn pieces(rings: &[Vec<Vec2>]) -> Vec<Piece> {
    let mut xs: Vec<f64> = rings.iter().flatten().map(|p| p.x).collect();
    xs.sort_by(f64::total_cmp);
    xs.dedup_by(|b, a| *b - *a < SAME);
    let mut edges = Vec::new();
    for ring in rings {
        for i in 0..ring.len() {
            let (p, q) = (ring[i], ring[(i + 1) % ring.len()]);
            let (a, b) = if p.x <= q.x { (p, q) } else { (q, p) };
            if b.x - a.x >= SAME {
                edges.push(Edge { a, b });
            }
        }
    }
    edges.sort_by(|e, f| e.a.x.total_cmp(&f.a.x).then(e.a.y.total_cmp(&f.a.y)));
    let mut done = Vec::new();
    let mut open: Vec<Open> = Vec::new();
    let mut active: Vec<usize> = Vec::new();
    let mut next = 0;
    for slab in xs.windows(2) {
        let (x0, x1) = (slab[0], slab[1]);
        let mid = 0.5 * (x0 + x1);
        active.retain(|&e| edges[e].b.x > mid);
        while next < edges.len() && edges[next].a.x < mid {
            if edges[next].b.x > mid {
                active.push(next);
            }
            next += 1;
        }
        let mut order: Vec<(f64, usize)> = active.iter().map(|&e| (edges[e].at(mid), e)).collect();
        order.sort_by(|p, q| p.0.total_cmp(&q.0).then(p.1.cmp(&q.1)));
        let mut now = Vec::with_capacity(order.len() / 2);
        for pair in order.chunks_exact(2) {
            let (low, high) = (pair[0].1, pair[1].1);
            let start = (edges[low].at(x0), edges[high].at(x0));
            let before = open.iter().position(|o| continues(o, start));
            let mut held = match before {
                Some(i) => open.swap_remove(i),
                None => begin(x0, start, low, high),
            };
            extend(
                &mut held.piece.lower,
                held.low == low,
                x1,
                edges[low].at(x1),
            );
            extend(
                &mut held.piece.upper,
                held.high == high,
                x1,
                edges[high].at(x1),
            );
            (held.low, held.high) = (low, high);
            now.push(held);
        }
        done.extend(open.drain(..).map(|o| o.piece.close()));
        open = now;
    }
    done.extend(open.into_iter().map(|o| o.piece.close()));
    done.sort_by(|p, q| p.lo.x.total_cmp(&q.lo.x).then(p.lo.y.total_cmp(&q.lo.y)));
    done
}

fn begin(x: f64, (low_y, high_y): (f64, f64), low: usize, high: usize) -> Open {
    Open {
        piece: Piece {
            lower: vec![vec2(x, low_y)],
            upper: vec![vec2(x, high_y)],
            lo: vec2(x, low_y),
            hi: vec2(x, high_y),
        },
        low,
        high,
    }
}

fn continues(open: &Open, (low, high): (f64, f64)) -> bool {
    let end = |chain: &[Vec2]| chain.last().map_or(f64::NAN, |p| p.y);
    (end(&open.piece.lower) - low).abs() < 1e3 * SAME
        && (end(&open.piece.upper) - high).abs() < 1e3 * SAME
}

/// Adds a point, in place of the last where the chain stays on its edge.
fn extend(chain: &mut Vec<Vec2>, same_edge: bool, x: f64, y: f64) {
    if same_edge && chain.len() > 1 {
        chain.pop();
    }
    chain.push(vec2(x, y));
}

/// Greatest height of chain `a` (shifted by `ax` in x) over chain `b`
/// (shifted by `bx`) between `x0` and `x1`, where both are defined: exact,
/// as the difference is linear between the points of either.
pub(super) fn rise(a: &[Vec2], ax: f64, b: &[Vec2], bx: f64, x0: f64, x1: f64) -> f64 {
    // Index of the segment that leaves x0: its last point at or before x0.
    let first = |chain: &[Vec2], by: f64| {
        let n = chain.partition_point(|p| p.x + by <= x0);
        n.clamp(1, chain.len() - 1) - 1
    };
    let (mut i, mut j) = (first(a, ax), first(b, bx));
    let at = |chain: &[Vec2], k: usize, by: f64, x: f64| height(chain[k], chain[k + 1], x - by);
    let mut best = at(a, i, ax, x0) - at(b, j, bx, x0);
    // Between two bends of either chain the distance runs straight: only the
    // bends count, and at a chain's own bend its height needs no working out.
    loop {
        let (pa, pb) = (a[i + 1], b[j + 1]);
        let (xa, xb) = (pa.x + ax, pb.x + bx);
        if xa >= x1 && xb >= x1 {
            return best.max(at(a, i, ax, x1) - at(b, j, bx, x1));
        }
        let (ya, yb) = if xa < xb {
            (pa.y, height(b[j], pb, xa - bx))
        } else if xb < xa {
            (height(a[i], pa, xb - ax), pb.y)
        } else {
            (pa.y, pb.y)
        };
        best = best.max(ya - yb);
        if xa <= xb {
            if i + 2 >= a.len() {
                return best;
            }
            i += 1;
        }
        if xb <= xa {
            if j + 2 >= b.len() {
                return best;
            }
            j += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_l_shape_is_two_pieces_and_keeps_its_area() {
        let l = vec![
            vec2(0.0, 0.0),
            vec2(4.0, 0.0),
            vec2(4.0, 1.0),
            vec2(1.0, 1.0),
            vec2(1.0, 3.0),
            vec2(0.0, 3.0),
        ];
        let cut = pieces(&[l]);
        assert_eq!(cut.len(), 2);
        assert_eq!((cut[0].lo, cut[0].hi), (vec2(0.0, 0.0), vec2(1.0, 3.0)));
        assert_eq!((cut[1].lo, cut[1].hi), (vec2(1.0, 0.0), vec2(4.0, 1.0)));
    }

    #[test]
    fn a_convex_shape_is_one_piece_with_no_idle_points() {
        let d = vec![
            vec2(0.0, 0.0),
            vec2(2.0, -1.0),
            vec2(5.0, 0.0),
            vec2(3.0, 2.0),
        ];
        let cut = pieces(&[d]);
        assert_eq!(cut.len(), 1);
        assert_eq!(
            cut[0].lower,
            [vec2(0.0, 0.0), vec2(2.0, -1.0), vec2(5.0, 0.0)]
        );
        assert_eq!(
            cut[0].upper,
            [vec2(0.0, 0.0), vec2(3.0, 2.0), vec2(5.0, 0.0)]
        );
    }

    #[test]
    fn a_hole_parts_the_region() {
        let square = |r: f64| vec![vec2(-r, -r), vec2(r, -r), vec2(r, r), vec2(-r, r)];
        let cut = pieces(&[square(3.0), square(1.0)]);
        let area: f64 = cut
            .iter()
            .map(|p| (p.hi.x - p.lo.x) * (p.hi.y - p.lo.y))
            .sum();
        assert_eq!(cut.len(), 4);
        assert!((area - 32.0).abs() < 1e-12);
    }

    #[test]
    fn the_rise_is_found_at_points_of_either_chain() {
        let a = [vec2(0.0, 0.0), vec2(2.0, 3.0), vec2(6.0, 0.0)];
        let b = [vec2(0.0, 1.0), vec2(3.0, -2.0), vec2(6.0, 1.0)];
        // Height at x = 3: a is 2.25, b is -2: 4.25; at x = 2: 3 + 1 = 4.
        assert!((rise(&a, 0.0, &b, 0.0, 0.0, 6.0) - 4.25).abs() < 1e-12);
        // Only up to x = 2.
        assert!((rise(&a, 0.0, &b, 0.0, 0.0, 2.0) - 4.0).abs() < 1e-12);
        // b shifted right by 3: at x = 3 a 2.25, b 1; at x = 6: 0 + 2.
        assert!((rise(&a, 0.0, &b, 3.0, 3.0, 6.0) - 2.0).abs() < 1e-12);
    }
}
