//! The facets where a figure that is off gets its error from: those that could be the extreme on a
//! finer grid.
//!
//! A facet in cells of `h` may be off by `e h / h0`, where the extreme lies in cells of `h0` and is off by
//! `e`; for `e` a share of the plus-minus counts, which is several times the error. A thinnest place is
//! only as sure as all others that could be thinner: where two grids show that a place may be off by `w_f`
//! ([`places`](super::places)), it may be as thin as `t_f - w_f`, and the least of these bounds the answer.

use super::figures::{Figure, Of};
use super::places::{Read, off_m, read};
use crate::outcome::Outcome;
use crate::patch::size_m;
use ionfall_mesh::solid::Point;

/// Error that is looked for, over the plus-minus.
const ERROR: f64 = 0.5;

/// A place where cells are too large: its body, the point, and the edge of the cell there, m.
pub(super) type Place<const D: usize> = (usize, Point<D>, f64);

/// What two grids tell of the thinnest place of an electrode.
pub(super) struct Bound<const D: usize> {
    /// How far it may be off for all that is not seen on the finer grid, m.
    pub off_m: f64,
    /// The places that may be thinner than it by more than is asked for.
    pub places: Vec<Place<D>>,
}

/// Bounds the thinnest place of an electrode, which shall be known to a share of it.
pub(super) fn bound<const D: usize>(
    fine: &Outcome<D>,
    coarse: &Outcome<D>,
    electrode: usize,
    asked: f64,
) -> Option<Bound<D>> {
    let least_m = fine.bodies.get(electrode)?.thinnest?.value;
    let [places, others] = [fine, coarse].map(|outcome| deciding(outcome, electrode));
    let off_m = off_m((&fine.grid, &places), (&coarse.grid, &others));
    let bounds = places.iter().zip(off_m);
    let bounds: Vec<(usize, f64)> = bounds
        .filter(|(_, off_m)| off_m.is_finite())
        .map(|(read, off_m)| (read.facet, read.thickness_m - off_m))
        .collect();
    let lowest_m = bounds.iter().map(|b| b.1).fold(least_m, f64::min);
    let thinner = bounds.iter().filter(|b| b.1 < least_m * (1.0 - asked));
    Some(Bound {
        off_m: least_m - lowest_m,
        places: thinner.map(|(f, _)| place(fine, *f)).collect(),
    })
}

/// The places that could be the extreme of a figure; none of a figure that is no extreme.
pub(super) fn flagged<const D: usize>(outcome: &Outcome<D>, figure: &Figure) -> Vec<Place<D>> {
    let (values, sign) = match figure.of {
        Of::Thinnest(e) => (deciding(outcome, e), 1.0),
        Of::Thickest(e) => (read(outcome, e), -1.0),
        Of::Whole => return Vec::new(),
    };
    let apart_m = |read: &&Read| (read.thickness_m - figure.value).abs();
    let extreme = values
        .iter()
        .min_by(|a, b| apart_m(a).total_cmp(&apart_m(b)));
    let Some(extreme) = extreme else {
        return Vec::new();
    };
    let cell_m = |read: &Read| size_m(&outcome.grid, read.facet);
    let per_m = ERROR * figure.off / cell_m(extreme);
    let beyond_m = |read: &Read| sign * (read.thickness_m - figure.value);
    let flagged = values
        .iter()
        .filter(|read| beyond_m(read) <= per_m * cell_m(read));
    flagged.map(|read| place(outcome, read.facet)).collect()
}

/// The facets that decide about the thinnest place of an electrode; all of them, if none does.
fn deciding<const D: usize>(outcome: &Outcome<D>, electrode: usize) -> Vec<Read> {
    let mut all = read(outcome, electrode);
    if all.iter().any(|read| outcome.surface.decides(read.facet)) {
        all.retain(|read| outcome.surface.decides(read.facet));
    }
    all
}

fn place<const D: usize>(outcome: &Outcome<D>, f: usize) -> Place<D> {
    let facet = &outcome.grid.facets[f];
    (
        usize::from(facet.body),
        facet.point,
        size_m(&outcome.grid, f),
    )
}
