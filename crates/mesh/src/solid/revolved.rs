//! Bodies of revolution about the z axis: cylinder, frustum, cone, and any closed profile.
//!
//! With r = sqrt(x^2 + y^2) everything happens in the half-plane (r, z): a point is inside if
//! (r, z) is inside the profile, and its distance is that to the nearest edge of the profile that
//! is not on the axis. An edge of length l from r1 to r2 sweeps the area pi (r1 + r2) l.

use super::bounds::{Bounds, Point};
use super::error::SolidError;
use super::error::positive;
use super::polygon::{Edge, Near, Polygon, nearest};
use super::rings::{FINEST, Ring, chords, join, ring};
use super::shape::{Fineness, Primitive, Solid, Soup, SurfacePoint};
use ionfall_numerics::vector::distance;
use std::collections::HashMap;
use std::f64::consts::PI;

/// A closed profile turned about the z axis.
#[derive(Clone, Debug)]
pub struct Revolved {
    profile: Polygon,
    /// The edges that sweep a surface, patches numbered without those on the axis.
    edges: Vec<Edge>,
    /// Known to be convex?
    convex: bool,
    /// Radius and height of a cylinder that stands on z = 0.
    cylinder: Option<[f64; 2]>,
}

impl Revolved {
    /// Turns a profile in (r, z), metres, about the z axis.
    ///
    /// Patches are the smooth runs of the profile in the order of drawing (from the first point,
    /// counter-clockwise), not counting edges on the axis.
    ///
    /// # Errors
    /// [`SolidError::ProfileAcrossAxis`] if any r is negative.
    pub fn new(profile: Polygon) -> Result<Self, SolidError> {
        let lowest = profile.bounds().low[0];
        if lowest < 0.0 {
            return Err(SolidError::ProfileAcrossAxis { r_m: lowest });
        }
        let mut edges: Vec<Edge> = Vec::new();
        let mut seen: Vec<u16> = Vec::new();
        for edge in profile.edges() {
            if edge.a[0] == 0.0 && edge.b[0] == 0.0 {
                continue;
            }
            let patch = seen
                .iter()
                .position(|&p| p == edge.patch)
                .unwrap_or_else(|| {
                    seen.push(edge.patch);
                    seen.len() - 1
                }) as u16;
            edges.push(Edge { patch, ..*edge });
        }
        Ok(Self {
            profile,
            edges,
            convex: false,
            cylinder: None,
        })
    }

    /// A cylinder from z = 0 to `height_m`; patch 0 is its side, 1 the top, 2 the bottom.
    ///
    /// # Errors
    /// [`SolidError::NotPositive`] if a length is not positive.
    pub fn cylinder(radius_m: f64, height_m: f64) -> Result<Self, SolidError> {
        positive("the cylinder's radius", radius_m)?;
        Ok(Self {
            cylinder: Some([radius_m, height_m]),
            ..Self::frustum(radius_m, radius_m, height_m)?
        })
    }

    /// A cone frustum from z = 0 to `height_m`; either radius may be zero. Patch 0 is the side,
    /// then the top (if any), then the bottom.
    ///
    /// # Errors
    /// [`SolidError::NotPositive`] if the height, or both radii, are not positive.
    pub fn frustum(bottom_m: f64, top_m: f64, height_m: f64) -> Result<Self, SolidError> {
        positive("the height", height_m)?;
        positive("the larger radius", bottom_m.max(top_m))?;
        for r in [bottom_m, top_m] {
            if r != 0.0 {
                positive("the radius", r)?;
            }
        }
        let mut points = vec![[bottom_m, 0.0], [top_m, height_m]];
        if top_m > 0.0 {
            points.push([0.0, height_m]);
        }
        if bottom_m > 0.0 {
            points.push([0.0, 0.0]);
        }
        Ok(Self {
            convex: true,
            ..Self::new(Polygon::new(points, vec![])?)?
        })
    }

    /// The nearest point of the profile's edges (of one patch, or of all).
    fn nearest(&self, q: &Point<2>, patch: Option<u16>) -> Option<Near> {
        nearest(&self.edges, q, patch)
    }

