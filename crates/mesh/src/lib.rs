//! Geometry: solids, and the adaptive Cartesian grid with cut cells that is laid around them.
//!
//! ```text
//! solids --> tree of cells --> cut cells --> links, facets, probes
//! solid/     grid/
//! ```
//! Knows nothing of chemistry or of solvers. Lengths in metres.
//!
//! ```
//! use ionfall_mesh::grid::{Body, BodyKind, Domain, Space, build};
//! use ionfall_mesh::solid::{Ball, Cuboid, Solid};
//!
//! let radius_m = 0.01;
//! let electrode = |name: &str, solid| Body {
//!     name: name.into(),
//!     solid,
//!     kind: BodyKind::Electrode,
//!     finest_m: 1e-3,
//!     edge_m: 1e-3,
//!     across: 0.0,
//! };
//! let disc = Solid::new(Ball::<2>::new([0.05, 0.05], radius_m)?);
//! let wall = Solid::new(Cuboid::new([0.09, 0.0], [0.1, 0.1])?);
//! let domain = Domain {
//!     space: Space::Planar { depth_m: 1.0 },
//!     tank: Solid::new(Cuboid::sized([0.1, 0.1])?),
//!     bodies: vec![electrode("disc", disc), electrode("wall", wall)],
//!     stop_offs: Vec::new(),
//!     sheets: Vec::new(),
//!     regions: Vec::new(),
//!     wall_m: 4e-3,
//!     coarsest_m: 4e-3,
//! };
//! let grid = build(&domain, 1 << 30)?;
//! let area_m2: f64 = grid
//!     .facets
//!     .iter()
//!     .filter(|f| f.body == 0)
//!     .map(|f| f.area_m2)
//!     .sum();
//! let exact_m2 = std::f64::consts::TAU * radius_m;
//! assert!((area_m2 / exact_m2 - 1.0).abs() < 1e-4, "{area_m2}");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#![warn(clippy::too_many_lines)]

#[cfg(target_family = "wasm")]
extern crate ionfall_alone as rayon;

pub mod grid;
pub mod solid;
