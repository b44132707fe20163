//! The command line, end to end.

mod accuracy;
mod bad_input;
mod bad_machine;
mod bad_shapes;
mod bench;
mod compare;
mod folder;
mod good_jobs;
mod hostile;
mod improve;
mod kills;
mod lengths;
mod nonsense;
mod resume;
mod telling;
mod trials;
mod verdict;

use ionfall_textbook::table as cases;
