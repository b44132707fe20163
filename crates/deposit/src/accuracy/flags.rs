//! The places where a figure that is off gets its error from: those that could be the extreme on a
//! finer grid.
//!
//! A place in cells of `h` may be off by `e h / h0`, where the extreme lies in cells of `h0` and is off by
//! `e`; for `e` a share of the plus-minus counts, which is several times the error. A thinnest place is
//! only as sure as all others that could be thinner: where two grids show that a place may be off by `w_f`
//! ([`off`]), it may be as thin as `t_f - w_f`, and the least of these bounds the answer.

use super::places::{Place, off};

/// Error that is looked for, over the plus-minus.
const ERROR: f64 = 0.25;

/// What two grids tell of the thinnest place of an electrode.
pub(super) struct Bound<const D: usize> {
    /// How far it may be off for all that is not seen on the finer grid, m.
    pub off_m: f64,
    /// The places that may be thinner than it by more than is asked for.
    pub places: Vec<Place<D>>,
}

/// Bounds a thinnest place, which shall be known to a share of it.
pub(super) fn bound<const D: usize>(
    thinnest_m: f64,
    fine: &[Place<D>],
    coarse: &[Place<D>],
    asked: f64,
) -> Bound<D> {
    let bounds = off(fine, coarse).into_iter();
    let bounds: Vec<_> = bounds
        .map(|(place, off_m)| (place, place.thickness_m - off_m))
        .collect();
    let lowest_m = bounds.iter().map(|b| b.1).fold(thinnest_m, f64::min);
    let thinner = bounds.iter().filter(|b| b.1 < thinnest_m * (1.0 - asked));
    Bound {
        off_m: thinnest_m - lowest_m,
        places: thinner.map(|(place, _)| (*place).clone()).collect(),
    }
}

/// The places that could be the extreme of a figure of this value, which may be off by so much: the least of those that
/// decide, or the largest of all.
pub(super) fn flagged<const D: usize>(
    all: &[Place<D>],
    is_least: bool,
    value_m: f64,
    off_m: f64,
) -> impl Iterator<Item = &Place<D>> {
    let sign = if is_least { 1.0 } else { -1.0 };
    let own = move || all.iter().filter(move |place| place.decides || !is_least);
    let apart_m = |place: &&Place<D>| (place.thickness_m - value_m).abs();
    let extreme = own().min_by(|a, b| apart_m(a).total_cmp(&apart_m(b)));
    let per_m = extreme.map_or(0.0, |extreme| ERROR * off_m / extreme.cell_m);
    own().filter(move |p| sign * (p.thickness_m - value_m) <= per_m * p.cell_m)
}
