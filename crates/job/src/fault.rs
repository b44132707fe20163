//! What is wrong with a job file: all of it at once, each place with an excerpt and a way out.

use crate::excerpt::{Excerpt, message};
use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, SourceCode};
use std::collections::BTreeMap;
use std::fmt;
use std::ops::Range;
use std::path::PathBuf;

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{message}")]
pub struct Fault {
    /// What.
    pub message: String,
    /// Where, as bytes of the file.
    pub span: Range<usize>,
    /// A word at the mark.
    pub label: String,
    /// The way out.
    pub help: Option<String>,
    /// Keys of which one is missing, if that is what is wrong.
    pub(crate) missing: Vec<&'static str>,
    /// The figure that is wrong, or missing, if that is the reason.
    pub(crate) figure: Option<String>,
}

impl Fault {
    /// A fault at a place.
    pub(crate) fn new(
        span: Range<usize>,
        message: impl Into<String>,
        label: impl Into<String>,
        help: Option<String>,
    ) -> Self {
        Self {
            message: message.into(),
            span,
            label: label.into(),
            help,
            missing: Vec::new(),
            figure: None,
        }
    }
}

impl Diagnostic for Fault {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help.as_ref().map(|h| Box::new(h) as _)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let label = LabeledSpan::new_with_span(Some(self.label.clone()), self.span.clone());
        Some(Box::new(std::iter::once(label)))
    }
}

/// Everything wrong with one file.
#[derive(Debug)]
pub struct Faults {
    name: String,
    text: String,
    faults: Vec<Fault>,
    /// What is shown of the text, and the first faults as they stand in that.
    excerpt: Box<Excerpt>,
    shown: Vec<Fault>,
}

/// A figure that is wrong is told where it is met first, however often it is used.
fn tell_figures_once(faults: &mut Vec<Fault>) {
    let mut uses: BTreeMap<String, usize> = BTreeMap::new();
    for figure in faults.iter().filter_map(|f| f.figure.clone()) {
        *uses.entry(figure).or_default() += 1;
    }
    faults.retain_mut(|fault| {
        let Some(figure) = &fault.figure else {
            return true;
        };
        let count = uses.remove(figure);
        if let Some(more) = count.map(|n| n - 1).filter(|n| *n > 0) {
            let places = if more == 1 { "place" } else { "places" };
            let told = format!("{} (and so in {more} more {places})", fault.message);
            fault.message = told;
        }
        count.is_some()
    });
}

/// Most faults that are shown at once.
const MOST_SHOWN: usize = 40;

impl Faults {
    pub(crate) fn new(name: &str, text: &str, mut faults: Vec<Fault>) -> Self {
        faults.sort_by_key(|f| (f.span.start, f.span.end));
        faults.dedup();
        tell_figures_once(&mut faults);
        for fault in &mut faults {
            fault.message = message(&fault.message);
            fault.help = fault.help.as_deref().map(message);
        }
        let first = &faults[..faults.len().min(MOST_SHOWN)];
        let spans: Vec<_> = first.iter().map(|f| f.span.clone()).collect();
        let excerpt = Box::new(Excerpt::new(name, text, &spans));
        let as_shown = |f: &Fault| Fault {
            span: excerpt.span(&f.span),
            ..f.clone()
        };
        Self {
            name: message(name),
            text: text.into(),
            shown: first.iter().map(as_shown).collect(),
            excerpt,
            faults,
        }
    }

    /// All of them, in the order of the file.
    pub fn list(&self) -> &[Fault] {
        &self.faults
    }

    /// Line and column of a fault, both counted from one (columns in characters).
    pub fn line_column(&self, fault: &Fault) -> (usize, usize) {
        let text = &self.text;
        let before = text.get(..fault.span.start).unwrap_or(text);
        let line_start = before.rfind('\n').map_or(0, |n| n + 1);
        (
            before.matches('\n').count() + 1,
            before[line_start..].chars().count() + 1,
        )
    }

    /// The report as plain text without colours.
    pub fn render(&self) -> String {
        let mut text = String::new();
        // Writing into a string does not fail.
        let _ = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor())
            .with_width(100)
            .render_report(&mut text, self);
        text
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = &self.name;
        match self.faults.len() {
            1 => write!(f, "{name} has one fault"),
            n if n > MOST_SHOWN => {
                write!(f, "{name} has {n} faults, of which {MOST_SHOWN} are shown")
            }
            n => write!(f, "{name} has {n} faults"),
        }
    }
}

impl std::error::Error for Faults {}

impl Diagnostic for Faults {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&*self.excerpt)
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        Some(Box::new(self.shown.iter().map(|f| f as &dyn Diagnostic)))
    }
}

/// Why a job could not be taken.
#[derive(Debug, thiserror::Error, Diagnostic)]
#[non_exhaustive]
pub enum JobError {
    /// The file could not be read.
    #[error("cannot read the job file {}", path.display())]
    Read {
        /// Which file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// Something in it is wrong.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Faults(Box<Faults>),
}
