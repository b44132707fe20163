//! The command line, end to end.

mod bad_input;
mod bad_machine;
mod bad_shapes;
mod bench;
// Only part of the table is of use here.
#[allow(dead_code)]
#[path = "../physics/cases.rs"]
mod cases;
mod compare;
mod good_jobs;
mod resume;
mod study;
mod telling;
