//! From a model to the metal: operating point, growth in time, ledger.
//!
//! ```text
//! model (job) --> grid (mesh) --> circuit (network) -----------------------------> march in time
//!                                    |                                             |
//!                                 drive: operating point of the supplies --> rates: growth, ledger
//!                                                                                  |
//!                                                        outcome: thickness, first cover, balances
//! ```
//! [`run`] does all of it; [`run_from`] also goes on from a [`State`] of an earlier run.
//!
//! ```
//! use ionfall_deposit::{Settings, run};
//! use ionfall_mesh::solid::{Cuboid, Solid};
//! use ionfall_model::{Model, Parts, Tank};
//!
//! let end = |x0: f64, x1: f64| Cuboid::new([x0, 0.0], [x1, 0.05]).map(Solid::new);
//! let model = Tank::planar(end(0.0, 0.1)?, 0.1)
//!     .conductivity_s_per_m(20.0)
//!     .anode("anode", end(-0.01, 0.0)?)
//!     .work("work", end(0.1, 0.11)?)
//!     .voltage_v(1.0)
//!     .time_s(3600.0)
//!     .model()?;
//! let model = Model::<Parts<2>>::try_from(model).expect("a planar tank");
//! let outcome = run(&model, &Settings::default(), &mut ())?;
//! // A volt over 0.1 m of 20 S/m, through 0.005 m2.
//! assert!((outcome.current_a - 1.0).abs() < 1e-6);
//! assert!(outcome.ledger.charge_error() < 1e-8);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#[cfg(target_family = "wasm")]
extern crate ionfall_alone as rayon;

pub mod accuracy;
mod body;
mod border;
mod cause;
mod conclude;
pub mod cover;
mod crowding;
#[cfg(feature = "currents")]
pub mod currents;
mod depletion;
mod drive;
mod edge;
mod error;
mod face;
pub mod islands;
pub mod judge;
pub mod ledger;
pub mod levers;
pub mod mapping;
mod march;
mod nearby;
mod note;
mod observer;
mod operate;
mod outcome;
mod patch;
mod place;
pub mod positions;
mod rates;
mod reading;
pub mod recess;
pub mod repeat;
mod resistance;
mod run;
mod secant;
pub mod sensitivity;
mod settings;
pub mod small;
pub mod spread;
mod state;
pub mod statistics;
pub mod still;
mod surface;
pub mod turn;
pub mod uncertainty;
mod vectors;

pub use crowding::CROWDED_SHARE;
pub use error::DepositError;
pub use ionfall_network::{NetworkError, check_contacts};
pub use nearby::Nearby;
pub use note::{is_caution, note_text};
pub use observer::{Go, Observer, Stage};
pub use outcome::{
    Anodic, BodyOutcome, ContactOutcome, Cover, Crowding, FaceMeans, FaceOutcome, Named, Outcome,
    ReadingOutcome, SupplyOutcome, SurfaceReading, Thicknesses, VoltsAmps, Wish,
};
pub use place::{Edge, EdgeFigure, Place};
pub use run::{Begin, run, run_from, run_on_grid};
pub use settings::Settings;
pub use state::{History, Moment, Snapshot, State};
pub use vectors::field_vectors;
