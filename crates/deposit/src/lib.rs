//! From a model to the metal: network, field, thickness, balance.
//!
//! ```text
//! model (job) --> grid (mesh) --> network --> field --> run: currents, thickness, statistics
//! ```
//! [`run`] does all of it; the stages are public so that studies and tests can stop between them.

mod law;
pub mod mapping;
pub mod network;
mod run;
pub mod statistics;

pub use run::{
    BodyOutcome, DepositError, Outcome, Place, Progress, Settings, Stage, field_vectors, note_text,
    run, run_on_grid,
};
