//! Bath physics against published and independently worked figures, and baths end to end.

mod command;
mod evenness;
mod films;
mod islands;
mod mass_transfer;
mod plates;
mod points;
mod program;
mod recess;

use ionfall_textbook::table as cases;
