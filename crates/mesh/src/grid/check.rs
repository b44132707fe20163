//! What cannot be gridded, told with the place and the way out.

use super::cut::CellCut;
use super::domain::{BodyKind, Domain};
use super::facet::Facet;
use super::fragment::Fragment;
use super::scene::{Role, Scene};
use crate::solid::{Bounds, Fineness, Point, Solid, Soup};
use ionfall_numerics::number::significant;
use std::collections::BTreeMap;
use thiserror::Error;

/// Why a grid could not be built.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum GridError {
    /// The tank has no finite bounds or no inside.
    #[error("the tank is empty or unbounded: give it a shape with a finite inside")]
    EmptyTank,
    /// More cells than memory.
    #[error(
        "the grid would have about {cells} cells and need {need_mib} MiB, but only {have_mib} MiB \
         are allowed: make the finest size larger (about {suggested_mm:.2} mm would fit)"
    )]
    TooLarge {
        /// Estimated leaves.
        cells: u64,
        /// Memory for a whole run, MiB.
        need_mib: u64,
        /// Limit, MiB.
        have_mib: u64,
        /// A finest size that should fit, mm.
        suggested_mm: f64,
    },
    /// Small cells are asked for in too large a region, or everywhere.
    #[error(
        "{what} of {size_mm} mm would be about {cells:.1e} and need {need_mib:.1e} MiB, but only {have_mib} \
         MiB are allowed: make them larger ({suggested_mm:.3} mm would fit{or})"
    )]
    TooMany {
        /// Which cells.
        what: &'static str,
        /// Their size, mm.
        size_mm: f64,
        /// How many, about.
        cells: f64,
        /// Memory for a whole run, MiB.
        need_mib: f64,
        /// Limit, MiB.
        have_mib: u64,
        /// A size that should fit, mm.
        suggested_mm: f64,
        /// Another way out.
        or: &'static str,
    },
    /// More parts of bodies meet in one cell than can be cut in a reasonable time.
    #[error(
        "\"{name}\" is drawn in so many parts that {parts} of them meet in one cell of {size_mm} mm, and \
         cutting them would take too long: draw it with fewer parts (a wire with fewer points), or give \
         it smaller cells (`finest`)"
    )]
    Crowded {
        /// The body.
        name: String,
        /// Parts in the fullest cell.
        parts: usize,
        /// Its size, mm.
        size_mm: String,
    },
    /// The finest size is too small against the tank for the tree's depth.
    #[error(
        "a finest size of {finest_mm} mm is more than a million times smaller than the tank \
         ({extent_mm} mm): make it larger"
    )]
    TooDeep {
        /// Wanted, mm.
        finest_mm: String,
        /// Tank, mm.
        extent_mm: String,
    },
    /// An electrode has no surface in the electrolyte.
    #[error("\"{name}\" has no surface in the electrolyte: {reason}")]
    NoSurface {
        /// Electrode.
        name: String,
        /// Why, and the way out.
        reason: String,
    },
    /// Two electrodes touch.
    #[error(
        "\"{first}\" and \"{second}\" touch near ({}): electrodes must be apart, or be one body",
        place_mm(.place_m)
    )]
    Touching {
        /// One.
        first: String,
        /// The other.
        second: String,
        /// Where, metres.
        place_m: Vec<f64>,
    },
    /// No cell of electrolyte connects electrodes.
    #[error("no electrolyte joins two electrodes: the grid is empty")]
    NothingToSolve,
}

fn place_mm(place_m: &[f64]) -> String {
    let parts: Vec<String> = place_m
        .iter()
        .map(|x| format!("{:.2} mm", 1e3 * x))
        .collect();
    parts.join(", ")
}

/// Bytes a leaf costs in a whole run, from measured peaks.
pub const BYTES_PER_CELL: u64 = 900;

/// Leaves for each wanted cell: a surface of `n` cut cells carries a band of leaves of its own size,
/// and again a third of that in coarser ones.
const LEAVES_PER_SEED: [f64; 2] = [24.0, 12.0];

