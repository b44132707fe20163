//! The grid: an adaptive tree of Cartesian cells around the bodies, cut where surfaces pass.
//!
//! ```text
//! plan      root cube, levels, wanted cells
//! scene     all surfaces as flat elements, and what a point of them bounds
//! tree      graded leaves, finest at electrodes and their edges
//! raster    which elements reach which cell
//! crossed   fragments of surface split along those that cross them
//! narrow    gaps and walls that want smaller cells
//! cut       pieces of surface in a cell, facets of electrodes
//! loops     separate pieces of electrolyte on a crossed face
//! opening   open areas of the faces of cut cells
//! parted    cells in several parts, read loop by loop
//! beside    which electrolyte lies beside each piece of surface
//! links     nodes, and the geometric conductance area / distance between them
//! hanging   correction of fluxes between leaves of different size
//! partial   correction of fluxes through partly open faces
//! passage   perforated sheets
//! feed      which node feeds each facet, and which nodes probes may read
//! skin      the surface of an electrode as a network
//! probe     least-squares current density at each facet
//! ```
//!
//! **Discretisation.** The unknown of a node is the potential at the Cartesian centre of its leaf,
//! also where that centre lies in a solid. Through a face of open area `A` between leaves at
//! distance `d` flows `kappa A (phi_a - phi_b) / d` (plus the hanging-face correction); through a
//! facet flows the current density of [`probe`]; the balance of each node is exact. A cell that a
//! sheet, a thin body or a narrow gap parts has one node for each part.

pub mod beside;
pub mod build;
pub mod check;
mod crossed;
pub mod cut;
pub mod edges;
pub mod facet;
pub mod feed;
pub mod fragment;
pub mod hanging;
pub mod links;
pub mod loops;
pub mod narrow;
pub mod opening;
pub mod parted;
pub mod partial;
pub mod passage;
pub mod plan;
pub mod probe;
pub mod raster;
pub mod scene;
pub mod skin;
pub mod tree;

use crate::solid::{Point, Sheet, Solid};
use facet::Facet;
use tree::{Cell, Root};

pub use build::{build, count_cells};
pub use check::{BYTES_PER_CELL, GridError};

/// Kind of space.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Space {
    /// 2-D, the same over a depth in metres.
    Planar {
        /// Depth, metres.
        depth_m: f64,
    },
    /// 2-D in (r, z), revolved about the z axis (coordinate 0 is r).
    Axisymmetric,
    /// 3-D.
    Tank,
}

/// Does a body carry current?
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BodyKind {
    /// Its surface is an electrode.
    Electrode,
    /// It insulates.
    Insulator,
}

/// A body in or at the tank.
#[derive(Clone, Debug)]
pub struct Body<const D: usize> {
    /// Name, for messages.
    pub name: String,
    /// Shape.
    pub solid: Solid<D>,
    /// Electrode or insulator.
    pub kind: BodyKind,
    /// Largest cell at its surface, metres.
    pub finest_m: f64,
    /// Largest cell at its sharp edges and where it meets an insulator, metres.
    pub edge_m: f64,
    /// Cells wanted across its thin walls and the gaps before it; zero if its sizes are to be kept
    /// to whatever is narrow.
    pub across: f64,
}

/// A solid that insulates the electrode surface inside it.
#[derive(Clone, Debug)]
pub struct StopOff<const D: usize> {
    /// Shape.
    pub solid: Solid<D>,
    /// Only this body (number), or all.
    pub body: Option<usize>,
}

/// A sheet of no thickness in the electrolyte.
#[derive(Clone, Debug)]
pub struct PlacedSheet<const D: usize> {
    /// Name, for messages.
    pub name: String,
    /// Surface and openness.
    pub sheet: Sheet<D>,
    /// Largest cell at its surface, metres.
    pub finest_m: f64,
    /// Largest cell along its rim, metres.
    pub edge_m: f64,
}

/// A region that asks for small cells.
#[derive(Clone, Debug)]
pub struct Region<const D: usize> {
    /// Shape.
    pub solid: Solid<D>,
    /// Largest cell in it, metres.
    pub finest_m: f64,
}

