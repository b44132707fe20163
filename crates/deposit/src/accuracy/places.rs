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
use ionfall_mesh::grid::fragment::{norm, sub};
use ionfall_mesh::solid::Point;
use rayon::prelude::*;
use rustc_hash::FxHashMap;

/// How far facets are near, in cells of the finer grid: so that some of the coarser lie there too.
const REACH: f64 = 2.5;

/// Edge of a box of places over the farthest that is near: what is near lies in two boxes along each axis.
const BOX: f64 = 2.001;

/// A facet of an electrode as it is read.
#[derive(Clone, Debug)]
pub(super) struct Place<const D: usize> {
    /// The body.
    pub body: usize,
    /// Where it is.
    pub point: Point<D>,
    /// Edge of its cell, m.
    pub cell_m: f64,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Does it decide about the thinnest place?
    pub decides: bool,
}

/// All places of an electrode that conduct.
pub(super) fn places<const D: usize>(outcome: &Outcome<D>, electrode: usize) -> Vec<Place<D>> {
    let (grid, surface) = (&outcome.grid, &outcome.surface);
    let own: Vec<usize> = (0..grid.facets.len())
        .filter(|&f| surface.electrode(f) == electrode && outcome.conducts[f])
        .collect();
    let some = own.iter().any(|&f| surface.decides(f));
    let place = |&f: &usize| Place {
        body: grid.facets[f].body.into(),
        point: grid.facets[f].point,
        cell_m: size_m(grid, f),
        thickness_m: surface.patches.at(f, |g| outcome.thickness_m[g]),
        decides: surface.decides(f) || !some,
    };
    own.iter().map(place).collect()
}

/// How far each place that decides may be off, m, with the place; those of which the coarser grid has none near are
/// left out.
pub(super) fn off<'a, const D: usize>(
    fine: &'a [Place<D>],
    coarse: &[Place<D>],
) -> Vec<(&'a Place<D>, f64)> {
    let deciding: Vec<&Place<D>> = fine.iter().filter(|place| place.decides).collect();
    let reach_m = |place: &Place<D>| REACH * place.cell_m;
    let widest_m = deciding.iter().map(|p| reach_m(p)).fold(0.0, f64::max);
    let [near_fine, near_coarse] = [fine, coarse].map(|places| Near::new(places, BOX * widest_m));
    let off = |place: &&'a Place<D>| {
        let least_m = |near: &Near<D>| near.least_m(&place.point, reach_m(place));
        let off_m = (least_m(&near_fine) - least_m(&near_coarse)).abs();
        off_m.is_finite().then_some((*place, off_m))
    };
    deciding.par_iter().filter_map(off).collect()
}

/// Thicknesses that decide by their places, in boxes.
struct Near<const D: usize> {
    boxes: FxHashMap<[i64; D], Vec<(Point<D>, f64)>>,
    size_m: f64,
}

impl<const D: usize> Near<D> {
    fn new(places: &[Place<D>], size_m: f64) -> Self {
        let mut boxes: FxHashMap<[i64; D], Vec<(Point<D>, f64)>> = FxHashMap::default();
        for place in places.iter().filter(|place| place.decides) {
            let key = place.point.map(|x| (x / size_m).floor() as i64);
            let within = boxes.entry(key).or_default();
            within.push((place.point, place.thickness_m));
        }
        Self { boxes, size_m }
    }

    /// The smallest within a distance, which is less than half a box; endless if nothing is there.
    fn least_m(&self, point: &Point<D>, reach_m: f64) -> f64 {
        let ends =
            [-reach_m, reach_m].map(|by| point.map(|x| ((x + by) / self.size_m).floor() as i64));
        let mut least_m = f64::INFINITY;
        for n in 0..1usize << D {
            let end = |k: usize| n >> k & 1;
            // Where both ends are one box it counts once.
            if (0..D).any(|k| end(k) == 1 && ends[0][k] == ends[1][k]) {
                continue;
            }
            let key: [i64; D] = std::array::from_fn(|k| ends[end(k)][k]);
            for (other, thickness_m) in self.boxes.get(&key).into_iter().flatten() {
                if norm(&sub(other, point)) <= reach_m {
                    least_m = least_m.min(*thickness_m);
                }
            }
        }
        least_m
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(cell_m: f64, thickness_m: impl Fn(f64) -> f64) -> Vec<Place<2>> {
        let count = (1.0 / cell_m).round() as usize;
        let place = |n: usize| {
            let x = (n as f64 + 0.5) * cell_m;
            Place {
                body: 0,
                point: [x, 0.0],
                cell_m,
                thickness_m: thickness_m(x),
                decides: true,
            }
        };
        (0..count).map(place).collect()
    }

    /// A hollow that the coarser grid hardly sees is off by what it misses there, and by nothing elsewhere.
    #[test]
    fn a_hollow_is_off_by_what_the_coarser_grid_misses() {
        let hollow = |depth: f64| {
            move |x: f64| {
                if (x - 0.5).abs() < 0.1 {
                    1.0 - depth
                } else {
                    1.0
                }
            }
        };
        let (fine, coarse) = (line(0.01, hollow(0.4)), line(0.02, hollow(0.3)));
        let off = off(&fine, &coarse);
        assert_eq!(off.len(), 100);
        for (place, off_m) in off {
            let away = (place.point[0] - 0.5).abs();
            if away < 0.1 {
                assert!((off_m - 0.1).abs() < 1e-12, "{place:?} {off_m}");
            } else if away > 0.15 {
                assert_eq!(off_m, 0.0);
            }
        }
    }
}
