//! The potentials of a finished run as the first guess of a similar one on another grid.
//!
//! The guess at a cell's centre is the multilinear mean of the old cells around it, on a lattice of
//! the old cell's own size; corners of the lattice where the old grid has no electrolyte do not
//! count. Old cells are found by bisection in Morton order. A guess changes how long the solver
//! takes, not what it finds (within its tolerance).

use crate::outcome::Outcome;
use ionfall_mesh::grid::Grid;
use ionfall_mesh::grid::tree::{Cell, MAX_LEVEL, encode};
use ionfall_mesh::solid::Point;
use serde::{Deserialize, Serialize};

/// Potentials of a finished run with their places.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Nearby {
    /// Low corner of the root cube, m: one number for each dimension.
    origin: Vec<f64>,
    /// Its edge, m.
    side_m: f64,
    /// Deepest first descendant and level of each node's cell, in Morton order.
    cells: Vec<(u64, u8)>,
    /// Potential of each, V.
    potential_v: Vec<f64>,
    /// Potentials of the metals, V.
    metal_v: Vec<f64>,
}

impl Nearby {
    /// Of a finished run without coats.
    pub fn new<const D: usize>(outcome: &Outcome<D>) -> Self {
        let grid = &outcome.grid;
        let (bath, metals) = outcome.solution.potential_v.split_at(grid.len());
        let first = |cell: &Cell| cell.key << (D as u32 * u32::from(MAX_LEVEL - cell.level));
        let mut all: Vec<((u64, u8), f64)> = grid
            .node_cell
            .iter()
            .zip(bath)
            .map(|(cell, v)| ((first(cell), cell.level), *v))
            .collect();
        // Parts of one cell keep their order.
        all.sort_by_key(|(cell, _)| *cell);
        let (cells, potential_v) = all.into_iter().unzip();
        Self {
            origin: grid.root.origin.to_vec(),
            side_m: grid.root.side_m,
            cells,
            potential_v,
            metal_v: metals.to_vec(),
        }
    }

    /// A guess for the nodes of a grid and so many metals; nothing where the two runs have nothing
    /// in common.
    pub(crate) fn potentials<const D: usize>(
        &self,
        grid: &Grid<D>,
        metals: usize,
    ) -> Option<Vec<f64>> {
        if self.origin.len() != D || self.metal_v.len() != metals || self.cells.is_empty() {
            return None;
        }
        let mut guess: Vec<f64> = (0..grid.len())
            .map(|n| self.at::<D>(&grid.centre(n)))
            .collect();
        guess.extend(&self.metal_v);
        Some(guess)
    }

    /// The potential at a place.
    fn at<const D: usize>(&self, place: &Point<D>) -> f64 {
        // Coordinates in deepest cells.
        let finest = f64::from(1u32 << MAX_LEVEL);
        let x: [f64; D] =
            std::array::from_fn(|k| (place[k] - self.origin[k]) / self.side_m * finest);
        let (near, _) = self.cell(x);
        let size = f64::from(1u32 << (MAX_LEVEL - self.cells[near].1));
        let low = x.map(|x| (x / size - 0.5).floor());
        let (mut sum, mut weights) = (0.0, 0.0);
        for corner in 0..1usize << D {
            let mut weight = 1.0;
            let mut centre = [0.0; D];
            for k in 0..D {
                let side = (corner >> k & 1) as f64;
                let share = x[k] / size - 0.5 - low[k];
                weight *= if side > 0.0 { share } else { 1.0 - share };
                centre[k] = (low[k] + side + 0.5) * size;
            }
            if weight > 1e-9 {
                let (n, inside) = self.cell(centre);
                if inside {
                    sum += weight * self.potential_v[n];
                    weights += weight;
                }
            }
        }
        if weights > 0.0 {
            sum / weights
        } else {
            self.potential_v[near]
        }
    }

    /// The cell that holds a place, or the one before it in Morton order; and whether it does.
    fn cell<const D: usize>(&self, x: [f64; D]) -> (usize, bool) {
        let last = f64::from((1u32 << MAX_LEVEL) - 1);
        let key = encode(x.map(|x| x.clamp(0.0, last) as u32));
        let n = self
            .cells
            .partition_point(|(first, _)| *first <= key)
            .max(1)
            - 1;
        let (first, level) = self.cells[n];
        let size = 1u64 << (D as u32 * u32::from(MAX_LEVEL - level));
        (n, key >= first && key - first < size)
    }
}
