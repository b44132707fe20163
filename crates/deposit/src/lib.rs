//! From a model to the metal: circuit, operating point, growth in time, ledger.
//!
//! ```text
//! model (job) --> grid (mesh) --> circuit (coats, contacts, leads, supplies) --> march in time
//!                                    |                                             |
//!                                 drive: operating point of the supplies --> rates: growth, ledger
//!                                                                                  |
//!                                                        outcome: thickness, first cover, balances
//! ```
//! [`run`] does all of it; [`run_from`] also goes on from a [`State`] of an earlier run.

mod border;
mod circuit;
mod coat;
mod crowding;
mod drive;
mod edge;
pub mod judge;
mod law;
pub mod ledger;
mod loan;
pub mod mapping;
mod march;
mod nearby;
mod note;
mod outcome;
mod patch;
mod rates;
mod run;
mod secant;
pub mod spread;
mod state;
pub mod statistics;
mod surface;
pub mod uncertainty;
mod vectors;

pub use crowding::CROWDED_SHARE;
pub use edge::{Edge, EdgeFigure};
pub use march::{Go, Keeper};
pub use nearby::Nearby;
pub use note::{is_caution, note_text};
pub use outcome::{BodyOutcome, ContactOutcome, Crowding, Outcome, Place, SupplyOutcome};
pub use run::{Begin, DepositError, Progress, Settings, Stage, run, run_from, run_on_grid};
pub use state::{Moment, Snapshot, State};
pub use vectors::field_vectors;
