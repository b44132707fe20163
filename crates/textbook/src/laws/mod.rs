//! Exact formulae, one file a family. SI units throughout; current densities are magnitudes.

pub mod boss;
pub mod corner;
pub mod cylinders;
pub mod strip;
pub mod strips;
pub mod waves;
