//! A run, whatever the number of coordinates.

use crate::outcome::{Answer, Outcome};
use ionfall_deposit::accuracy::{AccuracyReached, seek};
use ionfall_deposit::{DepositError, Settings};
use ionfall_model::{Known, Model};

/// Builds the grid of a model, solves the field and lets the metal grow.
///
/// # Errors
/// A tank that cannot be meshed or solved; see [`DepositError`].
pub fn run(model: &Model) -> Result<Outcome, DepositError> {
    run_with(model, &Settings::default())
}

/// As [`run`], with limits and tolerances of one's own.
///
/// # Errors
/// As [`run`].
///
/// ```
/// # use ionfall::{Settings, Tank, run_with, solids::cuboid};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// # let model = Tank::planar(cuboid([0.0, 0.0], [0.1, 0.05])?, 0.1)
/// #     .conductivity_s_per_m(20.0)
/// #     .anode("anode", cuboid([-0.01, 0.0], [0.0, 0.05])?)
/// #     .work("work", cuboid([0.1, 0.0], [0.11, 0.05])?)
/// #     .voltage_v(1.0)
/// #     .model()?;
/// let tight = Settings {
///     memory_bytes: 1000,
///     ..Settings::default()
/// };
/// let error = run_with(&model, &tight).expect_err("no room for any cell");
/// assert!(error.to_string().contains("MiB are allowed"), "{error}");
/// # Ok(())
/// # }
/// ```
pub fn run_with(model: &Model, settings: &Settings) -> Result<Outcome, DepositError> {
    let answer = match model.clone().known() {
        Known::Flat(model) => {
            let outcome = ionfall_deposit::run(&model, settings, &mut ())?;
            Answer::Flat(Box::new(outcome))
        }
        Known::Solid(model) => {
            let outcome = ionfall_deposit::run(&model, settings, &mut ())?;
            Answer::Solid(Box::new(outcome))
        }
    };
    Ok(Outcome::new(answer, model))
}

/// As [`run_with`], on cells that follow from an accuracy: they are made smaller where the answers get their error from,
/// until no thinnest, mean or thickest of a work, no volts and amperes are off by more than `share` of themselves, or
/// the memory is spent; which, and how far it came, stands beside the answers. A smallest cell that the tank names is the
/// smallest that may be made.
///
/// # Errors
/// As [`run`], where not even a first grid can be solved.
pub fn run_within(
    model: &Model,
    share: f64,
    settings: &Settings,
) -> Result<(Outcome, AccuracyReached), DepositError> {
    let (answer, reached) = match model.clone().known() {
        Known::Flat(model) => {
            let found = seek(&model, settings, share, &mut ())?;
            (Answer::Flat(Box::new(found.outcome)), found.reached)
        }
        Known::Solid(model) => {
            let found = seek(&model, settings, share, &mut ())?;
            (Answer::Solid(Box::new(found.outcome)), found.reached)
        }
    };
    Ok((Outcome::new(answer, model), reached))
}
