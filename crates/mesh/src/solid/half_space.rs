//! Half-spaces (3-D) and half-planes (2-D): everything on one side of a plane or line.

use super::bounds::{Bounds, Point};
use super::error::SolidError;
use super::error::finite;
use super::shape::{Fineness, Primitive, Solid, Soup, SurfacePoint};
use ionfall_numerics::vector::{
    add_scaled, axis, cross, distance, dot, norm, scaled, sub, unit_or,
};

/// All points with `normal . x <= offset`. Unbounded: its surface is cut off at
/// [`Fineness::within`].
#[derive(Clone, Debug)]
pub struct HalfSpace<const D: usize> {
    normal: Point<D>,
    offset_m: f64,
}

impl<const D: usize> HalfSpace<D> {
    /// The side of the plane through `point` (metres) that `normal` points away from.
    ///
    /// # Errors
    /// [`SolidError::NoDirection`] if the normal is zero, [`SolidError::OutOfRange`] if a number
    /// is not finite.
    pub fn new(point: Point<D>, normal: Point<D>) -> Result<Self, SolidError> {
        finite("a coordinate of the point", point)?;
        finite("a component of the normal", normal)?;
        let length = norm(&normal);
        if length == 0.0 {
            return Err(SolidError::NoDirection { what: "the normal" });
        }
        let normal = scaled(&normal, 1.0 / length);
        Ok(Self {
            normal,
            offset_m: dot(&normal, &point),
        })
    }

    /// Corners of the plane's section of a box, in turning order (3-D), or its two ends.
    fn section(&self, within: &Bounds<D>) -> Vec<Point<D>> {
        let corner = |c: usize| -> Point<D> {
            std::array::from_fn(|k| {
                if c >> k & 1 == 1 {
                    within.high[k]
                } else {
                    within.low[k]
                }
            })
        };
        let mut points = Vec::new();
        for c in 0..1_usize << D {
            for k in (0..D).filter(|k| c >> k & 1 == 0) {
                let (a, b) = (corner(c), corner(c | 1 << k));
                let (da, db) = (self.signed_distance(&a), self.signed_distance(&b));
                if (da > 0.0) != (db > 0.0) {
                    points.push(add_scaled(&a, da / (da - db), &sub(&b, &a)));
                }
            }
        }
        let Some(&first) = points.first() else {
            return points;
        };
        // Two directions in the plane, so that (u, v, normal) is right-handed; in 2-D the line
        // runs along (-n_y, n_x).
        let (u, v) = self.directions();
        let middle = scaled(
            &points.iter().fold([0.0; D], |s, p| add_scaled(&s, 1.0, p)),
            1.0 / points.len() as f64,
        );
        let order = |p: &Point<D>| {
            let x = sub(p, if D == 2 { &first } else { &middle });
            if D == 2 {
                dot(&x, &u)
            } else {
                dot(&x, &v).atan2(dot(&x, &u))
            }
        };
        points.sort_by(|p, q| order(p).total_cmp(&order(q)));
        let tiny = 1e-12 * distance(&within.low, &within.high);
        points.dedup_by(|p, q| distance(p, q) < tiny);
        points
    }

    fn directions(&self) -> (Point<D>, Point<D>) {
        let n = &self.normal;
        let (mut u, mut v) = ([0.0; D], [0.0; D]);
        if D == 2 {
            (u[0], u[1]) = (-n[1], n[0]);
        } else {
            let n = [n[0], n[1], n[2]];
            let thinnest = (0..3)
                .min_by(|&i, &j| n[i].abs().total_cmp(&n[j].abs()))
                .unwrap_or(0);
            let a = cross(&axis(thinnest, 1.0), &n);
            u.copy_from_slice(&a);
            v.copy_from_slice(&cross(&n, &a));
            u = unit_or(&u, &u);
            v = unit_or(&v, &v);
        }
        (u, v)
    }
}

impl<const D: usize> Primitive<D> for HalfSpace<D> {
    fn bounds(&self) -> Bounds<D> {
        let mut b = Bounds {
            low: [f64::NEG_INFINITY; D],
            high: [f64::INFINITY; D],
        };
        for k in 0..D {
            if self.normal[k] == 1.0 {
                b.high[k] = self.offset_m;
            } else if self.normal[k] == -1.0 {
                b.low[k] = -self.offset_m;
            }
        }
        b
    }

