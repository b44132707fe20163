//! What can go wrong, with the way out and the exit code.

use crate::improve::ImproveError;
use crate::trials::ValuesError;
use ionfall_deposit::{DepositError, NetworkError};
use ionfall_field::FieldError;
use ionfall_job::JobError;
use ionfall_job::VaryError;
use ionfall_job::unit::UnitError;
use ionfall_mesh::grid::GridError;
use ionfall_report::ReportError;
use ionfall_textbook::TextbookError;
use miette::Diagnostic;
use std::fmt::Display;
use std::io;
use std::path::PathBuf;
use thiserror::Error;

/// Share of the limiting current that leaves sound deposits.
const SOUND_SHARE: f64 = ionfall_bath::Quality::Rough.from_share();

/// Why a run cannot go on.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CheckpointError {
    /// Not readable or writable.
    #[error("cannot use the file of progress {path}", path = .path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says.
        #[source]
        source: io::Error,
    },
    /// Broken.
    #[error("the file of progress {path} is damaged", path = .path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
    },
    /// Of another version of the program.
    #[error("the file of progress {path} is of another version of ionfall", path = .path.display())]
    OtherVersion {
        /// The file.
        path: PathBuf,
    },
    /// Of another job.
    #[error("the job has changed since the run began")]
    OtherJob {
        /// The file.
        path: PathBuf,
    },
}

