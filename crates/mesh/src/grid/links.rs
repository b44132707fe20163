//! Nodes, and the links between them.
//!
//! Each leaf with electrolyte gets a node (one for each part, if it is parted). A face is taken
//! once, from its finer side, or from its lower side between equals; so every face has one area
//! and one flux, and the balance is exact.

use super::opening::{OpenCell, Opening, whole_face};
use super::tree::{Cell, Tree};
use super::{GridLink, Space};
use crate::solid::Bounds;
use rayon::prelude::*;

/// Disjoint groups of numbers (union by smaller number).
#[derive(Clone, Debug)]
pub struct Groups(Vec<u32>);

impl Groups {
    /// `n` numbers, each a group of its own.
    pub fn new(n: usize) -> Self {
        Self((0..n as u32).collect())
    }

    /// The smallest number of the group of `x`.
    pub fn find(&mut self, x: usize) -> usize {
        let mut root = x as u32;
        while self.0[root as usize] != root {
            root = self.0[root as usize];
        }
        let mut at = x as u32;
        while self.0[at as usize] != root {
            at = std::mem::replace(&mut self.0[at as usize], root);
        }
        root as usize
    }

    /// Joins two groups.
    pub fn join(&mut self, x: usize, y: usize) {
        let (x, y) = (self.find(x), self.find(y));
        self.0[x.max(y)] = x.min(y) as u32;
    }

    /// Consecutive group numbers of all.
    pub fn numbers(&mut self) -> Vec<usize> {
        let mut next = 0;
        let mut number = vec![0; self.0.len()];
        for x in 0..self.0.len() {
            let root = self.find(x);
            number[x] = if root == x {
                next += 1;
                next - 1
            } else {
                number[root]
            };
        }
        number
    }
}

/// State of a leaf.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeafState {
    /// Wholly electrolyte.
    Wet,
    /// Wholly solid, or outside.
    Dry,
    /// Cut: number in the list of cut cells.
    Cut(u32),
}

/// No leaf across a face.
const BORDER: u32 = u32::MAX;

/// Leaves across each face of each leaf: the leaf that holds the equal-sized cell there (if that
/// cell is refined, the first leaf in it).
#[derive(Clone, Debug)]
pub struct Neighbours<const D: usize>(Vec<u32>);

impl<const D: usize> Neighbours<D> {
    /// Looks them all up.
    pub fn of(tree: &Tree<D>) -> Self {
        Self(
            tree.leaves
                .par_iter()
                .flat_map_iter(|&cell| {
                    (0..2 * D).map(move |face| {
                        Tree::<D>::across(cell, face / 2, face & 1 == 1)
                            .map_or(BORDER, |c| tree.find(c) as u32)
                    })
                })
                .collect(),
        )
    }

    /// Across one face.
    pub fn across(&self, leaf: usize, face: usize) -> Option<usize> {
        let n = self.0[leaf * 2 * D + face];
        (n != BORDER).then_some(n as usize)
    }
}

/// Nodes of the leaves.
#[derive(Clone, Debug)]
pub struct Nodes {
    /// First node of each leaf, and the total at the end.
    pub first: Vec<u32>,
}

impl Nodes {
    /// Numbers the nodes in the order of the leaves.
    pub fn number<const D: usize>(states: &[LeafState], cut: &[OpenCell<D>]) -> Self {
        let mut first = Vec::with_capacity(states.len() + 1);
        let mut next = 0u32;
        for state in states {
            first.push(next);
            next += match state {
                LeafState::Wet => 1,
                LeafState::Dry => 0,
                LeafState::Cut(c) => u32::from(cut[*c as usize].opening.parts()),
            };
        }
        first.push(next);
        Self { first }
    }

    /// Node of a part of a leaf.
    pub fn node(&self, leaf: usize, part: u8) -> Option<u32> {
        let node = self.first[leaf] + u32::from(part);
        (node < self.first[leaf + 1]).then_some(node)
    }
}

/// A face between two leaves, seen from its owner.
#[derive(Clone, Copy, Debug)]
pub struct FaceLink {
    /// Node on the owner's (finer) side.
    pub owner: u32,
    /// Node across.
    pub other: u32,
    /// Owner's leaf.
    pub leaf: u32,
    /// Owner's face.
    pub face: u8,
    /// Open area, m2.
    pub area_m2: f64,
    /// The leaf across is larger.
    pub hanging: bool,
}

