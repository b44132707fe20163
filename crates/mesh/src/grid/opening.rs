//! Open areas of the faces of cut cells, and the separate parts of electrolyte in them.
//!
//! Corner states come from the crossings themselves: a crossing tells on which side of it the edge
//! is wet. Only corners that no crossed edge touches are asked of the scene. The open length of an
//! edge follows from its crossings and corners; the open area of a face is
//!
//! ```text
//! area = contour integral of u dv = sum over wall segments + width * open length of the edge u = width
//! ```
//! (the other three edges contribute nothing), exact for flat elements and for any number of
//! surfaces in the cell. Cells whose faces are crossed more than once are read loop by loop
//! ([`super::parted`]); loops that share an open stretch of an edge belong to one part.

use super::Space;
use super::cut::{CellCut, Crossing, Facets, edge_number, face_axes, pieces};
use super::loops::holds;
use super::parted::parted;
use super::raster::Lists;
use super::scene::Scene;
use super::tree::{Cell, MAX_LEVEL, Root, decode};
use crate::solid::{Bounds, Point};
use rayon::prelude::*;
use smallvec::{SmallVec, smallvec};

/// Open fractions (sum over the faces) below this are closed.
const SLIVER: f64 = 1e-4;

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
        let n = self.outline.len();
        if n > 2 && holds(&self.outline, at) {
            return 0.0;
        }
        (0..n)
            .map(|k| to_segment(at, self.outline[k], self.outline[(k + 1) % n]))
            .fold(f64::INFINITY, f64::min)
    }
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

/// A cut cell read to the end.
#[derive(Clone, Debug)]
pub struct OpenCell<const D: usize> {
    /// Openings.
    pub opening: Opening,
    /// Wet corners, bit `k` of the corner number: high along axis `k`.
    pub wet: u8,
    /// Facets with their parts settled.
    pub facets: Facets<D>,
    /// Pieces of perforated sheets between two parts.
    pub passages: Vec<Passage<D>>,
    /// The walls did not join.
    pub tangled: bool,
}

/// A piece of a perforated sheet inside one cell.
#[derive(Clone, Debug)]
pub struct Passage<const D: usize> {
    /// Number of the sheet.
    pub sheet: u16,
    /// Area, m2.
    pub area_m2: f64,
    /// Middle, metres.
    pub point: Point<D>,
    /// Unit normal of the sheet.
    pub normal: Point<D>,
    /// Parts of the cell above (where the normal points) and below.
    pub parts: [u8; 2],
}