/// Cut cells by surface area alone, from a rough tessellation: known in no time, so that a size
/// far too fine is refused before anything large is made.
pub fn expected_cut_cells<const D: usize>(domain: &Domain<D>, bounds: &Bounds<D>) -> f64 {
    let extent = (0..D)
        .map(|k| bounds.high[k] - bounds.low[k])
        .fold(0.0, f64::max);
    let rough = Fineness {
        sagitta_m: 2e-3 * extent,
        within: bounds.grown(extent),
    };
    let inside = |soup: &Soup<D>| -> f64 {
        let corners = soup
            .elements
            .iter()
            .map(|e| e.map(|v| soup.vertices[v as usize]));
        corners
            .filter_map(|c| Some(Fragment::simplex(&c).clipped(bounds)?.measure().0))
            .sum()
    };
    let area = |solid: &Solid<D>| -> f64 {
        let parts = solid.primitives().into_iter();
        parts.map(|p| inside(&p.tessellate(&rough))).sum()
    };
    let cells = |area: f64, size_m: f64| area / size_m.powi(D as i32 - 1);
    let bodies = domain
        .bodies
        .iter()
        .map(|b| cells(area(&b.solid), b.finest_m));
    let sheets = domain
        .sheets
        .iter()
        .map(|s| cells(inside(&s.sheet.soup), s.finest_m));
    cells(area(&domain.tank), domain.wall_m) + bodies.chain(sheets).sum::<f64>()
}

/// Refuses the cells that come of so many seeds, if the bytes that they need are beyond the limit.
fn beyond<const D: usize>(
    seeds: f64,
    limit: u64,
    refusal: impl FnOnce(f64, f64) -> GridError,
) -> Result<(), GridError> {
    let cells = LEAVES_PER_SEED[D - 2] * seeds;
    let need = cells * BYTES_PER_CELL as f64;
    match need.is_nan() || need > limit as f64 {
        true => Err(refusal(cells, need)),
        false => Ok(()),
    }
}

/// Refuses what would not fit into memory.
pub fn check_size<const D: usize>(
    domain: &Domain<D>,
    seeds: f64,
    limit: u64,
) -> Result<(), GridError> {
    beyond::<D>(seeds, limit, |cells, need| {
        let coarser = (need / limit as f64).powf(1.0 / (D as f64 - 1.0));
        let bodies = domain.bodies.iter().map(|b| b.finest_m);
        let sheets = domain.sheets.iter().map(|s| s.finest_m);
        let finest = bodies.chain(sheets).fold(f64::INFINITY, f64::min);
        GridError::TooLarge {
            cells: cells as u64,
            need_mib: (need / 1048576.0) as u64,
            have_mib: limit >> 20,
            suggested_mm: 1e3 * ROOMY * finest * coarser,
        }
    })
}

/// Refuses cells at sharp edges that would not fit into memory, before they are made.
pub fn check_edges<const D: usize>(
    domain: &Domain<D>,
    seeds: f64,
    limit: u64,
) -> Result<(), GridError> {
    beyond::<D>(seeds, limit, |cells, need| {
        let edges = domain.bodies.iter().map(|b| b.edge_m);
        let size_m = edges.fold(f64::INFINITY, f64::min);
        GridError::TooMany {
            what: "cells at sharp edges",
            size_mm: 1e3 * size_m,
            cells,
            need_mib: need / 1_048_576.0,
            have_mib: limit >> 20,
            suggested_mm: 1e3 * ROOMY * size_m * need / limit as f64,
            or: ": `edge` in [grid] or of a body",
        }
    })
}

/// A suggested size over the one that would just fit.
const ROOMY: f64 = 1.1;
/// Of the box around the tank at least so much is filled with cells of the coarsest size or smaller:
/// a guess on the safe side, for tanks that are not boxes and bodies that take room.
const LEAST_SHARE: f64 = 0.3;
/// Points on a side of the lattice that tells how much of the tank a region takes.
const LATTICE: usize = 24;

