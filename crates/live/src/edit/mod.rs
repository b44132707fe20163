//! The text of a job with something in it changed. Comments, order and all that was not asked for stay as they are.
//!
//! ```text
//! quantity  a length in a sum made longer or shorter: "50 mm + gap" by 5 mm is "55 mm + gap"
//! put       values set, added where they are missing, taken out
//! tables    tables found to be changed, added to a list, taken out of it with their comments left
//! shift     a body moved, turned, made to fill a box; what is painted or clamped on it goes along
//! hang      bodies added, copied, taken away
//! ```

mod hang;
mod put;
mod quantity;
mod shift;
mod tables;
#[cfg(test)]
mod tests;

pub(crate) use hang::{New, add, copy, remove};
pub(crate) use put::{set, unset};
pub(crate) use shift::{fill, shift, turn};

use crate::refusal::Refusal;
use toml_edit::DocumentMut;

/// The document of a text.
fn document(text: &str) -> Result<DocumentMut, Refusal> {
    let found = text.parse::<DocumentMut>();
    found.map_err(|error| Refusal::plain(format!("the job is no TOML: {}", error.message())))
}
