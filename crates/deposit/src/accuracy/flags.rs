//! The facets where a figure that is off gets its error from: those that could be the extreme on a
//! finer grid. A facet in cells of `h` may be off by `e h / h0`, where the extreme lies in cells of
//! `h0` and is off by `e`; for `e` a share of the plus-minus counts, which is several times the error.

use super::figures::{Figure, Of};
use crate::outcome::Outcome;
use crate::patch::size_m;
use ionfall_mesh::solid::Point;

/// Error that is looked for, over the plus-minus.
const ERROR: f64 = 0.5;

/// The places that could be the extreme of a figure on a finer grid: body, point and the edge of the cell
/// there, m. None of a figure that is no extreme.
pub(super) fn flagged<const D: usize>(
    outcome: &Outcome<D>,
    figure: &Figure,
) -> Vec<(usize, Point<D>, f64)> {
    let (electrode, is_least) = match figure.of {
        Of::Thinnest(e) => (e, true),
        Of::Thickest(e) => (e, false),
        Of::Whole => return Vec::new(),
    };
    let (grid, surface) = (&outcome.grid, &outcome.surface);
    let own: Vec<usize> = (0..grid.facets.len())
        .filter(|&f| surface.electrode(f) == electrode && outcome.conducts[f])
        .collect();
    let some = own.iter().any(|&f| surface.decides(f));
    let read = |f: usize| surface.patches.at(f, |g| outcome.thickness_m[g]);
    let values: Vec<(usize, f64)> = own.into_iter().map(|f| (f, read(f))).collect();
    let apart = |(_, thickness_m): &&(usize, f64)| (thickness_m - figure.value).abs();
    let Some((extreme, _)) = values.iter().min_by(|a, b| apart(a).total_cmp(&apart(b))) else {
        return Vec::new();
    };
    let per_m = ERROR * figure.off / size_m(grid, *extreme);
    let could_be = |&(f, thickness_m): &(usize, f64)| {
        let off_m = per_m * size_m(grid, f);
        match is_least {
            true => (surface.decides(f) || !some) && thickness_m - off_m <= figure.value,
            false => thickness_m + off_m >= figure.value,
        }
    };
    let place = |f: usize| {
        let facet = &grid.facets[f];
        (usize::from(facet.body), facet.point, size_m(grid, f))
    };
    let flagged = values.iter().filter(|v| could_be(v));
    flagged.map(|(f, _)| place(*f)).collect()
}
