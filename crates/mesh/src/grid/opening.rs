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

use super::beyond::without;
use super::cut::{CellCut, Facets, pieces};
use super::domain::Space;
use super::face::{Opening, Passage, Stretches, edge_ends, measure_2d, rim_edges, whole_face};
use super::parted::parted;
use super::piece::Crossing;
use super::raster::Lists;
use super::scene::Scene;
use super::tree::{Cell, MAX_LEVEL, Root, decode};
use crate::solid::Bounds;
use rayon::prelude::*;
use smallvec::smallvec;

/// Open fractions (sum over the faces) below this are closed.
const SLIVER: f64 = 1e-4;

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

/// Integer corner of a cell at the deepest level, packed.
fn corner_key<const D: usize>(cell: Cell, corner: usize) -> u64 {
    let c = decode::<D>(cell.key);
    (0..D).fold(0, |key, k| {
        let at = u64::from(c[k] + (corner >> k & 1) as u32) << (MAX_LEVEL - cell.level);
        key | at << (21 * k)
    })
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
        let anew = || pieces(scene, cell, elements, None, &mut Vec::new());
        let pieces = cut.kept.unwrap_or_else(anew);
        let read = parted(scene, cell, &pieces, wet, &open_on)
            .or_else(|| parted(scene, cell, &without(pieces), wet, &open_on));
        match read {
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
