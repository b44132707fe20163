//! How the values of the facets are read as a field on the surface.
//!
//! A facet is what one cell cuts out of one side of a body: anything between nothing and about
//! `h^2` of its own cell (`h` on a line). The value of a sliver is that of a strip much thinner
//! than the cells around it, and belongs to no place the grid knows. So every value is read as a
//! mean over a patch of surface of at least half a cell. A facet of that size is its own patch; a
//! smaller one takes in a share `q` of its neighbours on the same side of the same body,
//!
//! ```text
//! v = (A v_f + q sum A_g v_g) / (A + q sum A_g)      q = min(1, (h^2 / 2 - A) / sum A_g)
//! ```
//! which goes over into its own value as `A` grows. A facet is judged against its own cell, never
//! against the rest of its body: where cells are small, small facets are places. A body smaller
//! than a patch is its own place.
//!
//! Areas stay as they are, so the weights are found once for a run. Neighbours are sought in the
//! cubes of the cell's size around it; leaves next to each other differ by one level at most.

use ionfall_mesh::grid::fragment::{dot, norm, sub};
use ionfall_mesh::grid::tree::{Cell, MAX_LEVEL, decode, encode};
use ionfall_mesh::grid::{Grid, Space};
use ionfall_numerics::rows::Rows;
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use std::f64::consts::TAU;

/// Least patch, over `h^2` of the cell.
const LEAST: f64 = 0.5;
/// Farthest neighbour, in cells: a coarser one beside a sliver still counts.
const REACH: f64 = 1.25;
/// Cosine of the angle between normals up to which facets lie on the same side (30 degrees, as
/// within the smooth patches of a surface).
pub(crate) const SAME_SIDE: f64 = 0.866;
/// Facets of one parcel of work.
const PARCEL: usize = 4096;

/// Weights of the patches that are more than their own facet.
#[derive(Clone, Debug)]
pub(crate) struct Patches {
    /// A row for each facet, empty where the facet stands alone; weights sum to one.
    rows: Rows,
}

impl Patches {
    /// Of the facets that are `live`.
    pub fn new<const D: usize>(grid: &Grid<D>, live: impl Fn(usize) -> bool + Sync) -> Self {
        let count = grid.facets.len();
        let is_sliver = |f: usize| live(f) && extent_m(grid, f) < LEAST * cell_extent_m(grid, f);
        let cubes = Cubes::new(grid, &live);
        let parcels: Vec<Rows> = (0..count.div_ceil(PARCEL))
            .into_par_iter()
            .map(|n| {
                let mut rows = Rows::default();
                for f in n * PARCEL..count.min((n + 1) * PARCEL) {
                    if is_sliver(f) {
                        rows.push(patch(grid, &cubes, f));
                    } else {
                        rows.push([]);
                    }
                }
                rows
            })
            .collect();
        Self {
            rows: Rows::joined(parcels),
        }
    }

    /// The value at a facet's place.
    pub fn at(&self, f: usize, value: impl Fn(usize) -> f64) -> f64 {
        let mut row = self.rows.row(f).peekable();
        if row.peek().is_none() {
            return value(f);
        }
        row.map(|(g, weight)| weight * value(g as usize)).sum()
    }
}

/// Length (2-D) or area of a facet, without the depth or the way around the axis.
fn extent_m<const D: usize>(grid: &Grid<D>, f: usize) -> f64 {
    let facet = &grid.facets[f];
    match grid.space {
        Space::Tank => facet.area_m2,
        Space::Planar { depth_m } => facet.area_m2 / depth_m,
        Space::Axisymmetric => facet.area_m2 / (TAU * facet.point[0]),
    }
}

/// That of a whole cell.
fn cell_extent_m<const D: usize>(grid: &Grid<D>, f: usize) -> f64 {
    size_m(grid, f).powi(D as i32 - 1)
}

/// Edge of a facet's cell.
pub(crate) fn size_m<const D: usize>(grid: &Grid<D>, f: usize) -> f64 {
    grid.size_m(grid.facet_node[f] as usize)
}

