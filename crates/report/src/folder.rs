//! The folder of results: written whole or not at all.
//!
//! Files are made in a hidden folder inside the folder of results (the same disk, so that moving
//! is renaming). [`Staging::publish`] sets an older result aside, its summary first, and moves the
//! new files in, the summary last; if any of this fails the older result is put back. Files that
//! are none of ours stay untouched. [`Staging::update`] replaces single files of a result.

use crate::error::ReportError;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// The file that makes a folder of results whole.
pub const SUMMARY: &str = "summary.json";

/// The report.
pub const REPORT: &str = "report.html";

/// The table of facets.
pub(crate) const FACETS: &str = "facets.csv";

/// The table of named lines.
pub(crate) const LINES: &str = "lines.csv";

/// Fixed names of result files; parts are called `part-NAME.vtp`, pictures
/// `picture-NAME.png` or `.svg`.
const NAMES: [&str; 8] = [
    SUMMARY,
    REPORT,
    "job-sheet.html",
    "surface.vtp",
    "bath.vtu",
    "series.pvd",
    FACETS,
    LINES,
];

/// Name of the hidden folder, before the number of the process.
const STAGE: &str = ".ionfall-unfinished-";

/// Results in the making.
#[derive(Debug)]
pub struct Staging {
    folder: PathBuf,
    stage: PathBuf,
    new_folder: bool,
    names: Vec<String>,
}

impl Staging {
    /// Makes the folder if need be, and the hidden folder in it.
    ///
    /// # Errors
    /// [`ReportError::Write`] if it cannot be written to.
    pub fn open(folder: &Path) -> Result<Self, ReportError> {
        let new_folder = !folder.exists();
        fs::create_dir_all(folder).map_err(|e| failed(folder, e))?;
        let stage = folder.join(format!("{STAGE}{}", std::process::id()));
        tidy(folder).map_err(|e| failed(folder, e))?;
        let staging = Self {
            folder: folder.into(),
            stage,
            new_folder,
            names: Vec::new(),
        };
        fs::create_dir_all(staging.aside()).map_err(|e| failed(&staging.stage, e))?;
        Ok(staging)
    }

    /// Writes one file. A name given twice is written twice; the later one stays.
    ///
    /// # Errors
    /// [`ReportError::Write`], for instance on a full disk.
    pub fn write(&mut self, name: &str, content: &[u8]) -> Result<(), ReportError> {
        self.fill(name, |to| to.write_all(content))
    }

    /// As [`write`](Self::write), a large file piece by piece.
    pub(crate) fn fill(
        &mut self,
        name: &str,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), ReportError> {
        let put = || {
            let mut to = Noting {
                to: BufWriter::new(File::create(self.stage.join(name))?),
                fault: None,
            };
            let filled = fill(&mut to);
            to.fault.map_or(filled, Err)?;
            let file = to.to.into_inner().map_err(io::IntoInnerError::into_error)?;
            // Only now a full disk is sure to have been noticed.
            file.sync_all()
        };
        put().map_err(|e| failed(&self.folder.join(name), e))?;
        if !self.names.iter().any(|n| n == name) {
            self.names.push(name.into());
        }
        Ok(())
    }

    /// Puts everything into place and says what there is now.
    ///
    /// # Errors
    /// [`ReportError::Write`]; the folder is then as it was before.
    pub fn publish(mut self) -> Result<Vec<String>, ReportError> {
        let mut new = self.names.clone();
        new.sort_by_key(|name| name == SUMMARY);
        let mut old = self.older().map_err(|e| failed(&self.folder, e))?;
        old.sort_by_key(|name| name != SUMMARY);
        let aside = self.aside();
        move_all(&old, &self.folder, &aside)?;
        if let Err(error) = move_all(&new, &self.stage, &self.folder) {
            old.reverse();
            move_all(&old, &aside, &self.folder)?;
            return Err(error);
        }
        self.new_folder = false;
        Ok(new)
    }

    /// Puts the files into place in a result that stays as it is otherwise, one after the other,
    /// the summary last. Whenever this stops, each file there is whole, the old one or the new.
    ///
    /// # Errors
    /// [`ReportError::Write`].
    pub fn update(mut self) -> Result<(), ReportError> {
        let mut new = std::mem::take(&mut self.names);
        new.sort_by_key(|name| name == SUMMARY);
        for name in new {
            let to = self.folder.join(&name);
            fs::rename(self.stage.join(&name), &to).map_err(|e| failed(&to, e))?;
        }
        Ok(())
    }

    /// The folder of results.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    fn aside(&self) -> PathBuf {
        self.stage.join("older")
    }

    /// Result files of an earlier run.
    fn older(&self) -> io::Result<Vec<String>> {
        let mut names = Vec::new();
        for entry in fs::read_dir(&self.folder)? {
            if let Ok(name) = entry?.file_name().into_string() {
                let many = ["part-", "surface-"].iter().any(|p| name.starts_with(p));
                let picture = name.starts_with("picture-")
                    && (name.ends_with(".png") || name.ends_with(".svg"));
                if (many && name.ends_with(".vtp")) || picture || NAMES.contains(&name.as_str()) {
                    names.push(name);
                }
            }
        }
        Ok(names)
    }
}

