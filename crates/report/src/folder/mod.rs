//! The folder of results: written whole or not at all, and nobody else's.
//!
//! A run locks the folder, so that a second one is told; it makes its files in a hidden folder
//! inside (the same disk, so that moving is renaming), and puts them into place at one stroke
//! ([`switch`]). It replaces and removes only what stands in the list of an earlier run, unchanged
//! since ([`manifest`]): a folder that holds other files of the names it would use is refused
//! before any work is done.

mod manifest;
mod names;
mod switch;

pub(crate) use names::{FACETS, LINES, facets_name};
pub use names::{REPORT, SUMMARY};

use crate::error::ReportError;
use manifest::{Counted, Manifest, Stamp};
use names::is_of_a_result;
use std::collections::BTreeMap;
use std::fs::{self, File, TryLockError};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// A folder of results, locked, with new files in the making.
#[derive(Debug)]
pub struct Staging {
    folder: PathBuf,
    new_folder: bool,
    /// Files that are made and wait.
    made: Mutex<BTreeMap<String, Stamp>>,
    /// Kept open for its lock; nothing where the system has no locks.
    _lock: Option<File>,
}

impl Staging {
    /// Makes the folder if need be, locks it, finishes what a run that was killed has begun, and
    /// makes the hidden folder.
    ///
    /// # Errors
    /// [`ReportError::Write`] if it cannot be written to, [`ReportError::Busy`] if another run
    /// writes there, [`ReportError::NotOurs`] if it holds files that a result would replace.
    pub fn open(folder: &Path) -> Result<Self, ReportError> {
        let new_folder = !folder.exists();
        fs::create_dir_all(folder).map_err(|e| failed(folder, e))?;
        let staging = Self {
            folder: folder.into(),
            new_folder,
            made: Mutex::default(),
            _lock: lock(folder)?,
        };
        switch::settle(folder).map_err(|e| failed(folder, e))?;
        staging.refuse_others(&BTreeMap::new(), |_| true)?;
        staging.begin()?;
        Ok(staging)
    }

    fn begin(&self) -> Result<(), ReportError> {
        let hidden = switch::unfinished(&self.folder);
        fs::create_dir(&hidden).map_err(|e| failed(&hidden, e))
    }

    /// Is anything there that a result, or the files `made`, would replace, but no run has written?
    /// Of the listed files those that are `touched` are looked at.
    fn refuse_others(
        &self,
        made: &BTreeMap<String, Stamp>,
        touched: impl Fn(&str) -> bool,
    ) -> Result<(), ReportError> {
        let list = Manifest::read(&self.folder);
        let look = || -> io::Result<Vec<String>> {
            let mut names = list.changed(&self.folder, touched)?;
            for entry in fs::read_dir(&self.folder)? {
                if let Ok(name) = entry?.file_name().into_string()
                    && (is_of_a_result(&name) || made.contains_key(&name))
                    && !list.files.contains_key(&name)
                {
                    names.push(name);
                }
            }
            names.sort();
            Ok(names)
        };
        let names = look().map_err(|e| failed(&self.folder, e))?;
        if names.is_empty() {
            return Ok(());
        }
        Err(ReportError::NotOurs {
            folder: self.folder.clone(),
            names,
        })
    }

    /// Writes one file; several may be written side by side. A name given twice is written twice; the later one
    /// stays.
    ///
    /// # Errors
    /// [`ReportError::Write`], for instance on a full disk.
    pub fn write(&self, name: &str, content: &[u8]) -> Result<(), ReportError> {
        self.fill(name, |to| to.write_all(content))
    }

    /// As [`write`](Self::write), a large file piece by piece.
    pub(crate) fn fill(
        &self,
        name: &str,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), ReportError> {
        let path = switch::unfinished(&self.folder).join(name);
        let put = || {
            let mut to = Noting {
                to: BufWriter::new(File::create(path)?),
                counted: Counted::default(),
                fault: None,
            };
            let filled = fill(&mut to);
            to.fault.map_or(filled, Err)?;
            let file = to.to.into_inner().map_err(io::IntoInnerError::into_error)?;
            // Only now a full disk is sure to have been noticed.
            file.sync_all()?;
            Ok(to.counted.stamp())
        };
        let stamp = put().map_err(|e| failed(&self.folder.join(name), e))?;
        let mut made = self.made.lock().unwrap_or_else(PoisonError::into_inner);
        made.insert(name.into(), stamp);
        Ok(())
    }

