//! Baths other than acid copper, as data: ranges and figures with their sources.
//!
//! * [`kind`]: what a sheet says, and what follows from it;
//! * [`nickel`]: Watts and sulfamate;
//! * [`others`]: silver, zinc, tin.

pub mod kind;
pub mod nickel;
pub mod others;

pub use kind::{Carrier, Dissolved, Makeup, Sheet};

use nickel::{SULFAMATE, WATTS};
use others::{SILVER_CYANIDE, TIN_ACID, ZINC_ACID};

/// The sheets.
pub const SHEETS: [Sheet; 5] = [SULFAMATE, WATTS, SILVER_CYANIDE, ZINC_ACID, TIN_ACID];

impl Sheet {
    /// Finds a sheet by name.
    pub fn find(name: &str) -> Option<Sheet> {
        SHEETS.into_iter().find(|s| s.name == name)
    }
}
