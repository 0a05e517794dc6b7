//! The shortest tree that spans points in space.
//!
//! Borůvka's method over a k-d tree: in each round every component finds its
//! nearest point of another (March, Ram & Gray, "Fast Euclidean minimum
//! spanning tree", KDD 2010, with one tree instead of two). Rounds halve the
//! components; a round costs near n log n on points along a line. Equal
//! distances are told apart by the points' indices, so the tree is one and
//! the same for one order of points.

use crate::geom::Vec3;

/// Points in a leaf of the tree: below this a search by hand is quicker.
const LEAF: usize = 8;

/// A box of the k-d tree.
struct Node {
    least: [f64; 3],
    most: [f64; 3],
    /// Its points, as a range of the tree's order.
    range: (usize, usize),
    children: Option<(usize, usize)>,
    /// The component that all its points belong to, if it is one.
    whole: Option<usize>,
}

struct Tree<'a> {
    points: &'a [Vec3],
    order: Vec<usize>,
    nodes: Vec<Node>,
}

/// A candidate edge: squared length, lower and higher index.
type Edge = (f64, usize, usize);

fn before(a: &Edge, b: &Edge) -> bool {
    a.0.total_cmp(&b.0)
        .then((a.1, a.2).cmp(&(b.1, b.2)))
        .is_lt()
}

fn coordinates(p: Vec3) -> [f64; 3] {
    [p.x, p.y, p.z]
}

impl<'a> Tree<'a> {
    fn new(points: &'a [Vec3]) -> Self {
        let mut tree = Self {
            points,
            order: (0..points.len()).collect(),
            nodes: Vec::new(),
        };
        tree.grow(0, points.len());
        tree
    }

    /// Adds the node of a range; children stand after it. Depth is the
    /// logarithm of the count: the range is halved each time.
    fn grow(&mut self, from: usize, to: usize) -> usize {
        let (mut least, mut most) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
        for &i in &self.order[from..to] {
            for (k, c) in coordinates(self.points[i]).into_iter().enumerate() {
                least[k] = least[k].min(c);
                most[k] = most[k].max(c);
            }
        }
        let here = self.nodes.len();
        self.nodes.push(Node {
            least,
            most,
            range: (from, to),
            children: None,
            whole: None,
        });
        if to - from > LEAF {
            let axis = (1..3).fold(0, |b, k| {
                if most[k] - least[k] > most[b] - least[b] {
                    k
                } else {
                    b
                }
            });
            let points = self.points;
            let middle = (from + to) / 2;
            self.order[from..to].select_nth_unstable_by(middle - from, |&a, &b| {
                let (p, q) = (coordinates(points[a])[axis], coordinates(points[b])[axis]);
                p.total_cmp(&q).then(a.cmp(&b))
            });
            let children = (self.grow(from, middle), self.grow(middle, to));
            self.nodes[here].children = Some(children);
        }
        here
    }

    /// Notes which boxes lie in one component.
    fn mark(&mut self, component: &[usize]) {
        for i in (0..self.nodes.len()).rev() {
            let node = &self.nodes[i];
            let whole = match node.children {
                Some((a, b)) => {
                    let (a, b) = (self.nodes[a].whole, self.nodes[b].whole);
                    a.filter(|_| a == b)
                }
                None => {
                    let mut all = self.order[node.range.0..node.range.1]
                        .iter()
                        .map(|&p| component[p]);
                    let first = all.next();
                    first.filter(|f| all.all(|c| c == *f))
                }
            };
            self.nodes[i].whole = whole;
        }
    }

    /// Nearest point of another component, if nearer than `best`.
    fn nearest(&self, node: usize, from: usize, component: &[usize], best: &mut Edge) {
        let n = &self.nodes[node];
        if n.whole == Some(component[from]) || self.away(n, from) > best.0 {
            return;
        }
        if let Some((a, b)) = n.children {
            let nearer_first = self.away(&self.nodes[a], from) <= self.away(&self.nodes[b], from);
            let (a, b) = if nearer_first { (a, b) } else { (b, a) };
            self.nearest(a, from, component, best);
            self.nearest(b, from, component, best);
            return;
        }
        for &p in &self.order[n.range.0..n.range.1] {
            if component[p] == component[from] {
                continue;
            }
            let d = self.points[p] - self.points[from];
            let edge = (d.dot(d), p.min(from), p.max(from));
            if before(&edge, best) {
                *best = edge;
            }
        }
    }

    /// Squared distance of a point from a box, mm2.
    fn away(&self, n: &Node, from: usize) -> f64 {
        coordinates(self.points[from])
            .into_iter()
            .enumerate()
            .map(|(k, c)| (n.least[k] - c).max(c - n.most[k]).max(0.0))
            .map(|d| d * d)
            .sum()
    }
}

/// Edges of the tree, one fewer than points.
pub(super) fn spanning_tree(points: &[Vec3]) -> Vec<(usize, usize)> {
    let n = points.len();
    let mut edges = Vec::new();
    if n < 2 {
        return edges;
    }
    let mut tree = Tree::new(points);
    let mut parent: Vec<usize> = (0..n).collect();
    while edges.len() + 1 < n {
        let component: Vec<usize> = (0..n).map(|i| root(&mut parent, i)).collect();
        tree.mark(&component);
        let none = (f64::INFINITY, usize::MAX, usize::MAX);
        let mut best: Vec<Edge> = vec![none; n];
        for i in 0..n {
            let mut edge = best[component[i]];
            tree.nearest(0, i, &component, &mut edge);
            best[component[i]] = edge;
        }
        let had = edges.len();
        for (_, a, b) in best.into_iter().filter(|e| e.2 < n) {
            let (ra, rb) = (root(&mut parent, a), root(&mut parent, b));
            if ra != rb {
                parent[ra.max(rb)] = ra.min(rb);
                edges.push((a, b));
            }
        }
        if edges.len() == had {
            break; // Only where a coordinate is not finite.
        }
    }
    edges
}

fn root(parent: &mut [usize], mut i: usize) -> usize {
    while parent[i] != i {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    i
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::geom::vec3;

    /// Total length of Prim's tree, by hand.
    fn prim(points: &[Vec3]) -> f64 {
        let mut away: Vec<f64> = points.iter().map(|p| p.distance(points[0])).collect();
        let mut out: Vec<usize> = (1..points.len()).collect();
        let mut sum = 0.0;
        while let Some((k, &i)) = out
            .iter()
            .enumerate()
            .min_by(|a, b| away[*a.1].total_cmp(&away[*b.1]))
        {
            out.remove(k);
            sum += away[i];
            for &j in &out {
                away[j] = away[j].min(points[i].distance(points[j]));
            }
        }
        sum
    }

    proptest! {
        #[test]
        fn it_is_as_short_as_prims(points in proptest::collection::vec(proptest::array::uniform3(-50i32..50), 1..80)) {
            let points: Vec<Vec3> = points.iter().map(|p| vec3(p[0].into(), p[1].into(), p[2].into())).collect();
            let edges = spanning_tree(&points);
            prop_assert_eq!(edges.len() + 1, points.len());
            let length: f64 = edges.iter().map(|&(a, b)| points[a].distance(points[b])).sum();
            prop_assert!((length - prim(&points)).abs() < 1e-9 * (1.0 + length));
        }
    }
}
