//! Which cells do the elements of the scene reach?

use super::fragment::{dot, sub};
use super::scene::Scene;
use super::tree::{Cell, Root, Tree};
use crate::solid::{Bounds, Point};
use rayon::prelude::*;

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

/// Lists below this are worked on in one go.
const GRAIN: usize = 64;

/// The cells of one level that the elements reach, with the elements in each.
pub fn on_level<const D: usize>(
    scene: &Scene<'_, D>,
    root: &Root<D>,
    level: u8,
    elements: Vec<u32>,
    margin_m: f64,
) -> Vec<(Cell, Vec<u32>)> {
    let visit = |cell: Cell| (cell.level == level).then_some(());
    descend(
        scene,
        root,
        Cell { key: 0, level: 0 },
        elements,
        margin_m,
        &visit,
    )
    .into_iter()
    .map(|(cell, (), list)| (cell, list))
    .collect()
}

/// The leaves that the elements reach: leaf number and elements, by ascending leaf.
pub fn on_leaves<const D: usize>(
    scene: &Scene<'_, D>,
    tree: &Tree<D>,
    margin_m: f64,
) -> Vec<(u32, Vec<u32>)> {
    let all = (0..scene.elements.len() as u32).collect();
    let visit = |cell: Cell| {
        let leaf = tree.find(cell);
        (tree.leaves[leaf] == cell).then_some(leaf as u32)
    };
    descend(
        scene,
        &tree.root,
        Cell { key: 0, level: 0 },
        all,
        margin_m,
        &visit,
    )
    .into_iter()
    .map(|(_, leaf, list)| (leaf, list))
    .collect()
}

type Reached<T> = Vec<(Cell, T, Vec<u32>)>;

/// Walks down from `cell` with the elements that reach it until `stop` answers.
fn descend<const D: usize, T: Send>(
    scene: &Scene<'_, D>,
    root: &Root<D>,
    cell: Cell,
    elements: Vec<u32>,
    margin_m: f64,
    stop: &(impl Fn(Cell) -> Option<T> + Sync),
) -> Reached<T> {
    if elements.is_empty() {
        return Vec::new();
    }
    if let Some(t) = stop(cell) {
        return vec![(cell, t, elements)];
    }
    let child = |n: u64| {
        let cell = Cell {
            key: cell.key << D | n,
            level: cell.level + 1,
        };
        let bounds = root.bounds(cell).grown(margin_m);
        let inside = elements
            .iter()
            .copied()
            .filter(|&e| {
                let element = &scene.elements[e as usize];
                meets(&element.corners, &element.normal, &bounds)
            })
            .collect();
        descend(scene, root, cell, inside, margin_m, stop)
    };
    // Large flat elements cover many cells: go parallel near the root, and for long lists.
    if elements.len() > GRAIN || cell.level < 4 {
        (0..1u64 << D)
            .into_par_iter()
            .flat_map_iter(child)
            .collect()
    } else {
        (0..1u64 << D).flat_map(child).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
