//! What surrounds a leaf and a node: leaves across faces, nodes by leaf, linked nodes.

use super::links::{Neighbours, Nodes};
use super::tree::{Cell, Tree};
use ionfall_numerics::couplings::Coupling;
use smallvec::{SmallVec, smallvec};

/// Neighbour lists of all nodes.
#[derive(Clone, Debug)]
pub struct Adjacency {
    start: Vec<u32>,
    other: Vec<u32>,
}

impl Adjacency {
    /// From links.
    pub fn new(nodes: usize, links: &[Coupling]) -> Self {
        let mut start = vec![0u32; nodes + 1];
        for l in links {
            start[l.a as usize + 1] += 1;
            start[l.b as usize + 1] += 1;
        }
        for n in 0..nodes {
            start[n + 1] += start[n];
        }
        let mut at = start.clone();
        let mut other = vec![0; start[nodes] as usize];
        for l in links {
            for (x, y) in [(l.a, l.b), (l.b, l.a)] {
                other[at[x as usize] as usize] = y;
                at[x as usize] += 1;
            }
        }
        Self { start, other }
    }

    /// Neighbours of a node.
    pub fn of(&self, node: u32) -> &[u32] {
        &self.other[self.start[node as usize] as usize..self.start[node as usize + 1] as usize]
    }
}

/// What surrounds the leaves.
#[derive(Clone, Copy, Debug)]
pub struct Surroundings<'a, const D: usize> {
    /// The leaves.
    pub tree: &'a Tree<D>,
    /// Leaves across faces.
    pub neighbours: &'a Neighbours<D>,
    /// Nodes by leaf, before the unreached ones were dropped.
    pub nodes: &'a Nodes,
    /// Present numbers of those nodes.
    pub renumbered: &'a [Option<u32>],
}

impl<const D: usize> Surroundings<'_, D> {
    /// The only node of a leaf.
    pub fn single(&self, leaf: usize) -> Option<u32> {
        let (first, next) = (self.nodes.first[leaf], self.nodes.first[leaf + 1]);
        if next == first + 1 {
            self.renumbered[first as usize]
        } else {
            None
        }
    }

    /// The leaf of the same size across a face.
    pub fn equal(&self, leaf: usize, face: usize) -> Option<usize> {
        let across = self.neighbours.across(leaf, face)?;
        (self.tree.leaves[across].level == self.tree.leaves[leaf].level).then_some(across)
    }

    /// Nodes on one side of a leaf: one of its own size, or all the small ones at that face.
    pub fn side(&self, leaf: usize, face: usize) -> Option<SmallVec<[u32; 4]>> {
        let cell = self.tree.leaves[leaf];
        let first = self.neighbours.across(leaf, face)?;
        if self.tree.leaves[first].level == cell.level {
            return Some(smallvec![self.single(first)?]);
        }
        if self.tree.leaves[first].level < cell.level {
            return None;
        }
        let beyond = Tree::<D>::across(cell, face / 2, face & 1 == 1)?;
        // Children of `beyond` that touch the face: low ones across a high face and vice versa.
        let near = u64::from(face & 1 == 0);
        (0..1u64 << D)
            .filter(|child| child >> (face / 2) & 1 == near)
            .map(|child| {
                let cell = Cell {
                    key: beyond.key << D | child,
                    level: beyond.level + 1,
                };
                let leaf = self.tree.find_near(cell, first);
                if self.tree.leaves[leaf] == cell {
                    self.single(leaf)
                } else {
                    None
                }
            })
            .collect()
    }
}