/// Are two facets on the same side of the same body, as seen at the scale of the first one's cell?
pub(crate) fn same_side<const D: usize>(grid: &Grid<D>, f: usize, g: usize) -> bool {
    let (a, b) = (&grid.facets[f], &grid.facets[g]);
    let height = dot(&sub(&b.point, &a.point), &a.normal).abs();
    a.body == b.body && dot(&a.normal, &b.normal) > SAME_SIDE && height < 0.5 * size_m(grid, f)
}

/// Facets of a sliver's patch with their weights; nothing if it has no neighbours.
fn patch<const D: usize>(grid: &Grid<D>, cubes: &Cubes<D>, f: usize) -> Vec<(u32, f64)> {
    let own = &grid.facets[f];
    let reach_m = REACH * size_m(grid, f);
    let mut found = Vec::new();
    cubes.near(grid, f, |g| {
        let near = norm(&sub(&grid.facets[g].point, &own.point)) <= reach_m;
        if g != f && near && same_side(grid, f, g) {
            found.push((g as u32, grid.facets[g].area_m2));
        }
    });
    let around_m2: f64 = found.iter().map(|(_, area)| area).sum();
    if around_m2 <= 0.0 {
        return Vec::new();
    }
    let (extent, whole) = (extent_m(grid, f), LEAST * cell_extent_m(grid, f));
    let missing_m2 = own.area_m2 * (whole / extent - 1.0);
    let share = (missing_m2 / around_m2).min(1.0);
    let total_m2 = own.area_m2 + share * around_m2;
    let mut row = vec![(f as u32, own.area_m2 / total_m2)];
    row.extend(found.iter().map(|(g, area)| (*g, share * area / total_m2)));
    row
}

/// Facets sorted into the cubes of their cells.
struct Cubes<const D: usize> {
    /// Facets in Morton order of their cells.
    order: Vec<u32>,
    /// Facets in a cell and in its parent, as a range of `order`.
    within: FxHashMap<Cell, (u32, u32)>,
}

impl<const D: usize> Cubes<D> {
    fn new(grid: &Grid<D>, live: impl Fn(usize) -> bool) -> Self {
        let first = |f: u32| {
            let cell = cell(grid, f as usize);
            cell.key << (D as u32 * u32::from(MAX_LEVEL - cell.level))
        };
        let mut order: Vec<u32> = (0..grid.facets.len() as u32)
            .filter(|&f| live(f as usize))
            .collect();
        order.par_sort_unstable_by_key(|&f| (first(f), f));
        let mut within = FxHashMap::default();
        for (n, &f) in (0..).zip(&order) {
            let own = cell(grid, f as usize);
            for cell in std::iter::once(own).chain(parent::<D>(own)) {
                within.entry(cell).or_insert((n, n)).1 = n + 1;
            }
        }
        Self { order, within }
    }

    /// Facets in the cell of one and in those around it, in an order that is always the same.
    fn near(&self, grid: &Grid<D>, f: usize, mut take: impl FnMut(usize)) {
        let own = cell(grid, f);
        let last = (1u32 << own.level) - 1;
        let middle = decode::<D>(own.key);
        let mut coarse: Vec<Cell> = Vec::new();
        for n in 0..3usize.pow(D as u32) {
            let mut rest = n;
            let at: [Option<u32>; D] = std::array::from_fn(|k| {
                let step = rest % 3;
                rest /= 3;
                (middle[k] + step as u32)
                    .checked_sub(1)
                    .filter(|x| *x <= last)
            });
            if at.iter().any(Option::is_none) {
                continue;
            }
            let cube = Cell {
                key: encode(at.map(Option::unwrap_or_default)),
                level: own.level,
            };
            match (self.within.get(&cube), parent::<D>(cube)) {
                (Some(&(from, to)), _) => {
                    let inside = &self.order[from as usize..to as usize];
                    inside.iter().for_each(|&g| take(g as usize));
                }
                (None, Some(parent)) if !coarse.contains(&parent) => coarse.push(parent),
                _ => {}
            }
        }
        for parent in coarse {
            let Some(&(from, to)) = self.within.get(&parent) else {
                continue;
            };
            let inside = self.order[from as usize..to as usize].iter();
            inside
                .filter(|&&g| cell(grid, g as usize) == parent)
                .for_each(|&g| take(g as usize));
        }
    }
}

