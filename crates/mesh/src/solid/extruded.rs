//! Plates and prisms: an outline drawn out along z.

use super::bounds::{Bounds, Point};
use super::error::SolidError;
use super::error::positive;
use super::placement::Placement;
use super::polygon::{Polygon, nearest};
use super::shape::{Fineness, Primitive, Solid, Soup, SurfacePoint};

/// An outline drawn out from z = 0 to a height. The smooth runs of the outline are patches 0, 1,
/// ...; then follow the bottom and the top.
#[derive(Clone, Debug)]
pub struct Extruded {
    outline: Polygon,
    height_m: f64,
}

impl Extruded {
    /// Draws an outline in (x, y) out to `height_m`.
    ///
    /// # Errors
    /// [`SolidError::NotPositive`] for the height.
    pub fn new(outline: Polygon, height_m: f64) -> Result<Self, SolidError> {
        Ok(Self {
            outline,
            height_m: positive("the height", height_m)?,
        })
    }

    /// Distance beyond the nearer of the two end planes, negative between them.
    fn beyond(&self, z: f64) -> f64 {
        (-z).max(z - self.height_m)
    }
}

impl Primitive<3> for Extruded {
    fn bounds(&self) -> Bounds<3> {
        let b = self.outline.bounds();
        Bounds {
            low: [b.low[0], b.low[1], 0.0],
            high: [b.high[0], b.high[1], self.height_m],
        }
    }

    fn contains(&self, x: &Point<3>) -> bool {
        self.beyond(x[2]) <= 0.0 && self.outline.contains(&[x[0], x[1]])
    }

    fn signed_distance(&self, x: &Point<3>) -> f64 {
        let (side, end) = (
            self.outline.signed_distance(&[x[0], x[1]]),
            self.beyond(x[2]),
        );
        if side.max(end) <= 0.0 {
            side.max(end)
        } else {
            side.max(0.0).hypot(end.max(0.0))
        }
    }

    fn tessellate(&self, _fineness: &Fineness<3>) -> Soup<3> {
        let mut soup = Soup::default();
        for z in [0.0, self.height_m] {
            soup.vertices
                .extend(self.outline.points().map(|p| [p[0], p[1], z]));
        }
        let n = (soup.vertices.len() / 2) as u32;
        let edges = self.outline.edges();
        let mut ring_start = 0;
        for (i, edge) in edges.iter().enumerate() {
            // The last edge of a ring goes back to the ring's first point.
            let closes = edges.get(i + 1).is_none_or(|next| next.a != edge.b);
            let a = i as u32;
            let b = if closes { ring_start } else { a + 1 };
            if closes {
                ring_start = a + 1;
            }
            soup.element([a, b, b + n], edge.patch, 1.0);
            soup.element([a, b + n, a + n], edge.patch, 1.0);
        }
        let bottom = self.outline.patches();
        for [a, b, c] in self.outline.triangles() {
            soup.element([a, c, b], bottom, 1.0);
            soup.element([a + n, b + n, c + n], bottom + 1, 1.0);
        }
        soup
    }

    fn project(&self, patch: u16, x: &Point<3>, element_normal: &Point<3>) -> SurfacePoint<3> {
        let bottom = self.outline.patches();
        if patch >= bottom {
            let top = patch > bottom;
            return SurfacePoint {
                point: [x[0], x[1], if top { self.height_m } else { 0.0 }],
                normal: [0.0, 0.0, if top { 1.0 } else { -1.0 }],
            };
        }
        match nearest(self.outline.edges(), &[x[0], x[1]], Some(patch)) {
            Some(near) => SurfacePoint {
                point: [near.point[0], near.point[1], x[2]],
                normal: [near.normal[0], near.normal[1], 0.0],
            },
            None => SurfacePoint {
                point: *x,
                normal: *element_normal,
            },
        }
    }

    /// Exact for convex outlines without holes.
    fn inset(&self, wall_m: f64) -> Result<Solid<3>, SolidError> {
        let height_m = self.height_m - 2.0 * wall_m;
        if height_m <= 0.0 {
            return Err(SolidError::WallTooThick {
                wall_m,
                limit_m: 0.5 * self.height_m,
            });
        }
        let inner = Self::new(self.outline.cut_back(wall_m, |_| true)?, height_m)?;
        Ok(Solid::new(inner).placed(&Placement::translation([0.0, 0.0, wall_m])?))
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{check_3d, check_inset};
    use super::*;

    #[test]
    fn plate_with_two_holes() {
        let square = |x: f64, y: f64, s: f64| vec![[x, y], [x + s, y], [x + s, y + s], [x, y + s]];
        let plate = Polygon::new(
            square(0.0, 0.0, 10.0),
            vec![square(1.0, 1.0, 2.0), square(5.0, 5.0, 3.0)],
        )
        .unwrap();
        let area = 100.0 - 4.0 - 9.0;
        let e = Extruded::new(plate, 2.0).unwrap();
        check_3d(&e, 1e-6, 2.0 * area + 2.0 * (40.0 + 8.0 + 12.0), 2.0 * area);
        assert!(matches!(e.inset(0.1), Err(SolidError::NoInset)));
    }

    #[test]
    fn triangular_prism_and_its_hollow() {
        let triangle = Polygon::new(vec![[0.0, 0.0], [3.0, 0.0], [0.0, 4.0]], vec![]).unwrap();
        let e = Extruded::new(triangle, 5.0).unwrap();
        check_3d(&e, 1e-6, 12.0 + 12.0 * 5.0, 30.0);
        check_inset(&e, 0.4);
        assert!(matches!(e.inset(1.2), Err(SolidError::WallTooThick { .. })));
        let flat = Extruded::new(e.outline.clone(), 0.0);
        assert!(matches!(flat, Err(SolidError::NotPositive { .. })));
    }
}