    /// Puts a whole new result in the place of an older one and says what there is now, the
    /// summary last.
    ///
    /// # Errors
    /// [`ReportError::Write`], [`ReportError::NotOurs`]. Either the folder is as it was before, or
    /// the new result counts already and whoever comes next puts the rest of it into place.
    pub fn publish(&mut self) -> Result<Vec<String>, ReportError> {
        let files = self.take_made();
        self.refuse_others(&files, |_| true)?;
        let mut names: Vec<String> = files.keys().cloned().collect();
        names.sort_by_key(|name| name == SUMMARY);
        self.put(&Manifest { files }, &names)?;
        Ok(names)
    }

    /// Puts the files into place in a result that stays as it is otherwise.
    ///
    /// # Errors
    /// As of [`publish`](Self::publish).
    pub fn update(&mut self) -> Result<(), ReportError> {
        let files = self.take_made();
        self.refuse_others(&files, |name| files.contains_key(name))?;
        let names: Vec<String> = files.keys().cloned().collect();
        let mut list = Manifest::read(&self.folder);
        list.files.extend(files);
        self.put(&list, &names)
    }

    /// The files that wait.
    fn take_made(&mut self) -> BTreeMap<String, Stamp> {
        std::mem::take(self.made.get_mut().unwrap_or_else(PoisonError::into_inner))
    }

    /// The stroke, if all files are made.
    fn put(&mut self, list: &Manifest, names: &[String]) -> Result<(), ReportError> {
        let hidden = switch::unfinished(&self.folder);
        for name in names {
            let path = self.folder.join(name);
            fs::metadata(hidden.join(name)).map_err(|e| failed(&path, e))?;
        }
        let put = || {
            list.write(&hidden)?;
            switch::switch(&self.folder)
        };
        put().map_err(|e| failed(&self.folder, e))?;
        self.new_folder = false;
        self.begin()
    }
}

/// Finishes a switch to a newer result that was broken off, before the folder is read. Where a run
/// is at work, or nothing can be written, the folder stays as it is.
pub fn settle(folder: &Path) {
    if let Ok(_lock) = lock(folder) {
        // Reading goes on: a result that is not whole is noticed by its missing summary.
        let _ = switch::settle(folder);
    }
}

/// A lock of the folder, gone with its process. Where folders cannot be locked there is none.
fn lock(folder: &Path) -> Result<Option<File>, ReportError> {
    let Ok(file) = File::open(folder) else {
        return Ok(None);
    };
    match file.try_lock() {
        Ok(()) => Ok(Some(file)),
        Err(TryLockError::WouldBlock) => Err(ReportError::Busy {
            folder: folder.into(),
        }),
        Err(TryLockError::Error(_)) => Ok(None),
    }
}

/// A file that remembers what went wrong with it, because `vtkio` only tells that something did. It
/// also overlooks short writes, so that each is whole here.
struct Noting {
    to: BufWriter<File>,
    counted: Counted,
    fault: Option<io::Error>,
}

impl Noting {
    fn noting<T>(&mut self, done: io::Result<T>) -> io::Result<T> {
        done.map_err(|fault| {
            let kind = fault.kind();
            self.fault.get_or_insert(fault);
            kind.into()
        })
    }
}

impl Write for Noting {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let done = self.to.write_all(bytes);
        self.counted.add(bytes);
        self.noting(done).map(|()| bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        let done = self.to.flush();
        self.noting(done)
    }
}

impl Drop for Staging {
    /// Leaves nothing half-made behind. What cannot be removed here stays hidden.
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(switch::unfinished(&self.folder));
        if self.new_folder {
            let _ = fs::remove_dir(&self.folder);
        }
    }
}

fn failed(path: &Path, source: io::Error) -> ReportError {
    ReportError::Write {
        path: path.into(),
        source,
    }
}

#[cfg(test)]
mod tests {
    use super::manifest::MANIFEST;
    use super::*;

