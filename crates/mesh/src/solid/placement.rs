//! Moving shapes about: x -> s Q x + t, with a rotation or mirror Q, a uniform scale s and a
//! shift t.
//!
//! Such maps keep angles, so distances scale by s and normals turn by Q. A mirror turns triangles
//! inside out, which is put right by swapping two of their corners.

use super::bounds::{Bounds, Point};
use super::error::SolidError;
use super::error::{finite, positive};
use super::shape::{Fineness, Primitive, Solid, Soup, SurfacePoint};
use ionfall_numerics::vector::{self, add, cross, dot, norm, scaled, sub, unit_or};
use std::sync::Arc;

/// A similarity of the plane or of space. Built step by step: `a.then(&b)` does `a` first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement<const D: usize> {
    /// Rows of Q.
    turn: [Point<D>; D],
    mirrored: bool,
    scale: f64,
    shift_m: Point<D>,
}

impl<const D: usize> Placement<D> {
    /// Leaves everything where it is.
    pub fn identity() -> Self {
        Self {
            turn: std::array::from_fn(|k| vector::axis(k, 1.0)),
            mirrored: false,
            scale: 1.0,
            shift_m: [0.0; D],
        }
    }

    /// Shifts by a vector, metres.
    ///
    /// # Errors
    /// [`SolidError::OutOfRange`] if it is not finite.
    pub fn translation(shift_m: Point<D>) -> Result<Self, SolidError> {
        Ok(Self {
            shift_m: finite("a component of the shift", shift_m)?,
            ..Self::identity()
        })
    }

    /// Enlarges about the origin.
    ///
    /// # Errors
    /// [`SolidError::NotPositive`] if the factor is not positive.
    pub fn scaling(factor: f64) -> Result<Self, SolidError> {
        Ok(Self {
            scale: positive("the scale", factor)?,
            ..Self::identity()
        })
    }

    /// Mirrors in the plane (line) through the origin with this normal.
    ///
    /// # Errors
    /// [`SolidError::NoDirection`] or [`SolidError::OutOfRange`] for a useless normal.
    pub fn mirror(normal: Point<D>) -> Result<Self, SolidError> {
        let n = direction("the normal of the mirror", normal)?;
        Ok(Self {
            turn: std::array::from_fn(|i| {
                std::array::from_fn(|j| f64::from(u8::from(i == j)) - 2.0 * n[i] * n[j])
            }),
            mirrored: true,
            ..Self::identity()
        })
    }

    /// This placement, then another.
    pub fn then(&self, next: &Self) -> Self {
        Self {
            turn: std::array::from_fn(|i| {
                std::array::from_fn(|j| (0..D).map(|k| next.turn[i][k] * self.turn[k][j]).sum())
            }),
            mirrored: self.mirrored != next.mirrored,
            scale: self.scale * next.scale,
            shift_m: next.apply(&self.shift_m),
        }
    }

    /// The same motion, but about a point instead of the origin.
    ///
    /// # Errors
    /// [`SolidError::OutOfRange`] if the point is not finite.
    pub fn about(&self, point: Point<D>) -> Result<Self, SolidError> {
        let back = Self::translation(scaled(&point, -1.0))?;
        Ok(back.then(self).then(&Self::translation(point)?))
    }

    /// Where a point goes.
    pub fn apply(&self, x: &Point<D>) -> Point<D> {
        add(&scaled(&self.turned(x), self.scale), &self.shift_m)
    }

    /// Where a point came from.
    pub fn undo(&self, x: &Point<D>) -> Point<D> {
        self.turned_back(&scaled(&sub(x, &self.shift_m), 1.0 / self.scale))
    }

    /// Where a direction points afterwards.
    pub fn turned(&self, v: &Point<D>) -> Point<D> {
        std::array::from_fn(|i| dot(&self.turn[i], v))
    }

    /// Where a direction pointed before.
    pub fn turned_back(&self, v: &Point<D>) -> Point<D> {
        std::array::from_fn(|j| (0..D).map(|i| self.turn[i][j] * v[i]).sum())
    }

    /// The enlargement.
    pub fn scale(&self) -> f64 {
        self.scale
    }

