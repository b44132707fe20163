//! Ellipsoids (3-D) and ellipses (2-D) along the axes.
//!
//! The nearest point of the surface sum (x_i / e_i)^2 = 1 to y is x_i = e_i^2 y_i / (t + e_i^2),
//! where t is the largest root of sum (e_i y_i / (t + e_i^2))^2 = 1; found by Newton's method
//! inside a bracket. The surface is that of the unit sphere stretched by A = diag(e), whose area
//! elements grow by det(A) |A^-1 n|.

use super::ball::unit_sphere;
use super::bounds::{Bounds, Point};
use super::error::SolidError;
use super::error::{finite, positive};
use super::rings::chords;
use super::shape::{Fineness, Primitive, Soup, SurfacePoint};
use ionfall_numerics::vector::{add, add_scaled, cross, distance, dot, norm, scaled, sub, unit_or};
use std::f64::consts::PI;

/// An ellipsoid (`D = 3`) or ellipse (`D = 2`).
#[derive(Clone, Debug)]
pub struct Ellipsoid<const D: usize> {
    centre: Point<D>,
    semi_axes_m: Point<D>,
}

impl<const D: usize> Ellipsoid<D> {
    /// About a centre, with semi-axes along the coordinates, metres.
    ///
    /// # Errors
    /// [`SolidError::NotPositive`] for a semi-axis, [`SolidError::OutOfRange`] for the centre.
    pub fn new(centre: Point<D>, semi_axes_m: Point<D>) -> Result<Self, SolidError> {
        for e in semi_axes_m {
            positive("a semi-axis", e)?;
        }
        Ok(Self {
            centre: finite("a coordinate of the centre", centre)?,
            semi_axes_m,
        })
    }

    fn largest(&self) -> f64 {
        self.semi_axes_m.iter().copied().fold(0.0, f64::max)
    }

    fn smallest(&self) -> f64 {
        self.semi_axes_m
            .iter()
            .copied()
            .fold(f64::INFINITY, f64::min)
    }

    fn box_around(&self) -> Bounds<D> {
        Bounds {
            low: sub(&self.centre, &self.semi_axes_m),
            high: add(&self.centre, &self.semi_axes_m),
        }
    }

    fn holds(&self, x: &Point<D>) -> bool {
        let y = sub(x, &self.centre);
        (0..D)
            .map(|k| (y[k] / self.semi_axes_m[k]).powi(2))
            .sum::<f64>()
            < 1.0
    }

    /// The nearest surface point.
    fn nearest(&self, x: &Point<D>) -> Point<D> {
        let y = sub(x, &self.centre);
        let near = nearest_in_octant(&self.semi_axes_m, &y.map(f64::abs), self.smallest());
        std::array::from_fn(|k| self.centre[k] + near[k].copysign(y[k]))
    }

    fn distance(&self, x: &Point<D>) -> f64 {
        let far = distance(x, &self.nearest(x));
        if self.holds(x) { -far } else { far }
    }

    fn on_surface(&self, x: &Point<D>, element_normal: &Point<D>) -> SurfacePoint<D> {
        let point = self.nearest(x);
        let y = sub(&point, &self.centre);
        let gradient: Point<D> = std::array::from_fn(|k| y[k] / self.semi_axes_m[k].powi(2));
        SurfacePoint {
            point,
            normal: unit_or(&gradient, element_normal),
        }
    }

    /// A point of the unit sphere, stretched.
    fn stretched(&self, q: &Point<D>) -> Point<D> {
        std::array::from_fn(|k| self.centre[k] + self.semi_axes_m[k] * q[k])
    }

    /// |A^-1 n|, 1/m.
    fn stretch(&self, n: &Point<D>) -> f64 {
        norm(&std::array::from_fn::<f64, D, _>(|k| {
            n[k] / self.semi_axes_m[k]
        }))
    }
}

