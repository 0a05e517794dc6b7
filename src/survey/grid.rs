//! Points found, and put in order, by their places.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use crate::geom::Vec3;

/// Order of places by x, then y, then z.
pub(super) fn place_order(a: Vec3, b: Vec3) -> Ordering {
    let along = |f: fn(Vec3) -> f64| f(a).total_cmp(&f(b));
    along(|p| p.x).then(along(|p| p.y)).then(along(|p| p.z))
}

/// Places by the cube that they lie in.
pub(super) struct Grid {
    /// Side of a cube, mm.
    side: f64,
    cubes: BTreeMap<[i64; 3], Vec<usize>>,
}

impl Grid {
    /// Places, known by their index, in cubes of this side, mm.
    pub(super) fn new(places: impl Iterator<Item = Vec3>, side: f64) -> Self {
        let mut grid = Self {
            side,
            cubes: BTreeMap::new(),
        };
        for (i, p) in places.enumerate() {
            grid.cubes.entry(grid.cube(p)).or_default().push(i);
        }
        grid
    }

    #[expect(clippy::cast_possible_truncation, reason = "places lie within 1 km")]
    fn cube(&self, p: Vec3) -> [i64; 3] {
        [p.x, p.y, p.z].map(|c| (c / self.side).floor() as i64)
    }

    /// All places within a cube's side of this one, and some further off.
    pub(super) fn about(&self, p: Vec3) -> impl Iterator<Item = usize> {
        let [x, y, z] = self.cube(p);
        let row = move |(x, y)| (z - 1..=z + 1).map(move |z| [x, y, z]);
        (x - 1..=x + 1)
            .flat_map(move |x| (y - 1..=y + 1).map(move |y| (x, y)))
            .flat_map(row)
            .filter_map(|cube| self.cubes.get(&cube))
            .flatten()
            .copied()
    }
}
