//! Two profiles joined along a straight edge of each.

use super::{Outline, Vec2, Vertex};

impl Outline {
    /// The straight piece that runs from one point to another, each met
    /// within `tolerance` mm: the index of the vertex that it leaves.
    #[must_use]
    pub fn straight_edge(&self, from: Vec2, to: Vec2, tolerance: f64) -> Option<usize> {
        self.pieces().position(|(a, b, bulge)| {
            bulge == 0.0 && a.distance(from) <= tolerance && b.distance(to) <= tolerance
        })
    }

    /// One profile round this one and another that faces it: both less a
    /// straight edge of each (its index in both), the ends bridged. Both run
    /// the same way round, so that the two edges run against each other.
    ///
    /// An index beyond the vertices is taken round.
    #[must_use]
    pub fn joined(&self, edge: usize, other: &Self, its: usize) -> Self {
        Self {
            vertices: [(self, edge), (other, its)]
                .into_iter()
                .flat_map(|(o, e)| o.less_edge(e))
                .collect(),
        }
    }

    /// Vertices from the end of an edge round to its beginning.
    fn less_edge(&self, edge: usize) -> Vec<Vertex> {
        let n = self.vertices.len();
        let mut out: Vec<Vertex> = (1..=n).map(|k| self.vertices[(edge + k) % n]).collect();
        if let Some(last) = out.last_mut() {
            last.bulge = 0.0;
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::super::vec2;
    use super::*;

    /// Two rectangles 2 mm apart: the box of both, its area by hand.
    #[test]
    fn joined_rectangles_are_the_box_of_both() {
        let a = Outline::rectangle(vec2(0.0, 0.0), vec2(30.0, 10.0));
        let b = Outline::rectangle(vec2(32.0, 0.0), vec2(52.0, 10.0));
        let right = a.straight_edge(vec2(30.0, 0.0), vec2(30.0, 10.0), 1e-9);
        let left = b.straight_edge(vec2(32.0, 10.0), vec2(32.0, 0.0), 1e-9);
        let (Some(i), Some(j)) = (right, left) else {
            panic!("no edge")
        };
        for both in [a.joined(i, &b, j), b.joined(j, &a, i)] {
            assert!((both.area() - 520.0).abs() < 1e-9);
            assert!((both.perimeter() - 124.0).abs() < 1e-9);
        }
    }

    #[test]
    fn an_arc_or_an_edge_run_the_other_way_is_no_straight_edge() {
        let mut a = Outline::rectangle(vec2(0.0, 0.0), vec2(30.0, 10.0));
        assert_eq!(
            a.straight_edge(vec2(30.0, 10.0), vec2(30.0, 0.0), 1e-9),
            None
        );
        a.vertices[1].bulge = 0.1;
        assert_eq!(
            a.straight_edge(vec2(30.0, 0.0), vec2(30.0, 10.0), 1e-9),
            None
        );
    }
}