fn cell<const D: usize>(grid: &Grid<D>, f: usize) -> Cell {
    grid.node_cell[grid.facet_node[f] as usize]
}

fn parent<const D: usize>(cell: Cell) -> Option<Cell> {
    let level = cell.level.checked_sub(1)?;
    Some(Cell {
        key: cell.key >> D,
        level,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use ionfall_mesh::grid::{Body, BodyKind, Domain, Region, build};
    use ionfall_mesh::solid::{Cuboid, Solid};

    fn rectangle(low: [f64; 2], high: [f64; 2]) -> Solid<2> {
        Solid::new(Cuboid::new(low, high).unwrap())
    }

    /// A block whose top lies at y = 0.0104 between walls at x = 0.0027 and 0.0271, cells of 1 mm,
    /// smaller ones in a region.
    fn grid(finest_m: f64) -> Grid<2> {
        let body = |low, high| Body {
            name: "block".into(),
            solid: rectangle(low, high),
            kind: BodyKind::Electrode,
            finest_m: 1e-3,
            edge_m: 1e-3,
            across: 0.0,
        };
        let bodies = vec![
            body([0.0027, -0.01], [0.0271, 0.0104]),
            body([-0.01, 0.03], [0.04, 0.04]),
        ];
        let domain = Domain {
            space: Space::Planar { depth_m: 2.0 },
            tank: rectangle([0.0, 0.0], [0.032, 0.032]),
            bodies,
            stop_offs: Vec::new(),
            sheets: Vec::new(),
            regions: vec![Region {
                solid: rectangle([0.012, 0.009], [0.014, 0.012]),
                finest_m,
            }],
            wall_m: 1e-3,
            coarsest_m: 1e-3,
        };
        build(&domain, 1 << 30).unwrap()
    }

    #[test]
    fn slivers_take_in_half_a_cell_of_their_own_side() {
        let grid = grid(1e-3);
        let patches = Patches::new(&grid, |_| true);
        let mut slivers = 0;
        for f in 0..grid.facets.len() {
            let row: Vec<(u32, f64)> = patches.rows.row(f).collect();
            let share = extent_m(&grid, f) / size_m(&grid, f);
            assert_relative_eq!(patches.at(f, |_| 3.0), 3.0, max_relative = 1e-12);
            if share >= LEAST {
                assert!(row.is_empty());
                continue;
            }
            slivers += 1;
            let normal = grid.facets[f].normal;
            let others = row.iter().map(|(g, _)| grid.facets[*g as usize].normal);
            assert!(row.len() > 1 && others.into_iter().all(|n| dot(&n, &normal) > 0.99));
            // Its own weight is its share of half a cell.
            let own = row.iter().find(|(g, _)| *g as usize == f).unwrap().1;
            assert_relative_eq!(own, share / LEAST, max_relative = 1e-9);
        }
        assert!(slivers >= 2, "the corners cut slivers: {slivers}");
    }

    #[test]
    fn a_refined_place_keeps_its_own_value() {
        for finest_m in [1e-3, 5e-4, 1.25e-4, 3.2e-5] {
            let grid = grid(finest_m);
            let patches = Patches::new(&grid, |_| true);
            // A dip as wide as the region.
            let dip = |f: usize| {
                let x = &grid.facets[f].point;
                let on_top = grid.facets[f].body == 0 && grid.facets[f].normal[1] > 0.5;
                let depth = 1.0 - ((x[0] - 0.013) / 0.001).powi(2);
                if on_top { -depth.max(0.0) } else { 0.0 }
            };
            let least = (0..grid.facets.len()).map(|f| patches.at(f, dip));
            let least = least.fold(0.0, f64::min);
            assert!(least < -0.75 + 1e-9, "{finest_m}: {least}");
        }
    }

    #[test]
    fn a_sliver_alone_is_its_own_place() {
        let grid = grid(1e-3);
        let alone = (0..grid.facets.len())
            .find(|&f| extent_m(&grid, f) < LEAST * cell_extent_m(&grid, f))
            .unwrap();
        let patches = Patches::new(&grid, |f| f == alone);
        assert_eq!(patches.at(alone, |f| f as f64), alone as f64);
    }
}