/// Nearest point to `y >= 0`, with s = t + smallest^2 as unknown so that nothing cancels.
fn nearest_in_octant<const D: usize>(e: &Point<D>, y: &Point<D>, smallest: f64) -> Point<D> {
    let gap: Point<D> = std::array::from_fn(|k| (e[k] - smallest) * (e[k] + smallest));
    let excess = |s: f64| {
        let (mut g, mut slope) = (-1.0, 0.0);
        for k in (0..D).filter(|&k| y[k] > 0.0) {
            let q = e[k] * y[k] / (s + gap[k]);
            g += q * q;
            slope -= 2.0 * q * q / (s + gap[k]);
        }
        (g, slope)
    };
    let short = |k: &usize| gap[*k] == 0.0;
    let low_reach = (0..D).filter(short).map(|k| y[k]).fold(0.0, f64::max);
    if low_reach == 0.0 && excess(0.0).0 < 0.0 {
        // Near the middle plane of the shortest axis: the nearest point leaves that plane.
        let mut x: Point<D> = std::array::from_fn(|k| {
            if gap[k] == 0.0 {
                0.0
            } else {
                e[k] * e[k] * y[k] / gap[k]
            }
        });
        let used: f64 = (0..D).map(|k| (x[k] / e[k]).powi(2)).sum();
        if let Some(k) = (0..D).find(short) {
            x[k] = e[k] * (1.0 - used).max(0.0).sqrt();
        }
        return x;
    }
    let mut low = smallest * low_reach;
    let mut high = norm(&std::array::from_fn::<f64, D, _>(|k| e[k] * y[k])).max(low);
    let mut s = low;
    for _ in 0..200 {
        let (g, slope) = excess(s);
        if g > 0.0 {
            low = s
        } else {
            high = s
        }
        let mut next = s - g / slope;
        if !(next > low && next < high) {
            next = 0.5 * (low + high);
        }
        if (next - s).abs() <= 1e-16 * next || next == low || next == high {
            break;
        }
        s = next;
    }
    std::array::from_fn(|k| {
        if y[k] > 0.0 {
            e[k] * (e[k] * y[k] / (s + gap[k]))
        } else {
            0.0
        }
    })
}

impl Primitive<3> for Ellipsoid<3> {
    fn bounds(&self) -> Bounds<3> {
        self.box_around()
    }

    fn contains(&self, x: &Point<3>) -> bool {
        self.holds(x)
    }

    fn signed_distance(&self, x: &Point<3>) -> f64 {
        self.distance(x)
    }

    fn tessellate(&self, fineness: &Fineness<3>) -> Soup<3> {
        let sphere = unit_sphere(fineness.sagitta_m / self.largest());
        let mut soup = sphere.clone();
        for v in &mut soup.vertices {
            *v = self.stretched(v);
        }
        for e in 0..soup.elements.len() {
            soup.area_factor[e] = (self.area_over(&sphere.corners(e)) / soup.area(e)) as f32;
        }
        soup
    }

    fn project(&self, _patch: u16, x: &Point<3>, element_normal: &Point<3>) -> SurfacePoint<3> {
        self.on_surface(x, element_normal)
    }
}

impl Ellipsoid<3> {
    /// Area of the ellipsoid over a triangle of the unit sphere: Gauss rule of degree 5 (Radon
    /// 1948) on the flat triangle seen from the centre, where the solid angle is h/|q|^3 times the
    /// flat area (h: distance of its plane). Divided until the error is far below 1e-6.
    fn area_over(&self, corners: &[Point<3>; 3]) -> f64 {
        let [a, b, c] = corners;
        let (ab, ac) = (sub(b, a), sub(c, a));
        let vector = scaled(&cross(&ab, &ac), 0.5);
        let flat = norm(&vector);
        let height = dot(&vector, a) / flat;
        let reach = norm(&ab) * self.largest() / self.smallest();
        let parts = (reach / 0.3).ceil().clamp(1.0, 64.0) as u32;
        let density = |u: f64, v: f64| {
            let q = add_scaled(&add_scaled(a, u, &ab), v, &ac);
            let r = norm(&q);
            self.stretch(&scaled(&q, 1.0 / r)) * height / r.powi(3)
        };
        let root = 15.0_f64.sqrt();
        let rings = [
            ((6.0 - root) / 21.0, (155.0 - root) / 1200.0),
            ((6.0 + root) / 21.0, (155.0 + root) / 1200.0),
        ];
        let side = 1.0 / f64::from(parts);
        let mut sum = 0.0;
        for i in 0..parts {
            for j in 0..2 * (parts - i) - 1 {
                // Upward parts have even j; downward ones are turned by half a turn.
                let (k, down) = (f64::from(j / 2), j % 2 == 1);
                let place = |u: f64, v: f64| {
                    let (u, v) = if down { (1.0 - u, 1.0 - v) } else { (u, v) };
                    density((f64::from(i) + u) * side, (k + v) * side)
                };
                sum += 9.0 / 40.0 * place(1.0 / 3.0, 1.0 / 3.0);
                for (p, weight) in rings {
                    let q = 1.0 - 2.0 * p;
                    sum += weight * (place(p, p) + place(p, q) + place(q, p));
                }
            }
        }
        let [e, f, g] = self.semi_axes_m;
        e * f * g * flat * sum * side * side
    }
}

impl Primitive<2> for Ellipsoid<2> {
    fn bounds(&self) -> Bounds<2> {
        self.box_around()
    }