/// Why a command failed.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum AppError {
    /// The job could not be read.
    #[error(transparent)]
    Job(#[from] JobError),
    /// A figure on the command line makes no sense.
    #[error("{flag} \"{text}\": {error}")]
    Flag {
        /// The flag.
        flag: &'static str,
        /// What was written.
        text: String,
        /// Why.
        error: UnitError,
    },
    /// An accuracy where no metal grows.
    #[error("an accuracy is that of thicknesses, and without a plan no metal grows")]
    NoThickness,
    /// Progress of a run that keeps none.
    #[error("a run that looks for the cells of an accuracy keeps no progress to go on from")]
    NoProgress,
    /// A bath that is neither a recipe, nor a kind, nor a job file.
    #[error("no recipe, kind of bath or job file is called \"{name}\"")]
    UnknownBath {
        /// What was written.
        name: String,
        /// The nearest known name, or all of them.
        help: String,
    },
    /// The grid could not be built.
    #[error(transparent)]
    Grid(GridError),
    /// More current is asked for than can flow.
    #[error(
        "{} A are asked for, but no more than {} A can flow: there the metal in the bath no longer \
         reaches the work fast enough (limiting current)",
        amperes(.demand_a),
        amperes(.largest_a)
    )]
    AboveLimit {
        /// Current asked for, A.
        demand_a: f64,
        /// Largest possible current, A.
        largest_a: f64,
    },
    /// The field could not be solved.
    #[error("the currents could not be computed")]
    Field(#[source] FieldError),
    /// The run failed in another way.
    #[error(transparent)]
    Deposit(DepositError),
    /// The threads could not be started.
    #[error("the processors could not be put to work")]
    Threads(#[source] FieldError),
    /// A textbook case could not be shown.
    #[error(transparent)]
    Textbook(#[from] TextbookError),
    /// The results could not be written.
    #[error("{}", unwritten(.0))]
    Report(#[from] ReportError),
    /// The run could not be resumed, or its progress not kept.
    #[error(transparent)]
    Checkpoint(#[from] CheckpointError),
    /// What is to be varied makes no sense.
    #[error(transparent)]
    Values(#[from] ValuesError),
    /// The job cannot be improved as asked.
    #[error(transparent)]
    Improve(#[from] ImproveError),
    /// A key to be varied that is not in the job.
    #[error(transparent)]
    Vary(#[from] VaryError),
    /// A case that does not exist.
    #[error("there is no case {case}: the trials are cases 1 to {cases}")]
    NoCase {
        /// Asked for.
        case: usize,
        /// How many there are.
        cases: usize,
    },
    /// More cases than anybody looks at.
    #[error("that is more than {most} cases")]
    TooManyCases {
        /// The most.
        most: usize,
    },
    /// The job wants its results outside of its own folder.
    #[error("the job wants its results in {}, outside of its own folder", folder.display())]
    Outside {
        /// What it says.
        folder: PathBuf,
    },
    /// A folder that holds no results.
    #[error("{} holds no finished results", folder.display())]
    NoResult {
        /// The folder.
        folder: PathBuf,
    },
    /// All but one, or all, of what was to be compared failed.
    #[error("fewer than two runs are left to be compared: {}", failures.join("; "))]
    NothingToCompare {
        /// What failed, each with its reason.
        failures: Vec<String>,
        /// Exit code of the first.
        code: u8,
    },
    /// Standard output could not be written.
    #[error("cannot print the answer")]
    Output(#[source] io::Error),
}

fn unwritten(error: &ReportError) -> &'static str {
    match error {
        ReportError::Unreadable { .. } => "the results could not be read back",
        ReportError::Busy { .. } => "nothing was done: the folder of results is in use",
        ReportError::NotOurs { .. } => "nothing was written: the folder holds somebody's own files",
        _ => "the results were not written; what was in the folder before is still there",
    }
}

fn amperes(value: &f64) -> String {
    format!("{:.3}", value.abs())
}

impl From<DepositError> for AppError {
    fn from(error: DepositError) -> Self {
        match error {
            DepositError::Grid(error) => Self::Grid(error),
            DepositError::Field(FieldError::DemandAboveLimit {
                demand_a,
                largest_a,
            }) => Self::AboveLimit {
                demand_a: demand_a.abs(),
                largest_a: largest_a.abs(),
            },
            DepositError::Field(error) => Self::Field(error),
            other => Self::Deposit(other),
        }
    }
}

impl AppError {
    /// The exit code of the program: 2 bad input, 3 not solved, 4 machine.
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::NothingToCompare { code, .. } => *code,
            Self::Report(ReportError::Unreadable { .. } | ReportError::NotOurs { .. }) => 2,
            Self::Grid(GridError::TooLarge { .. } | GridError::TooMany { .. })
            | Self::Threads(_)
            | Self::Report(_)
            | Self::Output(_)
            | Self::Checkpoint(CheckpointError::File { .. }) => 4,
            Self::Job(_)
            | Self::Flag { .. }
            | Self::NoThickness
            | Self::NoProgress
            | Self::UnknownBath { .. }
            | Self::Values(_)
            | Self::Improve(_)
            | Self::Vary(_)
            | Self::NoCase { .. }
            | Self::NoResult { .. }
            | Self::Outside { .. }
            | Self::TooManyCases { .. }
            | Self::Textbook(TextbookError::Unknown { .. })
            | Self::Grid(_)
            | Self::Checkpoint(_)
            | Self::Deposit(DepositError::Network(NetworkError::IdleContact { .. })) => 2,
            Self::AboveLimit { .. } | Self::Field(_) | Self::Deposit(_) | Self::Textbook(_) => 3,
        }
    }

    /// What is wrong, in one line: the message, and what is behind it.
    pub(crate) fn in_one_line(&self) -> String {
        let mut parts = vec![self.to_string()];
        if let Self::Job(JobError::Faults(faults)) = self {
            parts.extend(faults.list().iter().map(|f| f.message.clone()));
        }
        let mut inner = std::error::Error::source(self);
        while let Some(error) = inner {
            parts.push(error.to_string());
            inner = error.source();
        }
        parts.dedup();
        parts.join(": ").replace('\n', " ")
    }

    /// The way out, where the message has none.
    fn way_out(&self) -> Option<String> {
        Some(match self {
            Self::Job(JobError::Read { source, .. }) => match source.kind() {
                io::ErrorKind::InvalidData => {
                    "a job is a plain text file (TOML in UTF-8); is this the right file?".into()
                }
                _ => "check the name; `ionfall` alone shows what a command looks like".into(),
            },
            Self::Grid(GridError::NothingToSolve) => {
                "a shield, a wall or a body shuts the work off from every anode: leave a way for \
                 the current"
                    .into()
            }
            Self::NoThickness => {
                "add [plan] with its time to the job, or give cells by `finest` in [grid]".into()
            }
            Self::NoProgress => "run it without --resume".into(),
            Self::UnknownBath { help, .. } => help.clone(),
            Self::Flag { .. } => "write a number and a unit, as in \"2 A/dm2\"".into(),
            Self::Grid(GridError::TooLarge { .. }) => {
                "in [grid], set finest, or give only the work a small `finest` of its own; \
                 `ionfall check` tells the size of a grid without computing"
                    .into()
            }
            Self::Checkpoint(CheckpointError::OtherJob { .. }) => {
                "put the job file (and the files it names) back as they were, or run without \
                 --resume to begin anew"
                    .into()
            }
            Self::Checkpoint(CheckpointError::File { .. }) => {
                "look at the disk and the folder's permissions".into()
            }
            Self::Checkpoint(_) => "run without --resume to begin anew".into(),
            Self::AboveLimit { largest_a, .. } => format!(
                "lower the current: {:.3} A is the most, and sound metal usually needs less than \
                 {:.3} A ({:.0} % of it). Or raise the limit: stronger agitation, a warmer bath, \
                 more metal salt. Or let the supply hold its voltage constant",
                largest_a,
                SOUND_SHARE * largest_a,
                100.0 * SOUND_SHARE
            ),
            Self::Field(FieldError::Floating { .. }) => {
                "a pocket of the bath is shut off from all electrodes, or an electrode from all \
                 others: look for shields or bodies that close it in, and open or fill it"
                    .into()
            }
            Self::Field(_) => {
                "try a finer grid at the work (in [grid], a smaller finest), and `ionfall check` \
                 for the figures of bath and laws"
                    .into()
            }
            Self::Deposit(DepositError::StepTooSmall { .. }) => {
                "begin with less current, or give the supply a voltage_limit; larger contacts and \
                 a better coat help too"
                    .into()
            }
            Self::Deposit(DepositError::ForeignState) => {
                "run without --resume to begin anew".into()
            }
            Self::Values(_) => {
                "write --vary KEY=VALUES: \"plan.time=2 h,4 h\", or from, to and how many: \
                 \"distance=100..200/5 mm\""
                    .into()
            }
            Self::Improve(error) => error.help().into(),
            Self::Vary(error) => return error.help().map(str::to_owned),
            Self::TooManyCases { .. } => "vary fewer keys, or give fewer values".into(),
            Self::Textbook(TextbookError::Unknown { help, .. }) => help.clone(),
            Self::Threads(_) => "ask for fewer with --threads".into(),
            Self::NothingToCompare { .. } => {
                "`ionfall check` says what is wrong with a job; then compare again".into()
            }
            Self::NoResult { .. } => {
                "name a folder that `ionfall run` has written, or a job file".into()
            }
            Self::Report(ReportError::Unreadable { .. }) => {
                "run the job again; the results may be of another version".into()
            }
            Self::Report(ReportError::Busy { .. }) => {
                "wait until it has finished, or choose another folder with --out".into()
            }
            Self::Report(ReportError::NotOurs { .. }) => {
                "choose another folder with --out, or move these files away (results of an ionfall \
                 that kept no list of its files count as somebody's own: remove them)"
                    .into()
            }
            Self::Outside { .. } => {
                "say --outside if that is meant, or choose the folder with --out".into()
            }
            Self::Report(_) => "make room on the disk, or choose another folder with --out".into(),
            _ => return None,
        })
    }
}

impl Diagnostic for AppError {
    fn help<'a>(&'a self) -> Option<Box<dyn Display + 'a>> {
        self.way_out().map(|text| Box::new(text) as _)
    }

    fn source_code(&self) -> Option<&dyn miette::SourceCode> {
        self.job().and_then(Diagnostic::source_code)
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        self.job().and_then(Diagnostic::related)
    }
}

impl AppError {
    /// The faults of the job as a report with excerpts.
    fn job(&self) -> Option<&JobError> {
        match self {
            Self::Job(error) => Some(error),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use miette::{GraphicalReportHandler, GraphicalTheme};

    fn shown(error: &AppError) -> String {
        let mut text = String::new();
        GraphicalReportHandler::new_themed(GraphicalTheme::none())
            .with_width(400)
            .render_report(&mut text, error)
            .unwrap();
        text
    }

    #[test]
    fn a_demand_above_the_limit_is_told_in_amperes() {
        let limit = FieldError::DemandAboveLimit {
            demand_a: -12.0,
            largest_a: -8.25,
        };
        let error = AppError::from(DepositError::Field(limit));
        assert_eq!(error.exit_code(), 3);
        let text = shown(&error);
        for piece in [
            "12.000 A are asked",
            "8.250 A is the most",
            "3.300 A (40 % of it)",
        ] {
            assert!(text.contains(piece), "{text}");
        }
    }

    #[test]
    fn codes_tell_input_from_machine() {
        let too_large = GridError::TooLarge {
            cells: 1,
            need_mib: 2,
            have_mib: 1,
            suggested_mm: 2.5,
        };
        let error = AppError::from(DepositError::Grid(too_large));
        assert_eq!(error.exit_code(), 4);
        assert!(
            shown(&error).contains("2.50 mm would fit"),
            "{}",
            shown(&error)
        );
        assert_eq!(AppError::Grid(GridError::EmptyTank).exit_code(), 2);
        let full = io::Error::from(io::ErrorKind::StorageFull);
        let path = "out/bath.vtu".into();
        let error = AppError::from(ReportError::Write { path, source: full });
        assert_eq!(error.exit_code(), 4);
        let text = shown(&error);
        assert!(
            text.contains("out/bath.vtu") && text.contains("--out"),
            "{text}"
        );
    }
}
