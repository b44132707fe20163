//! Why a case could not be shown.

use ionfall_deposit::DepositError;
use ionfall_job::Faults;
use thiserror::Error;

/// Why a case could not be shown.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TextbookError {
    /// A name that is not in the list.
    #[error("the textbook has no case called \"{name}\"")]
    Unknown {
        /// What was written.
        name: String,
        /// The nearest name, or where the list is.
        help: String,
    },
    /// The job of a case is not understood.
    #[error("the job of {case} is not understood")]
    Job {
        /// Which case.
        case: String,
        /// Its faults.
        #[source]
        faults: Box<Faults>,
    },
    /// A run of a case failed.
    #[error("{case}, cells {factor} times as large as in the job: {source}")]
    Run {
        /// Which case.
        case: String,
        /// Cell sizes over those of the job.
        factor: f64,
        /// Why.
        source: Box<DepositError>,
    },
    /// Something a case wants to read is not in its answer.
    #[error("{case}: {what} cannot be read off the answer")]
    Reading {
        /// Which case.
        case: String,
        /// What is missing.
        what: String,
    },
}