/// A file that remembers what went wrong with it, because `vtkio` only tells that something did. It
/// also overlooks short writes, so that each is whole here.
struct Noting {
    to: BufWriter<File>,
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
        let _ = fs::remove_dir_all(&self.stage);
        if self.new_folder {
            let _ = fs::remove_dir(&self.folder);
        }
    }
}

/// Removes what runs that were killed have left, after putting back an older result that one of
/// them had set aside. Runs that are still alive keep theirs (where the system lists processes).
fn tidy(folder: &Path) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name();
        let Some(process) = name.to_str().and_then(|n| n.strip_prefix(STAGE)) else {
            continue;
        };
        if Path::new("/proc").join(process).exists() {
            continue;
        }
        let mut aside: Vec<_> = fs::read_dir(entry.path().join("older"))
            .into_iter()
            .flatten()
            .collect::<Result<_, _>>()?;
        aside.sort_by_key(|file| file.file_name() == SUMMARY);
        for file in aside {
            fs::rename(file.path(), folder.join(file.file_name()))?;
        }
        fs::remove_dir_all(entry.path())?;
    }
    Ok(())
}

/// Renames files from one folder to another, or none of them.
fn move_all(names: &[String], from: &Path, to: &Path) -> Result<(), ReportError> {
    for (n, name) in names.iter().enumerate() {
        if let Err(error) = fs::rename(from.join(name), to.join(name)) {
            for name in names[..n].iter().rev() {
                fs::rename(to.join(name), from.join(name))
                    .map_err(|e| failed(&to.join(name), e))?;
            }
            return Err(failed(&to.join(name), error));
        }
    }
    Ok(())
}

fn failed(path: &Path, source: io::Error) -> ReportError {
    ReportError::Write {
        path: path.into(),
        source,
    }
}

#[cfg(test)]
mod tests {
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
        assert_eq!(entries(&folder), ["facets.csv", SUMMARY]);
    }

    #[test]
    fn an_update_replaces_what_it_names() {
        let room = tempfile::tempdir().unwrap();
        let folder = room.path();
        publish(folder, &[(SUMMARY, "1"), (REPORT, "1"), (FACETS, "1")]);
        let mut staging = Staging::open(folder).unwrap();
        staging.write(SUMMARY, b"2").unwrap();
        staging.write(REPORT, b"2").unwrap();
        assert_eq!(fs::read_to_string(folder.join(SUMMARY)).unwrap(), "1");
        staging.update().unwrap();
        assert_eq!(entries(folder), [FACETS, REPORT, SUMMARY]);
        let read = |name| fs::read_to_string(folder.join(name)).unwrap();
        assert_eq!([FACETS, REPORT, SUMMARY].map(read), ["1", "2", "2"]);
        // Given up, it leaves the result as it is.
        let mut staging = Staging::open(folder).unwrap();
        staging.write(SUMMARY, b"3").unwrap();
        drop(staging);
        assert_eq!(entries(folder), [FACETS, REPORT, SUMMARY]);
        assert_eq!(read(SUMMARY), "2");
    }

    #[test]
    fn given_up_leaves_no_trace() {
        let room = tempfile::tempdir().unwrap();
        let folder = room.path().join("new");
        let mut staging = Staging::open(&folder).unwrap();
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
        assert_eq!(entries(folder), ["notes.txt", "part-new.vtp", SUMMARY]);
        assert_eq!(fs::read_to_string(folder.join(SUMMARY)).unwrap(), "2");
    }

    /// A file vanishes between writing and moving: the older result must be back, whole.
    #[test]
    fn a_failure_while_moving_loses_nothing() {
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
        fs::remove_file(staging.stage.join("facets.csv")).unwrap();
        let error = staging.publish().unwrap_err();
        assert!(error.to_string().contains("facets.csv"), "{error}");
        assert_eq!(entries(folder), ["part-a.vtp", SUMMARY, "surface.vtp"]);
        for name in entries(folder) {
            assert_eq!(fs::read_to_string(folder.join(name)).unwrap(), "1");
        }
    }

    /// A run was killed while it moved its files in: the older result comes back.
    #[test]
    fn what_a_killed_run_left_is_tidied_up() {
        let room = tempfile::tempdir().unwrap();
        let folder = room.path();
        publish(folder, &[(SUMMARY, "1"), ("surface.vtp", "1")]);
        // No process has this number.
        let stage = folder.join(".ionfall-unfinished-4194305");
        fs::create_dir_all(stage.join("older")).unwrap();
        for name in ["surface.vtp", SUMMARY] {
            fs::rename(folder.join(name), stage.join("older").join(name)).unwrap();
        }
        fs::write(folder.join("surface.vtp"), "2").unwrap();
        drop(Staging::open(folder).unwrap());
        assert_eq!(entries(folder), [SUMMARY, "surface.vtp"]);
        for name in entries(folder) {
            assert_eq!(fs::read_to_string(folder.join(name)).unwrap(), "1");
        }
    }

    #[test]
    fn a_folder_that_cannot_be_is_an_error() {
        let room = tempfile::tempdir().unwrap();
        let file = room.path().join("file");
        fs::write(&file, "x").unwrap();
        assert!(matches!(
            Staging::open(&file.join("out")),
            Err(ReportError::Write { .. })
        ));
        assert!(matches!(
            Staging::open(&file),
            Err(ReportError::Write { .. })
        ));
        assert_eq!(fs::read_to_string(&file).unwrap(), "x");
    }
}
