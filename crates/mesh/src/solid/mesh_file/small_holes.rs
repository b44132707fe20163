//! Filling holes whose filling is beyond doubt: a single missing triangle, or a small and nearly
//! plane hole of few edges.

use super::super::mesh_topology::{Edges, Side};
use super::super::polygon_fill::fill_ring;
use super::super::{Bounds, Point, SolidError};
use super::raw::RawMesh;
use super::report::some;
use ionfall_numerics::vector::{add, cross, distance, dot, sub, unit_or};
use std::collections::HashMap;

/// Most edges of a hole that is filled.
const MOST_EDGES: usize = 8;
/// Largest extent, as part of the mesh's diagonal, of a hole of more than three edges.
const LARGEST: f64 = 0.1;
/// Largest departure from a plane, as part of the hole's extent.
const PLANE: f64 = 0.1;

/// The holes as rings of points, each running so that its filling agrees with the triangles
/// around, and whether each is simple: closed, and meeting no hole (nor itself) in a point.
fn rings(open: &[Side]) -> Vec<(Vec<u32>, bool)> {
    let mut next: HashMap<u32, Vec<u32>> = HashMap::new();
    for side in open {
        // The filling runs against the triangle beside it.
        let [a, b] = side.directed();
        next.entry(b).or_default().push(a);
    }
    let mut starts: Vec<u32> = next.keys().copied().collect();
    starts.sort_unstable();
    let mut found = Vec::new();
    for start in starts {
        while let Some(first) = next.get_mut(&start).and_then(Vec::pop) {
            let (mut ring, mut simple, mut at) = (vec![start], true, first);
            while at != start {
                simple &= !ring.contains(&at) || ring.len() > MOST_EDGES;
                ring.push(at);
                let Some(ways) = next.get_mut(&at) else { break };
                simple &= ways.len() == 1;
                match ways.pop() {
                    Some(to) => at = to,
                    None => break,
                }
            }
            simple &= at == start;
            found.push((ring, simple));
        }
    }
    found
}

fn extent(points: &[Point<3>]) -> f64 {
    let b = Bounds::around(points.iter().copied());
    distance(&b.low, &b.high)
}

fn nearly_plane(ring: &[Point<3>]) -> bool {
    let n = ring.len();
    let normal = (1..n - 1)
        .map(|i| cross(&sub(&ring[i], &ring[0]), &sub(&ring[i + 1], &ring[0])))
        .fold([0.0; 3], |s, v| add(&s, &v));
    let normal = unit_or(&normal, &[0.0; 3]);
    let off = ring.iter().map(|p| dot(&sub(p, &ring[0]), &normal));
    let (low, high) = off.fold((0.0_f64, 0.0_f64), |(l, h), d| (l.min(d), h.max(d)));
    high - low <= PLANE * extent(ring)
}

/// Fills what is beyond doubt; returns where.
///
/// # Errors
/// [`SolidError::OpenMesh`] if other holes are left.
pub(super) fn fill(raw: &mut RawMesh, edges: &Edges) -> Result<Vec<Point<3>>, SolidError> {
    let open = edges.open();
    if open.is_empty() {
        return Ok(Vec::new());
    }
    let whole = extent(&raw.vertices);
    let (mut filled, mut left, mut edges_left) = (Vec::new(), Vec::new(), 0);
    for (ring, simple) in rings(&open) {
        let points: Vec<Point<3>> = ring.iter().map(|&v| raw.vertices[v as usize]).collect();
        let small = points.len() <= MOST_EDGES && extent(&points) <= LARGEST * whole;
        let clear = simple && (points.len() == 3 || (small && nearly_plane(&points)));
        let filling = if clear {
            fill_ring(&points)
        } else {
            Vec::new()
        };
        let middle: Point<3> =
            std::array::from_fn(|k| points.iter().map(|p| p[k]).sum::<f64>() / points.len() as f64);
        if points.len() >= 3 && filling.len() == points.len() - 2 {
            for t in filling {
                raw.triangles.push(t.map(|k| ring[k]));
            }
            filled.push(middle);
        } else {
            edges_left += points.len();
            left.push(middle);
        }
    }
    if left.is_empty() {
        return Ok(filled);
    }
    Err(SolidError::OpenMesh {
        edges: edges_left,
        holes: left.len(),
        at: some(left),
    })
}