    fn contains(&self, x: &Point<D>) -> bool {
        self.signed_distance(x) < 0.0
    }

    fn signed_distance(&self, x: &Point<D>) -> f64 {
        dot(&self.normal, x) - self.offset_m
    }

    fn tessellate(&self, fineness: &Fineness<D>) -> Soup<D> {
        let mut soup = Soup::default();
        let b = fineness.within;
        let size = distance(&b.low, &b.high);
        if !size.is_finite() || (0..D).any(|k| b.low[k] > b.high[k]) {
            return soup;
        }
        // A little larger, so that a plane in a side of the box is not lost.
        soup.vertices = self.section(&b.grown(1e-6 * size));
        let n = soup.vertices.len() as u32;
        for i in 1..(n + 2).saturating_sub(D as u32) {
            soup.element(std::array::from_fn(|k| [0, i, i + 1][k]), 0, 1.0);
        }
        soup
    }

    fn project(&self, _patch: u16, x: &Point<D>, _element_normal: &Point<D>) -> SurfacePoint<D> {
        SurfacePoint {
            point: add_scaled(x, -self.signed_distance(x), &self.normal),
            normal: self.normal,
        }
    }

    fn inset(&self, wall_m: f64) -> Result<Solid<D>, SolidError> {
        Ok(Solid::new(Self {
            normal: self.normal,
            offset_m: self.offset_m - wall_m,
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn within<const D: usize>() -> Fineness<D> {
        Fineness {
            sagitta_m: 1e-3,
            within: Bounds {
                low: [-1.0; D],
                high: [1.0; D],
            },
        }
    }

    #[test]
    fn flat_sections_have_the_area_of_the_box_side() {
        for k in 0..3 {
            for height in [0.0, 0.3, 1.0, -1.0] {
                for sign in [-1.0, 1.0] {
                    let h = HalfSpace::<3>::new(axis(k, height), axis(k, sign)).unwrap();
                    let soup = h.tessellate(&within());
                    let total = (0..soup.elements.len())
                        .fold([0.0; 3], |s, e| add_scaled(&s, 1.0, &soup.area_vector(e)));
                    assert!((total[k] - sign * 4.0).abs() < 1e-4, "{total:?}");
                    assert_eq!(soup.elements.len(), 2);
                }
            }
        }
    }

    #[test]
    fn infinite_only_where_it_is() {
        let h = HalfSpace::<2>::new([0.0, 3.0], [0.0, 2.0]).unwrap();
        assert_eq!(h.bounds().high, [f64::INFINITY, 3.0]);
        let unbounded = Fineness {
            sagitta_m: 1.0,
            within: h.bounds(),
        };
        assert!(h.tessellate(&unbounded).elements.is_empty());
        assert!(HalfSpace::<2>::new([0.0; 2], [0.0; 2]).is_err());
    }

    proptest! {
        #[test]
        fn sections_lie_in_the_plane_and_face_outwards(n in prop::array::uniform3(-1.0..1.0),
                                                      d in -0.5..0.5) {
            prop_assume!(norm(&n) > 0.1);
            let n = unit_or(&n, &n);
            let h = HalfSpace::<3>::new(scaled(&n, d), n).unwrap();
            let soup = h.tessellate(&within());
            prop_assert!(soup.elements.len() <= 4 && !soup.elements.is_empty());
            for e in 0..soup.elements.len() {
                prop_assert!(dot(&soup.area_vector(e), &n) > 0.0);
                for c in soup.corners(e) {
                    prop_assert!(h.signed_distance(&c).abs() < 1e-12);
                }
            }
            let line = HalfSpace::<2>::new([0.1 * d, d], [n[0] + 2.0, n[1]]).unwrap();
            let soup = line.tessellate(&within());
            prop_assert_eq!(soup.elements.len(), 1);
            prop_assert!(dot(&soup.area_vector(0), &line.normal) > 0.0);
        }
    }
}
