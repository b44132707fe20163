//! The chemistry side of a tank: metals, electrolytes, polarisation laws and mass transfer, every
//! figure with its source and its grade.
//!
//! * [`metal`]: Faraday's law, how fast a metal grows;
//! * [`kinetics`]: how many volts an electrode surface asks for a current density;
//! * [`mixture`]: density and viscosity of water with salts and acids;
//! * [`solution`], [`conductivity`], [`transfer`]: density, viscosity, conductivity, diffusion,
//!   diffusion film and limiting current of an acid copper sulfate solution;
//! * [`parameter`]: the figures behind a polarisation law;
//! * [`recipe`]: named acid copper baths; [`sheet`]: other baths as data;
//! * [`electrolyte`]: all of it put together for one bath at one temperature;
//! * [`anode`]: anodes that dissolve, how hard they may be driven, and those that do not;
//! * [`quality`]: how a deposit is likely to look;
//! * [`evenness`]: Wagner number, reach on a coat, throwing power;
//! * [`spread`]: a bath at the ends of its bands;
//! * [`warning`]: ranges that are left;
//! * [`caution`]: what can hurt you.
//!
//! SI units inside (A/m2, V, m, K, S/m); where a trade unit is used the name says so. This crate
//! knows nothing of geometry, solvers or files.
//!
//! ```
//! use ionfall_bath::Electrolyte;
//! use ionfall_bath::electrolyte::{AcidCopper, CopperSalt, Given};
//! use ionfall_bath::transfer::Agitation;
//!
//! let amounts = AcidCopper::given(CopperSalt::Pentahydrate(200.0), 60.0);
//! let given = Given {
//!     agitation: Some(Agitation::Air),
//!     ..Given::default()
//! };
//! let bath = Electrolyte::acid_copper(amounts, 25.0, &given)?;
//! assert!(bath.conductivity.value > 10.0 && bath.conductivity.value < 30.0);
//! assert!(bath.limiting_current.is_some());
//! // Half a micrometre of copper in 45 s at 3 A/dm2.
//! let grown_m = 45.0 * bath.metal.thickness_rate_m_per_s(300.0, 1.0);
//! assert!((grown_m - 5e-7).abs() < 1e-8, "{grown_m}");
//! # Ok::<(), ionfall_bath::BathError>(())
//! ```

#![warn(clippy::too_many_lines)]

pub mod anode;
pub mod caution;
pub mod conductivity;
pub mod constants;
pub mod double_layer;
pub mod electrolyte;
mod error;
pub mod evenness;
pub mod figure;
pub mod islands;
pub mod kinetics;
pub mod metal;
pub mod mixture;
pub mod parameter;
pub mod quality;
pub mod recipe;
pub mod sheet;
pub mod solution;
pub mod spread;
mod subject;
pub mod transfer;
pub mod warning;

pub use electrolyte::Electrolyte;
pub use error::BathError;
pub use figure::{Figure, Grade, Origin, Range};
pub use kinetics::{Kinetics, OwnLaw, Polarisation};
pub use metal::Metal;
pub use parameter::Parameter;
pub use quality::Quality;
pub use spread::Variation;
pub use subject::Subject;
pub use warning::Warning;