    fn contains(&self, x: &Point<2>) -> bool {
        self.holds(x)
    }

    fn signed_distance(&self, x: &Point<2>) -> f64 {
        self.distance(x)
    }

    fn tessellate(&self, fineness: &Fineness<2>) -> Soup<2> {
        let n = chords(self.largest(), fineness.sagitta_m);
        let step = 2.0 * PI / f64::from(n);
        let mut soup = Soup::default();
        for i in 0..n {
            let (sin, cos) = (step * f64::from(i)).sin_cos();
            soup.vertex(self.stretched(&[cos, sin]));
            soup.element([i, (i + 1) % n], 0, 1.0);
        }
        for i in 0..n {
            let arc = self.arc_m(step * f64::from(i), step);
            soup.area_factor[i as usize] = (arc / soup.area(i as usize)) as f32;
        }
        soup
    }

    fn project(&self, _patch: u16, x: &Point<2>, element_normal: &Point<2>) -> SurfacePoint<2> {
        self.on_surface(x, element_normal)
    }
}

impl Ellipsoid<2> {
    /// Length over the parameter range `from .. from + step`: three-point Gauss rule on parts
    /// short beside the sharpest bend.
    fn arc_m(&self, from: f64, step: f64) -> f64 {
        let [a, b] = self.semi_axes_m;
        let speed = |t: f64| (a * t.sin()).hypot(b * t.cos());
        let parts = (step * self.largest() / self.smallest() / 0.1)
            .ceil()
            .clamp(1.0, 1e4);
        let half = 0.5 * step / parts;
        let offset = 0.6_f64.sqrt() * half;
        (0..parts as u32)
            .map(|k| {
                let t = from + half * (2.0 * f64::from(k) + 1.0);
                half / 9.0 * (8.0 * speed(t) + 5.0 * (speed(t - offset) + speed(t + offset)))
            })
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check_2d, check_3d};
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn spheroids_have_the_textbook_area() {
        let (a, c) = (0.02_f64, 0.008_f64);
        // Oblate: 2 pi a^2 (1 + (1-e^2)/e artanh e); prolate: 2 pi a^2 (1 + c/(a e) asin e).
        let e = (1.0 - (c / a).powi(2)).sqrt();
        let oblate = 2.0 * PI * a * a * (1.0 + (1.0 - e * e) / e * e.atanh());
        let prolate = 2.0 * PI * c * c * (1.0 + a / (c * e) * e.asin());
        let flat = Ellipsoid::new([0.0, 0.1, 0.0], [a, a, c]).unwrap();
        let long = Ellipsoid::new([0.0, 0.1, 0.0], [a, c, c]).unwrap();
        for sagitta in [1e-3, 1e-4, 2e-5] {
            check_3d(&flat, sagitta, oblate, 4.0 / 3.0 * PI * a * a * c);
            check_3d(&long, sagitta, prolate, 4.0 / 3.0 * PI * a * c * c);
        }
    }

    #[test]
    fn ellipse_has_its_perimeter() {
        let (a, b) = (3.0_f64, 1.0_f64);
        // Gauss's arithmetic-geometric mean: 2 pi / M (a^2 - sum 2^(n-1) c_n^2).
        let (mut x, mut y, mut sum, mut power) = (a, b, 0.0, 0.5);
        for _ in 0..6 {
            let c2 = x * x - y * y;
            sum += power * c2;
            (x, y) = (0.5 * (x + y), (x * y).sqrt());
            power *= 2.0;
        }
        let perimeter = 2.0 * PI / x * (a * a - sum);
        let ellipse = Ellipsoid::new([1.0, 1.0], [a, b]).unwrap();
        for sagitta in [0.1, 1e-3] {
            check_2d(&ellipse, sagitta, perimeter, PI * a * b);
        }
    }

    proptest! {
        #[test]
        fn no_sampled_point_is_nearer(y in prop::array::uniform3(-2.0..2.0), plane in 0_usize..4) {
            let e = Ellipsoid::new([0.0; 3], [1.0, 0.3, 0.6]).unwrap();
            let mut y = y;
            if plane < 3 { y[plane] = 0.0; }
            let d = e.signed_distance(&y).abs();
            let near = e.nearest(&y);
            prop_assert!(e.signed_distance(&near).abs() < 1e-12);
            // The foot is perpendicular: y - near along the gradient there.
            let n = e.project(0, &y, &[1.0, 0.0, 0.0]).normal;
            prop_assert!(norm(&cross(&sub(&y, &near), &n)) < 1e-7);
            for v in &unit_sphere(1e-2).vertices {
                prop_assert!(distance(&e.stretched(v), &y) >= d - 1e-12);
            }
        }
    }
}
