//! The job file: a tank and what hangs in it, written in the words of the trade.
//!
//! ```toml
//! title = "Medal, one anode"
//!
//! [tank]
//! size = "300 x 200 x 250 mm"
//! liquid_level = "220 mm"
//!
//! [bath]
//! kind = "acid copper"
//! composition = { copper_sulfate = "200 g/L", sulfuric_acid = "50 g/L" }
//! temperature = "25 degC"
//! agitation = "air"
//!
//! [[anode]]
//! shape.box = { from = "10 x 40 x 30 mm", to = "20 x 160 x 200 mm" }
//!
//! [[work]]
//! shape.cylinder = { diameter = "90 mm", height = "4 mm", axis = "x", at = "250 x 100 x 110 mm" }
//!
//! [supply]
//! mean_current_density = "3 A/dm2"
//!
//! [plan]
//! time = "8 h"
//! ```
//! Every quantity is a text with its unit. [`read`] gives a [`Model`](ionfall_model::Model): validated, in SI units; or
//! every fault of the file at once, each with its place and a way out.
//!
//! ```text
//! text --> toml document --> reader (typed, collects faults) --> model
//! ```
//!
//! ```
//! let job = r#"
//!     tank = { size = "100 x 50 x 50 mm" }
//!     bath = { kind = "custom", metal = "copper", conductivity = "20 S/m" }
//!     supply = { mean_current_density = "3 A/dm2" }
//!
//!     [[anode]]
//!     shape.box = { from = "90 x 0 x 0 mm", to = "100 x 50 x 50 mm" }
//!
//!     [[work]]
//!     shape.ball = { radius = "1 in", centre = "30 x 25 x 25 mm" }
//! "#;
//! let faults = ionfall_job::parse("job.toml", &job.replace("radius", "raduis"), "".as_ref());
//! assert!(faults.unwrap_err().render().contains("radius"));
//! let model = ionfall_job::parse("job.toml", job, "".as_ref()).expect("a good job");
//! assert_eq!(model.geometry.electrodes()[1].name, "work");
//! ```

mod agitation;
mod bath;
mod collector;
mod curve;
mod describe;
mod dimension;
mod document;
mod draw;
mod drawing;
mod excerpt;
mod face;
mod fault;
mod figures;
mod files;
mod flat;
mod flow;
mod insoluble;
mod job;
mod keys;
mod law;
mod lengths;
mod line;
mod measure;
mod named;
mod named_files;
mod overlap;
mod parts;
mod place;
mod plan;
mod prices;
mod reader;
mod reading;
mod repeat;
mod resolution;
mod schedule;
mod schema;
mod skin;
mod spatial;
mod suggest;
mod travel;
mod turn;
pub mod unit;
mod vary;
mod wall;
mod zone;

pub use bath::{parse_bath, read_bath};
pub use describe::describe;
pub use fault::{Fault, Faults, JobError};
pub use job::{parse, parse_with, read};
pub use keys::{Key, keys};
pub use lengths::Lengths;
pub use named_files::NamedFiles;
pub use overlap::{overlaps, touching};
pub use schema::schema;
pub use suggest::help as suggestion;
pub use vary::{VaryError, value_of, with_values};
