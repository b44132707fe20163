//! Why there is no answer, as the page is told.

use ionfall_job::Faults;
use serde::Serialize;

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Refusal {
    /// The text of the job is wrong.
    Faults(Vec<FaultLine>),
    /// Anything else, in a sentence.
    Error(String),
}

/// One thing that is wrong with a text.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct FaultLine {
    /// Counted from one.
    line: usize,
    /// Counted from one, in characters.
    column: usize,
    /// Bytes of the text.
    from: usize,
    to: usize,
    message: String,
    help: Option<String>,
}

impl From<Faults> for Refusal {
    fn from(faults: Faults) -> Self {
        let line = |fault: &ionfall_job::Fault| {
            let (line, column) = faults.line_column(fault);
            FaultLine {
                line,
                column,
                from: fault.span.start,
                to: fault.span.end,
                message: fault.message.clone(),
                help: fault.help.clone(),
            }
        };
        Self::Faults(faults.list().iter().map(line).collect())
    }
}

impl Refusal {
    /// Of an error, with what is behind it.
    pub fn of(error: &dyn std::error::Error) -> Self {
        let mut words = error.to_string();
        let mut source = error.source();
        while let Some(inner) = source {
            // Errors that are passed on say what is behind them already.
            let told = inner.to_string();
            if !words.contains(&told) {
                words = format!("{words}: {told}");
            }
            source = inner.source();
        }
        Self::Error(words)
    }

    /// In a sentence.
    pub fn plain(text: impl Into<String>) -> Self {
        Self::Error(text.into())
    }
}
