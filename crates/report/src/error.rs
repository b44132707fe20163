//! Why results could not be written.

use std::io;
use std::path::PathBuf;
use thiserror::Error;

/// Why results could not be written. Whatever was in the folder before is still there.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ReportError {
    /// A file or folder could not be made, written or moved.
    #[error("cannot write {}", path.display())]
    Write {
        /// Which.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// Another run is writing there.
    #[error("another run is writing into {}", folder.display())]
    Busy {
        /// The folder of results.
        folder: PathBuf,
    },
    /// The folder holds files that a result would replace, but that no run has written, or that
    /// somebody has changed since.
    #[error(
        "{} holds {} that no run of ionfall has left like that",
        folder.display(),
        listed(names)
    )]
    NotOurs {
        /// The folder of results.
        folder: PathBuf,
        /// Names of the files.
        names: Vec<String>,
    },
    /// A result could not be read back.
    #[error("cannot read {}", path.display())]
    Unreadable {
        /// Which file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// A picture or chart could not be drawn.
    #[error("cannot draw a picture: {0}")]
    Picture(String),
    /// The data of the page could not be written down.
    #[error("cannot write the data of the report: {0}")]
    Page(#[from] serde_json::Error),
}

/// Some names, quoted.
fn listed(names: &[String]) -> String {
    let some: Vec<String> = names.iter().take(3).map(|n| format!("`{n}`")).collect();
    let more = names.len() - some.len();
    let and = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    some.join(", ") + &and
}
