//! The tree of cells: a sorted array of leaves, no pointers.
//!
//! A cell of level `l` has the edge `side / 2^l` and integer coordinates `0 .. 2^l`; its Morton key
//! interleaves their bits (axis 0 lowest), so the children of a cell have the keys
//! `2^D key .. 2^D key + 2^D - 1`. Leaves are sorted by the key of their first descendant at the
//! deepest level.
//!
//! The tree is built from the bottom: wanted cells (`seeds`) of each level make their parents
//! refined, with a margin of `band / 2` parents around, and refined cells make their own parents
//! refined with the same margin. This grades the tree: at least [`band`] leaves of one size lie
//! between leaves of the next finer and the next coarser size (so 2:1 over faces, edges, corners).

use crate::solid::{Bounds, Point};
pub use ionfall_numerics::cell::Cell;
use rayon::prelude::*;

/// Deepest level: 20 bits a coordinate.
pub const MAX_LEVEL: u8 = 20;

/// Leaves of one size between the next finer and the next coarser: with fewer than 4 the facet
/// fits would reach coarse leaves; 8 halve the error beside singular edges and cost little in 2-D.
pub const fn band<const D: usize>() -> u32 {
    if D == 2 { 8 } else { 4 }
}

/// The cube that holds everything.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Root<const D: usize> {
    /// Low corner, metres.
    pub origin: Point<D>,
    /// Edge, metres.
    pub side_m: f64,
}

/// Interleaves coordinates (axis 0 in the lowest bit).
pub fn encode<const D: usize>(coordinates: [u32; D]) -> u64 {
    let mut key = 0;
    for (k, &c) in coordinates.iter().enumerate() {
        key |= spread::<D>(u64::from(c)) << k;
    }
    key
}

/// Coordinates of a key.
pub fn decode<const D: usize>(key: u64) -> [u32; D] {
    std::array::from_fn(|k| gather::<D>(key >> k) as u32)
}

fn spread<const D: usize>(x: u64) -> u64 {
    if D == 2 {
        let mut x = x & 0xffff_ffff;
        x = (x | x << 16) & 0x0000_ffff_0000_ffff;
        x = (x | x << 8) & 0x00ff_00ff_00ff_00ff;
        x = (x | x << 4) & 0x0f0f_0f0f_0f0f_0f0f;
        x = (x | x << 2) & 0x3333_3333_3333_3333;
        (x | x << 1) & 0x5555_5555_5555_5555
    } else {
        let mut x = x & 0x1f_ffff;
        x = (x | x << 32) & 0x001f_0000_0000_ffff;
        x = (x | x << 16) & 0x001f_0000_ff00_00ff;
        x = (x | x << 8) & 0x100f_00f0_0f00_f00f;
        x = (x | x << 4) & 0x10c3_0c30_c30c_30c3;
        (x | x << 2) & 0x1249_2492_4924_9249
    }
}

fn gather<const D: usize>(x: u64) -> u64 {
    if D == 2 {
        let mut x = x & 0x5555_5555_5555_5555;
        x = (x | x >> 1) & 0x3333_3333_3333_3333;
        x = (x | x >> 2) & 0x0f0f_0f0f_0f0f_0f0f;
        x = (x | x >> 4) & 0x00ff_00ff_00ff_00ff;
        x = (x | x >> 8) & 0x0000_ffff_0000_ffff;
        (x | x >> 16) & 0xffff_ffff
    } else {
        let mut x = x & 0x1249_2492_4924_9249;
        x = (x | x >> 2) & 0x10c3_0c30_c30c_30c3;
        x = (x | x >> 4) & 0x100f_00f0_0f00_f00f;
        x = (x | x >> 8) & 0x001f_0000_ff00_00ff;
        x = (x | x >> 16) & 0x001f_0000_0000_ffff;
        (x | x >> 32) & 0x1f_ffff
    }
}

impl<const D: usize> Root<D> {
    /// Edge of the cells of a level, metres.
    pub fn size_m(&self, level: u8) -> f64 {
        self.side_m / f64::from(1u32 << level)
    }

