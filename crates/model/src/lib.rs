//! A tank ready to be computed: plain data in SI units, no files, no text.
//!
//! ```text
//! job file --(job)--> Model <--(Tank)-- a program
//!                       |
//!            bath, geometry (Parts), supplies, plan, what is wanted
//! ```

mod build;
mod cells;
mod check;
mod error;
mod geometry;
mod model;
mod role;
mod supply;
mod tank;
#[cfg(test)]
mod tests;

pub use cells::usual_cells_m;
pub use error::TankError;
pub use geometry::{Coat, Contact, Electrode, Geometry, Line, Parts, Zone};
pub use model::{COVERED_M, Model, Output, Save, Wanted};
pub use role::Role;
pub use supply::{Hold, Pulse, Setting, Step, Supply, Until};
pub use tank::Tank;
