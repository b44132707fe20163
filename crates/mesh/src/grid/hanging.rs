//! Fluxes between leaves of different size.
//!
//! The centre of a small leaf does not face the centre of the large one across. The plain
//! two-point flux is biased by 0.3 to 1 % of the current and does not converge; with the large
//! leaf's potential carried over along the face,
//!
//! ```text
//! F = kappa A / d (phi_fine - phi_coarse - grad_t phi_coarse . offset)
//! ```
//! it is 10 to 20 times better. The gradient is a least-squares fit over the large leaf's
//! neighbours, weights 1/distance, exact for linear potentials.

use super::fragment::{dot, sub};
use super::links::{FaceLink, distance_m};
use super::probe::Adjacency;
use super::tree::{Cell, Tree};
use super::{GridCorrection, Rows};
use crate::solid::Point;
use rayon::prelude::*;

/// Corrections of all hanging faces; rows in metres.
pub fn corrections<const D: usize>(
    tree: &Tree<D>,
    node_cell: &[Cell],
    adjacency: &Adjacency,
    faces: &[FaceLink],
) -> (Vec<GridCorrection>, Rows) {
    let root = &tree.root;
    let hanging: Vec<&FaceLink> = faces.iter().filter(|f| f.hanging).collect();
    let rows: Vec<Vec<(u32, f64)>> = hanging
        .par_iter()
        .map(|f| {
            let coarse = f.other;
            let centre = root.centre(node_cell[coarse as usize]);
            let mut offset = sub(&root.centre(node_cell[f.owner as usize]), &centre);
            offset[usize::from(f.face) / 2] = 0.0;
            let weights = along(&centre, &offset, root, node_cell, adjacency.of(coarse));
            let conductance = f.area_m2 / distance_m(tree, f);
            let mut own = 0.0;
            let mut row: Vec<(u32, f64)> = Vec::with_capacity(weights.len() + 1);
            for (node, w) in weights {
                own += conductance * w;
                row.push((node, -conductance * w));
            }
            row.push((coarse, own));
            row
        })
        .collect();
    let ends = hanging.iter().map(|f| GridCorrection { from: f.owner, to: f.other }).collect();
    (ends, Rows::collect(rows))
}

/// Weights `w_k` with `grad phi . offset = sum w_k (phi_k - phi_centre)`.
fn along<const D: usize>(
    centre: &Point<D>,
    offset: &Point<D>,
    root: &super::tree::Root<D>,
    node_cell: &[Cell],
    neighbours: &[u32],
) -> Vec<(u32, f64)> {
    let arms: Vec<(u32, Point<D>, f64)> = neighbours
        .iter()
        .map(|&n| {
            let arm = sub(&root.centre(node_cell[n as usize]), centre);
            let square = 1.0 / dot(&arm, &arm);
            (n, arm, square)
        })
        .collect();
    let mut m = [[0.0; D]; D];
    for (_, arm, square) in &arms {
        for i in 0..D {
            for j in 0..D {
                m[i][j] += square * arm[i] * arm[j];
            }
        }
    }
    // A direction without neighbours gets no slope instead of a singular matrix.
    for (i, row) in m.iter_mut().enumerate() {
        row[i] += 1e-9;
    }
    let y = solve(m, *offset);
    arms.into_iter().map(|(n, arm, square)| (n, square * dot(&arm, &y))).collect()
}

/// Gaussian elimination of a small symmetric positive matrix.
fn solve<const D: usize>(mut m: [[f64; D]; D], mut b: Point<D>) -> Point<D> {
    for i in 0..D {
        for r in i + 1..D {
            let f = m[r][i] / m[i][i];
            for c in i..D {
                m[r][c] -= f * m[i][c];
            }
            b[r] -= f * b[i];
        }
    }
    for i in (0..D).rev() {
        for c in i + 1..D {
            b[i] -= m[i][c] * b[c];
        }
        b[i] /= m[i][i];
    }
    b
}
