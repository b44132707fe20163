//! Surfaces of revolution from rings of points, stitched row by row.
//!
//! A ring of radius r broken into n chords deviates by `r (1 - cos(pi/n))` from its circle. Rows
//! between rings are a chord times sqrt(3)/2 apart and neighbouring rings are turned by half a
//! step, so that triangles come out near-equilateral although n changes with the radius.

use super::shape::Soup;
use std::f64::consts::PI;

/// Fewest chords of any ring.
const FEWEST: f64 = 8.0;
/// Smallest sagitta that is kept, as part of the radius: keeps absurd finenesses from filling the
/// memory (a ball of 50 mm to 0.05 um already takes 6 million triangles).
pub(crate) const FINEST: f64 = 1e-6;

/// A closed ring of vertices about the z axis, or a single vertex on it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ring {
    first: u32,
    count: u32,
    phase: f64,
}

impl Ring {
    /// Of `count` vertices from number `first` on, the first of them turned by `phase` steps.
    pub(crate) fn new(first: u32, count: u32, phase: f64) -> Self {
        Self {
            first,
            count,
            phase,
        }
    }

    /// A single point on the axis.
    fn is_apex(&self) -> bool {
        self.count == 1
    }

    fn vertex(&self, i: u32) -> u32 {
        self.first + i % self.count
    }

    /// Turn of point `i`, in turns.
    fn turn(&self, i: u32) -> f64 {
        (f64::from(i) + self.phase) / f64::from(self.count)
    }
}

/// Number of chords of a circle of radius `r_m` that keep the sagitta.
pub(crate) fn chords(r_m: f64, sagitta_m: f64) -> u32 {
    let half_angle = (1.0 - (sagitta_m / r_m).clamp(FINEST, 1.0)).acos();
    (PI / half_angle).ceil().max(FEWEST) as u32
}

/// Adds a ring of `count` points at radius `r_m` and height `z_m`; odd rings are turned by half a
/// step.
pub(crate) fn ring(soup: &mut Soup<3>, r_m: f64, z_m: f64, count: u32, odd: bool) -> Ring {
    let ring = Ring {
        first: soup.vertices.len() as u32,
        count: if r_m > 0.0 { count } else { 1 },
        phase: if odd { 0.5 } else { 0.0 },
    };
    for i in 0..ring.count {
        let (sin, cos) = (2.0 * PI * ring.turn(i)).sin_cos();
        soup.vertex([r_m * cos, r_m * sin, z_m]);
    }
    ring
}

/// Joins two rings by a row of triangles that together stand for `true_area_m2`. Seen in the
/// half-plane (r, z) the outside is to the right of the way from `a` to `b`.
pub(crate) fn join(soup: &mut Soup<3>, a: &Ring, b: &Ring, patch: u16, true_area_m2: f64) {
    let start = soup.elements.len();
    let (steps_a, steps_b) = (
        if a.is_apex() { 0 } else { a.count },
        if b.is_apex() { 0 } else { b.count },
    );
    let (mut i, mut j) = (0, 0);
    while i < steps_a || j < steps_b {
        // The new edge should run as straight along the row as possible.
        let skew_a = (a.turn(i + 1) - b.turn(j)).abs();
        let skew_b = (a.turn(i) - b.turn(j + 1)).abs();
        let step_a = j >= steps_b || (i < steps_a && skew_a <= skew_b);
        if step_a {
            soup.element([a.vertex(i), a.vertex(i + 1), b.vertex(j)], patch, 1.0);
            i += 1;
        } else {
            soup.element([a.vertex(i), b.vertex(j + 1), b.vertex(j)], patch, 1.0);
            j += 1;
        }
    }
    let flat: f64 = (start..soup.elements.len()).map(|e| soup.area(e)).sum();
    let factor = (true_area_m2 / flat) as f32;
    soup.area_factor[start..].fill(factor);
}
