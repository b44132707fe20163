//! The list of the files of a result, with what tells whether somebody has changed one since.
//!
//! Only files that stand in the list, and are still as they were written, are ever replaced or
//! removed: whatever else lies in the folder is somebody's own.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::Path;

/// Its file.
pub(super) const MANIFEST: &str = ".ionfall-files.json";

/// The list.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct Manifest {
    pub files: BTreeMap<String, Stamp>,
}

/// Length of a file and the CRC-32 of its bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Stamp {
    bytes: u64,
    crc32: u32,
}

impl Manifest {
    /// The list in a folder; an empty one where there is none, or none that can be read.
    pub fn read(folder: &Path) -> Self {
        let text = fs::read_to_string(folder.join(MANIFEST)).unwrap_or_default();
        let mut list: Self = serde_json::from_str(&text).unwrap_or_default();
        // A list from elsewhere must not lead out of the folder.
        list.files.retain(|name, _| is_plain(name));
        list
    }

    /// Writes the list into a folder.
    pub fn write(&self, folder: &Path) -> io::Result<()> {
        let mut file = File::create_new(folder.join(MANIFEST))?;
        file.write_all(&serde_json::to_vec_pretty(self)?)?;
        file.sync_all()
    }

    /// Listed files, of those that are `asked` for, that are there but not as they were written.
    pub fn changed(&self, folder: &Path, asked: impl Fn(&str) -> bool) -> io::Result<Vec<String>> {
        let mut names = Vec::new();
        for (name, stamp) in self.files.iter().filter(|(name, _)| asked(name)) {
            let path = folder.join(name);
            if is_there(&path) && Stamp::of(&path)? != Some(*stamp) {
                names.push(name.clone());
            }
        }
        Ok(names)
    }
}

impl Stamp {
    /// Of a file on the disk; none of anything but a file.
    pub fn of(path: &Path) -> io::Result<Option<Self>> {
        if !fs::symlink_metadata(path)?.is_file() {
            return Ok(None);
        }
        let mut file = File::open(path)?;
        let mut counted = Counted::default();
        let mut buffer = vec![0; 1 << 16];
        loop {
            match file.read(&mut buffer)? {
                0 => return Ok(Some(counted.stamp())),
                n => counted.add(&buffer[..n]),
            }
        }
    }
}

/// A stamp in the making.
#[derive(Default)]
pub(super) struct Counted {
    bytes: u64,
    hasher: crc32fast::Hasher,
}

impl Counted {
    pub fn add(&mut self, bytes: &[u8]) {
        self.bytes += bytes.len() as u64;
        self.hasher.update(bytes);
    }

    pub fn stamp(self) -> Stamp {
        Stamp {
            bytes: self.bytes,
            crc32: self.hasher.finalize(),
        }
    }
}

/// Is it the name of a file, and no way to somewhere else?
fn is_plain(name: &str) -> bool {
    Path::new(name).file_name().is_some_and(|n| n == name)
}

/// Is anything of that name there, even a link to nowhere?
pub(super) fn is_there(path: &Path) -> bool {
    fs::symlink_metadata(path).is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_tells_what_was_changed_and_never_leads_out() {
        let room = tempfile::tempdir().unwrap();
        let folder = room.path();
        let mut list = Manifest::default();
        for (name, text) in [("a.csv", "1,2"), ("b.csv", "3"), ("c.csv", "4")] {
            fs::write(folder.join(name), text).unwrap();
            let stamp = Stamp::of(&folder.join(name)).unwrap().unwrap();
            list.files.insert(name.into(), stamp);
        }
        list.write(folder).unwrap();
        assert_eq!(Manifest::read(folder), list);
        fs::write(folder.join("b.csv"), "5").unwrap();
        fs::remove_file(folder.join("c.csv")).unwrap();
        assert_eq!(list.changed(folder, |_| true).unwrap(), ["b.csv"]);
        assert!(
            list.changed(folder, |name| name != "b.csv")
                .unwrap()
                .is_empty()
        );

        fs::remove_file(folder.join(MANIFEST)).unwrap();
        let stamp = list.files["a.csv"];
        for name in ["../x", "/etc/x", "..", "", "a/b"] {
            list.files.insert(name.into(), stamp);
        }
        list.write(folder).unwrap();
        let names: Vec<_> = Manifest::read(folder).files.into_keys().collect();
        assert_eq!(names, ["a.csv", "b.csv", "c.csv"]);
        fs::write(folder.join(MANIFEST), "{\"files\": 3}").unwrap();
        assert_eq!(Manifest::read(folder), Manifest::default());
    }
}