    /// The box around the image of a box (which may be infinite), or around its origin.
    fn image(&self, b: &Bounds<D>, backwards: bool) -> Bounds<D> {
        if (0..D).any(|k| b.low[k] > b.high[k]) {
            return Bounds::EMPTY;
        }
        let coefficient = |i: usize, k: usize| {
            if backwards {
                self.turn[k][i] / self.scale
            } else {
                self.turn[i][k] * self.scale
            }
        };
        let offset = if backwards {
            scaled(&self.turned_back(&self.shift_m), -1.0 / self.scale)
        } else {
            self.shift_m
        };
        let extreme = |i: usize, highest: bool| {
            // Zero times infinity must not spoil the sum.
            (0..D)
                .map(|k| (coefficient(i, k), k))
                .filter(|(c, _)| *c != 0.0)
                .map(|(c, k)| {
                    c * if (c > 0.0) == highest {
                        b.high[k]
                    } else {
                        b.low[k]
                    }
                })
                .sum::<f64>()
                + offset[i]
        };
        Bounds {
            low: std::array::from_fn(|i| extreme(i, false)),
            high: std::array::from_fn(|i| extreme(i, true)),
        }
    }
}

/// Sine and cosine that are exact at quarter turns, so that sides stay flat to the axes.
fn sin_cos(angle_rad: f64) -> (f64, f64) {
    let clean = |x: f64| {
        if (x - x.round()).abs() < 1e-15 {
            x.round()
        } else {
            x
        }
    };
    let (sin, cos) = angle_rad.sin_cos();
    (clean(sin), clean(cos))
}

fn direction<const D: usize>(what: &'static str, v: Point<D>) -> Result<Point<D>, SolidError> {
    let v = finite(what, v)?;
    if norm(&v) > 0.0 {
        Ok(unit_or(&v, &v))
    } else {
        Err(SolidError::NoDirection { what })
    }
}

impl Placement<2> {
    /// Turns counter-clockwise about the origin, radians.
    ///
    /// # Errors
    /// [`SolidError::OutOfRange`] if the angle is not finite.
    pub fn rotation(angle_rad: f64) -> Result<Self, SolidError> {
        let [angle] = finite("the angle", [angle_rad])?;
        let (sin, cos) = sin_cos(angle);
        Ok(Self {
            turn: [[cos, -sin], [sin, cos]],
            ..Self::identity()
        })
    }
}

impl Placement<3> {
    /// Turns about an axis through the origin by the right-hand rule, radians (Rodrigues'
    /// formula).
    ///
    /// # Errors
    /// [`SolidError::NoDirection`] or [`SolidError::OutOfRange`] for useless numbers.
    pub fn rotation(axis: Point<3>, angle_rad: f64) -> Result<Self, SolidError> {
        let n = direction("the axis of rotation", axis)?;
        let [angle] = finite("the angle", [angle_rad])?;
        let (sin, cos) = sin_cos(angle);
        let image = |k: usize| {
            let e = vector::axis(k, 1.0);
            let across = cross(&n, &e);
            std::array::from_fn::<f64, 3, _>(|i| {
                cos * e[i] + sin * across[i] + (1.0 - cos) * dot(&n, &e) * n[i]
            })
        };
        let columns = [image(0), image(1), image(2)];
        Ok(Self {
            turn: std::array::from_fn(|i| std::array::from_fn(|j| columns[j][i])),
            ..Self::identity()
        })
    }

    /// Turns the z axis into a direction, the short way.
    ///
    /// # Errors
    /// [`SolidError::NoDirection`] or [`SolidError::OutOfRange`] for a useless direction.
    pub fn z_to(toward: Point<3>) -> Result<Self, SolidError> {
        let d = direction("the direction", toward)?;
        let axis = cross(&[0.0, 0.0, 1.0], &d);
        let angle = norm(&axis).atan2(d[2]);
        Self::rotation(unit_or(&axis, &[1.0, 0.0, 0.0]), angle)
    }
}

/// A primitive seen through a placement.
#[derive(Clone, Debug)]
struct Placed<const D: usize> {
    primitive: Arc<dyn Primitive<D>>,
    placement: Placement<D>,
}

