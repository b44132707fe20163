//! Boxes (3-D) and rectangles (2-D) along the axes.

use super::bounds::{Bounds, Point};
use super::error::SolidError;
use super::error::{finite, positive};
use super::shape::{Fineness, Primitive, Solid, Soup, SurfacePoint};
use ionfall_numerics::vector::axis;

/// A box (`D = 3`) or rectangle (`D = 2`). Patch `2 k` is its low side along axis `k`, `2 k + 1`
/// the high one.
#[derive(Clone, Debug)]
pub struct Cuboid<const D: usize> {
    bounds: Bounds<D>,
}

impl<const D: usize> Cuboid<D> {
    /// Between two opposite corners, metres.
    ///
    /// # Errors
    /// [`SolidError::NotPositive`] if a side has no length.
    pub fn new(low: Point<D>, high: Point<D>) -> Result<Self, SolidError> {
        finite("a coordinate of the low corner", low)?;
        finite("a coordinate of the high corner", high)?;
        for k in 0..D {
            positive("a side of the box", high[k] - low[k])?;
        }
        Ok(Self {
            bounds: Bounds { low, high },
        })
    }

    /// With its low corner at the origin.
    ///
    /// # Errors
    /// [`SolidError::NotPositive`] if a side has no length.
    pub fn sized(sides_m: Point<D>) -> Result<Self, SolidError> {
        Self::new([0.0; D], sides_m)
    }
}

impl<const D: usize> Primitive<D> for Cuboid<D> {
    fn bounds(&self) -> Bounds<D> {
        self.bounds
    }

    fn contains(&self, x: &Point<D>) -> bool {
        self.bounds.contains(x)
    }

    fn signed_distance(&self, x: &Point<D>) -> f64 {
        let over: Point<D> =
            std::array::from_fn(|k| (self.bounds.low[k] - x[k]).max(x[k] - self.bounds.high[k]));
        let deepest = over.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if deepest <= 0.0 {
            return deepest;
        }
        over.iter().map(|d| d.max(0.0).powi(2)).sum::<f64>().sqrt()
    }

    fn is_convex(&self) -> bool {
        true
    }

    fn tessellate(&self, _fineness: &Fineness<D>) -> Soup<D> {
        let mut soup = Soup::default();
        // Corner c is high along axis k if bit k of c is set.
        for c in 0..1_usize << D {
            let high = |k: usize| c >> k & 1 == 1;
            soup.vertex(std::array::from_fn(|k| {
                if high(k) {
                    self.bounds.high[k]
                } else {
                    self.bounds.low[k]
                }
            }));
        }
        for k in 0..D {
            let (u, v) = (1 << ((k + 1) % D), 1 << ((k + 2) % D));
            let fan = [[0, u, u | v], [0, u | v, v]];
            for side in 0..2 {
                // (k, u, v) is right-handed; in the plane only (0, 1) is.
                let outward = (side == 1) != (D == 2 && k == 1);
                for t in &fan[..D - 1] {
                    let mut corners: [u32; D] =
                        std::array::from_fn(|i| ((side << k) + t[i]) as u32);
                    if !outward {
                        corners.swap(0, 1);
                    }
                    soup.element(corners, (2 * k + side) as u16, 1.0);
                }
            }
        }
        soup
    }

    fn project(&self, patch: u16, x: &Point<D>, _element_normal: &Point<D>) -> SurfacePoint<D> {
        let (k, high) = (usize::from(patch / 2), patch % 2 == 1);
        let mut point = *x;
        point[k] = if high {
            self.bounds.high[k]
        } else {
            self.bounds.low[k]
        };
        SurfacePoint {
            point,
            normal: axis(k, if high { 1.0 } else { -1.0 }),
        }
    }

    fn inset(&self, wall_m: f64) -> Result<Solid<D>, SolidError> {
        let b = self.bounds;
        let limit_m = (0..D)
            .map(|k| 0.5 * (b.high[k] - b.low[k]))
            .fold(f64::INFINITY, f64::min);
        if wall_m >= limit_m {
            return Err(SolidError::WallTooThick { wall_m, limit_m });
        }
        let inner = b.grown(-wall_m);
        Ok(Solid::new(Self::new(inner.low, inner.high)?))
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check_2d, check_3d, check_inset, fineness};
    use super::*;

    #[test]
    fn box_and_rectangle() {
        let b = Cuboid::new([-1.0, 0.0, 2.0], [1.0, 3.0, 6.0]).unwrap();
        check_3d(&b, 1e-6, 2.0 * (6.0 + 8.0 + 12.0), 24.0);
        assert_eq!(b.tessellate(&fineness(&b, 1.0)).elements.len(), 12);
        check_inset(&b, 0.5);
        let r = Cuboid::sized([2.0, 3.0]).unwrap();
        check_2d(&r, 1e-6, 10.0, 6.0);
        check_inset(&r, 0.5);
        assert_eq!(r.signed_distance(&[5.0, 7.0]), 5.0);
    }

    #[test]
    fn refuses_flat_boxes_and_thick_walls() {
        assert!(matches!(
            Cuboid::new([0.0; 3], [1.0, 1.0, 0.0]),
            Err(SolidError::NotPositive { .. })
        ));
        let b = Cuboid::sized([1.0, 2.0, 3.0]).unwrap();
        assert!(matches!(
            b.inset(0.6),
            Err(SolidError::WallTooThick { limit_m: 0.5, .. })
        ));
    }
}
