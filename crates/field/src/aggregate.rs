//! Which nodes make one node of the next coarser level.
//!
//! Cells that share a tree parent are joined along their links, so that two sides of a thin wall
//! or a cell and the coat upon it never end up in one aggregate. Cells of every size go up one
//! level together: the coarse graph belongs to a tree that is graded like the fine one. Hubs stay
//! alone. Nodes hold to their neighbours by very different conductances where cells are cut; one
//! that is tied to its aggregate by less than a quarter of its strongest link (`WEAK`, own choice)
//! goes to that neighbour's aggregate instead.
//!
//! A graph whose addresses do not help (few nodes joined) is joined by strength alone.

use crate::graph::{Graph, split};
use crate::order::{CHUNK, along_curve, colour, parent};
use crate::real::Real;
use ionfall_numerics::groups::{join, settle};
use rayon::prelude::*;
use std::ops::Range;

/// Share of its strongest link below which a node counts as weakly tied to its aggregate.
const WEAK: f64 = 0.25;

/// Coarse nodes per fine node above which the tree is given up for strength.
const STALLED: f64 = 0.5;

/// Most nodes joined around one by strength alone.
const STAR: usize = 6;

/// The nodes of a coarse graph and their members.
#[derive(Debug)]
pub(crate) struct Aggregates {
    /// Aggregate of every cell.
    pub of: Vec<u32>,
    /// First aggregate of every coarse chunk, and the end.
    pub chunks: Vec<u32>,
    /// First fine cell of the members of every coarse chunk, and the end.
    pub members: Vec<u32>,
}

impl Aggregates {
    /// Joins the cells of a graph; also tells the location code of every aggregate.
    pub fn new<T: Real>(graph: &Graph<T>, codes: &[u64], dimension: u32) -> (Self, Vec<u64>) {
        let chunks = &graph.pattern.chunks;
        let by_tree = represent(chunks, |range, root| {
            join_siblings(graph, codes, dimension, range.clone(), root);
            move_weak(graph, codes, range, root);
        });
        if (heads(chunks, &by_tree) as f64) < STALLED * codes.len() as f64 {
            let up = codes
                .iter()
                .map(|&c| parent(c, dimension))
                .collect::<Vec<_>>();
            return Self::number(chunks, &by_tree, &up, dimension);
        }
        let by_strength = represent(chunks, |range, root| join_strongest(graph, range, root));
        Self::number(chunks, &by_strength, codes, dimension)
    }

    /// Numbers the aggregates in the manner of [`Order`](crate::order::Order): chunks along the
    /// curve, each made of whole fine chunks, and the two colours one after the other in each.
    fn number(fine: &[u32], roots: &[u16], codes: &[u64], dimension: u32) -> (Self, Vec<u64>) {
        let mut own_codes = Vec::new();
        let mut aggregates = Aggregates {
            of: vec![0; roots.len()],
            chunks: vec![0],
            members: vec![0],
        };
        let mut open: Vec<(u64, u32)> = Vec::new();
        for (k, ends) in fine.windows(2).enumerate() {
            let (lo, hi) = (ends[0], ends[1]);
            let own = (lo..hi)
                .filter(|&i| u32::from(roots[i as usize]) == i - lo)
                .map(|i| (along_curve(codes[i as usize]), i));
            let before = open.len();
            open.extend(own);
            open[before..].sort_unstable();
            let next = fine.get(k + 2).map_or(0, |&end| end - hi) as usize;
            if open.len() + next > CHUNK || next == 0 {
                open.sort_by_key(|&(_, i)| colour(codes[i as usize], dimension));
                for (_, i) in open.drain(..) {
                    aggregates.of[i as usize] = own_codes.len() as u32;
                    own_codes.push(codes[i as usize]);
                }
                aggregates.chunks.push(own_codes.len() as u32);
                aggregates.members.push(hi);
            }
        }
        for ends in fine.windows(2) {
            for i in ends[0]..ends[1] {
                let head = ends[0] + u32::from(roots[i as usize]);
                aggregates.of[i as usize] = aggregates.of[head as usize];
            }
        }
        (aggregates, own_codes)
    }

    /// Number of aggregates.
    pub fn cells(&self) -> usize {
        self.chunks.last().map_or(0, |&end| end as usize)
    }
}

