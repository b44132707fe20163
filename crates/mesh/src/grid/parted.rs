//! Cells whose faces are crossed more than once, read loop by loop ([`super::loops`]).
//!
//! Loops that share an open stretch of an edge, or that one piece of surface bounds
//! ([`super::beside`]), belong to one part of the electrolyte.

use super::axes::face_axes;
use super::beside::{Told, beside};
use super::beyond;
use super::cut::{Facets, facets, weight};
use super::domain::Space;
use super::face::{
    FaceOpening, Opening, Passage, Stretches, edge_ends, measure_2d, outline_distance, rim_edges,
};
use super::loops::{Loop, Segment, loops};
use super::piece::Piece;
use super::scene::{Label, Scene};
use crate::solid::Bounds;
use ionfall_numerics::groups::Groups;

/// Reads a cell loop by loop; `None` if its walls do not join.
pub fn parted<const D: usize>(
    scene: &Scene<'_, D>,
    cell: &Bounds<D>,
    pieces: &[Piece<D>],
    wet: u8,
    open_on: &impl Fn(u8) -> Stretches,
) -> Option<(Opening, Facets<D>, Vec<Passage<D>>)> {
    let read = Loops::read(cell, pieces, wet)?;
    let mut groups = Groups::new(read.found.len());
    if D == 3 {
        read.join_across_edges(&mut groups, open_on);
    }
    let beside = beside(pieces, &mut groups, |piece, above| read.told(piece, above));
    let size_m = cell.high[0] - cell.low[0];
    beyond::join(pieces, &beside, size_m, &mut groups);
    let part = groups.numbers();
    let parts = part.iter().max().map_or(0, |&m| m + 1);
    let faces = if D == 2 {
        read.stretches(scene.domain.space, &part, open_on)?
    } else {
        read.openings(&part)
    };
    let facing = |p: usize, side: usize| beside[p][side].map(|l| part[l] as u8);
    let facets = facets(scene, pieces, |piece| facing(piece, 0).unwrap_or(0));
    if parts == 0 {
        return Some((Opening::Closed, facets, Vec::new()));
    }
    let opening = Opening::Parted {
        parts: parts as u8,
        faces,
    };
    Some((opening, facets, passages(scene, pieces, size_m, facing)))
}

/// Loops of electrolyte on the faces of a cell.
struct Loops<'a, const D: usize> {
    cell: &'a Bounds<D>,
    /// Face and loop, outlines in absolute coordinates; a cell of the plane is its own one face.
    found: Vec<(usize, Loop)>,
}

impl<'a, const D: usize> Loops<'a, D> {
    const FACES: usize = if D == 2 { 1 } else { 6 };

    /// The axes of a face.
    fn axes(face: usize) -> [usize; 2] {
        if D == 2 { [0, 1] } else { face_axes(face / 2) }
    }

    fn read(cell: &'a Bounds<D>, pieces: &[Piece<D>], wet: u8) -> Option<Self> {
        let mut found = Vec::new();
        for face in 0..Self::FACES {
            let mut segments: Vec<Segment> = Vec::new();
            for piece in pieces {
                piece.each_segment(face as u8, cell, |s| segments.push(s));
            }
            let on_face = |c: &usize| D == 2 || (c >> (face / 2) & 1 == 1) == (face & 1 == 1);
            let all_open = (0..1 << D).filter(on_face).all(|c| wet >> c & 1 == 1);
            let [u, v] = Self::axes(face);
            let size = [cell.high[u] - cell.low[u], cell.high[v] - cell.low[v]];
            for mut l in loops(size, &segments, all_open).ok()? {
                for p in &mut l.outline {
                    *p = [p[0] + cell.low[u], p[1] + cell.low[v]];
                }
                found.push((face, l));
            }
        }
        Some(Self { cell, found })
    }

    /// The loop of a face nearest to a point of it.
    fn nearest(&self, face: usize, at: [f64; 2]) -> Option<usize> {
        self.found
            .iter()
            .enumerate()
            .filter(|(_, (f, _))| *f == face)
            .map(|(n, (_, l))| (outline_distance(&l.outline, at), n))
            .min_by(|x, y| x.0.total_cmp(&y.0))
            .map(|(_, n)| n)
    }