/// Integer corner of a cell at the deepest level, packed.
fn corner_key<const D: usize>(cell: Cell, corner: usize) -> u64 {
    let c = decode::<D>(cell.key);
    (0..D).fold(0, |key, k| {
        let at = u64::from(c[k] + (corner >> k & 1) as u32) << (MAX_LEVEL - cell.level);
        key | at << (21 * k)
    })
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

/// Open areas of all cut cells.
pub fn open<const D: usize>(
    scene: &Scene<'_, D>,
    root: &Root<D>,
    cells: &[Cell],
    lists: &Lists<u32>,
    cuts: Vec<CellCut<D>>,
) -> Vec<OpenCell<D>> {
    let wet = wet_corners(root, scene, cells, &cuts);
    cuts.into_par_iter()
        .enumerate()
        .map(|(n, cut)| open_cell(scene, &root.bounds(cells[n]), lists.list(n), cut, wet[n]))
        .collect()
}

/// Wet corners of every cut cell: told by the crossings of the edges that meet in a corner, in
/// whichever cell; a corner that no crossing tells of is asked of the scene.
fn wet_corners<const D: usize>(
    root: &Root<D>,
    scene: &Scene<'_, D>,
    cells: &[Cell],
    cuts: &[CellCut<D>],
) -> Vec<u8> {
    // Corner, cell and corner number in it, and vote: +1 wet, -1 dry, 0 for merely being there.
    let votes_of = |n: usize| {
        let mut votes = [0i8; 8];
        for run in cuts[n].crossings.chunk_by(|a, b| a.edge == b.edge) {
            let ends = edge_ends::<D>(run[0].edge);
            for (end, wet) in [(0, run[0].wet[0]), (1, run[run.len() - 1].wet[1])] {
                votes[ends[end]] += if wet { 1 } else { -1 };
            }
        }
        (0..1 << D).map(move |corner| {
            let who = (n << D | corner) as u32;
            (corner_key::<D>(cells[n], corner), who, votes[corner])
        })
    };
    let mut votes: Vec<(u64, u32, i8)> = (0..cells.len())
        .into_par_iter()
        .flat_map_iter(votes_of)
        .collect();
    votes.par_sort_unstable();
    let runs: Vec<&[(u64, u32, i8)]> = votes.chunk_by(|a, b| a.0 == b.0).collect();
    let step = root.side_m / f64::from(1u32 << MAX_LEVEL);
    let wet_at = |run: &&[(u64, u32, i8)]| match run.iter().map(|v| i32::from(v.2)).sum::<i32>() {
        0 => {
            let key = run[0].0;
            let at = |k| root.origin[k] + (key >> (21 * k) & 0x1f_ffff) as f64 * step;
            scene.is_electrolyte(&std::array::from_fn(at))
        }
        vote => vote > 0,
    };
    let wet: Vec<bool> = runs.par_iter().map(wet_at).collect();
    let mut corners = vec![0u8; cells.len()];
    for (run, _) in runs.iter().zip(&wet).filter(|(_, wet)| **wet) {
        for (_, who, _) in *run {
            corners[(who >> D) as usize] |= 1 << (who & ((1 << D) - 1));
        }
    }
    corners
}

/// Open stretches of an edge, from and to, metres.
pub type Stretches = SmallVec<[(f64, f64); 2]>;

/// Open stretches of an edge between `low_m` and `high_m`.
fn stretches(wet: [bool; 2], crossings: &[Crossing], low_m: f64, high_m: f64) -> Stretches {
    if crossings.is_empty() {
        return match wet {
            [true, true] => smallvec![(low_m, high_m)],
            [false, false] => Stretches::new(),
            // A corner within a sagitta of the surface: neither answer matters.
            _ => smallvec![(low_m, 0.5 * (low_m + high_m))],
        };
    }
    let mut out = Stretches::new();
    let mut from = low_m;
    let mut open = crossings[0].wet[0];
    for c in crossings {
        if open && c.wet[0] {
            out.push((from, c.at_m));
        }
        from = c.at_m;
        open = c.wet[1];
    }
    if open {
        out.push((from, high_m));
    }
    out
}

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

fn open_cell<const D: usize>(
    scene: &Scene<'_, D>,
    cell: &Bounds<D>,
    elements: &[u32],
    cut: CellCut<D>,
    wet: u8,
) -> OpenCell<D> {
    let space = scene.domain.space;
    let on_edge = |edge: u8| {
        let from = cut.crossings.partition_point(|c| c.edge < edge);
        let to = cut.crossings.partition_point(|c| c.edge <= edge);
        &cut.crossings[from..to]
    };
    let open_on = |edge: u8| {
        let k = usize::from(edge) / 4;
        let ends = edge_ends::<D>(edge).map(|c| wet >> c & 1 == 1);
        stretches(ends, on_edge(edge), cell.low[k], cell.high[k])
    };
    let mut areas_m2 = [0.0; 6];
    let mut offsets = [[0.0; 2]; 6];
    for face in 0..2 * D {
        let (area, middle) = open_face(space, cell, face, &cut.contour[face], &open_on);
        areas_m2[face] = area.clamp(0.0, whole_face(space, cell, face));
        offsets[face] = middle;
    }
    let crossed = |face: usize| -> usize {
        rim_edges::<D>(face)
            .into_iter()
            .map(|e| on_edge(e).len())
            .sum()
    };
    let simple = !cut.sheet
        && if D == 2 {
            cut.crossings.len() <= 2
        } else {
            (0..6).all(|f| crossed(f) <= 2) && one_part(wet)
        };
    let mut tangled = false;
    if !simple {
        let mut touches = Vec::new();
        let pieces = pieces(scene, cell, elements, None, &mut touches);
        match parted(scene, cell, &pieces, wet, &open_on) {
            Some((opening, facets, passages)) => {
                return OpenCell {
                    opening,
                    wet,
                    facets,
                    passages,
                    tangled,
                };
            }
            None => tangled = true,
        }
    }
    let open: f64 = (0..2 * D)
        .map(|f| areas_m2[f] / whole_face(space, cell, f).max(f64::MIN_POSITIVE))
        .sum();
    let opening = if open < SLIVER {
        Opening::Closed
    } else {
        Opening::Simple { areas_m2, offsets }
    };
    OpenCell {
        opening,
        wet,
        facets: cut.facets,
        passages: Vec::new(),
        tangled,
    }
}

/// Open area of a face, and the offset of its middle over the cell size.
fn open_face<const D: usize>(
    space: Space,
    cell: &Bounds<D>,
    face: usize,
    contour: &[f64; 3],
    open_on: &impl Fn(u8) -> Stretches,
) -> (f64, [f32; 2]) {
    let k = face / 2;
    let rim = rim_edges::<D>(face);
    let size = cell.high[0] - cell.low[0];
    let over = |moment: f64, length: f64| {
        if length > 0.0 {
            (moment / length - 0.5 * size).clamp(-0.5 * size, 0.5 * size)
        } else {
            0.0
        }
    };
    if D == 2 {
        let level = if face & 1 == 1 {
            cell.high[k]
        } else {
            cell.low[k]
        };
        let low = cell.low[1 - k];
        let (mut area, mut length, mut moment) = (0.0, 0.0, 0.0);
        for s in open_on(rim[0]) {
            area += measure_2d(space, k, level, s);
            length += s.1 - s.0;
            moment += (s.1 - s.0) * (0.5 * (s.0 + s.1) - low);
        }
        return (area, [(over(moment, length) / size) as f32, 0.0]);
    }
    let length = |edge: u8| open_on(edge).into_iter().map(|s| s.1 - s.0).sum::<f64>();
    // The edges u = size (along v) and v = size (along u).
    let (far_u, far_v) = (length(rim[3]), length(rim[1]));
    let area = contour[0] + size * far_u;
    let moments = [
        contour[1] + 0.5 * size * size * far_u,
        contour[2] + 0.5 * size * size * far_v,
    ];
    (area, moments.map(|m| (over(m, area) / size) as f32))
}

/// Are the wet corners of a cube one piece (joined along its edges)?
fn one_part(wet: u8) -> bool {
    if wet == 0 {
        return true;
    }
    let mut seen = 1u8 << wet.trailing_zeros();
    loop {
        let mut grown = seen;
        for corner in 0..8 {
            if seen >> corner & 1 == 1 {
                for k in 0..3 {
                    grown |= 1 << (corner ^ (1 << k));
                }
            }
        }
        grown &= wet;
        if grown == seen {
            return seen == wet;
        }
        seen = grown;
    }
}
