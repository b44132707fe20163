//! Balls (3-D) and discs (2-D, "circle").
//!
//! The sphere is an icosahedron whose faces are divided into f^2 triangles and blown up. The true
//! area over a triangle is R^2 times its solid angle (van Oosterom and Strackee 1983); over a
//! chord of half-angle a it is a / sin(a).

use super::bounds::{Bounds, Point};
use super::error::SolidError;
use super::error::{finite, positive};
use super::rings::{FINEST, chords};
use super::shape::{Fineness, Primitive, Solid, Soup, SurfacePoint};
use ionfall_numerics::vector::{add_scaled, cross, distance, dot, norm, scaled, sub, unit_or};
use std::collections::HashMap;
use std::f64::consts::PI;

/// A ball (`D = 3`) or a disc (`D = 2`).
#[derive(Clone, Debug)]
pub struct Ball<const D: usize> {
    centre: Point<D>,
    radius_m: f64,
}

impl<const D: usize> Ball<D> {
    /// A ball about a centre, metres.
    ///
    /// # Errors
    /// [`SolidError::NotPositive`] for the radius, [`SolidError::OutOfRange`] for the centre.
    pub fn new(centre: Point<D>, radius_m: f64) -> Result<Self, SolidError> {
        Ok(Self {
            centre: finite("a coordinate of the centre", centre)?,
            radius_m: positive("the radius", radius_m)?,
        })
    }

    fn box_around(&self) -> Bounds<D> {
        Bounds::around([self.centre]).grown(self.radius_m)
    }

    fn distance(&self, x: &Point<D>) -> f64 {
        distance(x, &self.centre) - self.radius_m
    }

    fn on_surface(&self, x: &Point<D>, element_normal: &Point<D>) -> SurfacePoint<D> {
        let normal = unit_or(&sub(x, &self.centre), element_normal);
        SurfacePoint {
            point: add_scaled(&self.centre, self.radius_m, &normal),
            normal,
        }
    }

    fn smaller(&self, wall_m: f64) -> Result<Self, SolidError> {
        if wall_m >= self.radius_m {
            return Err(SolidError::WallTooThick {
                wall_m,
                limit_m: self.radius_m,
            });
        }
        Self::new(self.centre, self.radius_m - wall_m)
    }
}

impl Primitive<3> for Ball<3> {
    fn bounds(&self) -> Bounds<3> {
        self.box_around()
    }

    fn contains(&self, x: &Point<3>) -> bool {
        self.distance(x) < 0.0
    }

    fn signed_distance(&self, x: &Point<3>) -> f64 {
        self.distance(x)
    }

    fn is_convex(&self) -> bool {
        true
    }

    fn tessellate(&self, fineness: &Fineness<3>) -> Soup<3> {
        let mut soup = unit_sphere(fineness.sagitta_m / self.radius_m);
        for e in 0..soup.elements.len() {
            soup.area_factor[e] = (solid_angle(&soup.corners(e)) / soup.area(e)) as f32;
        }
        for v in &mut soup.vertices {
            *v = add_scaled(&self.centre, self.radius_m, v);
        }
        soup
    }

    fn project(&self, _patch: u16, x: &Point<3>, element_normal: &Point<3>) -> SurfacePoint<3> {
        self.on_surface(x, element_normal)
    }

    fn inset(&self, wall_m: f64) -> Result<Solid<3>, SolidError> {
        self.smaller(wall_m).map(Solid::new)
    }
}

impl Primitive<2> for Ball<2> {
    fn bounds(&self) -> Bounds<2> {
        self.box_around()
    }

    fn contains(&self, x: &Point<2>) -> bool {
        self.distance(x) < 0.0
    }

    fn signed_distance(&self, x: &Point<2>) -> f64 {
        self.distance(x)
    }

    fn is_convex(&self) -> bool {
        true
    }

    fn tessellate(&self, fineness: &Fineness<2>) -> Soup<2> {
        let n = chords(self.radius_m, fineness.sagitta_m);
        let half = PI / f64::from(n);
        let mut soup = Soup::default();
        for i in 0..n {
            let (sin, cos) = (2.0 * half * f64::from(i)).sin_cos();
            soup.vertex(add_scaled(&self.centre, self.radius_m, &[cos, sin]));
            soup.element([i, (i + 1) % n], 0, half / half.sin());
        }
        soup
    }

    fn project(&self, _patch: u16, x: &Point<2>, element_normal: &Point<2>) -> SurfacePoint<2> {
        self.on_surface(x, element_normal)
    }

    fn inset(&self, wall_m: f64) -> Result<Solid<2>, SolidError> {
        self.smaller(wall_m).map(Solid::new)
    }
}

/// Solid angle of the triangle of three unit vectors, positive if they turn counter-clockwise
/// seen from outside.
pub(crate) fn solid_angle([a, b, c]: &[Point<3>; 3]) -> f64 {
    let triple = dot(a, &cross(&sub(b, a), &sub(c, a)));
    2.0 * triple.atan2(1.0 + dot(a, b) + dot(b, c) + dot(c, a))
}

