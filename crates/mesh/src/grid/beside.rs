//! Which piece of electrolyte lies beside each piece of surface in a parted cell.
//!
//! The electrolyte shows on the faces of the cell as loops ([`super::loops`]). A piece of surface that
//! reaches a face is told by the loop it bounds there. Along a surface one stays in the same
//! electrolyte, so all pieces that hang together by shared edges border the same piece of it, and the
//! loops that any of them bounds belong together, also where no open stretch of a cell edge joins
//! them. (Both neighbours compute the ends of their shared edge in the same way, so that equal ends
//! are equal to the last bit.) Nothing is carried across an edge from which a sheet goes off: there
//! the sheet parts the electrolyte. A piece without any told neighbour takes the loop of the nearest
//! piece of its surface that faces the same way.
//!
//! Pieces that touch no face are nearly all of a scan finer than the cells. Given to whichever part came
//! first, a facet of 0.4 of a cell face once stood behind openings of 3e-4: a potential of -6.4 V in a
//! tank of 1.13 V, and negative metal around it.

use super::piece::Piece;
use super::scene::Label;
use crate::solid::Point;
use ionfall_numerics::groups::Groups;
use ionfall_numerics::vector::{dot, norm, sub};
use rustc_hash::FxHashMap;
use smallvec::SmallVec;

/// Loops by number.
pub type Told = SmallVec<[usize; 4]>;

/// A vertex nearer to the plane of a sheet than this share of the sheet's piece lies on it.
const ON_SHEET: f64 = 1e-6;

/// A loop above (where the normal points) and one below every piece; those below are of use for
/// sheets only. `told` gives the loops that a piece bounds on the faces of the cell, above or
/// below; loops that turn out to be of one piece of electrolyte are joined.
pub fn beside<const D: usize>(
    pieces: &[Piece<D>],
    loops: &mut Groups,
    told: impl Fn(&Piece<D>, bool) -> Told,
) -> Vec<[Option<usize>; 2]> {
    let mut groups = neighbours(pieces);
    let sheet = pieces.iter().any(is_sheet);
    let mut of_group: FxHashMap<usize, [Option<usize>; 2]> = FxHashMap::default();
    for (p, piece) in pieces.iter().enumerate() {
        let group = of_group.entry(groups.find(p)).or_default();
        for (group, above) in group.iter_mut().zip([true, false]) {
            if above || is_sheet(piece) {
                for l in told(piece, above) {
                    match *group {
                        // Where a sheet is, a piece of wall may lie on both its sides.
                        Some(first) if !sheet => loops.join(first, l),
                        Some(_) => {}
                        None => *group = Some(l),
                    }
                }
            }
        }
    }
    let mut out: Vec<[Option<usize>; 2]> = (0..pieces.len())
        .map(|p| of_group[&groups.find(p)])
        .collect();
    let sure = out.clone();
    for (p, own) in out
        .iter_mut()
        .enumerate()
        .filter(|(_, own)| own[0].is_none())
    {
        if let Some(near) = nearest(pieces, p, |q| sure[q][0].is_some()) {
            *own = sure[near];
        }
    }
    out
}

fn is_sheet<const D: usize>(piece: &Piece<D>) -> bool {
    piece.label.sheet().is_some()
}

/// Are both of one surface? A sheet and what lies beyond it are.
fn alike(a: Label, b: Label) -> bool {
    a == b || a.sheet().is_some() && a.sheet() == b.sheet()
}

/// Groups of pieces of one surface that hang together by shared edges.
fn neighbours<const D: usize>(pieces: &[Piece<D>]) -> Groups {
    let sheets: Vec<&Piece<D>> = pieces.iter().filter(|p| is_sheet(p)).collect();
    let mut groups = Groups::new(pieces.len());
    let mut first: FxHashMap<[[u64; D]; 2], SmallVec<[usize; 2]>> = FxHashMap::default();
    for (p, piece) in pieces.iter().enumerate() {
        let vertices = &piece.fragment.vertices;
        for (n, a) in vertices.iter().enumerate() {
            let b = &vertices[(n + 1) % vertices.len()];
            // Adding zero turns minus zero into zero.
            let mut ends = [a.at, b.at].map(|x| x.map(|c| (c + 0.0).to_bits()));
            ends.sort_unstable();
            let shared = first.entry(ends).or_default();
            for &q in shared.iter() {
                let other: &Piece<D> = &pieces[q];
                let goes_off =
                    |s: &&Piece<D>| !alike(s.label, piece.label) && holds(s, [&a.at, &b.at]);
                if is_sheet(piece) == is_sheet(other)
                    && (!is_sheet(piece)
                        || alike(piece.label, other.label)
                            && dot(&other.normal, &piece.normal) > 0.0)
                    && !sheets.iter().any(goes_off)
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
    let fits = |q: &usize| {
        known(*q)
            && alike(pieces[*q].label, piece.label)
            && dot(&pieces[*q].normal, &piece.normal) > 0.0
    };
    let apart = |q: &usize| norm(&sub(&pieces[*q].centroid, &piece.centroid));
    (0..pieces.len())
        .filter(fits)
        .min_by(|a, b| apart(a).total_cmp(&apart(b)))
}