/// Refuses what would not fit into memory, before it is made: cells that fill regions or the tank.
pub fn check_volumes<const D: usize>(
    domain: &Domain<D>,
    bounds: &Bounds<D>,
    limit: u64,
) -> Result<(), GridError> {
    let check = |what, share: f64, size_m: f64, within: &Bounds<D>, or| {
        let across = |k: usize| (within.high[k] - within.low[k]).max(0.0) / size_m;
        let cells = share * (0..D).map(across).product::<f64>();
        let need = cells * BYTES_PER_CELL as f64;
        if need <= limit as f64 {
            return Ok(());
        }
        Err(GridError::TooMany {
            what,
            size_mm: 1e3 * size_m,
            cells,
            need_mib: need / 1_048_576.0,
            have_mib: limit >> 20,
            suggested_mm: 1e3 * ROOMY * size_m * (need / limit as f64).powf(1.0 / D as f64),
            or,
        })
    };
    for region in &domain.regions {
        let within = region.solid.bounds().intersection(bounds);
        let share = share_inside(&region.solid, &within);
        let or = ", or make the region smaller";
        check(
            "cells of a [[grid.region]]",
            share,
            region.finest_m,
            &within,
            or,
        )?;
    }
    let least = "cells of the coarsest size";
    check(
        least,
        LEAST_SHARE,
        domain.coarsest_m,
        bounds,
        ": `coarsest` in [grid]",
    )
}

/// Share of a box that a solid takes, by a lattice of points.
fn share_inside<const D: usize>(solid: &Solid<D>, within: &Bounds<D>) -> f64 {
    let all = LATTICE.pow(D as u32);
    let inside = |n: &usize| {
        let x = std::array::from_fn(|k| {
            let step = n / LATTICE.pow(k as u32) % LATTICE;
            let share = (step as f64 + 0.5) / LATTICE as f64;
            within.low[k] + share * (within.high[k] - within.low[k])
        });
        solid.contains(&x)
    };
    (0..all).filter(inside).count() as f64 / all as f64
}

/// Parts of a body in one cell from which the work of cutting them is counted.
const MANY_PARTS: usize = 64;
/// Most of it: pairs of parts in one cell, over all cells.
const MOST_PAIRS: usize = 1_000_000;

/// Refuses bodies of so many parts in one cell that cutting them would take minutes; told by the middles of
/// the parts, before any surface is made.
pub fn check_crowds<const D: usize>(domain: &Domain<D>) -> Result<(), GridError> {
    for body in &domain.bodies {
        let parts = body.solid.primitives();
        if parts.len() <= MANY_PARTS {
            continue;
        }
        let mut cells: BTreeMap<[i64; D], usize> = BTreeMap::new();
        for part in parts {
            let bounds = part.bounds();
            let middle = |k: usize| 0.5 * (bounds.low[k] + bounds.high[k]);
            let cell = std::array::from_fn(|k| (middle(k) / body.finest_m).floor() as i64);
            *cells.entry(cell).or_default() += 1;
        }
        let crowds = || cells.values().copied().filter(|n| *n > MANY_PARTS);
        if crowds().map(|n| n * n).sum::<usize>() > MOST_PAIRS {
            return Err(GridError::Crowded {
                name: body.name.clone(),
                parts: crowds().max().unwrap_or_default(),
                size_mm: significant(1e3 * body.finest_m, 3),
            });
        }
    }
    Ok(())
}

/// Electrodes must not touch.
pub fn check_touching<const D: usize>(
    domain: &Domain<D>,
    cuts: &[CellCut<D>],
) -> Result<(), GridError> {
    match cuts.iter().flat_map(|c| &c.touches).next() {
        None => Ok(()),
        Some((a, b, place)) => Err(GridError::Touching {
            first: domain.bodies[usize::from(*a)].name.clone(),
            second: domain.bodies[usize::from(*b)].name.clone(),
            place_m: place.to_vec(),
        }),
    }
}

