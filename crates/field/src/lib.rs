//! The resistor network of a tank and its solution.
//!
//! A tank is a graph of nodes (electrolyte cells, metal bodies, coat nodes) joined by linear
//! conductances and, at the electrodes, by nonlinear elements that obey a monotone electrode law.
//! A [`Solver`] finds the potentials at which every node's currents balance, again and again while
//! coefficients change, and gives the derivative there ([`Tangent`]).
//! This crate knows no geometry and no chemistry. SI units throughout.
//!
//! ```text
//! network --validate--> solver: conductors (what hangs together), sorted (order, pattern)
//!             sorted --> system (balance and its derivative) --> tangent (and its transpose)
//!                  \--> aggregate, hierarchy --> cycle (one K-cycle of multigrid: the preconditioner)
//! attempt: start (chords) --> newton --> krylov (flexible GMRES or conjugate gradients) --> bounds
//! ```
//!
//! Results do not depend on the number of threads.
//!
//! ```
//! use ionfall_field::linear::LinearSolver;
//! use ionfall_field::network::{Address, Cell, Link};
//!
//! // Three nodes in a row, the first grounded: 2 A put in at the far end.
//! let node = |key| Address::electrolyte(Cell { key, level: 2 });
//! let link = |a, b, conductance_s| Link { a, b, conductance_s };
//! let links = [link(0, 1, 2.0), link(1, 2, 4.0)];
//! let mut solver = LinearSolver::new(&[node(0), node(1), node(2)], 1, &links, &[1.0, 0.0, 0.0]);
//! let solution = solver.solve(&[0.0, 0.0, 2.0], 1e-12, 100);
//! for (found, exact) in solution.potential_v.iter().zip([2.0, 3.0, 3.5]) {
//!     assert!((found - exact).abs() < 1e-9, "{found}");
//! }
//! ```

#![warn(clippy::too_many_lines)]

#[cfg(target_family = "wasm")]
extern crate ionfall_alone as rayon;

mod aggregate;
mod attempt;
mod bounds;
mod conductors;
mod cycle;
mod dense;
mod error;
mod graph;
mod hierarchy;
mod krylov;
pub mod linear;
pub mod network;
mod newton;
mod order;
mod pattern;
mod preconditioner;
mod real;
mod settings;
mod solution;
mod solver;
mod sorted;
mod start;
mod system;
mod tangent;
#[cfg(test)]
mod tests;
mod threads;
mod transpose;
mod validate;
mod varying;
mod vector;

pub use error::FieldError;
pub use ionfall_numerics::law;
pub use newton::Record;
pub use settings::Settings;
pub use solution::{Solution, Timings};
pub use solver::{Solver, solve};
pub use tangent::Tangent;
pub use threads::with_threads;
