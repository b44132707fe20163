//! Solids: what a body is, as the grid sees it.
//!
//! A body is a boolean tree of *primitives*. Of each primitive the grid asks three things only:
//! whether a point is inside ([`Primitive::contains`]), its surface as small oriented elements
//! ([`Primitive::tessellate`]), and the true point and normal next to a point of such an element
//! ([`Primitive::project`]). The boundary of a boolean combination lies on the surfaces of its
//! primitives, so membership alone tells which part of each surface counts; no mesh boolean is
//! ever computed, and sharp edges between primitives stay sharp.
//!
//! Generic over dimension: `D = 2` for planar and axisymmetric jobs (elements are segments),
//! `D = 3` for tanks (elements are triangles). Lengths in metres.

mod ball;
mod bounds;
mod box_tree;
mod cuboid;
mod ellipsoid;
mod error;
mod extruded;
mod half_space;
#[cfg(not(all(feature = "meshes", feature = "pictures")))]
mod left_out;
mod members;
pub mod mesh_file;
mod mesh_topology;
mod placement;
mod polygon;
mod polygon_fill;
#[cfg(test)]
mod properties;
mod relief;
#[cfg(feature = "pictures")]
mod relief_picture;
mod revolved;
mod rings;
mod shape;
mod sheet;
mod shell;
mod soup;
#[cfg(test)]
mod testing;
mod torus;
mod triangle_mesh;
mod triangle_tree;
mod wire;
mod wire_parts;

pub use ball::Ball;
pub use bounds::{Bounds, Point};
pub use box_tree::BoxTree;
pub use cuboid::Cuboid;
pub use ellipsoid::Ellipsoid;
pub use error::SolidError;
pub use extruded::Extruded;
pub use half_space::HalfSpace;
#[cfg(not(feature = "pictures"))]
pub use left_out::{heights_from_bytes, heights_from_png};
pub use members::Members;
pub use placement::Placement;
pub use polygon::Polygon;
pub use relief::{Heights, Relief};
#[cfg(feature = "pictures")]
pub use relief_picture::{LARGEST_PICTURE, heights_from_bytes, heights_from_png};
pub use revolved::Revolved;
pub use shape::{Fineness, Primitive, Solid, Soup, SurfacePoint};
pub use sheet::Sheet;
pub use torus::Torus;
pub use triangle_mesh::TriangleMesh;
pub use wire::wire;
