//! The skin of an electrode as a network of sheet conductors, one node a facet.
//!
//! A thin conducting coat of sheet conductance `s` (siemens; the inverse of ohm per square) carries
//! the current `-s grad u` along the surface. [`skin`] gives conductances between neighbouring
//! facets, `weight * s`, all of them positive, whose balance is the balance of charge on the coat.
//!
//! **In space** the facet points are the corners of *dual* triangles: every place where three or
//! more facets meet (a crossed cell edge, a corner, a hanging cell) joins the facets around it.
//! On the triangles `u` is linear (surface elements: Dziuk 1988, Lecture Notes in Mathematics
//! 1357:142-155), which gives the weight `(cot a + cot b) / 2` for a side with the opposite angles
//! `a` and `b`. Lengths are measured *along* the surface, unfolded over the side that two facets
//! share, so the skin of a bent strip is that of the flat one. Negative weights are removed by flips
//! of the sides (intrinsic Delaunay triangulation: Bobenko and Springborn 2007, Discrete and
//! Computational Geometry 38:740-756). Between the outermost facet points and the border of the skin
//! lies a strip without triangles: it is cut into trapezoids by the feet of the facet points on the
//! border, where `u` is that of the facet, since no current crosses the border. A field along a
//! straight strip is met exactly. Plain two-point conductances would not converge.
//!
//! A strip oblique to the grid has its resistance to rounding, bent by 90 degrees over a sharp edge to
//! 6e-6; a sphere (`-lap u = 2 cos / R^2`) at 16, 32 and 64 cells errs by 0.60, 0.15, 0.041 % at most.
//!
//! **On a curve** (planar and axisymmetric jobs) facets in a row are joined by the exact
//! conductance of the curve between their centres.
//!
//! ```text
//! weld       points that are one point
//! outline    outlines of the facets, matched side by side
//! dual       who meets whom at each corner
//! intrinsic  triangles known by their lengths: flips and weights
//! chain      curves
//! ```

mod chain;
mod conductor;
mod dual;
mod intrinsic;
mod outline;
#[cfg(test)]
mod tests;
mod weld;

pub use conductor::{RimLink, Skin, SkinLink};

use super::domain::Space;
use super::finished::Grid;
use crate::solid::Point;
use conductor::{Place, links};
use ionfall_numerics::groups::Groups;
use std::f64::consts::PI;

/// Weight between a facet and the one neighbour it hangs on, meeting it in no corner (it lies within
/// the other, or is a sliver on the border): an evenly loaded disc has the conductance `8 pi`
/// between its mean and its rim.
const DISC: f64 = 8.0 * PI;

/// The network of the facets that are `on`. `fed` tells of a place on the border of the skin (metres;
/// in space the middle of a side of a facet) whether a contact holds it there: the conductors from
/// the facets to that border are the `rims`. Other borders carry no current.
pub fn skin<const D: usize>(
    grid: &Grid<D>,
    on: impl Fn(usize) -> bool,
    fed: impl Fn(&Point<D>) -> bool,
) -> Skin {
    let facets: Vec<u32> = (0..grid.facets.len())
        .filter(|&f| on(f))
        .map(|f| f as u32)
        .collect();
    match grid.space {
        Space::Tank => {
            let fed = |x: &Place| fed(&std::array::from_fn(|k| x[k]));
            in_space(grid, &facets, fed)
        }
        _ => chain::skin(grid, &facets, fed),
    }
}

fn in_space<const D: usize>(grid: &Grid<D>, facets: &[u32], fed: impl Fn(&Place) -> bool) -> Skin {
    let plates = outline::plates(grid, facets);
    let outlines = outline::outlines(grid, facets, &plates);
    let dual = dual::dual(&plates, &outlines, fed);
    let mut mesh = dual.mesh;
    mesh.flip();
    let weighed = mesh.weigh();
    let mut conductors = weighed.conductors;
    // What the triangles leave apart although it shares a side, or a point.
    let mut groups = Groups::new(plates.len());
    for &(a, b, _) in &conductors {
        groups.join(a as usize, b as usize);
    }
    let mut patched = 0;
    for [a, b] in outlines.neighbours().chain(outlines.slivers()) {
        if groups.find(a as usize) != groups.find(b as usize) {
            groups.join(a as usize, b as usize);
            conductors.push((a, b, DISC));
            patched += 1;
        }
    }
    let (rims, negative) = rims(facets, [weighed.rims, dual.rims].concat());
    Skin {
        links: links(facets, conductors),
        rims,
        clipped: weighed.clipped + negative,
        patched,
    }
}

/// Adds up the rim of each facet; also tells how many sums are negative and left out.
fn rims(facets: &[u32], mut parts: Vec<(u32, f64)>) -> (Vec<RimLink>, usize) {
    parts.sort_by_key(|r| r.0);
    let mut all: Vec<RimLink> = parts
        .chunk_by(|x, y| x.0 == y.0)
        .map(|same| RimLink {
            facet: facets[same[0].0 as usize],
            weight: same.iter().map(|r| r.1).sum(),
        })
        .collect();
    let before = all.len();
    all.retain(|r| r.weight > 0.0);
    let negative = before - all.len();
    (all, negative)
}
