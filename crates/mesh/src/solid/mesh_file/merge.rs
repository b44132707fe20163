//! Joining points: equal ones, and those that a rounding left apart along open edges.

use super::super::mesh_topology::Edges;
use super::super::{Bounds, Point};
use super::raw::RawMesh;
use ionfall_numerics::groups::Groups;
use ionfall_numerics::vector::distance;
use std::collections::{HashMap, HashSet};

/// Cracks narrower than this part of the mesh's diagonal are closed. Text files with six digits
/// leave gaps of about 1e-6.
const CRACK: f64 = 1e-5;

/// Renumbers the triangles and drops points that no triangle uses.
fn renumber(raw: &mut RawMesh, target: &[u32]) {
    let mut new = vec![u32::MAX; raw.vertices.len()];
    let mut kept = Vec::with_capacity(raw.vertices.len());
    for t in &mut raw.triangles {
        for v in t {
            let old = target[*v as usize] as usize;
            if new[old] == u32::MAX {
                new[old] = kept.len() as u32;
                kept.push(raw.vertices[old]);
            }
            *v = new[old];
        }
    }
    raw.vertices = kept;
}

/// Joins points that are equal.
pub(super) fn join_equal(raw: &mut RawMesh) {
    let mut first: HashMap<[u64; 3], u32> = HashMap::with_capacity(raw.vertices.len());
    let target: Vec<u32> = raw
        .vertices
        .iter()
        .enumerate()
        // Adding zero makes -0 and 0 the same.
        .map(|(i, p)| {
            *first
                .entry(p.map(|c| (c + 0.0).to_bits()))
                .or_insert(i as u32)
        })
        .collect();
    renumber(raw, &target);
}

/// Joins points on open edges that are nearer than [`CRACK`]; returns where.
pub(super) fn close_cracks(raw: &mut RawMesh, edges: &Edges) -> Vec<Point<3>> {
    let open = edges.open();
    let mut rim: Vec<u32> = open.iter().flat_map(|s| s.ends).collect();
    rim.sort_unstable();
    rim.dedup();
    let b = Bounds::around(raw.vertices.iter().copied());
    let reach = CRACK * distance(&b.low, &b.high);
    if rim.is_empty() || reach == 0.0 {
        return Vec::new();
    }
    let cell = |p: &Point<3>| p.map(|c| (c / reach).floor() as i64);
    let mut cells: HashMap<[i64; 3], Vec<u32>> = HashMap::new();
    let mut target: Vec<u32> = (0..raw.vertices.len() as u32).collect();
    let mut joined = Vec::new();
    for &v in &rim {
        let p = raw.vertices[v as usize];
        let home = cell(&p);
        let around = (0..27).map(|k| {
            [
                home[0] + k % 3 - 1,
                home[1] + k / 3 % 3 - 1,
                home[2] + k / 9 - 1,
            ]
        });
        let near = around
            .filter_map(|c| cells.get(&c))
            .flatten()
            .copied()
            .find(|&w| distance(&raw.vertices[w as usize], &p) <= reach);
        match near {
            Some(w) => {
                target[v as usize] = w;
                joined.push(p);
            }
            None => cells.entry(home).or_default().push(v),
        }
    }
    if !joined.is_empty() {
        renumber(raw, &target);
    }
    joined
}

/// Leaves out triangles with two corners in one point; returns where.
pub(super) fn drop_degenerate(raw: &mut RawMesh) -> Vec<Point<3>> {
    let (vertices, mut at) = (&raw.vertices, Vec::new());
    raw.triangles.retain(|t| {
        let good = t[0] != t[1] && t[1] != t[2] && t[2] != t[0];
        if !good {
            at.push(vertices[t[0] as usize]);
        }
        good
    });
    at
}

/// Edges of a triangle with ascending corners, their ends ascending too.
fn sides(k: &[u32; 3]) -> [[u32; 2]; 3] {
    [[k[0], k[1]], [k[1], k[2]], [k[0], k[2]]]
}

/// Repeated triangles, told by their corners, that close a surface among themselves: a whole shell was
/// written twice. `others` are the edges of the rest of the mesh.
fn whole_shells<'a>(
    repeated: impl Iterator<Item = &'a [u32; 3]> + Clone,
    others: &HashMap<[u32; 2], usize>,
) -> HashSet<[u32; 3]> {
    let list: Vec<[u32; 3]> = repeated.copied().collect();
    let mut at: HashMap<[u32; 2], Vec<usize>> = HashMap::new();
    for (n, k) in list.iter().enumerate() {
        for ends in sides(k) {
            at.entry(ends).or_default().push(n);
        }
    }
    let mut groups = Groups::new(list.len());
    for here in at.values() {
        for pair in here.windows(2) {
            groups.join(pair[0], pair[1]);
        }
    }
    let open: HashSet<usize> = at
        .iter()
        .filter(|(ends, here)| here.len() % 2 == 1 || others.contains_key(*ends))
        .map(|(_, here)| groups.find(here[0]))
        .collect();
    let closed = (0..list.len()).filter(|n| !open.contains(&groups.find(*n)));
    closed.map(|n| list[n]).collect()
}

/// Leaves out triangles between the same three points: one stays if the rest of the mesh needs it
/// (one other triangle at each of its edges) or if all of its shell is repeated, otherwise none; returns
/// where.
pub(super) fn drop_duplicates(raw: &mut RawMesh) -> Vec<Point<3>> {
    let key = |t: &[u32; 3]| {
        let mut k = *t;
        k.sort_unstable();
        k
    };
    let mut copies: HashMap<[u32; 3], usize> = HashMap::with_capacity(raw.triangles.len());
    for t in &raw.triangles {
        *copies.entry(key(t)).or_default() += 1;
    }
    copies.retain(|_, n| *n > 1);
    if copies.is_empty() {
        return Vec::new();
    }
    // Other triangles at each edge of the repeated ones.
    let mut others: HashMap<[u32; 2], usize> = HashMap::new();
    for t in raw
        .triangles
        .iter()
        .map(key)
        .filter(|k| !copies.contains_key(k))
    {
        for ends in sides(&t) {
            *others.entry(ends).or_default() += 1;
        }
    }
    let whole = whole_shells(copies.keys(), &others);
    let needed = |k: &[u32; 3]| {
        let joined = |e: &[u32; 2]| others.get(e).is_some_and(|n| n % 2 == 1);
        whole.contains(k) || sides(k).iter().any(joined)
    };
    let mut left: HashMap<[u32; 3], usize> = copies
        .keys()
        .map(|k| (*k, usize::from(needed(k))))
        .collect();
    let (vertices, mut at) = (&raw.vertices, Vec::new());
    raw.triangles.retain(|t| {
        let Some(n) = left.get_mut(&key(t)) else {
            return true;
        };
        if *n > 0 {
            *n -= 1;
            return true;
        }
        at.push(vertices[t[0] as usize]);
        false
    });
    at
}
