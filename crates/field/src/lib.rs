//! The resistor network of a tank and its solution.
//!
//! A tank is a graph of nodes (electrolyte cells, metal bodies, coat nodes) joined by linear
//! conductances and, at the electrodes, by nonlinear elements that obey a monotone electrode law.
//! [`solve`] finds the potentials at which every node's currents balance.
//! This crate knows no geometry and no chemistry. SI units throughout.
//!
//! ```text
//! network --validate--> order, pattern --> system (balance and its derivative)
//!                                 \--> aggregate, hierarchy --> cycle (one K-cycle of multigrid)
//! start (chords) --> newton --> krylov (flexible GMRES or conjugate gradients) --> bounds --> solution
//! ```
//!
//! Results do not depend on the number of threads.

mod aggregate;
mod bounds;
mod cycle;
mod dense;
mod error;
mod graph;
mod hierarchy;
mod krylov;
pub mod law;
pub mod linear;
pub mod network;
mod newton;
mod order;
mod pattern;
mod real;
mod solution;
mod start;
mod system;
#[cfg(test)]
mod tests;
mod threads;
mod validate;
mod vector;
mod watch;

pub use error::FieldError;
pub use solution::{Settings, Solution, Timings, solve};
pub use threads::with_threads;
pub use watch::Watch;