    fn entries(folder: &Path) -> Vec<String> {
        let mut names: Vec<_> = fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    fn publish(folder: &Path, files: &[(&str, &str)]) -> Vec<String> {
        let mut staging = Staging::open(folder).unwrap();
        for (name, text) in files {
            staging.write(name, text.as_bytes()).unwrap();
        }
        staging.publish().unwrap()
    }

    #[test]
    fn nothing_shows_before_the_end() {
        let room = tempfile::tempdir().unwrap();
        let folder = room.path().join("a/b");
        let mut staging = Staging::open(&folder).unwrap();
        staging.write(SUMMARY, b"{}").unwrap();
        staging.write("facets.csv", b"x").unwrap();
        assert!(!folder.join(SUMMARY).exists() && !folder.join("facets.csv").exists());
        assert_eq!(staging.publish().unwrap(), ["facets.csv", SUMMARY]);
        drop(staging);
        assert_eq!(entries(&folder), [MANIFEST, "facets.csv", SUMMARY]);
    }

    #[test]
    fn an_update_replaces_what_it_names() {
        let room = tempfile::tempdir().unwrap();
        let folder = room.path();
        let mut staging = Staging::open(folder).unwrap();
        for name in [SUMMARY, REPORT, FACETS] {
            staging.write(name, b"1").unwrap();
        }
        staging.publish().unwrap();
        staging.write(SUMMARY, b"2").unwrap();
        staging.write(REPORT, b"2").unwrap();
        assert_eq!(fs::read_to_string(folder.join(SUMMARY)).unwrap(), "1");
        staging.update().unwrap();
        let read = |name| fs::read_to_string(folder.join(name)).unwrap();
        assert_eq!([FACETS, REPORT, SUMMARY].map(read), ["1", "2", "2"]);
        // Given up, it leaves the result as it is.
        staging.write(SUMMARY, b"3").unwrap();
        drop(staging);
        assert_eq!(entries(folder), [MANIFEST, FACETS, REPORT, SUMMARY]);
        assert_eq!(read(SUMMARY), "2");
        publish(folder, &[(SUMMARY, "4")]);
        assert_eq!(entries(folder), [MANIFEST, SUMMARY]);
    }

    #[test]
    fn given_up_leaves_no_trace() {
        let room = tempfile::tempdir().unwrap();
        let folder = room.path().join("new");
        let staging = Staging::open(&folder).unwrap();
        staging.write(SUMMARY, b"{}").unwrap();
        drop(staging);
        assert!(!folder.exists());
    }

    #[test]
    fn a_new_result_replaces_the_whole_old_one_and_nothing_else() {
        let room = tempfile::tempdir().unwrap();
        let folder = room.path();
        publish(
            folder,
            &[(SUMMARY, "1"), ("part-old.vtp", "1"), ("bath.vtu", "1")],
        );
        fs::write(folder.join("notes.txt"), "mine").unwrap();
        publish(folder, &[(SUMMARY, "2"), ("part-new.vtp", "2")]);
        assert_eq!(
            entries(folder),
            [MANIFEST, "notes.txt", "part-new.vtp", SUMMARY]
        );
        assert_eq!(fs::read_to_string(folder.join(SUMMARY)).unwrap(), "2");
    }

    /// Files of our names that no run has written, files of a result that were changed since,
    /// links, and files that come while a run is at work.
    #[test]
    fn files_of_somebody_else_are_refused_and_kept() {
        for name in [
            "report.html",
            "lines.csv",
            SUMMARY,
            "picture-holiday.png",
            "part-of-my-novel.vtp",
        ] {
            let room = tempfile::tempdir().unwrap();
            fs::write(room.path().join(name), "mine").unwrap();
            let error = Staging::open(room.path()).unwrap_err();
            assert!(matches!(error, ReportError::NotOurs { .. }), "{error}");
            assert!(error.to_string().contains(name), "{error}");
            assert_eq!(entries(room.path()), [name]);
            assert_eq!(fs::read(room.path().join(name)).unwrap(), b"mine");
        }
        let room = tempfile::tempdir().unwrap();
        let folder = room.path();
        publish(folder, &[(SUMMARY, "1"), (FACETS, "1")]);
        fs::write(folder.join(FACETS), "mine").unwrap();
        assert!(matches!(
            Staging::open(folder),
            Err(ReportError::NotOurs { .. })
        ));
        fs::remove_file(folder.join(FACETS)).unwrap();
        let mut staging = Staging::open(folder).unwrap();
        for name in [SUMMARY, REPORT, "odd"] {
            staging.write(name, b"2").unwrap();
        }
        fs::write(folder.join("odd"), "mine").unwrap();
        assert!(matches!(
            staging.publish(),
            Err(ReportError::NotOurs { .. })
        ));
        assert_eq!(fs::read(folder.join("odd")).unwrap(), b"mine");
        assert_eq!(fs::read(folder.join(SUMMARY)).unwrap(), b"1");
    }

    /// A file vanishes between writing and moving: the older result stays, whole.
    #[test]
    fn a_failure_before_the_stroke_loses_nothing() {
        let room = tempfile::tempdir().unwrap();
        let folder = room.path();
        publish(
            folder,
            &[(SUMMARY, "1"), ("surface.vtp", "1"), ("part-a.vtp", "1")],
        );
        let mut staging = Staging::open(folder).unwrap();
        for name in ["surface.vtp", "facets.csv", SUMMARY] {
            staging.write(name, b"2").unwrap();
        }
        fs::remove_file(switch::unfinished(folder).join("facets.csv")).unwrap();
        let error = staging.publish().unwrap_err();
        assert!(error.to_string().contains("facets.csv"), "{error}");
        drop(staging);
        assert_eq!(
            entries(folder),
            [MANIFEST, "part-a.vtp", SUMMARY, "surface.vtp"]
        );
        for name in ["part-a.vtp", SUMMARY, "surface.vtp"] {
            assert_eq!(fs::read_to_string(folder.join(name)).unwrap(), "1");
        }
    }

    /// A run may be killed between any two steps of a switch. Each step moves or removes one file
    /// in a fixed order, so all moments are made by hand; whoever comes next finds one whole
    /// result, and nothing hidden is left.
    #[test]
    fn a_switch_that_was_broken_off_is_finished() {
        for steps in 0..=8 {
            let room = tempfile::tempdir().unwrap();
            let folder = room.path();
            publish(
                folder,
                &[(SUMMARY, "1"), (FACETS, "1"), ("part-old.vtp", "1")],
            );
            let mut staging = Staging::open(folder).unwrap();
            for name in [SUMMARY, FACETS, "part-new.vtp"] {
                staging.write(name, b"2").unwrap();
            }
            let hidden = switch::unfinished(folder);
            let finished = folder.join(".ionfall-finished");
            let list = Manifest {
                files: staging.take_made(),
            };
            list.write(&hidden).unwrap();
            let moved = |name: &str| fs::rename(finished.join(name), folder.join(name)).unwrap();
            let removed = |name: &str| fs::remove_file(folder.join(name)).unwrap();
            let all: [&dyn Fn(); 8] = [
                &|| fs::rename(&hidden, &finished).unwrap(),
                &|| removed("part-old.vtp"),
                &|| removed(SUMMARY),
                &|| moved(FACETS),
                &|| moved("part-new.vtp"),
                &|| moved(SUMMARY),
                &|| moved(MANIFEST),
                &|| fs::remove_dir(&finished).unwrap(),
            ];
            for step in &all[..steps] {
                step();
            }
            // A killed process tidies nothing up.
            std::mem::forget(staging);
            switch::settle(folder).unwrap();
            let (names, text) = if steps == 0 {
                ([MANIFEST, FACETS, "part-old.vtp", SUMMARY], "1")
            } else {
                ([MANIFEST, FACETS, "part-new.vtp", SUMMARY], "2")
            };
            assert_eq!(entries(folder), names, "after {steps} steps");
            for name in &names[1..] {
                assert_eq!(fs::read_to_string(folder.join(name)).unwrap(), text);
            }
            assert!(
                Manifest::read(folder)
                    .changed(folder, |_| true)
                    .unwrap()
                    .is_empty()
            );
        }
    }

    #[test]
    fn a_second_run_is_told() {
        let room = tempfile::tempdir().unwrap();
        let first = Staging::open(room.path()).unwrap();
        let error = Staging::open(room.path()).unwrap_err();
        assert!(matches!(error, ReportError::Busy { .. }), "{error}");
        drop(first);
        Staging::open(room.path()).unwrap();
    }

    /// Names that lead elsewhere lead nowhere.
    #[cfg(unix)]
    #[test]
    fn nothing_is_written_through_a_link() {
        use std::os::unix::fs::symlink;
        let room = tempfile::tempdir().unwrap();
        let (folder, outside) = (room.path().join("out"), room.path().join("mine"));
        fs::create_dir_all(&folder).unwrap();
        fs::create_dir_all(&outside).unwrap();
        fs::write(outside.join(FACETS), "mine").unwrap();
        symlink(&outside, switch::unfinished(&folder)).unwrap();
        publish(&folder, &[(SUMMARY, "1"), (FACETS, "1")]);
        fs::remove_file(folder.join(FACETS)).unwrap();
        symlink(outside.join(FACETS), folder.join(FACETS)).unwrap();
        assert!(matches!(
            Staging::open(&folder),
            Err(ReportError::NotOurs { .. })
        ));
        assert_eq!(entries(&outside), [FACETS]);
        assert_eq!(fs::read(outside.join(FACETS)).unwrap(), b"mine");
    }

    #[test]
    fn a_folder_that_cannot_be_is_an_error() {
        let room = tempfile::tempdir().unwrap();
        let file = room.path().join("file");
        fs::write(&file, "x").unwrap();
        for folder in [file.join("out"), file.clone()] {
            assert!(matches!(
                Staging::open(&folder),
                Err(ReportError::Write { .. })
            ));
        }
        assert_eq!(fs::read_to_string(&file).unwrap(), "x");
    }
}
