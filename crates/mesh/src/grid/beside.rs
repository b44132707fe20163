//! Which part of the electrolyte lies beside each piece of surface in a parted cell.
//!
//! Pieces that reach a face of the cell are told by the loop of that face they bound. A fine mesh has
//! many pieces that reach none: they border what their neighbours border. Neighbours share an edge;
//! both compute its ends in the same way, so that equal ends are equal to the last bit. Nothing is
//! carried across an edge from which a sheet goes off, because the sheet parts the electrolyte there.
//! A piece without any such neighbour takes the part of the nearest piece of its surface that faces
//! the same way.

use super::cut::Piece;
use super::fragment::{dot, norm, sub};
use super::links::Groups;
use super::scene::Label;
use crate::solid::Point;
use rustc_hash::FxHashMap;

/// A vertex nearer to the plane of a sheet than this share of the piece's own size lies on it.
const ON_SHEET: f64 = 1e-6;

/// Parts above (where the normal points) and below every piece; those below are of use for sheets
/// only. `told` gives what the faces of the cell tell.
pub fn beside<const D: usize>(
    pieces: &[Piece<D>],
    told: impl Fn(&Piece<D>, bool) -> Option<u8>,
) -> Vec<[Option<u8>; 2]> {
    let mut parts: Vec<[Option<u8>; 2]> = pieces
        .iter()
        .map(|p| [told(p, true), is_sheet(p).then(|| told(p, false)).flatten()])
        .collect();
    let known = |p: usize, parts: &[[Option<u8>; 2]]| {
        parts[p][0].is_some() && (parts[p][1].is_some() || !is_sheet(&pieces[p]))
    };
    if (0..pieces.len()).all(|p| known(p, &parts)) {
        return parts;
    }
    let mut groups = neighbours(pieces);
    let mut of_group: FxHashMap<usize, [Option<u8>; 2]> = FxHashMap::default();
    for (p, own) in parts.iter().enumerate() {
        let group = of_group.entry(groups.find(p)).or_default();
        for (group, own) in group.iter_mut().zip(own) {
            *group = group.or(*own);
        }
    }
    for (p, own) in parts.iter_mut().enumerate() {
        if let Some(group) = of_group.get(&groups.find(p)) {
            for (own, group) in own.iter_mut().zip(group) {
                *own = own.or(*group);
            }
        }
    }
    let sure = parts.clone();
    for (p, own) in parts.iter_mut().enumerate() {
        if !known(p, &sure)
            && let Some(near) = nearest(pieces, p, |q| known(q, &sure))
        {
            for (own, near) in own.iter_mut().zip(&sure[near]) {
                *own = own.or(*near);
            }
        }
    }
    parts
}

fn is_sheet<const D: usize>(piece: &Piece<D>) -> bool {
    matches!(piece.label, Label::Sheet(_))
}

/// Groups of pieces of one label that hang together by shared edges.
fn neighbours<const D: usize>(pieces: &[Piece<D>]) -> Groups {
    let sheets: Vec<&Piece<D>> = pieces.iter().filter(|p| is_sheet(p)).collect();
    let mut groups = Groups::new(pieces.len());
    let mut first: FxHashMap<[[u64; D]; 2], Vec<usize>> = FxHashMap::default();
    for (p, piece) in pieces.iter().enumerate() {
        let vertices = &piece.fragment.vertices;
        for (n, a) in vertices.iter().enumerate() {
            let b = &vertices[(n + 1) % vertices.len()];
            let mut ends = [a.at, b.at].map(|x| x.map(|c| (c + 0.0).to_bits()));
            ends.sort_unstable();
            let shared = first.entry(ends).or_default();
            for &q in shared.iter() {
                let other: &Piece<D> = &pieces[q];
                let goes_off = |s: &&Piece<D>| s.label != piece.label && holds(s, [&a.at, &b.at]);
                if other.label == piece.label
                    && (!is_sheet(piece) || dot(&other.normal, &piece.normal) > 0.0)
                    && !sheets.iter().any(|s| goes_off(s))
                {
                    groups.join(p, q);
                }
            }
            shared.push(p);
        }
    }
    groups
}

/// Does an edge lie in the plane of a piece, and near it?
fn holds<const D: usize>(piece: &Piece<D>, ends: [&Point<D>; 2]) -> bool {
    let bounds = piece.fragment.bounds();
    let size = norm(&sub(&bounds.high, &bounds.low));
    let near = bounds.grown(ON_SHEET * size);
    ends.into_iter().all(|x| {
        let height = dot(&sub(x, &piece.centroid), &piece.normal);
        height.abs() <= ON_SHEET * size && near.contains(x)
    })
}

/// The nearest piece of the same label and facing for which `known` holds.
fn nearest<const D: usize>(
    pieces: &[Piece<D>],
    p: usize,
    known: impl Fn(usize) -> bool,
) -> Option<usize> {
    let piece = &pieces[p];
    let alike = |q: &usize| {
        known(*q)
            && pieces[*q].label == piece.label
            && dot(&pieces[*q].normal, &piece.normal) > 0.0
    };
    let apart = |q: &usize| norm(&sub(&pieces[*q].centroid, &piece.centroid));
    (0..pieces.len())
        .filter(alike)
        .min_by(|a, b| apart(a).total_cmp(&apart(b)))
}