    /// The box of a cell. Its planes are computed so that neighbours of any level agree on them
    /// to the last bit.
    pub fn bounds(&self, cell: Cell) -> Bounds<D> {
        let c = decode::<D>(cell.key);
        Bounds {
            low: std::array::from_fn(|k| self.plane(k, c[k], cell.level)),
            high: std::array::from_fn(|k| self.plane(k, c[k] + 1, cell.level)),
        }
    }

    /// Coordinate of grid plane number `index` of a level across axis `k`.
    pub fn plane(&self, k: usize, index: u32, level: u8) -> f64 {
        let fine = u64::from(index) << (MAX_LEVEL - level);
        self.origin[k] + fine as f64 * (self.side_m / f64::from(1u32 << MAX_LEVEL))
    }

    /// Centre of a cell.
    pub fn centre(&self, cell: Cell) -> Point<D> {
        let c = decode::<D>(cell.key);
        let h = self.size_m(cell.level);
        std::array::from_fn(|k| self.origin[k] + (f64::from(c[k]) + 0.5) * h)
    }

    /// Cells of a level that overlap a box: low and high coordinates, clamped to the root.
    pub fn range(&self, level: u8, region: &Bounds<D>) -> ([u32; D], [u32; D]) {
        let h = self.size_m(level);
        let last = (1u32 << level) - 1;
        let at = |x: f64, k: usize| (((x - self.origin[k]) / h).floor().max(0.0) as u32).min(last);
        (
            std::array::from_fn(|k| at(region.low[k], k)),
            std::array::from_fn(|k| at(region.high[k], k)),
        )
    }
}

/// The leaves, sorted.
#[derive(Clone, Debug)]
pub struct Tree<const D: usize> {
    /// The root cube.
    pub root: Root<D>,
    /// Leaves in Morton order.
    pub leaves: Vec<Cell>,
    /// Key of the first deepest descendant of each leaf; ascending.
    first: Vec<u64>,
}

/// Wanted cells: `seeds[l]` are keys on level `l`, in any order, repeats allowed.
pub type Seeds = Vec<Vec<u64>>;

impl<const D: usize> Tree<D> {
    /// Builds the graded tree. Cells outside `region` are not refined; everything in it is at
    /// most as large as a cell of level `coarsest`.
    pub fn build(root: Root<D>, seeds: &Seeds, coarsest: u8, region: &Bounds<D>) -> Self {
        let refined = Self::refined(&root, seeds, coarsest, region);
        let mut leaves: Vec<Cell> = Vec::new();
        if refined[0].is_empty() {
            leaves.push(Cell { key: 0, level: 0 });
        }
        for (level, parents) in (0..).zip(&refined[..refined.len() - 1]) {
            let finer = &refined[level + 1];
            let mut at = 0;
            for &parent in parents {
                for key in parent << D..(parent + 1) << D {
                    while at < finer.len() && finer[at] < key {
                        at += 1;
                    }
                    if finer.get(at) != Some(&key) {
                        leaves.push(Cell {
                            key,
                            level: level as u8 + 1,
                        });
                    }
                }
            }
        }
        leaves.par_sort_unstable_by_key(|c| first_descendant::<D>(*c));
        let first = leaves
            .par_iter()
            .map(|c| first_descendant::<D>(*c))
            .collect();
        Self {
            root,
            leaves,
            first,
        }
    }

    /// How many leaves the tree of [`build`](Self::build) would have: each refined cell is replaced by its
    /// children.
    pub fn count(root: &Root<D>, seeds: &Seeds, coarsest: u8, region: &Bounds<D>) -> usize {
        let refined = Self::refined(root, seeds, coarsest, region);
        1 + refined
            .iter()
            .map(|keys| keys.len() * ((1 << D) - 1))
            .sum::<usize>()
    }