    /// Rings between the ends of an edge: evenly spaced in sqrt(r), because the chord that keeps
    /// a sagitta grows with sqrt(r). Flat faces across the axis need none.
    fn between(edge: &Edge, sagitta_m: f64) -> Vec<Point<2>> {
        let [[r0, z0], [r1, z1]] = [edge.a, edge.b];
        if z0 == z1 {
            return Vec::new();
        }
        let sagitta = sagitta_m.max(FINEST * r0.max(r1));
        let row = 0.75_f64.sqrt() * (8.0 * sagitta).sqrt();
        let rows = (2.0 * distance(&edge.a, &edge.b) / ((r0.sqrt() + r1.sqrt()) * row))
            .ceil()
            .clamp(1.0, 1e6) as u32;
        (1..rows)
            .map(|k| {
                let s = f64::from(k) / f64::from(rows);
                let (u0, u1) = (r0.sqrt(), r1.sqrt());
                // t = (r - r0) / (r1 - r0) with sqrt(r) linear in s, written free of 0/0.
                let t = s * (2.0 * u0 + (u1 - u0) * s) / (u0 + u1);
                [r0 + t * (r1 - r0), z0 + t * (z1 - z0)]
            })
            .collect()
    }
}

/// (r, z) of a point.
fn half_plane(x: &Point<3>) -> Point<2> {
    [x[0].hypot(x[1]), x[2]]
}

/// Puts a vector of the half-plane of `x` back into space.
fn turned(v: &Point<2>, x: &Point<3>, fallback: &Point<3>) -> Point<3> {
    let radial = [[x[0], x[1]], [fallback[0], fallback[1]]]
        .into_iter()
        .find(|d| d[0] != 0.0 || d[1] != 0.0)
        .unwrap_or([1.0, 0.0]);
    let length = radial[0].hypot(radial[1]);
    [v[0] * radial[0] / length, v[0] * radial[1] / length, v[1]]
}

impl Primitive<3> for Revolved {
    fn bounds(&self) -> Bounds<3> {
        let b = self.profile.bounds();
        let r = b.high[0];
        Bounds {
            low: [-r, -r, b.low[1]],
            high: [r, r, b.high[1]],
        }
    }

    fn contains(&self, x: &Point<3>) -> bool {
        // Wires are made of many, and are asked most of all.
        match self.cylinder {
            Some([r, h]) => (0.0..=h).contains(&x[2]) && x[0].powi(2) + x[1].powi(2) <= r.powi(2),
            None => self.profile.contains(&half_plane(x)),
        }
    }

    fn signed_distance(&self, x: &Point<3>) -> f64 {
        let q = half_plane(x);
        let far = self.nearest(&q, None).map_or(f64::INFINITY, |n| n.distance);
        if self.profile.contains(&q) { -far } else { far }
    }

    fn is_convex(&self) -> bool {
        self.convex
    }

    fn tessellate(&self, fineness: &Fineness<3>) -> Soup<3> {
        let sagitta = fineness.sagitta_m;
        let mut soup = Soup::default();
        // Edges that meet share the ring between them, whatever their order.
        let mut rings: HashMap<[u64; 2], Ring> = HashMap::new();
        let mut place = |soup: &mut Soup<3>, q: &Point<2>| -> Ring {
            let odd = rings.len() % 2 == 1;
            *rings
                .entry(q.map(f64::to_bits))
                .or_insert_with(|| ring(soup, q[0], q[1], chords(q[0], sagitta), odd))
        };
        for edge in &self.edges {
            let (mut from, mut from_point) = (place(&mut soup, &edge.a), edge.a);
            let mut way = Self::between(edge, sagitta);
            way.push(edge.b);
            for q in way {
                let to = place(&mut soup, &q);
                let area = PI * (from_point[0] + q[0]) * distance(&from_point, &q);
                join(&mut soup, &from, &to, edge.patch, area);
                (from, from_point) = (to, q);
            }
        }
        soup
    }

    fn project(&self, patch: u16, x: &Point<3>, element_normal: &Point<3>) -> SurfacePoint<3> {
        match self.nearest(&half_plane(x), Some(patch)) {
            Some(near) => SurfacePoint {
                point: turned(&near.point, x, element_normal),
                normal: turned(&near.normal, x, element_normal),
            },
            None => SurfacePoint {
                point: *x,
                normal: *element_normal,
            },
        }
    }

    /// Exact for convex profiles: the profile cut back by every edge that is not on the axis.
    fn inset(&self, wall_m: f64) -> Result<Solid<3>, SolidError> {
        let inner = self
            .profile
            .cut_back(wall_m, |e| e.a[0] > 0.0 || e.b[0] > 0.0)?;
        Ok(Solid::new(Self::new(inner)?))
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check_3d, check_inset};
    use super::*;

