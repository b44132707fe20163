//! How deep a point lies in the liquid that stirring reaches: a ball of the radius of stirring is rolled
//! over all walls.
//!
//! Every wall is known by samples: the facets of the electrodes, and the feet of the cells beside
//! whatever insulates. A sample is *open* if the ball that touches the wall there,
//!
//! ```text
//! centre q = p + a n
//! ```
//! holds no other sample. The liquid that stirring reaches is what the balls sweep, and the depth in it
//!
//! ```text
//! s(x) = n (x - p)               in front of an open sample p (a flat plate: its distance)
//! s(x) = a - min_q |x - q|       elsewhere, where the ball rolls or rests on edges; negative where nothing stirs
//! ```
//! Over the mouth of a groove narrower than the ball this is a flat edge, sunk by `w^2 / (8 a)` at most. A point with
//! no wall within `a` is stirred, whether or not a ball was rolled over it: else all liquid in the open would count as
//! still from `2 a` on. The tank's own walls count as mirrors, not as walls, and sheets without thickness do not count.

use ionfall_mesh::grid::{BodyKind, Grid, Space};
use ionfall_mesh::solid::{Bounds, BoxTree, Point, Solid};
use ionfall_model::Parts;
use ionfall_numerics::vector::{add_scaled, dot, norm, sub};
use rayon::prelude::*;
use std::f64::consts::TAU;

/// How far a ball may reach into a wall, over the film and over the cell beside the wall.
const GIVES_WAY: [f64; 2] = [0.1, 0.02];
/// A node is beside a wall if so much of its faces is missing.
const MISSING: f64 = 1e-3;
/// Step over the cell with which the direction away from a body is found.
const STEP: f64 = 1e-3;
/// How far from a foot, over the cell, there must be liquid before it and none behind it.
const ASIDE: f64 = 0.02;

/// Most steps in which a ball comes to rest, and how near to its radius the walls are then.
const RESTS: usize = 8;
const AT_REST: f64 = 1e-6;

/// A piece of wall.
#[derive(Clone, Copy, Debug)]
struct Sample<const D: usize> {
    point: Point<D>,
    normal: Point<D>,
    /// How far it goes on to every side, m.
    radius_m: f64,
    cell_m: f64,
}

impl<const D: usize> Sample<D> {
    fn distance_m(&self, x: &Point<D>) -> f64 {
        let away = sub(x, &self.point);
        let height = dot(&away, &self.normal);
        let beside = norm(&add_scaled(&away, -height, &self.normal));
        height.hypot((beside - self.radius_m).max(0.0))
    }

    fn mirrored(&self) -> Self {
        let turn = |mut x: Point<D>| {
            x[0] = -x[0];
            x
        };
        Self {
            point: turn(self.point),
            normal: turn(self.normal),
            ..*self
        }
    }
}

/// Depth in the liquid that stirring reaches.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Depth {
    /// In metres; negative where nothing stirs.
    pub metres: f64,
    /// Is it simply the distance from a wall?
    pub before_wall: bool,
}

/// What stirring reaches.
#[derive(Debug)]
pub(crate) struct Stirred<const D: usize> {
    radius_m: f64,
    /// Is each facet of the grid open?
    pub open: Vec<bool>,
    /// All samples.
    walls: Vec<Sample<D>>,
    wall_tree: BoxTree<D>,
    /// Open samples.
    samples: Vec<Sample<D>>,
    /// Centres of their balls.
    centres: BoxTree<D>,
}

