//! The cases, one file a family.

mod boss;
mod coats;
mod cylinders;
mod disk;
mod make;
mod plates;
mod recess;
mod tanks;
mod throw;
mod trapezoid;
mod waves;

use crate::case::Case;
use crate::error::TextbookError;
use ionfall_job::suggestion;

/// All cases.
pub fn all() -> Vec<Case> {
    [
        plates::cases(),
        throw::cases(),
        cylinders::cases(),
        disk::cases(),
        tanks::cases(),
        trapezoid::cases(),
        boss::cases(),
        waves::cases(),
        recess::cases(),
        coats::cases(),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The case of a name.
///
/// # Errors
/// [`TextbookError::Unknown`], with the nearest name.
pub fn find<'a>(cases: &'a [Case], name: &str) -> Result<&'a Case, TextbookError> {
    cases.iter().find(|c| c.name == name).ok_or_else(|| {
        let names: Vec<&'static str> = cases.iter().map(|c| c.name).collect();
        TextbookError::Unknown {
            name: name.into(),
            help: suggestion(name, &names),
        }
    })
}
