//! Why a job cannot be improved.

use std::path::PathBuf;
use thiserror::Error;

/// Why a job cannot be improved.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ImproveError {
    /// No key, or no range after the sign.
    #[error("--free \"{0}\": a key, an equals sign and a range are needed")]
    NoRange(String),
    /// The ends are no numbers, or the same.
    #[error("--free \"{0}\": a range goes from a number to another")]
    NoNumbers(String),
    /// The job does not lie in the range.
    #[error("--free \"{range}\": `{key}` is {value} in the job, which does not lie in that range")]
    Outside {
        /// What was asked.
        range: String,
        /// The key.
        key: String,
        /// Its value.
        value: String,
    },
    /// The job's own value is not among the choices.
    #[error("--free \"{choice}\": `{key}` is {value} in the job, which is not among these")]
    NotAmong {
        /// What was asked.
        choice: String,
        /// The key.
        key: String,
        /// Its value.
        value: String,
    },
    /// One key twice.
    #[error("--free \"{0}\": the key is free already")]
    Twice(String),
    /// Too many keys.
    #[error("that is more than {most} free keys")]
    TooMany {
        /// The most.
        most: usize,
    },
    /// Too many choices.
    #[error("the choices are more than {most} together")]
    TooManyChoices {
        /// The most.
        most: usize,
    },
    /// The goal needs a wanted thickness, and the job has none.
    #[error("the goal is counted to the wanted thickness, and the job wants none")]
    NothingWanted,
    /// The goal is the cover of a coat, and the job has none.
    #[error("the goal is about the time until metal covers a coat, and the job has no coat")]
    NoCoat,
    /// The goal needs prices, and the job has none.
    #[error("the goal is a cost, and the job gives no prices")]
    NoPrices,
    /// A goal against itself.
    #[error("the goal is weighed against itself")]
    SameGoal,
    /// A file where the improved job should go that this program did not write.
    #[error("{} is somebody's own file", path.display())]
    SomebodysFile {
        /// The file.
        path: PathBuf,
    },
}

impl ImproveError {
    /// The way out.
    pub(crate) fn help(&self) -> &'static str {
        match self {
            Self::NoRange(_) | Self::NoNumbers(_) | Self::Twice(_) => {
                "write --free KEY=FROM..TO or KEY=A|B, each key once: \"distance=100..200 mm\", \
                 \"bath.agitation=air|rod\""
            }
            Self::Outside { .. } => {
                "give a range in the unit of the job that holds its value: the search begins there"
            }
            Self::NotAmong { .. } => {
                "name the job's own value among the others: the search begins there"
            }
            Self::TooManyChoices { .. } => "leave some out, or search several times",
            Self::TooMany { .. } => {
                "leave fixed what matters least: \"what mattered\" of a first search tells"
            }
            Self::NothingWanted => {
                "add [wanted] thickness = \"0.3 mm\" to the job, or take --for evenness"
            }
            Self::NoCoat => "give the work a `coat`, or take another goal: --for hours",
            Self::NoPrices => {
                "add [prices] to the job, for example energy = \"0.28 per kWh\", time = \"6 per h\""
            }
            Self::SameGoal => {
                "name another with --against, for example --for evenness --against hours"
            }
            Self::SomebodysFile { .. } => {
                "move it away: the improved job is written there, beside the files that it names"
            }
        }
    }
}