    /// Joins loops that share an open stretch of an edge.
    fn join_across_edges(&self, groups: &mut Groups, open_on: &impl Fn(u8) -> Stretches) {
        for edge in 0..12u8 {
            let around: Vec<usize> = (0..6)
                .filter(|&f| rim_edges::<D>(f).contains(&edge))
                .collect();
            for (from, to) in open_on(edge) {
                let mut joined = Vec::new();
                for &f in &around {
                    let middle = edge_point(self.cell, edge, 0.5 * (from + to), f);
                    joined.extend(self.nearest(f, middle));
                }
                for pair in joined.windows(2) {
                    groups.join(pair[0], pair[1]);
                }
            }
        }
    }

    /// The loops on the electrolyte's side of a piece (sheets: above, or below).
    fn told(&self, piece: &Piece<D>, above: bool) -> Told {
        let mut out = Told::new();
        for face in 0..Self::FACES {
            let [u, v] = Self::axes(face);
            let mut first = None;
            piece.each_segment(face as u8, self.cell, |s| first = first.or(Some(s)));
            let Some(s) = first else { continue };
            let s = if above { s } else { s.reversed() };
            let d = [s.to[0] - s.from[0], s.to[1] - s.from[1]];
            let at = [
                self.cell.low[u] + 0.5 * (s.from[0] + s.to[0]) - 0.01 * d[1],
                self.cell.low[v] + 0.5 * (s.from[1] + s.to[1]) + 0.01 * d[0],
            ];
            out.extend(self.nearest(face, at));
        }
        out
    }

    /// Openings of the faces of a cell of the plane: the open stretches of its sides.
    fn stretches(
        &self,
        space: Space,
        part: &[usize],
        open_on: &impl Fn(u8) -> Stretches,
    ) -> Option<Vec<Vec<FaceOpening>>> {
        let mut faces = vec![Vec::new(); 2 * D];
        for (face, openings) in faces.iter_mut().enumerate() {
            let k = face / 2;
            let level = if face & 1 == 1 {
                self.cell.high[k]
            } else {
                self.cell.low[k]
            };
            for (from, to) in open_on(rim_edges::<D>(face)[0]) {
                let middle = 0.5 * (from + to);
                let at = if k == 0 {
                    [level, middle]
                } else {
                    [middle, level]
                };
                openings.push(FaceOpening {
                    part: part[self.nearest(0, at)?] as u8,
                    area_m2: measure_2d(space, k, level, (from, to)),
                    outline: vec![[from, 0.0], [to, 0.0]],
                });
            }
        }
        Some(faces)
    }

    /// Openings of the faces of a cell in space: the loops.
    fn openings(&self, part: &[usize]) -> Vec<Vec<FaceOpening>> {
        let mut faces = vec![Vec::new(); 2 * D];
        for ((face, l), part) in self.found.iter().zip(part) {
            faces[*face].push(FaceOpening {
                part: *part as u8,
                area_m2: l.area.max(0.0),
                outline: l.outline.clone(),
            });
        }
        faces
    }
}

/// Open pieces of sheets, and of what lies beyond them, between two parts.
fn passages<const D: usize>(
    scene: &Scene<'_, D>,
    pieces: &[Piece<D>],
    size_m: f64,
    facing: impl Fn(usize, usize) -> Option<u8>,
) -> Vec<Passage<D>> {
    let passage = |(p, piece): (usize, &Piece<D>)| {
        let sheet = piece.label.sheet()?;
        let extra_m = match piece.label {
            Label::Beyond(_) => 0.0,
            _ => scene.domain.sheets[usize::from(sheet)].sheet.extra_m()?,
        };
        let parts = [facing(p, 0)?, facing(p, 1)?];
        let (flat, point) = (piece.flat, piece.centroid);
        (parts[0] != parts[1]).then(|| Passage {
            sheet,
            extra_m,
            rim: beyond::rim(scene, pieces, piece, size_m),
            area_m2: flat * weight(scene.domain.space, &point),
            point,
            normal: piece.normal,
            parts,
        })
    };
    pieces.iter().enumerate().filter_map(passage).collect()
}

/// A point of a cell edge in the coordinates of a face beside it.
fn edge_point<const D: usize>(cell: &Bounds<D>, edge: u8, along_m: f64, face: usize) -> [f64; 2] {
    let low_end = edge_ends::<D>(edge)[0];
    let k = usize::from(edge) / 4;
    face_axes(face / 2).map(|axis| {
        if axis == k {
            along_m
        } else if low_end >> axis & 1 == 1 {
            cell.high[axis]
        } else {
            cell.low[axis]
        }
    })
}
