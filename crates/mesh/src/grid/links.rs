//! Nodes, and the links between them.
//!
//! Each leaf with electrolyte gets a node (one for each part, if it is parted). A face is taken
//! once, from its finer side, or from its lower side between equals; so every face has one area
//! and one flux, and the balance is exact.

use super::axes::face_axes;
use super::domain::Space;
use super::face::{Opening, whole_face};
use super::opening::OpenCell;
use super::tree::{Cell, Tree};
use crate::solid::Bounds;
use ionfall_numerics::couplings::Coupling;
use rayon::prelude::*;

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
            (0..2 * D * tree.leaves.len())
                .into_par_iter()
                .map(|n| {
                    let (leaf, face) = (n / (2 * D), n % (2 * D));
                    Tree::<D>::across(tree.leaves[leaf], face / 2, face & 1 == 1)
                        .map_or(BORDER, |c| tree.find_near(c, leaf) as u32)
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

/// The leaves and what is known of them.
#[derive(Clone, Copy, Debug)]
pub struct Leaves<'a, const D: usize> {
    /// Kind of space.
    pub space: Space,
    /// The leaves.
    pub tree: &'a Tree<D>,
    /// Leaves across faces.
    pub neighbours: &'a Neighbours<D>,
    /// Wet, dry or cut.
    pub states: &'a [LeafState],
    /// Cut cells.
    pub cut: &'a [OpenCell<D>],
    /// Nodes.
    pub nodes: &'a Nodes,
}

/// Leaves or faces taken in one go.
pub const GRAIN: usize = 4096;

/// All open faces, by leaf and face.
pub fn faces<const D: usize>(leaves: Leaves<'_, D>) -> Vec<FaceLink> {
    let n = leaves.tree.leaves.len();
    let parts = (0..n.div_ceil(GRAIN)).into_par_iter().map(|part| {
        let mut out = Vec::with_capacity(D * GRAIN);
        for leaf in part * GRAIN..n.min((part + 1) * GRAIN) {
            leaves.faces_of(leaf, &mut out);
        }
        out
    });
    parts.collect::<Vec<_>>().concat()
}

impl<const D: usize> Leaves<'_, D> {
    /// Open faces that a leaf owns.
    fn faces_of(&self, leaf: usize, out: &mut Vec<FaceLink>) {
        if self.nodes.first[leaf] == self.nodes.first[leaf + 1] {
            return;
        }
        let cell = self.tree.leaves[leaf];
        let bounds = self.tree.root.bounds(cell);
        for face in 0..2 * D {
            let Some(across) = self.neighbours.across(leaf, face) else {
                continue;
            };
            let level = self.tree.leaves[across].level;
            if level > cell.level || (level == cell.level && face & 1 == 0) {
                continue;
            }
            // The part across that holds a point of the face.
            let part_across = |at: &dyn Fn() -> [f64; 2]| match self.states[across] {
                LeafState::Wet => Some(0),
                LeafState::Dry => None,
                LeafState::Cut(c) => match &self.cut[c as usize].opening {
                    Opening::Simple { .. } => Some(0),
                    opening => opening.part_at(face ^ 1, at()),
                },
            };
            let mut link = |part: u8, area_m2: f64, at: &dyn Fn() -> [f64; 2]| {
                let ends = (
                    self.nodes.node(leaf, part),
                    part_across(at).and_then(|p| self.nodes.node(across, p)),
                );
                if let (Some(owner), Some(other)) = ends
                    && area_m2 > 0.0
                {
                    out.push(FaceLink {
                        owner,
                        other,
                        leaf: leaf as u32,
                        face: face as u8,
                        area_m2,
                        hanging: level < cell.level,
                    });
                }
            };
            let whole = whole_face(self.space, &bounds, face);
            let LeafState::Cut(c) = self.states[leaf] else {
                link(0, whole, &|| wet_point(&bounds, face, 0xff));
                continue;
            };
            let open = &self.cut[c as usize];
            match &open.opening {
                Opening::Closed => {}
                Opening::Simple { areas_m2, .. } => {
                    if areas_m2[face] > 1e-7 * whole {
                        let at = || wet_point(&bounds, face, open.wet);
                        link(0, areas_m2[face], &at);
                    }
                }
                Opening::Parted { faces, .. } => {
                    for o in &faces[face] {
                        if o.area_m2 > 1e-7 * whole {
                            link(o.part, o.area_m2, &|| o.inner());
                        }
                    }
                }
            }
        }
    }
}

/// A wet point of a simple face, in its own coordinates: the mean of its wet corners, or near one
/// of them; the middle if no corner tells.
fn wet_point<const D: usize>(cell: &Bounds<D>, face: usize, wet: u8) -> [f64; 2] {
    let k = face / 2;
    let axes: &[usize] = &if D == 2 { [1 - k; 2] } else { face_axes(k) }[..D - 1];
    let wet_corner = |c: &usize| (c >> k & 1 == 1) == (face & 1 == 1) && wet >> c & 1 == 1;
    let first = (0..1 << D).find(wet_corner);
    let count = (0..1 << D).filter(wet_corner).count();
    let mut at = [0.0; 2];
    for (at, &axis) in at.iter_mut().zip(axes) {
        let middle = 0.5 * (cell.low[axis] + cell.high[axis]);
        // One to three wet corners: a point beside the first of them is surely wet.
        *at = match first {
            Some(first) if count < 1 << (D - 1) => {
                let corner = if first >> axis & 1 == 1 {
                    cell.high[axis]
                } else {
                    cell.low[axis]
                };
                corner + 0.02 * (middle - corner)
            }
            _ => middle,
        };
    }
    at
}

/// Two-point links of faces: area over the distance of the leaf centres along the face's axis.
pub fn two_point<const D: usize>(tree: &Tree<D>, faces: &[FaceLink]) -> Vec<Coupling> {
    faces
        .par_iter()
        .map(|f| Coupling {
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
