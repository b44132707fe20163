//! The current density in the bath, from the potentials.

use ionfall_mesh::grid::Grid;
use ionfall_mesh::solid::Point;
use ionfall_numerics::dense;
use rayon::prelude::*;

/// Pieces the nodes are worked on in: each needs twelve numbers a node while it lasts.
const SLABS: usize = 16;

/// Current density vector at every node, A/m2: minus conductivity times the least-squares gradient
/// over the linked neighbours (weights one over squared distance).
pub fn field_vectors<const D: usize>(
    grid: &Grid<D>,
    potential_v: &[f64],
    conductivity_s_per_m: f64,
) -> Vec<Point<D>> {
    let mut current = vec![[0.0; D]; grid.len()];
    let slab = grid.len().div_ceil(SLABS).max(1);
    (current.par_chunks_mut(slab).enumerate()).for_each(|(k, current)| {
        let gradients = gradients(grid, potential_v, k * slab, current.len());
        for (current, gradient) in current.iter_mut().zip(gradients) {
            *current = gradient.map(|g| -conductivity_s_per_m * g);
        }
    });
    current
}

/// Gradients at `count` nodes from `first` on, V/m.
fn gradients<const D: usize>(
    grid: &Grid<D>,
    potential_v: &[f64],
    first: usize,
    count: usize,
) -> impl Iterator<Item = Point<D>> {
    let mut matrix = vec![[[0.0; D]; D]; count];
    let mut right = vec![[0.0; D]; count];
    for link in &grid.couplings.links {
        let ends = [link.a as usize, link.b as usize];
        let own = ends.map(|node| node.checked_sub(first).filter(|&n| n < count));
        if own == [None, None] {
            continue;
        }
        let [ca, cb] = ends.map(|node| grid.centre(node));
        let arm: Point<D> = std::array::from_fn(|k| cb[k] - ca[k]);
        // Through a sheet: both parts of one cell, which tell no direction.
        if arm == [0.0; D] {
            continue;
        }
        let square = 1.0 / arm.iter().map(|x| x * x).sum::<f64>();
        let rise = potential_v[ends[1]] - potential_v[ends[0]];
        for node in own.into_iter().flatten() {
            for i in 0..D {
                right[node][i] += square * arm[i] * rise;
                for j in 0..D {
                    matrix[node][i][j] += square * arm[i] * arm[j];
                }
            }
        }
    }
    matrix.into_iter().zip(right).map(|(m, b)| solved(m, b))
}

/// Added to the diagonal, so that directions without neighbours have no gradient.
const LITTLE: f64 = 1e-9;

fn solved<const D: usize>(mut m: [Point<D>; D], b: Point<D>) -> Point<D> {
    for i in 0..D {
        m[i][i] += LITTLE;
    }
    dense::positive(m, b)
}
