//! One bath at one temperature: every figure a computation needs, each with its grade.
//!
//! * [`acid_copper`]: the bath whose properties are worked out from its composition;
//! * [`Electrolyte`]: baths known by their sheet, custom baths, and what is common to all: film,
//!   limiting current, polarisation, insoluble anodes.

pub mod acid_copper;
mod figures;
mod given;
mod insoluble;
mod ready;
#[cfg(test)]
mod tests;

pub use acid_copper::{AcidCopper, CopperSalt};
pub use given::{Evolution, Given};
pub use ready::{Electrolyte, Fluid};