impl<const D: usize> Primitive<D> for Placed<D> {
    fn bounds(&self) -> Bounds<D> {
        self.placement.image(&self.primitive.bounds(), false)
    }

    fn contains(&self, x: &Point<D>) -> bool {
        self.primitive.contains(&self.placement.undo(x))
    }

    fn signed_distance(&self, x: &Point<D>) -> f64 {
        self.placement.scale * self.primitive.signed_distance(&self.placement.undo(x))
    }

    fn is_clear(&self, x: &Point<D>, radius_m: f64) -> bool {
        let radius = radius_m / self.placement.scale;
        self.primitive.is_clear(&self.placement.undo(x), radius)
    }

    fn is_convex(&self) -> bool {
        self.primitive.is_convex()
    }

    fn tessellate(&self, fineness: &Fineness<D>) -> Soup<D> {
        let mut soup = self.primitive.tessellate(&Fineness {
            sagitta_m: fineness.sagitta_m / self.placement.scale,
            within: self.placement.image(&fineness.within, true),
        });
        for v in &mut soup.vertices {
            *v = self.placement.apply(v);
        }
        if self.placement.mirrored {
            for e in &mut soup.elements {
                e.swap(0, 1);
            }
        }
        soup
    }

    fn project(&self, patch: u16, x: &Point<D>, element_normal: &Point<D>) -> SurfacePoint<D> {
        let p = &self.placement;
        let on = self
            .primitive
            .project(patch, &p.undo(x), &p.turned_back(element_normal));
        SurfacePoint {
            point: p.apply(&on.point),
            normal: p.turned(&on.normal),
        }
    }

    fn inset(&self, wall_m: f64) -> Result<Solid<D>, SolidError> {
        let scale = self.placement.scale;
        match self.primitive.inset(wall_m / scale) {
            Ok(inner) => Ok(inner.placed(&self.placement)),
            Err(SolidError::WallTooThick { limit_m, .. }) => Err(SolidError::WallTooThick {
                wall_m,
                limit_m: scale * limit_m,
            }),
            Err(other) => Err(other),
        }
    }
}

