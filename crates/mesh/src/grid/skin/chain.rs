//! Facets in a row along a curve: planar and axisymmetric jobs.
//!
//! The resistance of the curve from the centre of a facet to its end is that of its straight
//! pieces in a row: length over depth, or on a surface of revolution
//!
//! ```text
//! integral ds / (2 pi r) = length / (2 pi) * ln(r2 / r1) / (r2 - r1)
//! ```
//! exact for a current that flows along the meridian. A piece that reaches the axis is infinite:
//! no current crosses the axis.

use super::conductor::{Place, RimLink, Skin, links};
use super::weld::{SHARES, weld};
use crate::grid::domain::Space;
use crate::grid::facet::Facet;
use crate::grid::finished::Grid;
use crate::solid::Point;
use ionfall_numerics::vector::{dot, norm, sub};
use std::f64::consts::TAU;

/// An end of a facet.
struct End<const D: usize> {
    /// Number in the list of facets.
    facet: u32,
    at: Point<D>,
    /// From the facet's centre, per sheet resistance.
    resistance: f64,
}

/// The network of facets on a curve.
pub fn skin<const D: usize>(
    grid: &Grid<D>,
    facets: &[u32],
    fed: impl Fn(&Point<D>) -> bool,
) -> Skin {
    let ends: Vec<End<D>> = facets
        .iter()
        .enumerate()
        .flat_map(|(n, &f)| {
            ends(grid.space, &grid.facets[f as usize])
                .into_iter()
                .map(move |(at, resistance)| End {
                    facet: n as u32,
                    at,
                    resistance,
                })
        })
        .collect();
    let points: Vec<Place> = ends
        .iter()
        .map(|e| std::array::from_fn(|k| if k < D { e.at[k] } else { 0.0 }))
        .collect();
    let size_m = |end: u32| {
        let facet = facets[ends[end as usize].facet as usize];
        grid.size_m(grid.facet_node[facet as usize] as usize)
    };
    let body = |end: u32| grid.facets[facets[ends[end as usize].facet as usize] as usize].body;
    let mut open: Vec<u32> = (0..ends.len() as u32).collect();
    let mut conductors = Vec::new();
    for share in SHARES {
        let welded = weld(&points, |end| share * size_m(end), &open);
        let mut groups: Vec<(u16, u32, u32)> = open
            .iter()
            .zip(welded)
            .map(|(&end, place)| (body(end), place, end))
            .collect();
        groups.sort_unstable();
        open.clear();
        for same in groups.chunk_by(|x, y| (x.0, x.1) == (y.0, y.1)) {
            if same.len() == 1 {
                open.push(same[0].2);
            }
            for pair in same.windows(2) {
                let (a, b) = (&ends[pair[0].2 as usize], &ends[pair[1].2 as usize]);
                conductors.push((a.facet, b.facet, 1.0 / (a.resistance + b.resistance)));
            }
        }
        open.sort_unstable();
    }
    let rims = open
        .into_iter()
        .map(|end| &ends[end as usize])
        .filter(|end| end.resistance.is_finite() && fed(&end.at))
        .map(|end| RimLink {
            facet: facets[end.facet as usize],
            weight: 1.0 / end.resistance,
        })
        .collect();
    Skin {
        links: links(facets, conductors),
        rims,
        ..Skin::default()
    }
}

/// Resistance of a straight piece for a unit of sheet resistance.
fn piece<const D: usize>(space: Space, a: &Point<D>, b: &Point<D>) -> f64 {
    let length = norm(&sub(a, b));
    if length == 0.0 {
        return 0.0;
    }
    match space {
        Space::Planar { depth_m } => length / depth_m,
        _ => {
            let (r, step) = (a[0].min(b[0]).max(0.0), (b[0] - a[0]).abs());
            let inverse = if step > 1e-9 * r {
                (step / r).ln_1p() / step
            } else {
                1.0 / r
            };
            length * inverse / TAU
        }
    }
}

/// The ends of a facet with the resistance from its centre.
fn ends<const D: usize>(space: Space, facet: &Facet<D>) -> Vec<(Point<D>, f64)> {
    let mut pieces: Vec<[Point<D>; 2]> = facet
        .outline
        .iter()
        .map(|o| [o[0], o[o.len() - 1]])
        .filter(|p| p[0] != p[1])
        .collect();
    let mut out = Vec::new();
    while let Some(first) = pieces.pop() {
        // A row of pieces: go on at both ends.
        let mut row = vec![first[0], first[1]];
        for _ in 0..2 {
            while let Some(n) = pieces.iter().position(|p| p.contains(&row[row.len() - 1])) {
                let [a, b] = pieces.swap_remove(n);
                row.push(if a == row[row.len() - 1] { b } else { a });
            }
            row.reverse();
        }
        if row[0] == row[row.len() - 1] {
            continue;
        }
        // The place on the row nearest to the facet's centre.
        let nearest = row
            .windows(2)
            .enumerate()
            .map(|(n, p)| {
                let along = sub(&p[1], &p[0]);
                let t = dot(&sub(&facet.point, &p[0]), &along) / dot(&along, &along);
                let t = t.clamp(0.0, 1.0);
                let at: Point<D> = std::array::from_fn(|k| p[0][k] + t * along[k]);
                (norm(&sub(&at, &facet.point)), n, at)
            })
            .min_by(|x, y| x.0.total_cmp(&y.0));
        let Some((_, n, at)) = nearest else { continue };
        let way = |rest: &[Point<D>]| -> f64 {
            let mut from = at;
            rest.iter()
                .map(|to| piece(space, &std::mem::replace(&mut from, *to), to))
                .sum()
        };
        let back: Vec<Point<D>> = row[..=n].iter().rev().copied().collect();
        out.push((row[0], way(&back)));
        out.push((row[row.len() - 1], way(&row[n + 1..])));
    }
    out
}
