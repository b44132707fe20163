//! What is wrong with a job file: all of it at once, each place with an excerpt and a way out.

use crate::figures::Figures;
use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode,
};
use std::cell::{Cell, OnceCell, RefCell};
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
    source: NamedSource<String>,
    faults: Vec<Fault>,
}

impl Faults {
    pub(crate) fn new(name: &str, text: &str, mut faults: Vec<Fault>) -> Self {
        faults.sort_by_key(|f| (f.span.start, f.span.end));
        faults.dedup();
        Self {
            source: NamedSource::new(name, text.into()).with_language("TOML"),
            faults,
        }
    }

    /// All of them, in the order of the file.
    pub fn list(&self) -> &[Fault] {
        &self.faults
    }

    /// Line and column of a fault, both counted from one (columns in characters).
    pub fn line_column(&self, fault: &Fault) -> (usize, usize) {
        let text = self.source.inner();
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
        let name = self.source.name();
        match self.faults.len() {
            1 => write!(f, "{name} has one fault"),
            n => write!(f, "{name} has {n} faults"),
        }
    }
}

impl std::error::Error for Faults {}

impl Diagnostic for Faults {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.source)
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        Some(Box::new(self.faults.iter().map(|f| f as &dyn Diagnostic)))
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

/// Collects faults and notes while a file is read.
#[derive(Debug, Default)]
pub(crate) struct Collector {
    faults: RefCell<Vec<Fault>>,
    notes: RefCell<Vec<String>>,
    fingerprint: Cell<u64>,
    figures: OnceCell<Figures>,
}

impl Collector {
    /// Takes what was read into the fingerprint of the job (FNV-1a, 64 bits).
    pub fn mark(&self, bytes: &[u8]) {
        const BASIS: u64 = 0xcbf2_9ce4_8422_2325;
        const PRIME: u64 = 0x0100_0000_01b3;
        let mixed = bytes
            .iter()
            .fold(self.fingerprint.get() ^ BASIS, |hash, byte| {
                (hash ^ u64::from(*byte)).wrapping_mul(PRIME)
            });
        self.fingerprint.set(mixed);
    }

    /// The named figures of the file, once they are known.
    pub fn figures(&self) -> &Figures {
        self.figures.get_or_init(Figures::default)
    }

    /// Makes the named figures known, before anything else is read.
    pub fn set_figures(&self, figures: Figures) {
        // A second table of the same name cannot be in a document.
        let _ = self.figures.set(figures);
    }

    /// The fingerprint so far.
    pub fn fingerprint(&self) -> u64 {
        self.fingerprint.get()
    }

    /// Notes a fault.
    pub fn add(
        &self,
        span: Range<usize>,
        message: impl Into<String>,
        label: impl Into<String>,
        help: Option<String>,
    ) {
        self.faults.borrow_mut().push(Fault {
            message: message.into(),
            span,
            label: label.into(),
            help,
        });
    }

    /// Is nothing wrong so far?
    pub fn is_empty(&self) -> bool {
        self.faults.borrow().is_empty()
    }

    /// Notes something worth telling that is no fault.
    pub fn note(&self, text: String) {
        self.notes.borrow_mut().push(text);
    }

    /// Takes all that was noted.
    pub fn into_parts(self) -> (Vec<Fault>, Vec<String>) {
        (self.faults.into_inner(), self.notes.into_inner())
    }
}
