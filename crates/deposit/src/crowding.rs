//! Is the deposit thick for the room in front of it?
//!
//! The field is computed for the shape at the start. Where two surfaces face each other at a gap
//! `g` and both grow by `h`, they meet when `2 h = g`, and long before that the shape is no longer
//! what it was. The gap is found by going from a facet along its normal as far as the nearest
//! surface allows, again and again (sphere tracing: Hart 1996, Vis. Comput. 12:527-545, from
//! memory); side walls that the way passes do not stop it.

use ionfall_mesh::grid::Grid;
use ionfall_mesh::solid::{Point, Solid};
use ionfall_model::Parts;
use rayon::prelude::*;

/// Share of a gap that the deposit from both sides may fill before it is worth a word.
pub const CROWDED_SHARE: f64 = 0.25;
/// The first step and the distance that counts as arrived, as shares of the cell.
const FIRST_STEP: f64 = 0.3;
const ARRIVED: f64 = 0.02;
/// The least step, as a share of the cell: along a wall beside the way all others would be short.
const LEAST_STEP: f64 = 0.1;
/// Share of the reach beside the facet that is passed over when all the rest of it is free.
const SHORTCUT: f64 = 0.05;
/// Steps along one normal.
const MOST_STEPS: usize = 60;

/// The gap in front of each facet, m, where a thickness on both sides fills at least
/// [`CROWDED_SHARE`] of it; infinite elsewhere.
pub(crate) fn gaps<const D: usize>(
    grid: &Grid<D>,
    parts: &Parts<D>,
    thickness_m: &[f64],
) -> Vec<f64> {
    let solids: Vec<&Solid<D>> = parts
        .electrodes
        .iter()
        .map(|e| &parts.domain.bodies[e.body].solid)
        .collect();
    let distance = |x: &Point<D>| {
        solids
            .iter()
            .map(|s| s.signed_distance(x))
            .fold(f64::INFINITY, f64::min)
    };
    (0..grid.facets.len())
        .into_par_iter()
        .map(|f| {
            let facet = &grid.facets[f];
            let cell_m = grid.size_m(grid.facet_node[f] as usize);
            let reach_m = 2.0 * thickness_m[f] / CROWDED_SHARE;
            // A gap narrower than a cell is none that the grid knows.
            let mut way_m = FIRST_STEP * cell_m;
            if way_m > reach_m {
                return f64::INFINITY;
            }
            let ahead =
                |way_m: f64| std::array::from_fn(|k| facet.point[k] + way_m * facet.normal[k]);
            // Free around a point half-way: free from a twentieth of the reach to its end.
            let half_m = 0.5 * reach_m / (1.0 - SHORTCUT);
            let (middle, free_m) = (ahead(half_m), (1.0 - 2.0 * SHORTCUT) * half_m);
            if solids.iter().all(|s| s.is_clear(&middle, free_m)) {
                return f64::INFINITY;
            }
            for _ in 0..MOST_STEPS {
                if way_m > reach_m {
                    return f64::INFINITY;
                }
                let free_m = distance(&ahead(way_m));
                if free_m < ARRIVED * cell_m {
                    return way_m;
                }
                way_m += free_m.max(LEAST_STEP * cell_m);
            }
            f64::INFINITY
        })
        .collect()
}
