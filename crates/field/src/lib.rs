//! The resistor network of a tank and its solution.
//!
//! A tank is a graph of nodes (electrolyte cells, metal bodies, later coat nodes) joined by linear
//! conductances and, at the electrodes, by nonlinear elements that obey a monotone electrode law.
//! This crate knows no geometry and no chemistry. SI units throughout.

pub mod law;
pub mod network;
