//! Geometry: solids, and the adaptive Cartesian grid with cut cells that is laid around them.
//!
//! ```text
//! solids --> tree of cells --> cut cells --> links, facets, probes
//! solid/     grid/
//! ```
//! Knows nothing of chemistry or of solvers. Lengths in metres.

#![warn(clippy::too_many_lines)]

pub mod grid;
pub mod solid;
