//! Anodes, by what becomes of their current.
//!
//! * [`dissolving`]: anodes of the metal of the bath, their polarisation and how hard they may be driven;
//! * [`passivation`]: from which current density they may stop dissolving;
//! * [`insoluble`]: anodes on which oxygen is evolved.

pub mod dissolving;
pub mod insoluble;
pub mod passivation;

pub use dissolving::{ANODE_AREA_RATIO, Anode, Habits};
pub use insoluble::{INSOLUBLE, Insoluble, evolving_oxygen};
