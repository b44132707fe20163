//! Files written whole or not at all.

use crate::error::AppError;
use ionfall_report::ReportError;
use serde::Serialize;
use std::io::Write;
use std::path::Path;
use std::{fs, io};

/// As an indented JSON document.
pub(crate) fn json(value: &impl Serialize) -> Result<String, AppError> {
    serde_json::to_string_pretty(value).map_err(|e| AppError::Output(io::Error::other(e)))
}

/// Writes a file whole or not at all.
pub(crate) fn put(path: &Path, content: &[u8]) -> Result<(), AppError> {
    let new = path.with_extension(format!("new-{}", std::process::id()));
    let done = write_new(&new, content).and_then(|()| fs::rename(&new, path));
    done.map_err(|e| {
        // What is left of it hinders nobody.
        let _ = fs::remove_file(&new);
        AppError::Report(ReportError::Write {
            path: path.into(),
            source: e,
        })
    })
}

/// Writes a file that is not there yet; what a killed run has left of that name, be it a link to
/// somewhere else, goes.
pub(crate) fn write_new(path: &Path, content: &[u8]) -> io::Result<()> {
    let _ = fs::remove_file(path);
    let mut file = fs::File::create_new(path)?;
    file.write_all(content)?;
    file.sync_all()
}