/// Every electrode needs a surface in the electrolyte.
pub fn check_surfaces<const D: usize>(
    domain: &Domain<D>,
    scene: &Scene<'_, D>,
    facets: &[(Facet<D>, u32)],
) -> Result<(), GridError> {
    let mut seen = vec![false; domain.bodies.len()];
    for (facet, _) in facets {
        seen[usize::from(facet.body)] = true;
    }
    for (i, body) in domain.bodies.iter().enumerate() {
        if body.kind != BodyKind::Electrode || seen[i] {
            continue;
        }
        let of_body = || {
            scene
                .elements
                .iter()
                .filter(move |e| scene.surfaces[e.surface as usize].role == Role::Body(i))
        };
        let centre = |e: &super::scene::Element<D>| -> Point<D> {
            std::array::from_fn(|k| e.corners.iter().map(|c| c[k]).sum::<f64>() / D as f64)
        };
        let in_tank = of_body().any(|e| domain.tank.contains(&centre(e)));
        let stopped = of_body().any(|e| {
            domain
                .stop_offs
                .iter()
                .any(|s| s.solid.contains(&centre(e)))
        });
        let reason = if !in_tank {
            "it lies outside the tank or above the liquid; move it, or enlarge the tank"
        } else if stopped {
            "all of it is under stop-off; leave some of it bare"
        } else {
            "it is buried in other bodies; move it"
        };
        return Err(GridError::NoSurface {
            name: body.name.clone(),
            reason: reason.into(),
        });
    }
    Ok(())
}

/// Every electrode must be reached by the current of another.
pub fn check_reached<const D: usize>(
    domain: &Domain<D>,
    facets: &[Facet<D>],
) -> Result<(), GridError> {
    if facets.is_empty() {
        return Err(GridError::NothingToSolve);
    }
    for (i, body) in domain.bodies.iter().enumerate() {
        if body.kind == BodyKind::Electrode && !facets.iter().any(|f| usize::from(f.body) == i) {
            return Err(GridError::NoSurface {
                name: body.name.clone(),
                reason: "no electrolyte joins it to another electrode; open a way for the current"
                    .into(),
            });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::{Body, Region, Space};
    use crate::solid::{Ball, Cuboid, wire};

    /// A wire of very many points in few cells is refused, in many cells it is not.
    #[test]
    fn crowds_are_refused_before_they_are_made() {
        let along = |n: u32| [1e-5 * f64::from(n), 0.0, 0.0];
        let points: Vec<_> = (0..3000).map(along).collect();
        let body = |finest_m: f64| Body {
            name: "wire".into(),
            solid: wire(&points, 5e-4).unwrap(),
            kind: BodyKind::Electrode,
            finest_m,
            edge_m: finest_m,
            across: 0.0,
        };
        let domain = |finest_m: f64| Domain {
            space: Space::Tank,
            tank: Solid::new(Cuboid::new([-0.1; 3], [0.1; 3]).unwrap()),
            bodies: vec![body(finest_m)],
            stop_offs: Vec::new(),
            sheets: Vec::new(),
            regions: Vec::new(),
            wall_m: 0.01,
            coarsest_m: 0.01,
        };
        check_crowds(&domain(3e-4)).unwrap();
        let text = check_crowds(&domain(4e-3)).unwrap_err().to_string();
        for word in ["\"wire\"", "one cell of 4 mm", "fewer points", "`finest`"] {
            assert!(text.contains(word), "{text}");
        }
    }

    /// A region that would fill the memory, cells of the coarsest size that would, and such as fit.
    #[test]
    fn volumes_of_small_cells_are_refused_before_they_are_made() {
        let tank = Solid::new(Cuboid::new([0.0; 3], [0.3, 0.2, 0.18]).unwrap());
        let mut domain = Domain {
            space: Space::Tank,
            tank: tank.clone(),
            bodies: Vec::new(),
            stop_offs: Vec::new(),
            sheets: Vec::new(),
            regions: Vec::new(),
            wall_m: 0.01,
            coarsest_m: 0.01,
        };
        let bounds = tank.bounds();
        let check = |domain: &Domain<3>| check_volumes(domain, &bounds, 1 << 30);
        check(&domain).unwrap();
        let ball = Solid::new(Ball::new([0.1; 3], 0.02).unwrap());
        let region = |finest_m| Region {
            solid: ball.clone(),
            finest_m,
        };
        domain.regions.push(region(1e-3));
        check(&domain).unwrap();
        domain.regions.push(region(5e-5));
        let text = check(&domain).unwrap_err().to_string();
        assert!(text.contains("[[grid.region]]"), "{text}");
        domain.regions.clear();
        domain.coarsest_m = 1e-5;
        let text = check(&domain).unwrap_err().to_string();
        assert!(text.contains("`coarsest` in [grid]"), "{text}");
    }
}
