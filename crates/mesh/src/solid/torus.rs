//! A torus about the z axis: the points at most a from the circle of radius R in the plane z = 0.
//!
//! Between tube angles v1 and v2 it has the area 2 pi a (R (v2 - v1) + a (sin v2 - sin v1)).

use super::bounds::{Bounds, Point};
use super::error::SolidError;
use super::error::positive;
use super::rings::{chords, join, ring};
use super::shape::{Fineness, Primitive, Solid, Soup, SurfacePoint};
use ionfall_numerics::vector::{add_scaled, sub, unit_or};
use std::f64::consts::PI;

/// A ring with a round section.
#[derive(Clone, Debug)]
pub struct Torus {
    ring_m: f64,
    tube_m: f64,
}

/// Longest ring chord over tube chord.
const STRETCH: f64 = 1.5;

impl Torus {
    /// About the z axis, with the radius of the ring's middle line and that of the tube, metres.
    ///
    /// # Errors
    /// [`SolidError::NotPositive`], or [`SolidError::TubeTooThick`] if the ring has no bore.
    pub fn new(ring_m: f64, tube_m: f64) -> Result<Self, SolidError> {
        positive("the ring radius", ring_m)?;
        positive("the tube radius", tube_m)?;
        if tube_m >= ring_m {
            return Err(SolidError::TubeTooThick { tube_m, ring_m });
        }
        Ok(Self { ring_m, tube_m })
    }

    /// The nearest point of the middle line.
    fn spine(&self, x: &Point<3>) -> Point<3> {
        let radial = unit_or(&[x[0], x[1]], &[1.0, 0.0]);
        [self.ring_m * radial[0], self.ring_m * radial[1], 0.0]
    }
}

impl Primitive<3> for Torus {
    fn bounds(&self) -> Bounds<3> {
        let (r, a) = (self.ring_m + self.tube_m, self.tube_m);
        Bounds {
            low: [-r, -r, -a],
            high: [r, r, a],
        }
    }

    fn contains(&self, x: &Point<3>) -> bool {
        self.signed_distance(x) < 0.0
    }

    fn signed_distance(&self, x: &Point<3>) -> f64 {
        (x[0].hypot(x[1]) - self.ring_m).hypot(x[2]) - self.tube_m
    }

    fn tessellate(&self, fineness: &Fineness<3>) -> Soup<3> {
        // The sagittas of both directions add up.
        let sagitta = 0.5 * fineness.sagitta_m;
        let around_tube = chords(self.tube_m, sagitta);
        let step = 2.0 * PI / f64::from(around_tube);
        let longest = STRETCH * self.tube_m * step;
        let mut soup = Soup::default();
        let rings: Vec<_> = (0..around_tube)
            .map(|k| {
                let (sin, cos) = (step * f64::from(k)).sin_cos();
                let r = self.ring_m + self.tube_m * cos;
                let count = chords(r, sagitta).max((2.0 * PI * r / longest).ceil() as u32);
                ring(&mut soup, r, self.tube_m * sin, count, k % 2 == 1)
            })
            .collect();
        for k in 0..around_tube {
            let (v1, v2) = (step * f64::from(k), step * f64::from(k + 1));
            let area =
                2.0 * PI * self.tube_m * (self.ring_m * step + self.tube_m * (v2.sin() - v1.sin()));
            let (a, b) = (rings[k as usize], rings[((k + 1) % around_tube) as usize]);
            join(&mut soup, &a, &b, 0, area);
        }
        soup
    }

    fn project(&self, _patch: u16, x: &Point<3>, element_normal: &Point<3>) -> SurfacePoint<3> {
        let spine = self.spine(x);
        let normal = unit_or(&sub(x, &spine), element_normal);
        SurfacePoint {
            point: add_scaled(&spine, self.tube_m, &normal),
            normal,
        }
    }

    fn inset(&self, wall_m: f64) -> Result<Solid<3>, SolidError> {
        if wall_m >= self.tube_m {
            return Err(SolidError::WallTooThick {
                wall_m,
                limit_m: self.tube_m,
            });
        }
        Ok(Solid::new(Self::new(self.ring_m, self.tube_m - wall_m)?))
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check_3d, check_inset, fineness};
    use super::*;
    use ionfall_numerics::vector::distance;

    #[test]
    fn tori_have_the_area_of_pappus() {
        for (ring, tube) in [(0.02, 0.005), (0.02, 0.018), (0.1, 0.002)] {
            let t = Torus::new(ring, tube).unwrap();
            let area = 4.0 * PI * PI * ring * tube;
            for sagitta in [0.1 * tube, 1e-2 * tube] {
                check_3d(&t, sagitta, area, 0.5 * area * tube);
            }
            check_inset(&t, 0.3 * tube);
        }
        assert!(matches!(
            Torus::new(1.0, 1.0),
            Err(SolidError::TubeTooThick { .. })
        ));
    }

    #[test]
    fn triangles_are_well_shaped() {
        let t = Torus::new(0.05, 0.004).unwrap();
        let soup = t.tessellate(&fineness(&t, 2e-5));
        for e in 0..soup.elements.len() {
            let p = soup.corners(e);
            let sides: [f64; 3] = std::array::from_fn(|k| distance(&p[k], &p[(k + 1) % 3]));
            let longest = sides.into_iter().fold(0.0, f64::max);
            let shortest = sides.into_iter().fold(9.0, f64::min);
            assert!(longest / shortest < 2.2, "{sides:?}");
        }
    }
}