impl<const D: usize> Stirred<D> {
    /// Rolls a ball of this radius over the walls; `film_m` is the film of open flow.
    pub fn new(grid: &Grid<D>, parts: &Parts<D>, film_m: f64, radius_m: f64) -> Self {
        let mut walls = electrode_samples(grid);
        let facets = walls.len();
        walls.extend(insulator_samples(grid, parts));
        let own = walls.len();
        if parts.domain.space == Space::Axisymmetric {
            walls.extend_from_within(..);
            walls[own..].iter_mut().for_each(|s| *s = s.mirrored());
        }
        let boxes = walls.iter().map(|s| {
            let at = Bounds::around([s.point]);
            at.grown(s.radius_m)
        });
        let tree = BoxTree::new(boxes.collect());
        let is_open = |s: &Sample<D>| {
            let centre = add_scaled(&s.point, radius_m, &s.normal);
            let gives_way = (GIVES_WAY[0] * film_m).max(GIVES_WAY[1] * s.cell_m);
            let clear_m = radius_m - gives_way;
            let meets = |b: &Bounds<D>| gap2(b, &centre) < clear_m * clear_m;
            let mut hit = |n: u32| walls[n as usize].distance_m(&centre) < clear_m;
            !tree.any_where(&meets, &mut hit)
        };
        let open: Vec<bool> = walls[..own].par_iter().map(is_open).collect();
        let both = open.iter().cycle().zip(&walls);
        let samples: Vec<Sample<D>> = both.filter(|(open, _)| **open).map(|(_, s)| *s).collect();
        let centres = samples
            .iter()
            .map(|s| Bounds::around([add_scaled(&s.point, radius_m, &s.normal)]));
        Self {
            radius_m,
            centres: BoxTree::new(centres.collect()),
            samples,
            open: open[..facets].to_vec(),
            walls,
            wall_tree: tree,
        }
    }

    /// Radius of the ball, m.
    pub fn radius(&self) -> f64 {
        self.radius_m
    }

    /// Depth of a point in the liquid that stirring reaches, m; where that is farther away than
    /// `reach_m`, minus that.
    pub fn depth(&self, x: &Point<D>, reach_m: f64) -> Depth {
        let Some((n, d2)) = self.nearest_centre(x, self.radius_m + reach_m) else {
            // Far from all that was rolled over: liquid in the open, or deep in a hollow.
            let fits = self.wall_distance_m(x) >= self.radius_m;
            return Depth {
                metres: if fits { self.radius_m } else { -reach_m },
                before_wall: false,
            };
        };
        let s = &self.samples[n as usize];
        let away = sub(x, &s.point);
        let height = dot(&away, &s.normal);
        let beside = norm(&add_scaled(&away, -height, &s.normal));
        let before_wall = beside <= s.cell_m || height >= self.radius_m;
        let metres = if before_wall {
            height
        } else if d2 > self.radius_m.powi(2) && self.wall_distance_m(x) >= self.radius_m {
            self.radius_m
        } else {
            let rolled = self.radius_m - d2.sqrt();
            let resting = self.resting(x, &s.normal).unwrap_or(rolled);
            rolled.max(resting)
        };
        Depth {
            metres,
            before_wall,
        }
    }

    /// The nearest centre within a distance, and the square of how far it is.
    fn nearest_centre(&self, x: &Point<D>, within_m: f64) -> Option<(u32, f64)> {
        let away2 = |n: u32| {
            let s = &self.samples[n as usize];
            let away = sub(&add_scaled(&s.point, self.radius_m, &s.normal), x);
            dot(&away, &away)
        };
        (self.centres).nearest(within_m.powi(2), &|b| gap2(b, x), &away2)
    }

    /// Depth under a ball that comes from one direction and rests on the walls around.
    fn resting(&self, x: &Point<D>, from: &Point<D>) -> Option<f64> {
        let mut away_m = self.radius_m;
        for _ in 0..RESTS {
            let centre = add_scaled(x, away_m, from);
            let short_m = self.radius_m - self.wall_distance_m(&centre);
            if short_m.abs() <= AT_REST * self.radius_m {
                return Some(self.radius_m - away_m);
            }
            away_m += short_m;
        }
        None
    }

    /// Distance of the nearest wall, m; the radius and a bit where it is farther away.
    fn wall_distance_m(&self, x: &Point<D>) -> f64 {
        let within_m = 1.01 * self.radius_m;
        let away2 = |n: u32| self.walls[n as usize].distance_m(x).powi(2);
        let nearest = (self.wall_tree).nearest(within_m.powi(2), &|b| gap2(b, x), &away2);
        nearest.map_or(within_m, |(_, d2)| d2.sqrt())
    }
}

/// Square of the distance between a box and a point.
fn gap2<const D: usize>(b: &Bounds<D>, x: &Point<D>) -> f64 {
    let off = |k: usize| (b.low[k] - x[k]).max(x[k] - b.high[k]).max(0.0);
    (0..D).map(|k| off(k) * off(k)).sum()
}

/// How wide the third direction is at a point, so that areas are lengths times it; 1 in space.
fn width_m<const D: usize>(space: Space, x: &Point<D>) -> f64 {
    match space {
        Space::Planar { depth_m } => depth_m,
        Space::Axisymmetric => TAU * x[0].abs(),
        Space::Tank => 1.0,
    }
}

