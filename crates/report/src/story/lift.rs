//! Jobs of two dimensions put into space, so that every job can be turned and looked at.
//!
//! A planar job is drawn out along its depth: (x, y) becomes (x, s, y), with `s` from the front at
//! zero. A revolved one is turned about its axis through three quarters, so that the cut stays
//! open: (r, z) becomes (r cos a, r sin a, z). Millimetres.

use ionfall_mesh::grid::{Domain, Space};
use ionfall_mesh::solid::Point;
use std::f64::consts::TAU;

/// Steps of a drawn-out or turned surface.
const STEPS: usize = 54;
/// What a revolved job is turned through.
const TURN: f64 = 0.75 * TAU;
/// Depth shown, over the longer side of the tank, at most.
const DEPTH_SHOWN: f64 = 0.6;

/// How a job is put into space.
#[derive(Clone, Copy, Debug)]
pub(super) enum Lift {
    /// It is there already.
    Solid,
    /// Drawn out over a depth, mm.
    DrawnOut(f64),
    /// Turned about its axis.
    Turned,
}

impl Lift {
    pub fn of<const D: usize>(domain: &Domain<D>) -> Self {
        match domain.space {
            Space::Tank => Self::Solid,
            Space::Axisymmetric => Self::Turned,
            Space::Planar { depth_m } => {
                let bounds = domain.tank.bounds();
                let side = (0..D)
                    .map(|k| bounds.high[k] - bounds.low[k])
                    .fold(0.0, f64::max);
                Self::DrawnOut(1e3 * depth_m.min(DEPTH_SHOWN * side))
            }
        }
    }

    /// Number of copies of each point.
    pub fn layers(self) -> usize {
        match self {
            Self::Solid => 1,
            Self::DrawnOut(_) => 2,
            Self::Turned => STEPS + 1,
        }
    }

    /// Where a point (metres) is in a layer, mm. Layer 0 is the plane of the section.
    pub fn point<const D: usize>(self, x: &Point<D>, layer: usize) -> [f64; 3] {
        let mm = |k: usize| x.get(k).map_or(0.0, |x| 1e3 * x);
        let share = layer as f64 / (self.layers() - 1).max(1) as f64;
        match self {
            Self::Solid => [mm(0), mm(1), mm(2)],
            Self::DrawnOut(depth) => [mm(0), depth * share, mm(1)],
            Self::Turned => {
                let (sin, cos) = (TURN * share).sin_cos();
                [mm(0) * cos, mm(0) * sin, mm(1)]
            }
        }
    }

    /// The triangles of an element among points numbered layer by layer, `count` in each.
    pub fn triangles<const D: usize>(self, element: &[u32; D], count: usize) -> Vec<[u32; 3]> {
        if let ([a, b, c], Self::Solid) = (&element[..], self) {
            return vec![[*a, *b, *c]];
        }
        let (a, b) = (element[0], element[1]);
        let step = count as u32;
        (0..self.layers() as u32 - 1)
            .flat_map(|layer| {
                let (a, b) = (a + layer * step, b + layer * step);
                [[a, b, b + step], [a, b + step, a + step]]
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn area(lift: Lift, points: [Point<2>; 2]) -> f64 {
        let placed: Vec<[f64; 3]> = (0..lift.layers())
            .flat_map(|layer| points.map(|p| lift.point(&p, layer)))
            .collect();
        lift.triangles(&[0, 1], 2)
            .iter()
            .map(|t| {
                let [a, b, c] = t.map(|v| placed[v as usize]);
                let u: [f64; 3] = std::array::from_fn(|k| b[k] - a[k]);
                let v: [f64; 3] = std::array::from_fn(|k| c[k] - a[k]);
                let n: [f64; 3] = std::array::from_fn(|k| {
                    u[(k + 1) % 3] * v[(k + 2) % 3] - u[(k + 2) % 3] * v[(k + 1) % 3]
                });
                0.5 * n.iter().map(|x| x * x).sum::<f64>().sqrt()
            })
            .sum()
    }

    #[test]
    fn a_line_becomes_a_strip_or_three_quarters_of_a_tube() {
        let line = [[0.01, 0.0], [0.01, 0.02]];
        assert_relative_eq!(area(Lift::DrawnOut(5.0), line), 100.0, max_relative = 1e-12);
        // Chords are a little shorter than the arc.
        let tube = TURN * 10.0 * 20.0;
        assert_relative_eq!(area(Lift::Turned, line), tube, max_relative = 2e-3);
    }
}