/// The unit sphere in near-equilateral triangles, deviating by at most `sagitta` (radius 1).
///
/// The middle triangle of a face of the icosahedron is the one that grows most when blown up: its
/// flat circumradius 0.60706/f (edge 1.05146) at distance 0.79465 from the centre becomes
/// 0.76394/f, and a triangle of circumradius c deviates by 1 - sqrt(1 - c^2).
pub(crate) fn unit_sphere(sagitta: f64) -> Soup<3> {
    let flattest = 1.0 - sagitta.clamp(FINEST, 1.0);
    let f = (0.763_94 / (1.0 - flattest * flattest).sqrt()).ceil() as usize;
    let (corners, faces) = icosahedron();
    let mut soup = Soup::default();
    // Vertices on edges are shared between faces: numbered by (corner, corner, step).
    let mut shared: HashMap<(usize, usize, usize), u32> = HashMap::new();
    for [a, b, c] in faces {
        let mut rows: Vec<Vec<u32>> = Vec::with_capacity(f + 1);
        for i in 0..=f {
            let row = (0..=f - i).map(|j| {
                let weights = [(a, f - i - j), (b, i), (c, j)];
                let x = weights.iter().fold([0.0; 3], |s, &(corner, w)| {
                    add_scaled(&s, w as f64, &corners[corner])
                });
                let place = |soup: &mut Soup<3>| soup.vertex(scaled(&x, 1.0 / norm(&x)));
                let mut used = weights.iter().filter(|w| w.1 > 0).copied();
                match (used.next(), used.next(), used.next()) {
                    (Some(p), Some(q), None) => {
                        let (p, q) = if p.0 < q.0 { (p, q) } else { (q, p) };
                        *shared
                            .entry((p.0, q.0, q.1))
                            .or_insert_with(|| place(&mut soup))
                    }
                    (Some(p), None, _) => *shared
                        .entry((p.0, p.0, 0))
                        .or_insert_with(|| place(&mut soup)),
                    _ => place(&mut soup),
                }
            });
            rows.push(row.collect());
        }
        for i in 0..f {
            for j in 0..f - i {
                soup.element([rows[i][j], rows[i + 1][j], rows[i][j + 1]], 0, 1.0);
                if j + 1 < f - i {
                    soup.element([rows[i + 1][j], rows[i + 1][j + 1], rows[i][j + 1]], 0, 1.0);
                }
            }
        }
    }
    soup
}

/// Corners (on the unit sphere) and faces, outward.
fn icosahedron() -> (Vec<Point<3>>, Vec<[usize; 3]>) {
    let golden = 0.5 * (1.0 + 5.0_f64.sqrt());
    let mut corners = Vec::new();
    for k in 0..3 {
        for (s, t) in [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)] {
            let mut x = [0.0; 3];
            x[(k + 1) % 3] = s;
            x[(k + 2) % 3] = t * golden;
            corners.push(scaled(&x, 1.0 / 1.0_f64.hypot(golden)));
        }
    }
    // Faces are the triples of mutually neighbouring corners.
    let near = |i: usize, j: usize| distance(&corners[i], &corners[j]) < 1.1;
    let mut faces = Vec::new();
    for i in 0..12 {
        for j in i + 1..12 {
            for k in j + 1..12 {
                if near(i, j) && near(j, k) && near(k, i) {
                    let [a, b, c] = [i, j, k].map(|v| corners[v]);
                    let out = dot(&a, &cross(&sub(&b, &a), &sub(&c, &a))) > 0.0;
                    faces.push(if out { [i, j, k] } else { [i, k, j] });
                }
            }
        }
    }
    (corners, faces)
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check_2d, check_3d, check_inset, fineness};
    use super::*;

    #[test]
    fn ball_at_any_fineness() {
        let r = 0.01_f64;
        let ball = Ball::new([0.1, -0.2, 0.3], r).unwrap();
        for sagitta in [1.0, 3e-3, 1e-3, 1e-4, 1e-5] {
            check_3d(&ball, sagitta, 4.0 * PI * r * r, 4.0 / 3.0 * PI * r.powi(3));
        }
        check_inset(&ball, 0.003);
        assert!(matches!(
            ball.inset(0.01),
            Err(SolidError::WallTooThick { .. })
        ));
    }

    #[test]
    fn sphere_triangles_are_even() {
        let soup = unit_sphere(1e-3);
        let areas: Vec<f64> = (0..soup.elements.len()).map(|e| soup.area(e)).collect();
        let largest = areas.iter().copied().fold(0.0, f64::max);
        let smallest = areas.iter().copied().fold(1.0, f64::min);
        assert!(largest / smallest < 2.1, "{}", largest / smallest);
        for e in 0..soup.elements.len() {
            let p = soup.corners(e);
            let sides: [f64; 3] = std::array::from_fn(|k| distance(&p[k], &p[(k + 1) % 3]));
            let longest = sides.into_iter().fold(0.0, f64::max);
            let shortest = sides.into_iter().fold(9.0, f64::min);
            assert!(longest / shortest < 1.3, "{sides:?}");
        }
        // Every vertex is shared: Euler's formula for a closed sphere.
        assert_eq!(soup.vertices.len(), soup.elements.len() / 2 + 2);
    }

    #[test]
    fn disc() {
        let disc = Ball::new([1.0, 2.0], 0.5).unwrap();
        check_2d(&disc, 1e-3, PI, PI * 0.25);
        check_inset(&disc, 0.1);
        let soup = disc.tessellate(&fineness(&disc, 1e-3));
        assert!(soup.elements.len() < 60);
    }

    #[test]
    fn refuses_bad_numbers() {
        assert!(matches!(
            Ball::new([0.0; 3], 0.0),
            Err(SolidError::NotPositive { .. })
        ));
        assert!(matches!(
            Ball::new([0.0; 2], f64::NAN),
            Err(SolidError::NotPositive { .. })
        ));
        assert!(matches!(
            Ball::new([f64::NAN, 0.0], 1.0),
            Err(SolidError::OutOfRange { .. })
        ));
    }
}
