//! What a finished run has to tell, as plain data: the one source of the report, the pictures and
//! the job sheet.
//!
//! ```text
//! model, outcome, summary --> words     verdict; its parts as rules
//!                         --> surfaces  work and thieves as triangles with values
//!                         --> wires     tank, anodes, shields as lines
//!                         --> section   potential on a plane, equipotentials, current lines
//!                         --> charts    distribution, profiles, (time series)
//!                         --> tables    statistics, figures of the bath, (ledger)
//! ```
//! Lengths are millimetres, values are in the unit of their [`Quantity`]. Jobs of two dimensions
//! are lifted into space (drawn out along their depth or turned about their axis), so that every
//! job has a view in space. Nothing here knows of HTML or pixels; a new time chart, ledger or
//! quantity of the surface is one more entry in a list.

mod chains;
mod charts;
mod contour;
mod data;
mod kind;
mod lift;
mod look;
pub(crate) mod measure;
mod plane;
mod quantities;
pub(crate) mod rules;
mod section;
mod sketch;
mod steps;
mod streamlines;
mod surfaces;
mod tables;
mod tell;
#[cfg(test)]
mod tests;
mod thin;
mod watch;
mod window;
mod wires;
mod words;

#[cfg(feature = "pages")]
pub(crate) use charts::{at_least, on_one_ordinate};
pub use data::{
    Chart, Cut, Hatch, JobText, Map, Mark, Marker, Packed, Quantity, Rule, Scale, Section, Setting,
    Story, Surface, Table, Verdict, Wire,
};
pub use kind::Kind;
#[cfg(feature = "pages")]
pub(crate) use section::BODY;
pub use sketch::Sketch;
