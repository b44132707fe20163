//! Where the files that a job names come from: a folder on disk, or wherever a program keeps them.

use std::borrow::Cow;
use std::io;
use std::path::{Path, PathBuf};

/// Files that a job may name.
pub trait NamedFiles {
    /// What a file is called in messages; its ending says of which kind it is.
    fn path(&self, name: &str) -> PathBuf;

    /// Its length in bytes; nothing if there is no such file.
    fn length(&self, name: &str) -> Option<u64>;

    /// What it holds.
    ///
    /// # Errors
    /// A file that cannot be read.
    fn bytes(&self, name: &str) -> io::Result<Cow<'_, [u8]>>;

    /// What to do if a file is not there.
    fn way_out(&self) -> &'static str;
}

/// The folder of a job file.
pub(crate) struct Folder<'a>(pub &'a Path);

impl NamedFiles for Folder<'_> {
    fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    fn length(&self, name: &str) -> Option<u64> {
        let found = std::fs::metadata(self.path(name)).ok()?;
        found.is_file().then(|| found.len())
    }

    fn bytes(&self, name: &str) -> io::Result<Cow<'_, [u8]>> {
        std::fs::read(self.path(name)).map(Cow::Owned)
    }

    fn way_out(&self) -> &'static str {
        "check its name; files are looked for from the folder of the job file"
    }
}
