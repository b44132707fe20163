//! Which cells do the elements of the scene reach?

use super::scene::Scene;
use super::tree::{Cell, Root, Tree, encode};
use crate::solid::{Bounds, Point};
use ionfall_numerics::vector::{dot, sub};
use rayon::prelude::*;
use smallvec::SmallVec;

/// Do a flat element and a box meet? Separating axes: those of the box, the normal, and in 3-D
/// the cross products of both edge sets (Akenine-Moller 2001, J. Graphics Tools 6(1):29-33, idea).
pub fn meets<const D: usize>(corners: &[Point<D>; D], normal: &Point<D>, cell: &Bounds<D>) -> bool {
    let centre: Point<D> = std::array::from_fn(|k| 0.5 * (cell.low[k] + cell.high[k]));
    let half: Point<D> = std::array::from_fn(|k| 0.5 * (cell.high[k] - cell.low[k]));
    let p = corners.map(|c| sub(&c, &centre));
    for k in 0..D {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for c in &p {
            low = low.min(c[k]);
            high = high.max(c[k]);
        }
        if low > half[k] || high < -half[k] {
            return false;
        }
    }
    let within = |c: &Point<D>| (0..D).all(|k| c[k].abs() <= half[k]);
    if p.iter().any(within) {
        return true;
    }
    let reach: f64 = (0..D).map(|k| half[k] * normal[k].abs()).sum();
    if dot(normal, &p[0]).abs() > reach {
        return false;
    }
    if D == 3 {
        for e in 0..3 {
            let edge = sub(&p[(e + 1) % 3], &p[e]);
            for k in 0..3 {
                let mut axis = [0.0; D];
                let (i, j) = ((k + 1) % 3, (k + 2) % 3);
                axis[i] = -edge[j];
                axis[j] = edge[i];
                let reach: f64 = (0..3).map(|m| half[m] * axis[m].abs()).sum();
                let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
                for c in &p {
                    let s = dot(&axis, c);
                    low = low.min(s);
                    high = high.max(s);
                }
                if low > reach || high < -reach {
                    return false;
                }
            }
        }
    }
    true
}

/// Lists of elements, one for each cell that any reaches.
#[derive(Clone, Debug)]
pub struct Lists<K> {
    /// The cells (keys of one level, or numbers of leaves), ascending.
    pub at: Vec<K>,
    start: Vec<u32>,
    elements: Vec<u32>,
}

impl<K: Ord + Copy + Send> Lists<K> {
    /// From (cell, element) in any order, repeats allowed.
    fn from_pairs(mut pairs: Vec<(K, u32)>) -> Self {
        pairs.par_sort_unstable();
        pairs.dedup();
        let (mut at, mut start) = (Vec::new(), Vec::new());
        for (n, &(cell, _)) in pairs.iter().enumerate() {
            if at.last() != Some(&cell) {
                at.push(cell);
                start.push(n as u32);
            }
        }
        start.push(pairs.len() as u32);
        Self {
            at,
            start,
            elements: pairs.into_iter().map(|p| p.1).collect(),
        }
    }

    /// Keeps only those elements for which `keep` holds, and no cells that keep none.
    pub fn retain(&mut self, keep: impl Fn(K, u32) -> bool) {
        let (mut cells, mut elements) = (0, 0);
        for n in 0..self.at.len() {
            let (at, first) = (self.at[n], elements);
            for e in self.start[n]..self.start[n + 1] {
                let element = self.elements[e as usize];
                if keep(at, element) {
                    self.elements[elements] = element;
                    elements += 1;
                }
            }
            if elements > first {
                self.at[cells] = at;
                self.start[cells] = first as u32;
                cells += 1;
            }
        }
        self.at.truncate(cells);
        self.elements.truncate(elements);
        self.start.truncate(cells);
        self.start.push(elements as u32);
    }

    /// Elements of cell number `n`, ascending.
    pub fn list(&self, n: usize) -> &[u32] {
        &self.elements[self.start[n] as usize..self.start[n + 1] as usize]
    }
}

/// Elements taken in one go.
const GRAIN: usize = 256;

/// Cells around an element that are tried one by one; for more the tree is walked down.
const FEW: u64 = 64;