impl<const D: usize> Solid<D> {
    /// The body moved.
    pub fn placed(&self, placement: &Placement<D>) -> Self {
        let all = |parts: &[Self]| parts.iter().map(|s| s.placed(placement)).collect();
        match self {
            Self::Primitive(p) => Self::new(Placed {
                primitive: p.clone(),
                placement: *placement,
            }),
            Self::Union(parts) => Self::Union(all(parts)),
            Self::Intersection(parts) => Self::Intersection(all(parts)),
            Self::Difference(from, parts) => {
                Self::Difference(Box::new(from.placed(placement)), all(parts))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check_2d, check_3d, check_inset};
    use super::super::{Ball, Cuboid, Ellipsoid, HalfSpace, Revolved};
    use super::*;
    use ionfall_numerics::vector::{axis, distance};
    use proptest::prelude::*;
    use std::f64::consts::PI;

    fn only<const D: usize>(s: &Solid<D>) -> Arc<dyn Primitive<D>> {
        s.primitives()[0].clone()
    }

    fn motion() -> impl Strategy<Value = Placement<3>> {
        let vector = || prop::array::uniform3(-1.0..1.0_f64);
        (
            vector(),
            -7.0..7.0_f64,
            vector(),
            0.2..5.0_f64,
            vector(),
            any::<bool>(),
        )
            .prop_filter("directions", |(a, _, m, ..)| norm(a) > 0.1 && norm(m) > 0.1)
            .prop_map(|(a, angle, m, scale, shift, mirrored)| {
                let p = Placement::<3>::rotation(a, angle)
                    .unwrap()
                    .then(&Placement::scaling(scale).unwrap())
                    .then(&Placement::translation(shift).unwrap());
                if mirrored {
                    p.then(&Placement::mirror(m).unwrap())
                } else {
                    p
                }
            })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]
        #[test]
        fn placed_solids_keep_their_measures(p in motion(), x in prop::array::uniform3(-3.0..3.0)) {
            prop_assert!(distance(&p.undo(&p.apply(&x)), &x) < 1e-12);
            let s = p.scale();
            let placed = only(&Solid::new(Cuboid::sized([1.0, 2.0, 3.0]).unwrap()).placed(&p));
            check_3d(placed.as_ref(), 1e-9, 22.0 * s * s, 6.0 * s.powi(3));
            check_inset(placed.as_ref(), 0.2 * s);
            let placed = only(&Solid::new(Revolved::cylinder(1.0, 1.0).unwrap()).placed(&p));
            check_3d(placed.as_ref(), 1e-2 * s, 4.0 * PI * s * s, PI * s.powi(3));
        }
    }

    #[test]
    fn quarter_turns_are_exact() {
        let b = Solid::new(Cuboid::sized([1.0, 2.0, 3.0]).unwrap());
        let turned = b.placed(&Placement::<3>::rotation([0.0, 0.0, 1.0], 0.5 * PI).unwrap());
        assert_eq!(
            turned.bounds(),
            Bounds {
                low: [-2.0, 0.0, 0.0],
                high: [0.0, 1.0, 3.0]
            }
        );
        let r = Solid::new(Cuboid::sized([1.0, 2.0]).unwrap());
        let turned = r.placed(&Placement::<2>::rotation(-PI).unwrap());
        assert_eq!(
            turned.bounds(),
            Bounds {
                low: [-1.0, -2.0],
                high: [0.0, 0.0]
            }
        );
        check_2d(only(&turned).as_ref(), 1e-9, 6.0, 2.0);
    }

    #[test]
    fn order_matters_and_is_as_written() {
        let shift = Placement::<2>::translation([1.0, 0.0]).unwrap();
        let turn = Placement::<2>::rotation(0.5 * PI).unwrap();
        assert_eq!(shift.then(&turn).apply(&[0.0, 0.0]), [0.0, 1.0]);
        assert_eq!(turn.then(&shift).apply(&[0.0, 0.0]), [1.0, 0.0]);
        assert_eq!(
            turn.about([1.0, 0.0]).unwrap().apply(&[2.0, 0.0]),
            [1.0, 1.0]
        );
    }

    #[test]
    fn mirrored_plane_ellipse_keeps_its_orientation() {
        let e = Solid::new(Ellipsoid::new([1.0, 0.0], [2.0, 2.0]).unwrap());
        let m = e.placed(&Placement::mirror([1.0, 1.0]).unwrap());
        check_2d(only(&m).as_ref(), 1e-3, 4.0 * PI, 4.0 * PI);
    }

    #[test]
    fn half_spaces_stay_unbounded() {
        let floor = Solid::new(HalfSpace::<3>::new([0.0; 3], [0.0, 0.0, 1.0]).unwrap());
        let raised = floor.placed(&Placement::translation([0.0, 0.0, 2.0]).unwrap());
        assert_eq!(raised.bounds().high, [f64::INFINITY, f64::INFINITY, 2.0]);
        let tilted = floor.placed(&Placement::<3>::rotation([1.0, 0.0, 0.0], 0.3).unwrap());
        assert_eq!(tilted.bounds().low, [f64::NEG_INFINITY; 3]);
        let soup = only(&tilted).tessellate(&Fineness {
            sagitta_m: 1.0,
            within: Bounds {
                low: [-1.0; 3],
                high: [1.0; 3],
            },
        });
        let n = soup.area_vector(0);
        assert!(n[2] > 0.0 && n[1] < 0.0, "{n:?}");
    }

    #[test]
    fn z_goes_where_told() {
        for d in [
            [0.0, 0.0, -2.0],
            [1.0, 0.0, 0.0],
            [0.3, -0.4, 0.5],
            [0.0, 0.0, 1.0],
        ] {
            let image = Placement::z_to(d).unwrap().apply(&axis(2, 1.0));
            assert!(distance(&image, &unit_or(&d, &d)) < 1e-15);
        }
        let ball = Solid::new(Ball::new([0.0, 0.0, 1.0], 0.1).unwrap());
        assert!(
            ball.placed(&Placement::z_to([0.0, 1.0, 0.0]).unwrap())
                .contains(&[0.0, 1.0, 0.0])
        );
        assert!(Placement::z_to([0.0; 3]).is_err());
        assert!(Placement::<2>::rotation(f64::NAN).is_err());
        assert!(Placement::<2>::scaling(-1.0).is_err());
    }
}