/// Lets `join` write, chunk by chunk, a representative (counted from the start of the chunk,
/// `root[root[i]] == root[i]`) for every cell.
fn represent(chunks: &[u32], join: impl Fn(Range<usize>, &mut [u16]) + Sync) -> Vec<u16> {
    let cells = chunks.last().map_or(0, |&end| end as usize);
    let mut roots = vec![0; cells];
    (split(chunks, &mut roots).into_par_iter())
        .zip(chunks)
        .for_each(|(root, &lo)| {
            for (i, root) in root.iter_mut().enumerate() {
                *root = i as u16;
            }
            let lo = lo as usize;
            join(lo..lo + root.len(), root);
        });
    roots
}

/// Number of cells that represent themselves.
fn heads(chunks: &[u32], roots: &[u16]) -> usize {
    let mut count = 0;
    for ends in chunks.windows(2) {
        let root = &roots[ends[0] as usize..ends[1] as usize];
        count += (root.iter().enumerate())
            .filter(|&(i, &r)| i == usize::from(r))
            .count();
    }
    count
}

/// Calls `f(i, j, g)` for every inner link of a chunk, ends counted from its start.
fn each_inner<T: Real>(
    graph: &Graph<T>,
    range: Range<usize>,
    mut f: impl FnMut(usize, usize, f64),
) {
    let p = &*graph.pattern;
    for (i, row) in p.start[range.start..=range.end].windows(2).enumerate() {
        let row = row[0] as usize..row[1] as usize;
        for (&c, &g) in p.col[row.clone()].iter().zip(&graph.value[row]) {
            f(i, usize::from(c), g.wide());
        }
    }
}

/// Joins along the links those cells that share a tree parent.
fn join_siblings<T: Real>(
    graph: &Graph<T>,
    codes: &[u64],
    dimension: u32,
    range: Range<usize>,
    root: &mut [u16],
) {
    let codes = &codes[range.clone()];
    each_inner(graph, range, |i, j, g| {
        if g > 0.0 && parent(codes[i], dimension) == parent(codes[j], dimension) {
            join(root, i, j);
        }
    });
    settle(root);
}

/// Moves weakly tied nodes to the aggregate of their strongest neighbour of the same kind.
fn move_weak<T: Real>(graph: &Graph<T>, codes: &[u64], range: Range<usize>, root: &mut [u16]) {
    let codes = &codes[range.clone()];
    let mut strongest = vec![(0.0f32, 0u16); root.len()];
    let mut own = vec![0.0f32; root.len()];
    each_inner(graph, range, |i, j, g| {
        if codes[i] & 1 != codes[j] & 1 {
            return;
        }
        let g = g as f32;
        if g > strongest[i].0 {
            strongest[i] = (g, j as u16);
        }
        if g > strongest[j].0 {
            strongest[j] = (g, i as u16);
        }
        if root[i] == root[j] {
            own[i] += g;
            own[j] += g;
        }
    });
    let weak = |i: usize| own[i] < WEAK as f32 * strongest[i].0;
    let mut moved = vec![None; root.len()];
    let mut leads = vec![false; root.len()];
    for i in 0..root.len() {
        leads[usize::from(root[i])] |= usize::from(root[i]) != i;
    }
    for i in 0..root.len() {
        let target = usize::from(strongest[i].1);
        if weak(i) && !leads[i] && !weak(target) {
            moved[i] = Some(root[target]);
        }
    }
    for (root, moved) in root.iter_mut().zip(moved) {
        if let Some(moved) = moved {
            *root = moved;
        }
    }
}

/// Joins every node not yet joined with up to [`STAR`] such neighbours, the strongest first.
fn join_strongest<T: Real>(graph: &Graph<T>, range: Range<usize>, root: &mut [u16]) {
    let mut neighbours: Vec<Vec<(f64, usize)>> = vec![Vec::new(); root.len()];
    each_inner(graph, range, |i, j, g| {
        neighbours[i].push((g, j));
        neighbours[j].push((g, i));
    });
    let mut free = vec![true; root.len()];
    for i in 0..root.len() {
        neighbours[i].sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let Some(&(strongest, partner)) = neighbours[i].first() else {
            continue;
        };
        if !free[i] {
            continue;
        }
        free[i] = false;
        let mut joined = 0;
        for &(g, j) in &neighbours[i] {
            if free[j] && g >= WEAK * strongest && joined < STAR {
                free[j] = false;
                root[j] = i as u16;
                joined += 1;
            }
        }
        if joined == 0 {
            root[i] = root[partner];
        }
    }
}
