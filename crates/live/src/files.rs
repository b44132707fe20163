//! Meshes and pictures that a job names, kept in memory.

use ionfall_job::NamedFiles;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io;
use std::path::PathBuf;

/// Files by the names that jobs call them.
#[derive(Clone, Debug, Default)]
pub(crate) struct Files(BTreeMap<String, Vec<u8>>);

impl Files {
    pub fn put(&mut self, name: String, bytes: Vec<u8>) {
        self.0.insert(name, bytes);
    }

    pub fn drop(&mut self, name: &str) {
        self.0.remove(name);
    }
}

impl NamedFiles for Files {
    fn path(&self, name: &str) -> PathBuf {
        name.into()
    }

    fn length(&self, name: &str) -> Option<u64> {
        Some(self.0.get(name)?.len() as u64)
    }

    fn bytes(&self, name: &str) -> io::Result<Cow<'_, [u8]>> {
        let found = self.0.get(name).ok_or(io::ErrorKind::NotFound)?;
        Ok(Cow::Borrowed(found))
    }

    fn way_out(&self) -> &'static str {
        "load it into the page under this name, or name a file that is loaded"
    }
}