    #[test]
    fn cylinder_has_its_area_and_volume() {
        let c = Revolved::cylinder(0.01, 0.03).unwrap();
        let area = 2.0 * PI * 0.01 * 0.03 + 2.0 * PI * 1e-4;
        check_3d(&c, 2e-5, area, PI * 1e-4 * 0.03);
        let patches = c
            .tessellate(&super::super::testing::fineness(&c, 2e-5))
            .patch;
        assert_eq!(patches.iter().max(), Some(&2));
        let side = c.project(0, &[0.00999, 0.0, 0.0299], &[1.0, 0.0, 0.0]);
        assert_eq!(side.normal, [1.0, 0.0, 0.0]);
        assert!(distance(&side.point, &[0.01, 0.0, 0.0299]) < 1e-15);
        assert_eq!(
            c.project(1, &[0.001, 0.0, 0.0299], &[0.0, 0.0, 1.0]).point[2],
            0.03
        );
        assert_eq!(
            c.project(2, &[0.001, 0.0, 0.001], &[0.0, 0.0, -1.0]).normal[2],
            -1.0
        );
    }

    #[test]
    fn frustums_and_cones() {
        let (a, b, h) = (0.01, 0.004, 0.02);
        let slant = f64::hypot(a - b, h);
        for (low, high) in [(a, b), (b, a)] {
            let f = Revolved::frustum(low, high, h).unwrap();
            let area = PI * (a + b) * slant + PI * (a * a + b * b);
            check_3d(&f, 2e-5, area, PI * h / 3.0 * (a * a + a * b + b * b));
        }
        for (low, high) in [(a, 0.0), (0.0, a)] {
            let f = Revolved::frustum(low, high, h).unwrap();
            let area = PI * a * f64::hypot(a, h) + PI * a * a;
            check_3d(&f, 2e-5, area, PI * h / 3.0 * a * a);
        }
        assert!(Revolved::frustum(0.0, 0.0, 1.0).is_err());
        assert!(Revolved::frustum(-1.0, 1.0, 1.0).is_err());
    }

    #[test]
    fn stepped_ring_with_a_bore() {
        let ring = Revolved::new(
            Polygon::new(
                vec![
                    [2.0, 0.0],
                    [5.0, 0.0],
                    [5.0, 1.0],
                    [3.0, 1.0],
                    [3.0, 4.0],
                    [2.0, 4.0],
                ],
                vec![],
            )
            .unwrap(),
        )
        .unwrap();
        let volume = PI * ((25.0 - 4.0) + (9.0 - 4.0) * 3.0);
        let area = PI * (2.0 * 21.0) + 2.0 * PI * (2.0 * 4.0 + 5.0 * 1.0 + 3.0 * 3.0);
        check_3d(&ring, 0.01, area, volume);
        assert!(matches!(ring.inset(0.1), Err(SolidError::NoInset)));
    }

    #[test]
    fn triangles_on_a_cylinder_are_near_equilateral() {
        let c = Revolved::cylinder(1.0, 3.0).unwrap();
        let soup = c.tessellate(&super::super::testing::fineness(&c, 1e-3));
        for e in (0..soup.elements.len()).filter(|&e| soup.patch[e] == 0) {
            let p = soup.corners(e);
            let sides: [f64; 3] = std::array::from_fn(|k| distance(&p[k], &p[(k + 1) % 3]));
            let longest = sides.into_iter().fold(0.0, f64::max);
            let shortest = sides.into_iter().fold(f64::INFINITY, f64::min);
            assert!(longest / shortest < 1.2, "{sides:?}");
        }
    }

    #[test]
    fn insets_lie_a_wall_below_the_surface() {
        check_inset(&Revolved::cylinder(0.01, 0.03).unwrap(), 0.002);
        check_inset(&Revolved::frustum(0.01, 0.004, 0.03).unwrap(), 0.002);
        check_inset(&Revolved::frustum(0.01, 0.0, 0.03).unwrap(), 0.002);
        let thick = Revolved::cylinder(0.01, 0.03).unwrap().inset(0.02);
        assert!(matches!(thick, Err(SolidError::WallTooThick { .. })));
    }

    #[test]
    fn refuses_a_profile_across_the_axis() {
        let p = Polygon::new(vec![[-1.0, 0.0], [1.0, 0.0], [0.0, 1.0]], vec![]).unwrap();
        let r = Revolved::new(p);
        assert!(matches!(r, Err(SolidError::ProfileAcrossAxis { r_m }) if r_m == -1.0));
    }
}
