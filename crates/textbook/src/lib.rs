//! The textbook: classic cases with reference answers, as jobs that anyone can run.
//!
//! ```text
//! shelf   the cases: a job, what is read off its answer, what the table says
//! laws    exact formulae, one file a family
//! table   the reference values, each with its source
//! run     one case on three grids, cell sizes a factor two apart
//! compare difference, order of convergence, plus-minus: one row a quantity
//! words   the rows as a table for the terminal; picture: the profile against the exact curve
//! ```
//! The jobs lie in `examples/textbook` and are part of the program, so that an installed one needs
//! no source tree. [`shelf::all`] is the list; [`run`] does one case.
//!
//! ```
//! let cases = ionfall_textbook::shelf::all();
//! let case = ionfall_textbook::shelf::find(&cases, "parallel-plates")?;
//! let report = ionfall_textbook::run(case)?;
//! assert!(report.passed());
//! # Ok::<(), ionfall_textbook::TextbookError>(())
//! ```

#![warn(clippy::too_many_lines)]

#[cfg(target_family = "wasm")]
extern crate ionfall_alone as rayon;

pub mod case;
mod compare;
pub mod course;
pub mod error;
pub mod laws;
pub mod local;
mod picture;
mod run;
pub mod shelf;
mod solved;
pub mod table;
mod words;

pub use case::Case;
pub use compare::{Report, Row, order};
pub use error::TextbookError;
pub use picture::draw;
pub use run::{model, run, run_all, run_variant, solve_text};
pub use solved::Solved;
pub use words::{list, text};
