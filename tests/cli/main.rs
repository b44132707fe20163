//! The command line, end to end.

mod bad_input;
mod bench;
mod good_jobs;