    /// The cells of each level that have children, as sorted keys; none on the last level.
    fn refined(root: &Root<D>, seeds: &Seeds, coarsest: u8, region: &Bounds<D>) -> Vec<Vec<u64>> {
        let deepest = seeds
            .iter()
            .rposition(|s| !s.is_empty())
            .unwrap_or(0)
            .max(coarsest.into());
        let mut refined: Vec<Vec<u64>> = vec![Vec::new(); deepest + 1];
        for level in (0..deepest).rev() {
            let mut keys: Vec<u64> = seeds
                .get(level + 1)
                .into_iter()
                .flatten()
                .chain(&refined[level + 1])
                .map(|key| key >> D)
                .collect();
            sort_unique(&mut keys);
            let (low, high) = root.range(level as u8, region);
            for axis in 0..D {
                keys = dilated::<D>(&keys, axis, band::<D>() / 2, low[axis], high[axis]);
            }
            if level < coarsest.into() {
                keys.extend(every_key(low, high));
                sort_unique(&mut keys);
            }
            refined[level] = keys;
        }
        refined
    }

    /// Number of the leaf that holds a cell (itself or an ancestor); if the cell is refined, the
    /// first leaf inside it.
    pub fn find(&self, cell: Cell) -> usize {
        let key = first_descendant::<D>(cell);
        self.first.partition_point(|&f| f <= key) - 1
    }

    /// As [`find`](Self::find), beginning the search at the leaf number `near`.
    pub fn find_near(&self, cell: Cell, near: usize) -> usize {
        let key = first_descendant::<D>(cell);
        let (mut low, mut high) = (near, near + 1);
        let mut step = 1;
        if self.first[near] <= key {
            while high < self.first.len() && self.first[high] <= key {
                (low, high) = (high, high + 2 * step);
                step *= 2;
            }
        } else {
            while self.first[low] > key {
                (low, high) = (low.saturating_sub(step), low);
                step *= 2;
            }
        }
        let high = high.min(self.first.len());
        low + self.first[low..high].partition_point(|&f| f <= key) - 1
    }

    /// Number of the leaf that holds a point, `None` outside the root.
    pub fn locate(&self, x: &Point<D>) -> Option<usize> {
        let scale = f64::from(1u32 << MAX_LEVEL) / self.root.side_m;
        let mut c = [0; D];
        for k in 0..D {
            let f = ((x[k] - self.root.origin[k]) * scale).floor();
            if !(0.0..f64::from(1u32 << MAX_LEVEL)).contains(&f) {
                return None;
            }
            c[k] = f as u32;
        }
        Some(self.find(Cell {
            key: encode(c),
            level: MAX_LEVEL,
        }))
    }

    /// Leaves inside a cell, as a range of numbers (one leaf if the cell is a leaf or in one).
    pub fn inside(&self, cell: Cell) -> std::ops::Range<usize> {
        let start = self.find(cell);
        let end = first_descendant::<D>(Cell {
            key: cell.key + 1,
            level: cell.level,
        });
        let stop = self.first[start..].partition_point(|&f| f < end) + start;
        start..stop
    }

    /// The cell of the same size across a face: axis and direction; `None` at the border.
    pub fn across(cell: Cell, axis: usize, up: bool) -> Option<Cell> {
        // Counts in the bits of this axis alone, the others filled or emptied so as to carry over.
        let mask = spread::<D>((1 << cell.level) - 1) << axis;
        let moved = if up {
            if cell.key & mask == mask {
                return None;
            }
            (cell.key | !mask).wrapping_add(1)
        } else {
            if cell.key & mask == 0 {
                return None;
            }
            (cell.key & mask).wrapping_sub(1)
        };
        Some(Cell {
            key: cell.key & !mask | moved & mask,
            level: cell.level,
        })
    }
}

fn first_descendant<const D: usize>(cell: Cell) -> u64 {
    cell.key << (D * usize::from(MAX_LEVEL - cell.level))
}

/// Sorts and removes repeats.
pub fn sort_unique(keys: &mut Vec<u64>) {
    keys.par_sort_unstable();
    keys.dedup();
}

