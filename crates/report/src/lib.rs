//! The answers of a finished run: files for viewers and tables, and plain words.
//!
//! ```text
//!            +--> surface.vtp   facets of the electrodes with their values
//!            +--> part-NAME.vtp thickness on the drawn shape of one electrode
//! outcome ---+--> bath.vtu      the electrolyte, cell by cell
//!            +--> series.pvd    names surface.vtp at its time
//!            +--> facets.csv    one row a facet
//!            +--> lines.csv     the facets along named lines
//!            +--> story -------> report.html, pictures, the job sheet
//!            +--> summary ------> summary.json, and words for the terminal
//! ```
//! All files are made in a hidden folder first and moved into place at the end, `summary.json`
//! last: a folder that has a summary is whole ([`Staging`]).
//!
//! **Signs.** Fields of surfaces keep the sign of the solver: current density is positive where
//! current enters the bath (anodes), negative where metal grows; thickness is positive where metal
//! grows, negative where it dissolves. The summary speaks of magnitudes and says so.
//!
//! ```
//! use ionfall_deposit::{Settings, run};
//! use ionfall_mesh::solid::{Cuboid, Solid};
//! use ionfall_model::{Model, Parts, Tank};
//! use ionfall_report::{Look, Summary};
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
//! let summary = Summary::new(&model, &outcome, "example", None);
//! let words = ionfall_report::text(&summary, "".as_ref(), &[], Look::default());
//! assert!(words.contains("work") && words.contains("of copper"), "{words}");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#![warn(clippy::too_many_lines)]

#[cfg(target_family = "wasm")]
extern crate ionfall_alone as rayon;

mod accuracy;
mod bath;
pub mod compare;
mod cover;
pub mod digest;
mod edge;
mod error;
mod faces;
mod facets;
mod films;
mod folder;
#[cfg(feature = "pages")]
mod html;
mod levers;
mod lines;
mod look;
mod page;
mod part;
#[cfg(feature = "pages")]
mod picture;
mod readings;
mod refine;
mod repeats;
mod series;
pub mod story;
mod summary;
mod surface;
#[cfg(test)]
mod testing;
mod text;
pub mod trials;
mod trim;
mod unit;
mod values;
mod verdict;
mod vtk;
mod write;

pub use digest::{Digest, KeyFigure};
pub use error::ReportError;
pub use facets::facets;
pub use films::FilmSummary;
pub use folder::{REPORT, SUMMARY, Staging, settle};
#[cfg(feature = "pages")]
pub use html::{VIEW_SCRIPTS, VIEW_STYLE, html, shown, small_picture};
pub use look::Look;
pub use page::folded;
#[cfg(feature = "pages")]
pub use picture::{chart::with_dots as chart_svg, write_pictures};
pub use story::Story;
pub use summary::{
    Beside, CoatSummary, GridSummary, LedgerSummary, SolverSummary, Summary, SupplySummary,
    WantedSummary,
};
pub use text::text;
pub use write::write_fields;
