//! Faces and edges of a cell: which edges bound a face, how large it is, and what is open of it.
//!
//! ```text
//!        6--------7
//!       /|       /|      corner c     bit k of c: high along axis k
//!      4--------5 |      face 2 k + h      across axis k, on the low (h = 0) or high side
//!   z  | |      | |      edge 4 k + h + 2 h'   along axis k; h and h': high along the two axes
//!   | y| 2------|-3                       that follow k in the cycle x, y, z
//!   |/ |/       |/
//!   +--0--------1        children of a cell in the tree are numbered as its corners
//!        x
//! ```
//! In the plane the edges are the faces, and corners 0 to 3 are all there are.

use super::axes::{edge_number, face_axes};
use super::beyond::Rim;
use super::domain::Space;
use super::loops::holds;
use crate::solid::{Bounds, Point};
use smallvec::{SmallVec, smallvec};

/// One open stretch (2-D) or loop (3-D) of a face of a parted cell.
#[derive(Clone, Debug)]
pub struct FaceOpening {
    /// Part of the electrolyte it belongs to.
    pub part: u8,
    /// Open area, m2.
    pub area_m2: f64,
    /// Outline in absolute coordinates of the face (2-D: the two ends of the stretch).
    pub outline: Vec<[f64; 2]>,
}

impl FaceOpening {
    /// A point inside the opening.
    pub fn inner(&self) -> [f64; 2] {
        let n = self.outline.len();
        let middle = |k: usize| {
            let (p, q) = (self.outline[k], self.outline[(k + 1) % n]);
            [0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])]
        };
        for k in 0..n {
            let (p, q) = (self.outline[k], self.outline[(k + 1) % n]);
            let m = middle(k);
            let inside = [m[0] - 0.01 * (q[1] - p[1]), m[1] + 0.01 * (q[0] - p[0])];
            if n > 2 && holds(&self.outline, inside) {
                return inside;
            }
        }
        middle(0)
    }

    /// Distance of a point from the opening, zero inside.
    pub fn distance(&self, at: [f64; 2]) -> f64 {
        outline_distance(&self.outline, at)
    }
}

/// Distance of a point from what an outline holds, zero inside.
pub fn outline_distance(outline: &[[f64; 2]], at: [f64; 2]) -> f64 {
    let n = outline.len();
    if n > 2 && holds(outline, at) {
        return 0.0;
    }
    (0..n)
        .map(|k| to_segment(at, outline[k], outline[(k + 1) % n]))
        .fold(f64::INFINITY, f64::min)
}

fn to_segment(at: [f64; 2], p: [f64; 2], q: [f64; 2]) -> f64 {
    let d = [q[0] - p[0], q[1] - p[1]];
    let length = d[0] * d[0] + d[1] * d[1];
    let t = if length > 0.0 {
        (((at[0] - p[0]) * d[0] + (at[1] - p[1]) * d[1]) / length).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (at[0] - p[0] - t * d[0]).hypot(at[1] - p[1] - t * d[1])
}

/// The openings of a cut cell.
#[derive(Clone, Debug)]
pub enum Opening {
    /// No electrolyte worth a node.
    Closed,
    /// One part.
    Simple {
        /// Open area of each face, m2.
        areas_m2: [f64; 6],
        /// Middle of each opening: offset from the middle of the face over the cell size, along
        /// the axes of the face (2-D: the first only).
        offsets: [[f32; 2]; 6],
    },
    /// Several parts, or one read loop by loop.
    Parted {
        /// Number of parts.
        parts: u8,
        /// Openings of each face.
        faces: Vec<Vec<FaceOpening>>,
    },
}

impl Opening {
    /// Number of parts.
    pub fn parts(&self) -> u8 {
        match self {
            Self::Closed => 0,
            Self::Simple { .. } => 1,
            Self::Parted { parts, .. } => *parts,
        }
    }

    /// The part that holds a point of face `face`.
    pub fn part_at(&self, face: usize, at: [f64; 2]) -> Option<u8> {
        match self {
            Self::Closed => None,
            Self::Simple { .. } => Some(0),
            Self::Parted { faces, .. } => faces[face]
                .iter()
                .map(|o| (o.distance(at), o.part))
                .min_by(|x, y| x.0.total_cmp(&y.0))
                .map(|(_, part)| part),
        }
    }
}

/// A piece of a perforated sheet, or of the open surface beyond a sheet, inside one cell.
#[derive(Clone, Debug)]
pub struct Passage<const D: usize> {
    /// Number of the sheet.
    pub sheet: u16,
    /// How much more than nothing it resists, in metres of electrolyte.
    pub extra_m: f64,
    /// The rim of a sheet near it, if it lies beyond one.
    pub rim: Option<Rim>,
    /// Area, m2.
    pub area_m2: f64,
    /// Middle, metres.
    pub point: Point<D>,
    /// Unit normal of the sheet.
    pub normal: Point<D>,
    /// Parts of the cell above (where the normal points) and below.
    pub parts: [u8; 2],
}

/// The two ends of an edge, as corner numbers.
pub fn edge_ends<const D: usize>(edge: u8) -> [usize; 2] {
    let (k, high) = (usize::from(edge) / 4, [edge & 1 == 1, edge & 2 == 2]);
    let mut low = 0;
    if D == 2 {
        low |= usize::from(high[0]) << (1 - k);
    } else {
        let [u, v] = face_axes(k);
        low |= usize::from(high[0]) << u | usize::from(high[1]) << v;
    }
    [low, low | 1 << k]
}

/// Open stretches of an edge, from and to, metres.
pub type Stretches = SmallVec<[(f64, f64); 2]>;

/// Weighted measure of a stretch of a 2-D face across axis `k` at coordinate `level_m`.
pub fn measure_2d(space: Space, k: usize, level_m: f64, stretch: (f64, f64)) -> f64 {
    let length = stretch.1 - stretch.0;
    match space {
        Space::Planar { depth_m } => depth_m * length,
        Space::Axisymmetric => {
            let radius = if k == 0 {
                level_m
            } else {
                0.5 * (stretch.0 + stretch.1)
            };
            2.0 * std::f64::consts::PI * radius.max(0.0) * length
        }
        Space::Tank => length,
    }
}

/// Area of a whole face of a cell, m2.
pub fn whole_face<const D: usize>(space: Space, cell: &Bounds<D>, face: usize) -> f64 {
    let k = face / 2;
    let level = if face & 1 == 1 {
        cell.high[k]
    } else {
        cell.low[k]
    };
    if D == 2 {
        measure_2d(space, k, level, (cell.low[1 - k], cell.high[1 - k]))
    } else {
        let [u, v] = face_axes(k);
        (cell.high[u] - cell.low[u]) * (cell.high[v] - cell.low[v])
    }
}

/// The edges around a face.
pub fn rim_edges<const D: usize>(face: usize) -> SmallVec<[u8; 4]> {
    let (k, up) = (face / 2, face & 1 == 1);
    if D == 2 {
        return smallvec![edge_number(1 - k, [up, false])];
    }
    let [u, v] = face_axes(k);
    // After u come (v, k); after v come (k, u).
    smallvec![
        edge_number(u, [false, up]),
        edge_number(u, [true, up]),
        edge_number(v, [up, false]),
        edge_number(v, [up, true]),
    ]
}
