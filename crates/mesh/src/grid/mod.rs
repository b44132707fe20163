//! The grid: an adaptive tree of Cartesian cells around the bodies, cut where surfaces pass.
//!
//! ```text
//! domain    tank, bodies, sheets, regions
//! plan      root cube, levels, wanted cells
//! scene     all surfaces as flat elements, and what a point of them bounds
//! tree      graded leaves, finest at electrodes and their edges
//! raster    which elements reach which cell
//! crossed   fragments of surface split along those that cross them
//! narrow    gaps and walls that want smaller cells
//! axes      axes of the faces of a cell, numbers of its edges
//! piece     a piece of surface in a cell, where it crosses faces and edges
//! cut       all pieces of a cell, facets of electrodes
//! loops     separate pieces of electrolyte on a crossed face
//! face      edges around a face, its area, openings in it
//! opening   open areas of the faces of cut cells
//! parted    cells in several parts, read loop by loop
//! beside    which electrolyte lies beside each piece of surface
//! beyond    cells in which a sheet ends
//! rims      which cells these are
//! surroundings  neighbours of leaves and nodes
//! links     nodes, and the geometric conductance area / distance between them
//! hanging   correction of fluxes between leaves of different size
//! partial   correction of fluxes through partly open faces
//! passage   perforated sheets, and the open surface beyond a sheet
//! feed      which node feeds each facet, and which nodes probes may read
//! skin      the surface of an electrode as a network
//! probe     least-squares current density at each facet
//! finished  all of it
//! ```
//!
//! **Discretisation.** The unknown of a node is the potential at the Cartesian centre of its leaf,
//! also where that centre lies in a solid. Through a face of open area `A` between leaves at
//! distance `d` flows `kappa A (phi_a - phi_b) / d` (plus the hanging-face correction); through a
//! facet flows the current density of [`probe`]; the balance of each node is exact. A cell that a
//! sheet, a thin body or a narrow gap parts has one node for each part.

pub mod axes;
pub mod beside;
mod beyond;
pub mod build;
pub mod check;
mod crossed;
pub mod cut;
mod domain;
pub mod edges;
pub mod face;
pub mod facet;
pub mod feed;
mod finished;
pub mod fragment;
pub mod hanging;
pub mod links;
pub mod loops;
pub mod narrow;
pub mod opening;
pub mod parted;
pub mod partial;
pub mod passage;
pub mod piece;
pub mod plan;
pub mod probe;
pub mod raster;
mod rims;
pub mod scene;
pub mod skin;
pub mod surroundings;
pub mod tree;

pub use build::{Survey, build, count_cells, survey};
pub use check::{BYTES_PER_CELL, GridError};
pub use domain::{Body, BodyKind, Domain, PlacedSheet, Region, Space, StopOff};
pub use finished::{Grid, GridNote, NoteKind, ProbeScale};