/// Keys with every neighbour up to `by` cells away along one axis, inside `low..=high`.
fn dilated<const D: usize>(keys: &[u64], axis: usize, by: u32, low: u32, high: u32) -> Vec<u64> {
    let mut out: Vec<u64> = keys
        .par_iter()
        .flat_map_iter(|&key| {
            let c = decode::<D>(key);
            let from = c[axis].saturating_sub(by).max(low.min(c[axis]));
            let to = (c[axis] + by).min(high.max(c[axis]));
            (from..=to).map(move |x| {
                let mut n = c;
                n[axis] = x;
                encode(n)
            })
        })
        .collect();
    sort_unique(&mut out);
    out
}

fn every_key<const D: usize>(low: [u32; D], high: [u32; D]) -> Vec<u64> {
    let mut out = vec![low];
    for k in 0..D {
        out = out
            .into_iter()
            .flat_map(|c| {
                (low[k]..=high[k]).map(move |x| {
                    let mut n = c;
                    n[k] = x;
                    n
                })
            })
            .collect();
    }
    out.into_iter().map(encode).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const ROOT: Root<3> = Root {
        origin: [0.0; 3],
        side_m: 1.0,
    };
    const ALL: Bounds<3> = Bounds {
        low: [0.0; 3],
        high: [1.0; 3],
    };

    proptest! {
        #[test]
        fn keys_round_trip(x in 0u32..1 << 20, y in 0u32..1 << 20, z in 0u32..1 << 20) {
            prop_assert_eq!(decode::<3>(encode([x, y, z])), [x, y, z]);
            prop_assert_eq!(decode::<2>(encode([x, y])), [x, y]);
        }

        #[test]
        fn a_step_across_and_back(x in 0u32..64, y in 0u32..64, z in 0u32..64, axis in 0usize..3) {
            let cell = Cell { key: encode([x, y, z]), level: 6 };
            let mut next = [x, y, z];
            next[axis] += 1;
            match Tree::<3>::across(cell, axis, true) {
                Some(other) => {
                    prop_assert_eq!(decode::<3>(other.key), next);
                    prop_assert_eq!(Tree::<3>::across(other, axis, false), Some(cell));
                }
                None => prop_assert_eq!(next[axis], 64),
            }
        }

        #[test]
        fn leaves_fill_the_root_and_are_graded(x in 0u32..64, y in 0u32..64, z in 0u32..64) {
            let mut seeds = vec![Vec::new(); 7];
            seeds[6].push(encode([x, y, z]));
            let tree = Tree::build(ROOT, &seeds, 2, &ALL);
            let volume: f64 =
                tree.leaves.iter().map(|c| ROOT.size_m(c.level).powi(3)).sum();
            prop_assert!((volume - 1.0).abs() < 1e-12);
            for leaf in &tree.leaves {
                for axis in 0..3 {
                    for up in [false, true] {
                        if let Some(n) = Tree::<3>::across(*leaf, axis, up) {
                            let other = tree.leaves[tree.find(n)];
                            prop_assert!(leaf.level.abs_diff(other.level) <= 1);
                        }
                    }
                }
            }
            let cell = Cell { key: encode([x, y, z]), level: 6 };
            let found = tree.find(cell);
            prop_assert_eq!(tree.leaves[found].level, 6);
            for near in 0..tree.leaves.len() {
                prop_assert_eq!(tree.find_near(cell, near), found);
            }
        }
    }

    #[test]
    fn a_point_is_in_the_leaf_that_is_found() {
        let mut seeds = vec![Vec::new(); 6];
        seeds[5].push(encode([3, 17, 30]));
        let tree = Tree::build(ROOT, &seeds, 1, &ALL);
        for p in [[0.1, 0.55, 0.95], [0.999, 0.0, 0.3], [0.0; 3]] {
            let leaf = tree.leaves[tree.locate(&p).unwrap()];
            assert!(ROOT.bounds(leaf).contains(&p));
        }
        assert!(tree.locate(&[1.2, 0.0, 0.0]).is_none());
    }
}
