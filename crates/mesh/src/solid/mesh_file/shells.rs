//! Which way closed shells face: outer ones outwards, cavities inwards.
//!
//! The signed volume of a shell is the sum of a . (b x c) / 6 over its triangles; it is negative
//! if the shell faces inwards. Shells do not cross, so one point tells which others it lies in.

use super::super::mesh_topology::{Edges, corners_of};
use super::super::triangle_tree::TriangleTree;
use super::super::{Point, SolidError};
use super::raw::RawMesh;
use super::report::some;
use ionfall_numerics::vector::{add, cross, dot, scaled, sub};

/// What [`orient`] found.
pub(super) struct Shells {
    /// Number of closed shells.
    pub count: usize,
    /// Those that are cavities.
    pub cavities: usize,
    /// A point on each shell that was turned over.
    pub turned: Vec<Point<3>>,
}

/// A shell of less volume than this part of its (area)^(3/2) is a folded sheet (a sphere has 0.09).
const SHEET: f64 = 1e-9;

/// Turns shells over where the outermost faces inwards.
///
/// # Errors
/// [`SolidError::NoVolume`] for folded sheets;
/// [`SolidError::NestedShell`] if a shell in another is neither clearly a cavity nor clearly a
/// body in a cavity.
pub(super) fn orient(
    raw: &mut RawMesh,
    edges: &Edges,
    tree: &TriangleTree,
) -> Result<Shells, SolidError> {
    let (shell, count) = edges.pieces(raw.triangles.len());
    let corners = corners_of(&raw.vertices, &raw.triangles);
    let origin = raw.vertices[0];
    let mut volume = vec![0.0_f64; count];
    let mut area = vec![0.0_f64; count];
    let mut probe = vec![(0.0, [0.0; 3]); count];
    for (t, c) in corners.iter().enumerate() {
        let [a, b, c] = c.map(|p| sub(&p, &origin));
        volume[shell[t]] += dot(&a, &cross(&b, &c)) / 6.0;
        let normal = cross(&sub(&b, &a), &sub(&c, &a));
        let area2 = dot(&normal, &normal);
        area[shell[t]] += 0.5 * area2.sqrt();
        if area2 > probe[shell[t]].0 {
            let middle = scaled(&add(&add(&a, &b), &c), 1.0 / 3.0);
            probe[shell[t]] = (area2, add(&middle, &origin));
        }
    }
    let sheets: Vec<Point<3>> = (0..count)
        .filter(|&s| volume[s].abs() <= SHEET * area[s].powf(1.5))
        .map(|s| probe[s].1)
        .collect();
    if !sheets.is_empty() {
        return Err(SolidError::NoVolume {
            shells: sheets.len(),
            at: some(sheets),
        });
    }
    // The shells around each shell: those whose triangles wind about its probe.
    let around: Vec<Vec<usize>> = (0..count)
        .map(|s| {
            let mut winding: Vec<(usize, i32)> = Vec::new();
            tree.way_out(&probe[s].1, |t, sign| winding.push((shell[t], sign)));
            winding.sort_unstable();
            winding
                .chunk_by(|p, q| p.0 == q.0)
                .filter(|c| c[0].0 != s && c.iter().map(|w| w.1).sum::<i32>() != 0)
                .map(|c| c[0].0)
                .collect()
        })
        .collect();
    // Each shell is turned as the outermost one around it is.
    let outermost = |s: usize| {
        around[s]
            .iter()
            .copied()
            .find(|&o| around[o].is_empty())
            .unwrap_or(s)
    };
    let turn: Vec<bool> = (0..count).map(|s| volume[outermost(s)] < 0.0).collect();
    let mut doubtful = Vec::new();
    let mut cavities = 0;
    for s in 0..count {
        let inwards = (volume[s] < 0.0) != turn[s];
        let cavity = around[s].len() % 2 == 1;
        cavities += usize::from(cavity);
        if inwards != cavity {
            doubtful.push(probe[s].1);
        }
    }
    if !doubtful.is_empty() {
        return Err(SolidError::NestedShell { at: some(doubtful) });
    }
    for (t, s) in shell.iter().enumerate() {
        if turn[*s] {
            raw.triangles[t].swap(1, 2);
        }
    }
    Ok(Shells {
        count,
        cavities,
        turned: (0..count)
            .filter(|&s| turn[s])
            .map(|s| probe[s].1)
            .collect(),
    })
}
