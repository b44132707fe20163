//! What can be wrong with the figures of a bath.

use crate::subject::Subject;

/// A refused figure.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BathError {
    /// A figure that must be greater than zero is not.
    #[error("{what} must be greater than zero, found {value}")]
    NotPositive {
        /// The figure.
        what: Subject,
        /// What was found.
        value: f64,
    },
    /// A figure lies outside the range in which the formula or the bath makes sense.
    #[error("{what} must lie between {low} and {high}, found {value}")]
    OutOfRange {
        /// The figure.
        what: Subject,
        /// What was found.
        value: f64,
        /// Smallest allowed value.
        low: f64,
        /// Largest allowed value.
        high: f64,
    },
    /// A figure that the bath does not know must be given.
    #[error("no {} is known for this bath: give it", .what.name())]
    Missing {
        /// The figure.
        what: Subject,
    },
    /// A limiting current was asked of a law that has no cathodic side.
    #[error(
        "an anodic Tafel law has no cathodic side, so it can have no cathodic limiting current"
    )]
    LimitOnAnodic,
    /// Hydrogen was asked of a law that has no cathodic side.
    #[error("an anodic Tafel law has no cathodic side, so it can evolve no hydrogen")]
    HydrogenOnAnodic,
    /// Gas of an insoluble anode was asked of a law with a cathodic side.
    #[error("an insoluble anode follows an anodic Tafel law: this law has a cathodic side")]
    GasOnCathodic,
}

/// Passes a value that is finite and greater than zero.
pub(crate) fn positive(what: Subject, value: f64) -> Result<f64, BathError> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(BathError::NotPositive { what, value })
    }
}

/// Passes a value inside the closed range.
pub(crate) fn within(what: Subject, value: f64, low: f64, high: f64) -> Result<f64, BathError> {
    if (low..=high).contains(&value) {
        Ok(value)
    } else {
        Err(BathError::OutOfRange {
            what,
            value,
            low,
            high,
        })
    }
}
