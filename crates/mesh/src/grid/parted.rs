//! Cells whose faces are crossed more than once, read loop by loop ([`super::loops`]).
//!
//! Loops that share an open stretch of an edge, or that one piece of surface bounds
//! ([`super::beside`]), belong to one part of the electrolyte.

use super::beside::{Told, beside};
use super::cut::{Facets, Piece, face_axes, facets, weight};
use super::links::Groups;
use super::loops::{Loop, Segment, loops};
use super::opening::{FaceOpening, Opening, Passage, Stretches, edge_ends, measure_2d, rim_edges};
use super::scene::{Label, Scene};
use crate::solid::Bounds;

/// Reads a cell loop by loop; `None` if its walls do not join.
pub fn parted<const D: usize>(
    scene: &Scene<'_, D>,
    cell: &Bounds<D>,
    pieces: &[Piece<D>],
    wet: u8,
    open_on: &impl Fn(u8) -> Stretches,
) -> Option<(Opening, Facets<D>, Vec<Passage<D>>)> {
    let space = scene.domain.space;
    let rectangle = |face: usize| -> ([usize; 2], Vec<Segment>, bool) {
        let mut segments = Vec::new();
        for piece in pieces {
            piece.each_segment(face as u8, cell, |s| segments.push(s));
        }
        if D == 2 {
            return ([0, 1], segments, wet == 0b1111);
        }
        let k = face / 2;
        let on_face = (0..8).filter(|c| (c >> k & 1 == 1) == (face & 1 == 1));
        (
            face_axes(k),
            segments,
            on_face.map(|c| wet >> c & 1).all(|w| w == 1),
        )
    };
    // Loops with the rectangle they were found in, outlines in absolute coordinates.
    let mut found: Vec<(usize, Loop)> = Vec::new();
    for face in 0..if D == 2 { 1 } else { 6 } {
        let ([u, v], segments, all_open) = rectangle(face);
        let size = [cell.high[u] - cell.low[u], cell.high[v] - cell.low[v]];
        for mut l in loops(size, &segments, all_open).ok()? {
            for p in &mut l.outline {
                *p = [p[0] + cell.low[u], p[1] + cell.low[v]];
            }
            found.push((face, l));
        }
    }
    let nearest = |face: usize, at: [f64; 2]| -> Option<usize> {
        found
            .iter()
            .enumerate()
            .filter(|(_, (f, _))| *f == face)
            .map(|(n, (_, l))| {
                let o = FaceOpening {
                    part: 0,
                    area_m2: 0.0,
                    outline: l.outline.clone(),
                };
                (o.distance(at), n)
            })
            .min_by(|x, y| x.0.total_cmp(&y.0))
            .map(|(_, n)| n)
    };
    let mut groups = Groups::new(found.len());
    let mut faces: Vec<Vec<FaceOpening>> = vec![Vec::new(); 2 * D];
    if D == 3 {
        for edge in 0..12u8 {
            let around: Vec<usize> = (0..6)
                .filter(|&f| rim_edges::<D>(f).contains(&edge))
                .collect();
            for (from, to) in open_on(edge) {
                let mut joined = Vec::new();
                for &f in &around {
                    joined.extend(nearest(f, edge_point(cell, edge, 0.5 * (from + to), f)));
                }
                for pair in joined.windows(2) {
                    groups.join(pair[0], pair[1]);
                }
            }
        }
    }
    // The loops on the electrolyte's side of a piece (sheets: above, or below).
    let told = |piece: &Piece<D>, above: bool| -> Told {
        let mut out = Told::new();
        for face in 0..if D == 2 { 1 } else { 6 } {
            let [u, v] = if D == 2 { [0, 1] } else { face_axes(face / 2) };
            let mut first = None;
            piece.each_segment(face as u8, cell, |s| first = first.or(Some(s)));
            let Some(s) = first else { continue };
            let s = if above { s } else { s.reversed() };
            let d = [s.to[0] - s.from[0], s.to[1] - s.from[1]];
            let at = [
                cell.low[u] + 0.5 * (s.from[0] + s.to[0]) - 0.01 * d[1],
                cell.low[v] + 0.5 * (s.from[1] + s.to[1]) + 0.01 * d[0],
            ];
            out.extend(nearest(face, at));
        }
        out
    };
    let beside = beside(pieces, &mut groups, told);
    let part = groups.numbers();
    let parts = part.iter().max().map_or(0, |&m| m + 1);
    if D == 2 {
        for (face, openings) in faces.iter_mut().enumerate() {
            let k = face / 2;
            let level = if face & 1 == 1 {
                cell.high[k]
            } else {
                cell.low[k]
            };
            for (from, to) in open_on(rim_edges::<D>(face)[0]) {
                let middle = 0.5 * (from + to);
                let at = if k == 0 {
                    [level, middle]
                } else {
                    [middle, level]
                };
                openings.push(FaceOpening {
                    part: part[nearest(0, at)?] as u8,
                    area_m2: measure_2d(space, k, level, (from, to)),
                    outline: vec![[from, 0.0], [to, 0.0]],
                });
            }
        }
    } else {
        for (n, (face, l)) in found.iter().enumerate() {
            faces[*face].push(FaceOpening {
                part: part[n] as u8,
                area_m2: l.area.max(0.0),
                outline: l.outline.clone(),
            });
        }
    }
    let facing = |p: usize, side: usize| beside[p][side].map(|l| part[l] as u8);
    let facets = facets(scene, pieces, |piece| facing(piece, 0).unwrap_or(0));
    if parts == 0 {
        return Some((Opening::Closed, facets, Vec::new()));
    }
    let passages = pieces
        .iter()
        .enumerate()
        .filter_map(|(p, piece)| {
            let Label::Sheet(sheet) = piece.label else {
                return None;
            };
            let parts = [facing(p, 0)?, facing(p, 1)?];
            let (flat, point) = (piece.flat, piece.centroid);
            let open = scene.domain.sheets[usize::from(sheet)].sheet.open_fraction > 0.0;
            (open && parts[0] != parts[1]).then(|| Passage {
                sheet,
                area_m2: flat * weight(space, &point),
                point,
                normal: piece.normal,
                parts,
            })
        })
        .collect();
    Some((
        Opening::Parted {
            parts: parts as u8,
            faces,
        },
        facets,
        passages,
    ))
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
