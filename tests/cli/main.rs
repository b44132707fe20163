//! The command line, end to end.

mod bad_input;
mod bad_machine;
mod bad_shapes;
mod bench;
#[path = "../physics/cases.rs"]
mod cases;
mod good_jobs;
mod telling;
