//! One bath at one temperature: every figure a computation needs, each with its grade.
//!
//! * [`acid_copper`]: the bath whose properties are worked out from its composition;
//! * [`Adjustment`]: what of it a shop may change, and the bath then;
//! * [`Electrolyte`]: baths known by their sheet, custom baths, and what is common to all: film,
//!   limiting current, polarisation, insoluble anodes.

pub mod acid_copper;
mod amounts;
mod figures;
mod given;
mod insoluble;
mod ready;
mod remade;
#[cfg(test)]
mod tests;

pub use amounts::{AcidCopper, Adjustment, CopperSalt};
pub use given::{Evolution, Given};
pub use ready::{Electrolyte, Fluid};
