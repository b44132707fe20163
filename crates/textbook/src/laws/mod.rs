//! Exact formulae, one file a family. SI units throughout; current densities are magnitudes.

pub mod cylinders;
