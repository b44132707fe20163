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
