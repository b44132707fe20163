//! From a text to a table that can be read, with all its faults.

use crate::collector::Collector;
use crate::fault::{Fault, Faults};
use crate::figures::Figures;
use crate::reader::Table;
use ionfall_model::NamedFigure;
use toml::de::DeTable;

/// What was read from a text.
pub(crate) struct Reading<T> {
    pub found: T,
    /// Figures that it names.
    pub figures: Vec<NamedFigure>,
    /// Notes taken on the way.
    pub notes: Vec<String>,
    /// Of the text and the files it names.
    pub fingerprint: u64,
}

/// Reads a TOML text. `name` is for messages.
///
/// # Errors
/// A text that is not TOML; every fault noted while reading.
pub(crate) fn read<T>(
    name: &str,
    text: &str,
    read: impl FnOnce(&Table) -> Option<T>,
) -> Result<Reading<T>, Faults> {
    let (document, errors) = DeTable::parse_recoverable(text);
    if !errors.is_empty() {
        let faults = errors.iter().map(|error| {
            let help = "write key = \"value\", and [table] or [[table]] on lines of their own";
            let message = format!("this is not TOML: {}", error.message());
            Fault::new(
                error.span().unwrap_or(0..0),
                message,
                "here",
                Some(help.into()),
            )
        });
        return Err(Faults::new(name, text, faults.collect()));
    }
    let collector = Collector::default();
    collector.mark(text.as_bytes());
    let (figures, faults) = Figures::read(document.get_ref());
    collector.set_figures(figures);
    collector.add(faults);
    let found = read(&Table::root(&document, &collector));
    let (fingerprint, figures) = (collector.fingerprint(), collector.figures().named());
    let (mut faults, notes) = collector.into_parts();
    match found {
        Some(found) if faults.is_empty() => {
            return Ok(Reading {
                found,
                figures,
                notes,
                fingerprint,
            });
        }
        None if faults.is_empty() => faults.push(Fault::new(
            0..0,
            "this is not enough to make a job of",
            "here",
            Some("compare it with the example that `ionfall --help` names".into()),
        )),
        _ => {}
    }
    Err(Faults::new(name, text, faults))
}
