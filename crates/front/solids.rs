//! Solids in a line each; booleans and everything else on [`Solid`] itself.
//!
//! ```
//! use ionfall::solids::{Solid, ball, cuboid};
//!
//! let bowl = Solid::Difference(
//!     Box::new(cuboid([0.0; 3], [0.1, 0.1, 0.05])?),
//!     vec![ball([0.05, 0.05, 0.05], 0.04)?],
//! );
//! assert!(bowl.contains(&[0.05, 0.05, 0.005]) && !bowl.contains(&[0.05, 0.05, 0.02]));
//! # Ok::<(), ionfall::solids::SolidError>(())
//! ```
//! A shape of one's own implements [`Primitive`]; see the example `own_shape`.

use ionfall_mesh::solid::mesh_file::{RawMesh, mend};
pub use ionfall_mesh::solid::{
    Ball, Bounds, Cuboid, Ellipsoid, Extruded, Fineness, HalfSpace, Placement, Point, Polygon,
    Primitive, Revolved, Sheet, Solid, SolidError, Soup, SurfacePoint, Torus, TriangleMesh, wire,
};

/// A box (or, with two coordinates, a rectangle) between two corners, m.
///
/// # Errors
/// A side without length.
pub fn cuboid<const D: usize>(low_m: Point<D>, high_m: Point<D>) -> Result<Solid<D>, SolidError> {
    Cuboid::new(low_m, high_m).map(Solid::new)
}

/// A ball (or disc), m.
///
/// # Errors
/// A radius that is no positive length.
pub fn ball<const D: usize>(centre_m: Point<D>, radius_m: f64) -> Result<Solid<D>, SolidError>
where
    Ball<D>: Primitive<D> + 'static,
{
    Ball::<D>::new(centre_m, radius_m).map(Solid::new)
}

/// A closed surface of triangles, m, corners counter-clockwise seen from outside; small faults are
/// mended.
///
/// # Errors
/// A surface that encloses nothing.
///
/// ```
/// use ionfall::solids::triangles;
///
/// let corners = [[0.0; 3], [0.02, 0.0, 0.0], [0.0, 0.02, 0.0], [0.0, 0.0, 0.02]];
/// let sides = [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]];
/// let pyramid = triangles(&corners, &sides)?;
/// assert!(pyramid.contains(&[0.004; 3]) && !pyramid.contains(&[0.01; 3]));
/// # Ok::<(), ionfall::solids::SolidError>(())
/// ```
pub fn triangles(corners_m: &[Point<3>], sides: &[[u32; 3]]) -> Result<Solid<3>, SolidError> {
    let raw = RawMesh {
        vertices: corners_m.to_vec(),
        triangles: sides.to_vec(),
    };
    mend(raw, 1.0).map(|(mesh, _)| Solid::new(mesh))
}
