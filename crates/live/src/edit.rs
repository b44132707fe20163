//! Edits.
use crate::refusal::Refusal;

pub(crate) fn set(text: &str, values: &[(String, String)]) -> Result<String, Refusal> {
    ionfall_job::with_values(text, values).map_err(|e| Refusal::of(&e))
}
