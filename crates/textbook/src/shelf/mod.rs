//! The cases, one file a family.

mod boss;
mod coats;
mod cylinders;
mod disk;
mod plates;
mod recess;
mod tanks;
mod throw;
mod trapezoid;
mod waves;

use crate::case::{Case, Reading, Tolerance};
use crate::error::TextbookError;
use ionfall_job::suggestion;

/// Name and text of a job of `examples/textbook`.
macro_rules! job {
    ($name:literal) => {
        (
            $name,
            include_str!(concat!(
                env!("CARGO_MANIFEST_DIR"),
                "/../../examples/textbook/",
                $name,
                ".toml"
            )),
        )
    };
}
use job;

/// A share of the published value, in percent.
fn percent(value: f64) -> Tolerance {
    Tolerance::Share(0.01 * value)
}

/// Current density at a point of a planar or axisymmetric job.
fn at(body: &'static str, x: f64, y: f64) -> Reading {
    Reading::At(body, [x, y, 0.0])
}

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
