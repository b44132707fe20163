//! Where the files that a job names come from: a folder on disk, or wherever a program keeps them.

use ionfall_mesh::solid::mesh_file::{self, MeshReport};
use ionfall_mesh::solid::{Heights, Solid, SolidError, heights_from_bytes};
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

    /// The triangle mesh in a file whose unit is so many metres. Who reads the same files again and again may keep it.
    ///
    /// # Errors
    /// A file that cannot be read, or holds no mesh.
    fn mesh(&self, name: &str, metres: f64) -> Result<(Solid<3>, MeshReport), SolidError> {
        let bytes = self
            .bytes(name)
            .map_err(|source| self.unread(name, source))?;
        let (mesh, report) = mesh_file::parse(&self.path(name), &bytes, metres)?;
        Ok((Solid::new(mesh), report))
    }

    /// The heights in a picture.
    ///
    /// # Errors
    /// A file that cannot be read, or holds no picture of heights.
    fn heights(&self, name: &str) -> Result<Heights, SolidError> {
        let bytes = self
            .bytes(name)
            .map_err(|source| self.unread(name, source))?;
        heights_from_bytes(&self.path(name), &bytes)
    }

    /// What is said of a file that cannot be read.
    fn unread(&self, name: &str, source: io::Error) -> SolidError {
        SolidError::Io {
            path: self.path(name).display().to_string(),
            source,
        }
    }
}

/// The folder of a job file.
pub(crate) struct Folder<'a>(pub &'a Path);

impl NamedFiles for Folder<'_> {
    fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    fn length(&self, name: &str) -> Option<u64> {
        let found = std::fs::metadata(self.path(name)).ok()?;
        found.is_file().then_some(found.len())
    }

    fn bytes(&self, name: &str) -> io::Result<Cow<'_, [u8]>> {
        std::fs::read(self.path(name)).map(Cow::Owned)
    }

    fn way_out(&self) -> &'static str {
        "check its name; files are looked for from the folder of the job file"
    }
}
