//! What all answers have in common: they are JSON, and long ones tell how far they have come.

use crate::refusal::Refusal;
use serde::Serialize;

/// Told how far an answer has come: share and words.
pub(crate) type Told<'a> = &'a mut dyn FnMut(f64, &str);

/// An answer as JSON.
pub(crate) fn written(answer: &impl Serialize) -> Result<String, Refusal> {
    serde_json::to_string(answer).map_err(|error| Refusal::of(&error))
}
