//! The finished grid: nodes, links, facets with their probes, and notes.

use super::domain::Space;
use super::facet::Facet;
use super::tree::{Cell, Root};
use crate::solid::Point;
use ionfall_numerics::couplings::Couplings;
use ionfall_numerics::rows::Rows;
use std::sync::Arc;

/// How a facet feels the electrolyte: `i = kappa a (phi_s - sum_k p_k phi_k)`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProbeScale {
    /// The factor `a`, 1/m.
    pub per_m: f64,
    /// How far the centre of the facet's cell lies behind the surface, m; zero if in front.
    pub depth_m: f32,
    /// Cells used.
    pub cells: u16,
}

impl ProbeScale {
    /// Depth of the cell's centre over the distance `1 / a` of the probe.
    pub fn depth(&self) -> f32 {
        (f64::from(self.depth_m) * self.per_m) as f32
    }
}

/// The finished grid.
#[derive(Clone, Debug)]
pub struct Grid<const D: usize> {
    /// Kind of space.
    pub space: Space,
    /// Root cube.
    pub root: Root<D>,
    /// Leaf of each node (a leaf parted by a sheet appears once for each part).
    pub node_cell: Vec<Cell>,
    /// Links of the nodes and flux corrections; a network reads them where they lie.
    pub couplings: Arc<Couplings>,
    /// Facets of the electrodes.
    pub facets: Vec<Facet<D>>,
    /// Node of each facet.
    pub facet_node: Vec<u32>,
    /// Scale of each facet's probe.
    pub probe_scale: Vec<ProbeScale>,
    /// Probe of each facet: weights sum to one.
    pub probe_rows: Arc<Rows>,
    /// What the user should know.
    pub notes: Vec<GridNote<D>>,
}

/// Something worth telling about the grid.
#[derive(Clone, Debug, PartialEq)]
pub struct GridNote<const D: usize> {
    /// What.
    pub kind: NoteKind,
    /// How many cells or facets.
    pub count: usize,
    /// One place, metres.
    pub place: Point<D>,
}

/// Kinds of notes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NoteKind {
    /// Walls in a cell do not join; it was taken as one piece.
    Tangled,
    /// A facet sees too few cells for a quadratic fit.
    RoughProbe,
    /// A facet lies in a gap too narrow to hold a node; its area is left out.
    LostFacet,
    /// Facets for which the solver had to take the plain two-point form.
    Plain {
        /// Their area, m2.
        area_m2: f64,
    },
    /// Walls near each other, with few cells between them.
    NarrowGap {
        /// Least width, metres.
        width_m: f64,
        /// Surface of the walls, m2.
        area_m2: f64,
        /// Fewest cells across.
        cells: f64,
    },
    /// Bodies of few cells' thickness.
    ThinWall {
        /// Least thickness, metres.
        width_m: f64,
        /// Surface of both sides, m2.
        area_m2: f64,
        /// Fewest cells across.
        cells: f64,
    },
}

impl<const D: usize> Grid<D> {
    /// Number of nodes.
    pub fn len(&self) -> usize {
        self.node_cell.len()
    }

    /// No nodes?
    pub fn is_empty(&self) -> bool {
        self.node_cell.is_empty()
    }

    /// Centre of a node's leaf, metres.
    pub fn centre(&self, node: usize) -> Point<D> {
        self.root.centre(self.node_cell[node])
    }

    /// Edge of a node's leaf, metres.
    pub fn size_m(&self, node: usize) -> f64 {
        self.root.size_m(self.node_cell[node].level)
    }
}
