//! Where a sheet ends inside a cell.
//!
//! A cell that a sheet passes through has a node on each side of it. One in which the sheet ends closes
//! only a share of its cross-section; with a single node it would close nothing, the sheet would end
//! at the last grid plane it reaches, and a window would open in steps of a cell. So the surface is
//! drawn on past the rim ([`Sheet::beyond`]): sheet and open remainder together part the cell, and
//! through the remainder, of area `A`, flows what flows through a perforated sheet ([`super::passage`])
//! that resists nothing:
//!
//! ```text
//! F = m kappa A (probe above - probe below) / (1/a_above + 1/a_below)
//! ```
//! Both ends are right: with no sheet left in the cell the two nodes are one cell cut in two, with no
//! remainder left they are apart. The factor `m` is what flows round a rim over what probes, which see
//! no rim, make of it ([`at_rim`]). Behind a slotted baffle (cells of 1/25 of the tank's height, slots of any
//! width) the current was up to 2.4 % too high before; it is 0.5 % off now, and 1.1 % with `m = 1`.
//!
//! The remainder is of use only in the cells where a sheet ends and, for their common faces, in the
//! cells next to these; there both its sides are one part. It stands back where another sheet lies in
//! the same plane, as of two sheets that overlap there one does.
//!
//! [`Sheet::beyond`]: crate::solid::Sheet

use super::fragment::{Fragment, add_scaled, dot, sub, unit};
use super::piece::Piece;
use super::scene::{Label, Scene};
use ionfall_numerics::groups::Groups;
use rustc_hash::FxHashSet;

/// Surfaces nearer to each other than this, over the size of a cell, lie in one plane.
const SAME_PLANE: f64 = 1e-3;
/// Planes that cut off less than this, over the size of a cell, cut nothing off.
const SLIVER: f64 = 1e-7;

/// Is another piece in the plane of this one?
fn level<const D: usize>(piece: &Piece<D>, other: &Piece<D>, size_m: f64) -> bool {
    let height = dot(&sub(&piece.centroid, &other.centroid), &other.normal);
    dot(&piece.normal, &other.normal).abs() > 1.0 - SAME_PLANE && height.abs() < SAME_PLANE * size_m
}

fn is_sheet(label: Label) -> bool {
    matches!(label, Label::Sheet(_))
}

fn is_beyond(label: Label) -> bool {
    matches!(label, Label::Beyond(_))
}

/// A rim near an opening.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rim {
    /// How far the opening reaches from it, metres.
    pub reach_m: f64,
    /// What the sheet resists, in metres of electrolyte; nothing if it is tight.
    pub extra_m: Option<f64>,
}

/// The rim of what lies beyond a sheet in a cell of this size: it reaches from edge to edge of the cell
/// where it is as wide as the section of the cell. Nothing if the piece is of something else.
pub fn rim<const D: usize>(
    scene: &Scene<'_, D>,
    pieces: &[Piece<D>],
    piece: &Piece<D>,
    size_m: f64,
) -> Option<Rim> {
    let sheet = piece.label.sheet().filter(|_| is_beyond(piece.label))?;
    let flat = |which: &dyn Fn(Label) -> bool| -> f64 {
        let those = pieces.iter().filter(|p| which(p.label));
        let those = those.filter(|p| level(p, piece, size_m));
        those.map(|p| p.flat).sum()
    };
    let open = flat(&is_beyond);
    Some(Rim {
        reach_m: if D == 2 {
            open
        } else {
            open / (open + flat(&is_sheet)).sqrt()
        },
        extra_m: scene.domain.sheets[usize::from(sheet)].sheet.extra_m(),
    })
}

/// What flows through the opening of reach `a` beside the rim of a tight sheet over what probes at a
/// distance `d` say.
///
/// Round the rim of a thin insulator the potential, less its value there, is to leading order
/// `K sqrt(r) sin(t/2)`, `t` from 0 in the opening to `pi` along the insulator (the same below, with
/// the other sign). Through the opening flows `K sqrt(a)` for each metre of rim; two probes above and
/// below its middle see `a K sqrt(r) sin(t/2) / d`, with `r` and `t` of the point `(a/2, d)`:
///
/// ```text
/// d / (sqrt(a r) sin(t/2))       1.6 for probes at a distance a/2, 2.3 at 2 a
/// ```
fn at_tight_rim(reach_m: f64, probe_m: f64) -> f64 {
    let (middle_m, turn) = (0.5 * reach_m, probe_m.atan2(0.5 * reach_m));
    probe_m / ((reach_m * middle_m.hypot(probe_m)).sqrt() * (0.5 * turn).sin())
}

