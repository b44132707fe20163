//! Where the surface that conducts ends: at lacquer, at an insulator, at a wall of the tank.
//!
//! A segment of a facet's outline that no other facet shares is part of such a border. How wide the
//! electrolyte stands open there is found by going around the border on a small circle, from the
//! metal through the electrolyte to whatever comes next. In a wedge of angle `w` between metal and
//! insulator the potential goes with the distance `s` as `s^(90 / w)` if the metal has one potential:
//! with more than 90 degrees the current density has no finite largest value there without kinetics.

use ionfall_mesh::grid::fragment::{add_scaled, dot, norm, sub};
use ionfall_mesh::grid::{Body, Domain, Grid};
use ionfall_mesh::solid::{Bounds, BoxTree, Members, Point};
use std::f64::consts::{FRAC_PI_2, PI};

/// Points on different outlines that are nearer than this share of a cell are the same.
const SAME: f64 = 1e-4;
/// Radius of the circle, in cells, and its steps from the metal all the way around.
const RADIUS: f64 = 0.2;
const STEPS: usize = 120;
/// Angles up to this are no edges: 90 degrees, and what the steps leave unknown.
const NO_EDGE: f64 = FRAC_PI_2 + 4.0 * PI / STEPS as f64;

/// A place on the border.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Border<const D: usize> {
    pub at: Point<D>,
    /// Out of the surface, in its plane.
    pub towards: Point<D>,
}

/// The borders, of the facets `near` each other, that are `wanted` and stand open wider than a right
/// angle.
pub(crate) fn borders<const D: usize>(
    domain: &Domain<D>,
    grid: &Grid<D>,
    near: &[usize],
    cell_m: f64,
    wanted: impl Fn(&Border<D>) -> bool,
) -> Vec<Border<D>> {
    let members = |b: &Body<D>| Members::new(&b.solid);
    let bodies: Vec<Members<D>> = domain.bodies.iter().map(members).collect();
    let wet = |x: &Point<D>| domain.tank.contains(x) && !bodies.iter().any(|b| b.contains(x));
    let segments: Vec<(usize, usize, Segment<D>)> = near
        .iter()
        .flat_map(|&f| {
            let pieces = grid.facets[f].outline.iter().enumerate();
            pieces.flat_map(move |(p, corners)| segments(&corners).map(move |s| (f, p, s)))
        })
        .collect();
    let around =
        |(_, _, s): &(usize, usize, Segment<D>)| Bounds::around(s.ends).grown(SAME * cell_m);
    let tree = BoxTree::new(segments.iter().map(around).collect());
    let shared = |&(f, p, ref side): &(usize, usize, Segment<D>)| {
        let middle = side.middle();
        tree.any_holding(&middle, |n| {
            let (g, q, other) = &segments[n as usize];
            (*g, *q) != (f, p) && other.distance(&middle) < SAME * cell_m
        })
    };
    let border = |all: &(usize, usize, Segment<D>)| {
        let (f, _, side) = all;
        let facet = &grid.facets[*f];
        let border = Border {
            at: side.middle(),
            towards: side.outwards(&facet.point, &facet.normal)?,
        };
        (wanted(&border)
            && !shared(all)
            && open_angle(&wet, &border, &facet.normal, RADIUS * cell_m) > NO_EDGE)
            .then_some(border)
    };
    segments.iter().filter_map(border).collect()
}

/// One side of a flat piece; on a line a point.
#[derive(Clone, Copy, Debug)]
struct Segment<const D: usize> {
    ends: [Point<D>; 2],
}

fn segments<const D: usize>(corners: &[Point<D>]) -> impl Iterator<Item = Segment<D>> + use<D> {
    let count = corners.len();
    let ends = |n: usize| match D {
        2 => [corners[n], corners[n]],
        _ => [corners[n], corners[(n + 1) % count]],
    };
    let segments: Vec<Segment<D>> = (0..count).map(|n| Segment { ends: ends(n) }).collect();
    segments.into_iter()
}

impl<const D: usize> Segment<D> {
    fn middle(&self) -> Point<D> {
        std::array::from_fn(|k| 0.5 * (self.ends[0][k] + self.ends[1][k]))
    }

    fn distance(&self, x: &Point<D>) -> f64 {
        let (along, to) = (sub(&self.ends[1], &self.ends[0]), sub(x, &self.ends[0]));
        let length2 = dot(&along, &along);
        let share = if length2 > 0.0 {
            (dot(&to, &along) / length2).clamp(0.0, 1.0)
        } else {
            0.0
        };
        norm(&add_scaled(&to, -share, &along))
    }

    /// Across the side in the plane of a facet, away from a point of it.
    fn outwards(&self, from: &Point<D>, normal: &Point<D>) -> Option<Point<D>> {
        let along = sub(&self.ends[1], &self.ends[0]);
        let away = sub(&self.middle(), from);
        let without = |v: &Point<D>, unit: &Point<D>| add_scaled(v, -dot(v, unit), unit);
        let mut across = without(&away, normal);
        let length = norm(&along);
        if length > 0.0 {
            across = without(&across, &along.map(|x| x / length));
        }
        let length = norm(&across);
        (length > 0.0).then(|| across.map(|x| x / length))
    }
}

/// Angle of the electrolyte between the metal and what comes next.
fn open_angle<const D: usize>(
    wet: &impl Fn(&Point<D>) -> bool,
    border: &Border<D>,
    normal: &Point<D>,
    radius_m: f64,
) -> f64 {
    let step = 2.0 * PI / STEPS as f64;
    let is_wet = |n: &usize| {
        let angle = (*n as f64 + 0.5) * step;
        let x = add_scaled(&border.at, -radius_m * angle.cos(), &border.towards);
        wet(&add_scaled(&x, radius_m * angle.sin(), normal))
    };
    // The first step may lie in the metal if that is hollow there.
    let first = (0..STEPS / 8).find(is_wet).unwrap_or(STEPS);
    let last = (first..STEPS).find(|n| !is_wet(n)).unwrap_or(STEPS);
    (last - first) as f64 * step
}