/// Everything the grid is built from.
#[derive(Clone, Debug)]
pub struct Domain<const D: usize> {
    /// Kind of space.
    pub space: Space,
    /// The liquid's room: tank, cut at the liquid level if there is one.
    pub tank: Solid<D>,
    /// Bodies.
    pub bodies: Vec<Body<D>>,
    /// Stop-offs.
    pub stop_offs: Vec<StopOff<D>>,
    /// Sheets.
    pub sheets: Vec<PlacedSheet<D>>,
    /// Regions.
    pub regions: Vec<Region<D>>,
    /// Largest cell at the tank's walls, metres.
    pub wall_m: f64,
    /// Largest cell anywhere, metres.
    pub coarsest_m: f64,
}

/// A geometric link: conductance is conductivity times `metres`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GridLink {
    /// One node.
    pub a: u32,
    /// The other.
    pub b: u32,
    /// Open area over distance, metres (planar: per the job's depth).
    pub metres: f64,
}

/// Rows of (node, weight).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rows {
    /// Row starts, one more than rows.
    pub start: Vec<u32>,
    /// Node of each entry.
    pub node: Vec<u32>,
    /// Weight of each entry.
    pub weight: Vec<f64>,
}

impl Rows {
    /// Adds a row.
    pub fn push(&mut self, row: impl IntoIterator<Item = (u32, f64)>) {
        if self.start.is_empty() {
            self.start.push(0);
        }
        for (node, weight) in row {
            self.node.push(node);
            self.weight.push(weight);
        }
        self.start.push(self.node.len() as u32);
    }

    /// All rows of several, in order.
    pub fn joined(parts: Vec<Self>) -> Self {
        let entries = parts.iter().map(|p| p.node.len()).sum();
        let mut out = Self {
            start: Vec::with_capacity(1 + parts.iter().map(|p| p.start.len()).sum::<usize>()),
            node: Vec::with_capacity(entries),
            weight: Vec::with_capacity(entries),
        };
        out.start.push(0);
        for part in parts {
            let before = out.node.len() as u32;
            out.start
                .extend(part.start.iter().skip(1).map(|s| before + s));
            out.node.extend(part.node);
            out.weight.extend(part.weight);
        }
        out
    }

    /// Entries of a row.
    pub fn row(&self, r: usize) -> impl Iterator<Item = (u32, f64)> + '_ {
        let range = self.start[r] as usize..self.start[r + 1] as usize;
        self.node[range.clone()]
            .iter()
            .copied()
            .zip(self.weight[range].iter().copied())
    }
}

/// A flux correction between two nodes; its row in [`Grid::correction_rows`] gives metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GridCorrection {
    /// Node the corrected current leaves.
    pub from: u32,
    /// Node it enters.
    pub to: u32,
}

/// Flux corrections with their rows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Corrections {
    /// Ends.
    pub ends: Vec<GridCorrection>,
    /// Rows, metres.
    pub rows: Rows,
}

impl Corrections {
    /// Adds one.
    pub fn push(&mut self, from: u32, to: u32, row: impl IntoIterator<Item = (u32, f64)>) {
        self.ends.push(GridCorrection { from, to });
        self.rows.push(row);
    }

    /// All of several, in order.
    pub fn joined(parts: Vec<Self>) -> Self {
        let (ends, rows): (Vec<_>, Vec<_>) = parts.into_iter().map(|p| (p.ends, p.rows)).unzip();
        Self {
            ends: ends.concat(),
            rows: Rows::joined(rows),
        }
    }
}

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
    /// Links.
    pub links: Vec<GridLink>,
    /// Flux corrections.
    pub corrections: Vec<GridCorrection>,
    /// Their rows, metres.
    pub correction_rows: Rows,
    /// Facets of the electrodes.
    pub facets: Vec<Facet<D>>,
    /// Node of each facet.
    pub facet_node: Vec<u32>,
    /// Scale of each facet's probe.
    pub probe_scale: Vec<ProbeScale>,
    /// Probe of each facet: weights sum to one.
    pub probe_rows: Rows,
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