/// The same where the sheet lets something through: where it resists as `extra_m` metres of electrolyte
/// (endless: tight) the field bends round the rim by the share of it in what both probes reach over,
/// `extra / (extra + 2 d)`. Right for tight sheets and for sheets that hardly resist; a guess between.
pub fn at_rim(rim: Rim, probe_m: f64) -> f64 {
    let open = 2.0 * probe_m
        / rim
            .extra_m
            .map_or(f64::INFINITY, |extra_m| extra_m + 2.0 * probe_m);
    let tight = at_tight_rim(rim.reach_m, probe_m);
    open + (1.0 - open) * tight
}

/// Makes one part of both sides of what lies beyond a sheet, if there is no sheet in its plane in this
/// cell.
pub fn join<const D: usize>(
    pieces: &[Piece<D>],
    beside: &[[Option<usize>; 2]],
    size_m: f64,
    loops: &mut Groups,
) {
    for (piece, sides) in pieces.iter().zip(beside) {
        let ends_here = || (pieces.iter()).any(|p| is_sheet(p.label) && level(p, piece, size_m));
        if let [Some(above), Some(below)] = *sides
            && is_beyond(piece.label)
            && !ends_here()
        {
            loops.join(above, below);
        }
    }
}

/// Takes out what lies twice in one plane: of two sheets the one that is more open, and what lies beyond a
/// sheet where another one is, or is drawn on.
pub fn drop_doubled<const D: usize>(scene: &Scene<'_, D>, pieces: &mut Vec<Piece<D>>, size_m: f64) {
    let mut sheets = pieces.iter().filter_map(|p| p.label.sheet());
    let first = sheets.next();
    if sheets.all(|n| Some(n) == first) {
        return;
    }
    let here: FxHashSet<u16> = (pieces.iter().filter(|p| is_sheet(p.label)))
        .filter_map(|p| p.label.sheet())
        .collect();
    // Beyond sheets, that of one that ends in this cell goes before.
    let rank = |label: Label| -> Option<(u8, f64, u16)> {
        let n = label.sheet()?;
        let open = scene.domain.sheets[usize::from(n)].sheet.open_fraction;
        Some(match label {
            Label::Sheet(_) => (0, open, n),
            _ if here.contains(&n) => (1, 0.0, n),
            _ => (2, 0.0, n),
        })
    };
    let mut kept: Vec<Piece<D>> = Vec::with_capacity(pieces.len());
    for piece in pieces.iter() {
        let goes_before = |other: &&Piece<D>| {
            other.label.sheet() != piece.label.sheet()
                && rank(other.label).is_some_and(|r| rank(piece.label).is_some_and(|own| r < own))
                && level(piece, other, size_m)
        };
        let before: Vec<&Piece<D>> = pieces.iter().filter(goes_before).collect();
        if before.is_empty() {
            kept.push(piece.clone());
            continue;
        }
        let whole = vec![piece.fragment.clone()];
        let left = before.iter().fold(whole, |left, other| {
            left.iter()
                .flat_map(|f| outside(f, &other.fragment, SLIVER * size_m))
                .collect()
        });
        kept.extend(left.into_iter().map(|fragment| {
            let (flat, centroid) = fragment.measure();
            Piece {
                fragment,
                flat,
                centroid,
                ..piece.clone()
            }
        }));
    }
    *pieces = kept;
}

/// What of a fragment lies outside another one in its plane.
fn outside<const D: usize>(
    fragment: &Fragment<D>,
    other: &Fragment<D>,
    tolerance_m: f64,
) -> Vec<Fragment<D>> {
    let middle = other.measure().1;
    let corners = &other.vertices;
    let mut out = Vec::new();
    let mut inside = fragment.clone();
    for n in 0..corners.len() {
        // The borders of a segment are its ends, those of a polygon its edges.
        let (a, b) = (corners[n].at, corners[(n + 1) % corners.len()].at);
        let along = if D == 2 { [0.0; D] } else { unit(&sub(&b, &a)) };
        let away = sub(&a, &middle);
        let outward = unit(&add_scaled(&away, -dot(&away, &along), &along));
        match inside.split(&outward, &a, tolerance_m) {
            Some((beyond, rest)) => {
                out.push(beyond);
                inside = rest;
            }
            None if dot(&sub(&inside.measure().1, &a), &outward) > 0.0 => {
                out.push(inside);
                return out;
            }
            None => {}
        }
    }
    out
}

/// The pieces without what lies beyond sheets.
pub fn without<const D: usize>(mut pieces: Vec<Piece<D>>) -> Vec<Piece<D>> {
    pieces.retain(|p| !is_beyond(p.label));
    pieces
}
