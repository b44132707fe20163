//! The facets where a figure that is off gets its error from.

use super::figures::{Figure, Of};
use crate::outcome::Outcome;
use crate::patch::size_m;
use ionfall_mesh::solid::Point;

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
    let could_be = |f: &usize| {
        let thickness_m = surface.patches.at(*f, |g| outcome.thickness_m[g]);
        match is_least {
            true => (surface.decides(*f) || !some) && thickness_m <= figure.value + figure.off,
            false => thickness_m >= figure.value - figure.off,
        }
    };
    let place = |f: usize| {
        let facet = &grid.facets[f];
        (usize::from(facet.body), facet.point, size_m(grid, f))
    };
    own.into_iter().filter(could_be).map(place).collect()
}