/// The facets.
fn electrode_samples<const D: usize>(grid: &Grid<D>) -> Vec<Sample<D>> {
    let facets = grid.facets.iter().zip(&grid.facet_node);
    let sample = |(facet, &node): (&ionfall_mesh::grid::facet::Facet<D>, &u32)| {
        let across = facet.area_m2 / width_m(grid.space, &facet.point).max(f64::MIN_POSITIVE);
        let across = if D == 3 { across.sqrt() } else { across };
        let cell_m = grid.size_m(node as usize);
        Sample {
            point: facet.point,
            normal: facet.normal,
            radius_m: 0.5 * across.min(cell_m),
            cell_m,
        }
    };
    facets.map(sample).collect()
}

/// The feet of cells on walls that insulate.
fn insulator_samples<const D: usize>(grid: &Grid<D>, parts: &Parts<D>) -> Vec<Sample<D>> {
    let domain = &parts.domain;
    let lacquered = !domain.stop_offs.is_empty();
    let insulates = |b: &&ionfall_mesh::grid::Body<D>| b.kind == BodyKind::Insulator || lacquered;
    let bodies: Vec<(&Solid<D>, Bounds<D>)> = domain
        .bodies
        .iter()
        .filter(insulates)
        .map(|b| (&b.solid, b.solid.bounds()))
        .collect();
    if bodies.is_empty() {
        return Vec::new();
    }
    let wet = |x: &Point<D>| {
        domain.tank.contains(x) && !domain.bodies.iter().any(|b| b.solid.contains(x))
    };
    let beside = beside_walls(grid);
    let feet = beside.par_iter().flat_map_iter(|&node| {
        let (x, cell_m) = (grid.centre(node), grid.size_m(node));
        let reach = cell_m * (D as f64).sqrt();
        let near = bodies
            .iter()
            .filter(move |(_, b)| b.grown(reach).contains(&x));
        near.filter_map(move |(solid, _)| {
            (!solid.is_clear(&x, reach)).then_some(())?;
            let (point, normal) = foot(solid, &x, cell_m)?;
            let aside = |by: f64| add_scaled(&point, by * cell_m, &normal);
            let is_wall = wet(&aside(ASIDE)) && solid.contains(&aside(-ASIDE));
            is_wall.then_some(Sample {
                point,
                normal,
                radius_m: 0.0,
                cell_m,
            })
        })
    });
    feet.collect()
}

/// The nearest point of a body's surface within a cell or so, and the normal out of the body there.
fn foot<const D: usize>(
    solid: &Solid<D>,
    x: &Point<D>,
    cell_m: f64,
) -> Option<(Point<D>, Point<D>)> {
    let mut foot = *x;
    let mut normal = [0.0; D];
    // The second round mends what the first was off beside edges.
    for _ in 0..2 {
        let slope = |k: usize| {
            let at = |by: f64| {
                let mut to = foot;
                to[k] += by;
                solid.signed_distance(&to)
            };
            at(STEP * cell_m) - at(-STEP * cell_m)
        };
        let way: Point<D> = std::array::from_fn(slope);
        let length = norm(&way);
        if length.is_nan() || length <= 0.0 {
            return None;
        }
        normal = way.map(|w| w / length);
        foot = add_scaled(&foot, -solid.signed_distance(&foot), &normal);
    }
    Some((foot, normal))
}

/// Nodes some of whose faces are closed.
fn beside_walls<const D: usize>(grid: &Grid<D>) -> Vec<usize> {
    let mut open = vec![0.0; grid.len()];
    for link in &grid.couplings.links {
        let (a, b) = (link.a as usize, link.b as usize);
        let away = sub(&grid.centre(a), &grid.centre(b));
        let along = away.iter().fold(0.0_f64, |most, x| most.max(x.abs()));
        open[a] += link.metres * along;
        open[b] += link.metres * along;
    }
    let closed = |&node: &usize| {
        let size = grid.size_m(node).powi(D as i32 - 1);
        let all = 2.0 * D as f64 * size * width_m(grid.space, &grid.centre(node));
        open[node] < (1.0 - MISSING) * all
    };
    (0..grid.len()).filter(closed).collect()
}