/// The cells of one level that the elements reach, with the elements in each.
pub fn on_level<const D: usize>(
    scene: &Scene<'_, D>,
    root: &Root<D>,
    level: u8,
    elements: &[u32],
    margin_m: f64,
) -> Lists<u64> {
    let found = elements.par_chunks(GRAIN).map(|chunk| {
        let mut out = Vec::new();
        for &e in chunk {
            let corners = &scene.elements[e as usize].corners;
            // A hair wider than `meets` asks, for the rounding of the cell numbers.
            let hair = 1e-6 * root.size_m(level);
            let around = Bounds::around(corners.iter().copied()).grown(margin_m + hair);
            let (low, high) = root.range(level, &around);
            let wide = (0..D).map(|k| u64::from(high[k] - low[k] + 1));
            if wide.product::<u64>() > FEW {
                let cell = Cell { key: 0, level: 0 };
                out.extend(walk_down(scene, root, level, cell, e, margin_m));
                continue;
            }
            let mut at = low;
            loop {
                let cell = Cell {
                    key: encode(at),
                    level,
                };
                if reaches(scene, e, &root.bounds(cell).grown(margin_m)) {
                    out.push((cell.key, e));
                }
                let Some(axis) = (0..D).find(|&k| at[k] < high[k]) else {
                    break;
                };
                at[axis] += 1;
                at[..axis].copy_from_slice(&low[..axis]);
            }
        }
        out
    });
    Lists::from_pairs(found.collect::<Vec<_>>().concat())
}

fn reaches<const D: usize>(scene: &Scene<'_, D>, e: u32, cell: &Bounds<D>) -> bool {
    let element = &scene.elements[e as usize];
    meets(&element.corners, &element.normal, cell)
}

fn children<const D: usize>(cell: Cell) -> impl Iterator<Item = Cell> {
    (0..1u64 << D).map(move |n| Cell {
        key: cell.key << D | n,
        level: cell.level + 1,
    })
}

/// Cells of a level inside `cell` that one large element reaches.
fn walk_down<const D: usize>(
    scene: &Scene<'_, D>,
    root: &Root<D>,
    level: u8,
    cell: Cell,
    e: u32,
    margin_m: f64,
) -> Vec<(u64, u32)> {
    if !reaches(scene, e, &root.bounds(cell).grown(margin_m)) {
        return Vec::new();
    }
    if cell.level == level {
        return vec![(cell.key, e)];
    }
    let inside = |cell: Cell| walk_down(scene, root, level, cell, e, margin_m);
    if level - cell.level > 4 {
        let children: Vec<Cell> = children::<D>(cell).collect();
        children.into_par_iter().flat_map_iter(inside).collect()
    } else {
        children::<D>(cell).flat_map(inside).collect()
    }
}

/// The leaves that the elements reach. `placed` gives for every element the cells of some level
/// that it reaches.
pub fn on_leaves<const D: usize>(
    scene: &Scene<'_, D>,
    tree: &Tree<D>,
    placed: &[(u8, Lists<u64>)],
    margin_m: f64,
) -> Lists<u32> {
    let mut pairs = Vec::new();
    for (level, lists) in placed {
        let found = lists.at.par_chunks(GRAIN).enumerate().map(|(chunk, keys)| {
            let mut out = Vec::new();
            for (n, &key) in keys.iter().enumerate() {
                let (cell, list) = (Cell { key, level: *level }, lists.list(chunk * GRAIN + n));
                sink(scene, tree, cell, list, margin_m, &mut out);
            }
            out
        });
        pairs.extend(found.collect::<Vec<_>>().concat());
    }
    Lists::from_pairs(pairs)
}

/// Puts the elements that reach a cell into the leaves inside it, or into the leaf that holds it.
fn sink<const D: usize>(
    scene: &Scene<'_, D>,
    tree: &Tree<D>,
    cell: Cell,
    elements: &[u32],
    margin_m: f64,
    out: &mut Vec<(u32, u32)>,
) {
    let leaf = tree.find(cell);
    if tree.leaves[leaf].level <= cell.level {
        out.extend(elements.iter().map(|&e| (leaf as u32, e)));
        return;
    }
    for child in children::<D>(cell) {
        let bounds = tree.root.bounds(child).grown(margin_m);
        let inside = elements.iter().copied();
        let inside: SmallVec<[u32; 16]> = inside.filter(|&e| reaches(scene, e, &bounds)).collect();
        if !inside.is_empty() {
            sink(scene, tree, child, &inside, margin_m, out);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_keep_what_they_are_told() {
        let pairs = vec![(3u32, 7), (3, 8), (5, 7), (9, 8), (9, 2), (9, 7)];
        let mut lists = Lists::from_pairs(pairs);
        lists.retain(|_, e| e != 7);
        assert_eq!(lists.at, [3, 9]);
        assert_eq!([lists.list(0), lists.list(1)], [&[8][..], &[2, 8]]);
        lists.retain(|_, _| false);
        assert!(lists.at.is_empty());
    }

    #[test]
    fn a_triangle_beside_a_corner_does_not_meet() {
        let cell = Bounds {
            low: [0.0; 3],
            high: [1.0; 3],
        };
        let normal = [1.0 / 3f64.sqrt(); 3];
        let far = [[3.2, 0.0, 0.0], [0.0, 3.2, 0.0], [0.0, 0.0, 3.2]];
        assert!(!meets(&far, &normal, &cell));
        let near = [[2.8, 0.0, 0.0], [0.0, 2.8, 0.0], [0.0, 0.0, 2.8]];
        assert!(meets(&near, &normal, &cell));
    }
}