/// All open faces, by leaf and face.
pub fn faces<const D: usize>(
    space: Space,
    tree: &Tree<D>,
    neighbours: &Neighbours<D>,
    states: &[LeafState],
    cut: &[OpenCell<D>],
    nodes: &Nodes,
) -> Vec<FaceLink> {
    (0..tree.leaves.len())
        .into_par_iter()
        .flat_map_iter(|leaf| {
            let mut out = Vec::new();
            if nodes.first[leaf] == nodes.first[leaf + 1] {
                return out;
            }
            let cell = tree.leaves[leaf];
            let bounds = tree.root.bounds(cell);
            for face in 0..2 * D {
                let Some(across) = neighbours.across(leaf, face) else {
                    continue;
                };
                let level = tree.leaves[across].level;
                if level > cell.level || (level == cell.level && face & 1 == 0) {
                    continue;
                }
                let hanging = level < cell.level;
                let mut link = |part: u8, area_m2: f64, at: [f64; 2]| {
                    let opposite = match states[across] {
                        LeafState::Wet => Some(0),
                        LeafState::Dry => None,
                        LeafState::Cut(c) => cut[c as usize].opening.part_at(face ^ 1, at),
                    };
                    let ends = (
                        nodes.node(leaf, part),
                        opposite.and_then(|p| nodes.node(across, p)),
                    );
                    if let (Some(owner), Some(other)) = ends
                        && area_m2 > 0.0
                    {
                        let face = face as u8;
                        out.push(FaceLink {
                            owner,
                            other,
                            leaf: leaf as u32,
                            face,
                            area_m2,
                            hanging,
                        });
                    }
                };
                let whole = whole_face(space, &bounds, face);
                match states[leaf] {
                    LeafState::Cut(c) => {
                        let open = &cut[c as usize];
                        match &open.opening {
                            Opening::Closed => {}
                            Opening::Simple { areas_m2, .. } => {
                                if areas_m2[face] > 1e-7 * whole {
                                    link(0, areas_m2[face], wet_point(&bounds, face, open.wet));
                                }
                            }
                            Opening::Parted { faces, .. } => {
                                for o in &faces[face] {
                                    if o.area_m2 > 1e-7 * whole {
                                        link(o.part, o.area_m2, o.inner());
                                    }
                                }
                            }
                        }
                    }
                    _ => link(0, whole, wet_point(&bounds, face, 0xff)),
                }
            }
            out
        })
        .collect()
}

/// A wet point of a simple face, in its own coordinates: the mean of its wet corners, or near one
/// of them; the middle if no corner tells.
fn wet_point<const D: usize>(cell: &Bounds<D>, face: usize, wet: u8) -> [f64; 2] {
    let k = face / 2;
    let axes: Vec<usize> = if D == 2 {
        vec![1 - k]
    } else {
        super::cut::face_axes(k).to_vec()
    };
    let corners: Vec<usize> = (0..1 << D)
        .filter(|c| (c >> k & 1 == 1) == (face & 1 == 1) && wet >> c & 1 == 1)
        .collect();
    let mut at = [0.0; 2];
    for (n, &axis) in axes.iter().enumerate() {
        let middle = 0.5 * (cell.low[axis] + cell.high[axis]);
        // One to three wet corners: a point beside the first of them is surely wet.
        at[n] = if corners.is_empty() || corners.len() == 1 << (D - 1) {
            middle
        } else {
            let corner = if corners[0] >> axis & 1 == 1 {
                cell.high[axis]
            } else {
                cell.low[axis]
            };
            corner + 0.02 * (middle - corner)
        };
    }
    at
}

/// Two-point links of faces: area over the distance of the leaf centres along the face's axis.
pub fn two_point<const D: usize>(tree: &Tree<D>, faces: &[FaceLink]) -> Vec<GridLink> {
    faces
        .iter()
        .map(|f| GridLink {
            a: f.owner,
            b: f.other,
            metres: f.area_m2 / distance_m(tree, f),
        })
        .collect()
}

/// Distance of the centres on both sides, along the axis.
pub fn distance_m<const D: usize>(tree: &Tree<D>, face: &FaceLink) -> f64 {
    let size = tree.root.size_m(tree.leaves[face.leaf as usize].level);
    if face.hanging { 1.5 * size } else { size }
}

/// Cells of the nodes.
pub fn node_cells<const D: usize>(tree: &Tree<D>, nodes: &Nodes) -> Vec<Cell> {
    let mut out = Vec::with_capacity(nodes.first[tree.leaves.len()] as usize);
    for (leaf, &cell) in tree.leaves.iter().enumerate() {
        for _ in nodes.first[leaf]..nodes.first[leaf + 1] {
            out.push(cell);
        }
    }
    out
}
