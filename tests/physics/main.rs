//! The physics of ionfall against exact and published values.

mod bench;
mod cylinders;
