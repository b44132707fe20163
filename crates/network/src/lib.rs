//! From a model and its grid to the resistor network that the field is solved on; the only place
//! where one is assembled.
//!
//! ```text
//! grid (mesh) --assembly--> cells, couplings, facets with their probes --+
//! model: electrodes, leads, contacts, supplies --terminals--> metals ----+--circuit--> solver (field)
//!        coats --coat--> skin of the facets, nodes and links of coat ----+
//! laws of the bath --law--> laws of the network -------------------------+
//! ```
//! Conductances are lengths of the grid times the conductivity, which stays a factor of the network;
//! the grid shares its couplings and is neither changed nor copied.
//!
//! A tank between two plates, solved, and its matrix:
//!
//! ```
//! use ionfall_field::Settings;
//! use ionfall_mesh::grid::build;
//! use ionfall_mesh::solid::{Cuboid, Solid};
//! use ionfall_model::{Parts, Tank};
//! use ionfall_network::Circuit;
//!
//! let end = |x0: f64, x1: f64| Cuboid::new([x0, 0.0], [x1, 0.05]).map(Solid::new);
//! let model = Tank::planar(end(0.0, 0.1)?, 0.1)
//!     .conductivity_s_per_m(20.0)
//!     .anode("anode", end(-0.01, 0.0)?)
//!     .work("work", end(0.1, 0.11)?)
//!     .voltage_v(1.0)
//!     .model()?;
//! let parts = Parts::<2>::try_from(model.geometry).expect("a planar tank");
//! let grid = build(&parts.domain, 1 << 30)?;
//! let mut circuit = Circuit::new(&grid, &parts, &model.supplies, 20.0)?;
//!
//! // The supply holds a volt between its poles.
//! let positive = circuit.poles[0].positive;
//! let held = vec![(circuit.ground, 0.0), (positive, 1.0)];
//! circuit.solver.supply(held, Vec::new())?;
//! let solution = circuit.solver.solve(&Settings::default(), None)?;
//! let current_a = circuit.currents_a(&solution);
//! assert!((current_a[0] - 1.0).abs() < 1e-6 && (current_a[1] + 1.0).abs() < 1e-6);
//!
//! let matrix = circuit.solver.tangent().expect("just solved").matrix();
//! assert_eq!(matrix.rows(), circuit.solver.nodes());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#![warn(clippy::too_many_lines)]

#[cfg(target_family = "wasm")]
extern crate ionfall_alone as rayon;

mod assembly;
mod circuit;
mod classes;
mod coat;
mod corners;
mod error;
mod film;
mod law;
mod local;
mod shelter;
mod stirring;
mod terminals;

pub use assembly::{Assembly, Behind};
pub use circuit::{Circuit, check_contacts};
pub use coat::{Back, Coats};
pub use corners::stir_corners;
pub use error::NetworkError;
pub use law::{behind_film, law};
pub use local::{LocalFace, LocalLimits, local_limits};
pub use shelter::{UNTOUCHED, shelter};
pub use terminals::Poles;
