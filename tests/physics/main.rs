//! The physics of ionfall against exact and published values (`tests/data/cases.json` names the
//! source and method of each).

mod bench;
mod coats;
mod cylinders;
mod disks;
mod flat;
mod growth;
mod manufactured;
mod meshes;
mod narrow;
mod places;
mod plates;
mod spheres;
mod supplies;
mod thin;
mod windows;

use ionfall_textbook::table as cases;
