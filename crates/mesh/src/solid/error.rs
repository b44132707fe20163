//! What can be wrong with a shape, said so that it can be mended.

use super::bounds::Point;
use thiserror::Error;

/// Why a solid could not be made.
///
/// Lengths in metres, except in the mesh errors, whose places are in the units of the file.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SolidError {
    /// A dimension that must be a positive length.
    #[error("{what} is {value}; it must be a positive number")]
    NotPositive {
        /// The dimension.
        what: &'static str,
        /// What was given, metres.
        value: f64,
    },
    /// A coordinate, angle or fraction outside its range.
    #[error("{what} is {value}; {expected}")]
    OutOfRange {
        /// The quantity.
        what: &'static str,
        /// What was given.
        value: f64,
        /// What would be accepted.
        expected: &'static str,
    },
    /// A direction of no length.
    #[error("{what} has no direction; give three numbers that are not all zero")]
    NoDirection {
        /// The vector.
        what: &'static str,
    },
    /// Too few distinct points.
    #[error("{what} has {found} distinct points; it needs at least {needed}")]
    TooFewPoints {
        /// The outline or line.
        what: &'static str,
        /// Number of distinct consecutive points.
        found: usize,
        /// Least number.
        needed: usize,
    },
    /// More points than the solids can number.
    #[error("{what} has {found} points; at most {limit} are handled: draw it with fewer points")]
    TooManyPoints {
        /// The outline.
        what: &'static str,
        /// Number found.
        found: usize,
        /// Largest number.
        limit: usize,
    },
    /// An outline that encloses nothing.
    #[error("the outline encloses no area")]
    NoArea,
    /// An outline that crosses or touches itself.
    #[error(
        "the outline crosses or touches itself near ({}, {}) m; \
         draw every ring once around without crossings",
        at[0], at[1]
    )]
    OutlineCrosses {
        /// A place of the crossing.
        at: Point<2>,
    },
    /// A hole that is not inside the outer ring, or inside another hole.
    #[error(
        "hole {hole} is not inside the outline, or lies in another hole; \
         draw separate pieces as separate shapes"
    )]
    HoleOutside {
        /// Number of the hole, from 1.
        hole: usize,
    },
    /// A profile that reaches to the other side of the axis.
    #[error("the profile has a point at r = {r_m} m; a revolved profile needs r >= 0 everywhere")]
    ProfileAcrossAxis {
        /// The radius found, metres.
        r_m: f64,
    },
    /// A torus whose tube is thicker than the ring allows.
    #[error("the tube radius {tube_m} m must be smaller than the ring radius {ring_m} m")]
    TubeTooThick {
        /// Tube radius, metres.
        tube_m: f64,
        /// Ring radius, metres.
        ring_m: f64,
    },
    /// No exact inner offset.
    #[error(
        "this shape has no exact inner offset (hollow skins are made of boxes, balls, cylinders, \
         frustums, tori, circles, rectangles, convex outlines without holes and intersections of \
         these); give the hollow as a second shape and subtract it"
    )]
    NoInset,
    /// A wall that leaves no hollow.
    #[error("a wall of {wall_m} m leaves no hollow; make it thinner than {limit_m} m")]
    WallTooThick {
        /// Wall asked for, metres.
        wall_m: f64,
        /// Wall at which the hollow vanishes, metres.
        limit_m: f64,
    },
    /// The file could not be opened or read.
    #[error("cannot read {path}: {source}")]
    Io {
        /// The file.
        path: String,
        /// What the system said.
        source: std::io::Error,
    },
    /// Not one of the known formats.
    #[error("{path}: unknown kind of file; triangle meshes are read from .stl, .obj and .ply")]
    UnknownFormat {
        /// The file.
        path: String,
    },
    /// Reading of such files is not part of this build.
    #[error("{path}: this build does not read {what}; switch on the feature `{feature}`")]
    LeftOut {
        /// The file.
        path: String,
        /// What is not read.
        what: &'static str,
        /// Feature of the crate that reads it.
        feature: &'static str,
    },
    /// A damaged or unexpected file.
    #[error("{format} file is damaged or not understood: {detail}")]
    Malformed {
        /// STL, OBJ, PLY or PNG.
        format: &'static str,
        /// What the reader found.
        detail: String,
    },
    /// No triangles.
    #[error("the mesh is empty: no triangle with an area was found")]
    EmptyMesh,
    /// NaN or infinite coordinates.
    #[error(
        "{count} vertices have coordinates that are not finite numbers (first: vertex {first}); \
         export the mesh again"
    )]
    NotFinite {
        /// How many vertices.
        count: usize,
        /// Number of the first one.
        first: usize,
    },
    /// A triangle refers to a vertex that is not there.
    #[error("a face refers to vertex {index}, but the file has only {count}")]
    NoSuchVertex {
        /// The number asked for, from 0.
        index: u64,
        /// Number of vertices.
        count: usize,
    },
    /// The surface has holes.
    #[error(
        "the mesh is not closed: {edges} edges have a triangle on one side only, around {holes} \
         holes, at {} (units of the file); close it in the drawing program (\"make watertight\", \
         \"fill holes\"), or give it as a sheet",
        places(at)
    )]
    OpenMesh {
        /// Number of open edges.
        edges: usize,
        /// Number of holes.
        holes: usize,
        /// The middle of some holes.
        at: Vec<Point<3>>,
    },
    /// Edges with an odd number of triangles above two, or sides that do not balance.
    #[error(
        "{edges} edges join more than two triangles so that inside and outside cannot be told, at \
         {} (units of the file); remove inner walls or join the bodies in the drawing program",
        places(at)
    )]
    NonManifold {
        /// Number of such edges.
        edges: usize,
        /// The middle of some.
        at: Vec<Point<3>>,
    },
    /// A one-sided surface.
    #[error(
        "the surface is one-sided (like a Moebius strip) at {} (units of the file); no inside \
         exists: repair it in the drawing program",
        places(at)
    )]
    NotOrientable {
        /// The middle of some edges where the sides disagree.
        at: Vec<Point<3>>,
    },
    /// Triangles that pass through each other.
    #[error(
        "{pairs} pairs of triangles pass through each other, at {} (units of the file); unite the \
         overlapping bodies in the drawing program (boolean union), or give them as separate files",
        places(at)
    )]
    SelfCrossing {
        /// Number of crossing pairs.
        pairs: usize,
        /// The middle of some.
        at: Vec<Point<3>>,
    },
    /// A shell inside another, both facing outwards.
    #[error(
        "a closed shell lies inside another and faces the same way, at {} (units of the file): is \
         it a cavity or a second body? Turn its normals inwards for a cavity, or remove it",
        places(at)
    )]
    NestedShell {
        /// A point on each such shell.
        at: Vec<Point<3>>,
    },
    /// A closed shell without volume, such as a face and its back.
    #[error(
        "{shells} shells enclose no volume, at {} (units of the file): remove loose faces, or give \
         foils as sheets",
        places(at)
    )]
    NoVolume {
        /// Number of such shells.
        shells: usize,
        /// A point on each.
        at: Vec<Point<3>>,
    },
    /// A picture too large to use.
    #[error(
        "the picture has {width} x {height} pixels; at most {limit} x {limit} are used: scale it \
         down first (the grid sees no finer than its smallest cell anyway)"
    )]
    PictureTooLarge {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
        /// Largest number in either direction.
        limit: u32,
    },
    /// A picture too small to make a surface.
    #[error("the picture has {width} x {height} pixels; a relief needs at least 2 x 2")]
    PictureTooSmall {
        /// Pixels across.
        width: usize,
        /// Pixels down.
        height: usize,
    },
    /// A coloured picture.
    #[error(
        "pixel ({column}, {row}) is coloured; a relief is read from greys: convert the picture to \
         greyscale"
    )]
    PictureColoured {
        /// Column from the left, from 0.
        column: usize,
        /// Row from the top, from 0.
        row: usize,
    },
    /// A picture with see-through pixels.
    #[error(
        "pixel ({column}, {row}) is transparent and so has no height: flatten the picture onto a \
         background"
    )]
    PictureTransparent {
        /// Column from the left, from 0.
        column: usize,
        /// Row from the top, from 0.
        row: usize,
    },
}

/// At most this many places are listed.
pub(crate) const PLACES: usize = 5;

/// `(x, y, z), (x, y, z)`.
pub(crate) fn places(at: &[Point<3>]) -> String {
    let list: Vec<String> = at
        .iter()
        .map(|p| format!("({:.6}, {:.6}, {:.6})", p[0], p[1], p[2]))
        .collect();
    list.join(", ")
}

/// Checks a length.
pub(crate) fn positive(what: &'static str, value: f64) -> Result<f64, SolidError> {
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(SolidError::NotPositive { what, value })
    }
}

/// Checks coordinates.
pub(crate) fn finite<const D: usize>(
    what: &'static str,
    x: Point<D>,
) -> Result<Point<D>, SolidError> {
    match x.iter().find(|c| !c.is_finite()) {
        None => Ok(x),
        Some(&value) => Err(SolidError::OutOfRange {
            what,
            value,
            expected: "it must be a finite number",
        }),
    }
}
