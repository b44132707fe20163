//! Bath physics against published and independently worked figures, and baths end to end.

// Only part of the table is of use here.
#[allow(dead_code)]
#[path = "../physics/cases.rs"]
mod cases;
mod command;
mod evenness;
mod mass_transfer;
mod plates;
mod points;
mod program;
