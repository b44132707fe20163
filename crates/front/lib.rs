//! **ionfall** tells where the metal will land in an electroforming or plating tank, how thick and
//! how soon: from the shapes of tank, anodes and work, the bath, the supply and a time to the local
//! thickness on every piece of the work, with real electrode laws, limiting currents, coats that
//! hardly conduct, and a ledger that closes.
//!
//! This is the front door for programs; the `ionfall` command does the same from job files.
//!
//! # A tank without any file
//!
//! ```
//! use ionfall::{Agitation, Tank, bath, run, solids::cuboid};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let model = Tank::sized_m([0.2, 0.1, 0.1])?
//!     .bath(bath::acid_copper_g_per_l(200.0, 60.0, Agitation::Air)?)
//!     .all_cells_m(0.005, 0.005)
//!     .anode("anode", cuboid([0.19, 0.0, 0.0], [0.2, 0.1, 0.1])?)
//!     .work("plate", cuboid([0.05, 0.03, 0.03], [0.06, 0.07, 0.07])?)
//!     .mean_current_density_a_per_m2(200.0)
//!     .time_s(8.0 * 3600.0)
//!     .model()?;
//! let outcome = run(&model)?;
//! let thickness_m = outcome.surface("plate")?.thickness_m()?;
//! # let area_m2 = outcome.surface("plate")?.area_m2();
//! # let mean_m = thickness_m.dot(&area_m2) / area_m2.sum();
//! # // Faraday: 200 A/m2 of copper for 8 h.
//! # assert!((mean_m / 2.124e-4 - 1.0).abs() < 1e-2, "{mean_m}");
//! assert!(thickness_m.iter().all(|t| *t > 50e-6));
//! # Ok(())
//! # }
//! ```
//!
//! # A job file
//!
//! ```
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let model = ionfall::read_job("examples/textbook/parallel-plates.toml".as_ref())?;
//! let outcome = ionfall::run(&model)?;
//! let thinnest_m = outcome.surface("cathode")?.thinnest_m()?;
//! println!("{:.0} um at the thinnest place", 1e6 * thinnest_m);
//! # // Resistances in series at 1 V, Faraday's law for an hour.
//! # let exact_m = 3600.0 * ionfall::bath::metal::COPPER
//! #     .thickness_rate_m_per_s(1.0 / (0.1 / 25.0 + 0.002 + 0.0005), 1.0);
//! # assert!((thinnest_m / exact_m - 1.0).abs() < 1e-6, "{thinnest_m} {exact_m}");
//! # Ok(())
//! # }
//! ```
//!
//! # The house
//!
//! ```text
//! job file --(job)--> model <--(Tank)-- a program
//!                       |
//!      bath             v
//!      laws  -------> grid --> network --> field --> deposit --> report
//!                     mesh     network     field     deposit     report
//! ```
//! Each room knows only those before it; [`house`] has the doors to them, for what has no word here.
//! What a program may leave out is a feature (all are on unless `default-features = false`): `meshes` reads STL,
//! OBJ and PLY, `pictures` reads reliefs from PNG, `pages` draws HTML and pictures of results, `compression` packs
//! VTK files; `command-line` is the `ionfall` command and needs all of them.
//!
//! SI units everywhere: the unit is part of each name. Results are the same for any number of threads.

pub mod bath;
pub mod laws;
mod outcome;
mod run;
pub mod solids;

pub use ionfall_bath::transfer::Agitation;
pub use ionfall_bath::{Electrolyte, Kinetics, Polarisation};
pub use ionfall_deposit::accuracy::{AccuracyReached, Ending, Laid};
pub use ionfall_deposit::{DepositError, Place, Settings};
pub use ionfall_job::{Faults, JobError, parse as parse_job, read as read_job};
pub use ionfall_model::{
    Geometry, Hold, Model, Pulse, Role, Setting, Step, Supply, Tank, TankError, Until,
};
pub use outcome::{Answer, AnswerError, Outcome, Surface};
pub use run::{run, run_with, run_within};

/// The rooms behind the front door. They change more often than what is named at the top.
pub mod house {
    pub use ionfall_bath as bath;
    pub use ionfall_deposit as deposit;
    pub use ionfall_field as field;
    pub use ionfall_job as job;
    pub use ionfall_mesh as mesh;
    pub use ionfall_model as model;
    pub use ionfall_network as network;
    pub use ionfall_report as report;
}
