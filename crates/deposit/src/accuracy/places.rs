//! How far each place of a surface may be off, by two grids of it.
//!
//! The thinnest place that the coarser grid shows near a facet and the one that the finer grid shows there
//! differ by the error of the finer, where that is of first order:
//!
//! ```text
//! w_f = | min t_coarse - min t_fine |        over all facets nearer than REACH cells of the facet
//! ```
//! Near, because a wall or an edge falls differently into the cells of the two grids, and because the thinnest
//! places of one hollow are the same place.

use crate::outcome::Outcome;
use crate::patch::size_m;
use ionfall_mesh::grid::Grid;
use ionfall_mesh::grid::fragment::{norm, sub};
use ionfall_mesh::solid::Point;
use rayon::prelude::*;
use rustc_hash::FxHashMap;

/// How far facets are near, in cells of the finer grid: so that some of the coarser lie there too.
const REACH: f64 = 2.5;

/// Thickness as it is read at a facet of an electrode.
pub(super) struct Read {
    /// The facet.
    pub facet: usize,
    /// The thickness, m.
    pub thickness_m: f64,
}

/// All of an electrode that conduct.
pub(super) fn read<const D: usize>(outcome: &Outcome<D>, electrode: usize) -> Vec<Read> {
    let surface = &outcome.surface;
    let own = (0..outcome.grid.facets.len())
        .filter(|&f| surface.electrode(f) == electrode && outcome.conducts[f]);
    own.map(|facet| Read {
        facet,
        thickness_m: surface.patches.at(facet, |g| outcome.thickness_m[g]),
    })
    .collect()
}

/// How far each of some places of the finer grid may be off, m; endless where the coarser has none near.
pub(super) fn off_m<const D: usize>(
    fine: (&Grid<D>, &[Read]),
    coarse: (&Grid<D>, &[Read]),
) -> Vec<f64> {
    let (grid, places) = fine;
    let reach_m = |place: &Read| REACH * size_m(grid, place.facet);
    let widest_m = places.iter().map(reach_m).fold(0.0, f64::max);
    let [fine, coarse] = [fine, coarse].map(|(grid, reads)| Near::new(grid, reads, widest_m));
    let off_m = |place: &Read| {
        let (point, reach_m) = (&grid.facets[place.facet].point, reach_m(place));
        (fine.least_m(point, reach_m) - coarse.least_m(point, reach_m)).abs()
    };
    places.par_iter().map(off_m).collect()
}

/// Thicknesses by their places, in boxes.
struct Near<const D: usize> {
    boxes: FxHashMap<[i64; D], Vec<(Point<D>, f64)>>,
    size_m: f64,
}

impl<const D: usize> Near<D> {
    fn new(grid: &Grid<D>, reads: &[Read], size_m: f64) -> Self {
        let mut boxes: FxHashMap<[i64; D], Vec<(Point<D>, f64)>> = FxHashMap::default();
        for read in reads {
            let point = grid.facets[read.facet].point;
            let key = point.map(|x| (x / size_m).floor() as i64);
            boxes
                .entry(key)
                .or_default()
                .push((point, read.thickness_m));
        }
        Self { boxes, size_m }
    }

    /// The smallest within a distance, which is no more than a box.
    fn least_m(&self, point: &Point<D>, reach_m: f64) -> f64 {
        let low = point.map(|x| ((x - reach_m) / self.size_m).floor() as i64);
        let high = point.map(|x| ((x + reach_m) / self.size_m).floor() as i64);
        let mut least_m = f64::INFINITY;
        for n in 0..1usize << D {
            let key = std::array::from_fn(|k| if n >> k & 1 == 1 { high[k] } else { low[k] });
            // One box may be both ends.
            let twice = (0..D).any(|k| n >> k & 1 == 1 && high[k] == low[k]);
            for (other, thickness_m) in self
                .boxes
                .get(&key)
                .filter(|_| !twice)
                .into_iter()
                .flatten()
            {
                if norm(&sub(other, point)) <= reach_m {
                    least_m = least_m.min(*thickness_m);
                }
            }
        }
        least_m
    }
}
