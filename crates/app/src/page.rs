//! `ionfall page`: the live page, with a job and its files in it or empty.

use crate::error::AppError;
use crate::files::put;
use ionfall_job::{JobError, NamedFiles, parse_with};
use ionfall_live::{Start, page};
use std::borrow::Cow;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::{fs, io};

/// Name of the job of a page that has none yet.
const NEW: &str = "job.toml";

/// Writes the page; gives what is said of it.
///
/// # Errors
/// A job that cannot be read or has faults; a page that cannot be written.
pub(crate) fn write_page(job: Option<&Path>, out: &Path) -> Result<String, AppError> {
    let start = match job {
        Some(job) => start(job)?,
        None => Start {
            name: NEW.into(),
            ..Start::default()
        },
    };
    let text = page(&start).map_err(|error| AppError::Output(io::Error::other(error)))?;
    put(out, text.as_bytes())?;
    Ok(format!(
        "{} ({:.1} MB) opens in any browser, without a network.\n",
        out.display(),
        1e-6 * text.len() as f64
    ))
}

/// A job with the files that it names.
fn start(job: &Path) -> Result<Start, AppError> {
    let text = fs::read_to_string(job).map_err(|source| JobError::Read {
        path: job.into(),
        source,
    })?;
    let files = Seen {
        folder: job.parent().unwrap_or(Path::new("")),
        bytes: RefCell::default(),
    };
    parse_with(&job.display().to_string(), &text, &files)
        .map_err(|faults| JobError::Faults(Box::new(faults)))?;
    Ok(Start {
        name: job
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned(),
        text: Some(text),
        files: files.bytes.into_inner(),
    })
}

/// The folder of a job, and what was read in it.
struct Seen<'a> {
    folder: &'a Path,
    bytes: RefCell<BTreeMap<String, Vec<u8>>>,
}

impl NamedFiles for Seen<'_> {
    fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    fn length(&self, name: &str) -> Option<u64> {
        let found = fs::metadata(self.path(name)).ok()?;
        found.is_file().then_some(found.len())
    }

    fn bytes(&self, name: &str) -> io::Result<Cow<'_, [u8]>> {
        let found = fs::read(self.path(name))?;
        self.bytes
            .borrow_mut()
            .insert(name.to_owned(), found.clone());
        Ok(Cow::Owned(found))
    }

    fn way_out(&self) -> &'static str {
        "check its name; files are looked for from the folder of the job file"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_carries_the_job_and_its_files() {
        let room = tempfile::tempdir().unwrap();
        let out = room.path().join("plaque.html");
        let job = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/plaque/plaque.toml");
        let said = write_page(Some(&job), &out).unwrap();
        assert!(said.contains("plaque.html"), "{said}");
        let page = fs::read_to_string(&out).unwrap();
        assert!(page.contains("\"name\":\"plaque.toml\""));
        assert!(page.contains("\"files\":{\"harbour.png\":\""));
        write_page(None, &out).unwrap();
        let empty = fs::read_to_string(&out).unwrap();
        assert!(empty.contains("\"name\":\"job.toml\",\"text\":null"));
        assert!(empty.len() < page.len());
    }

    #[test]
    fn faults_and_folders_that_are_not_there_are_told() {
        let room = tempfile::tempdir().unwrap();
        let job = room.path().join("bad.toml");
        fs::write(&job, "title = 3").unwrap();
        let out = room.path().join("page.html");
        assert_eq!(write_page(Some(&job), &out).unwrap_err().exit_code(), 2);
        assert!(!out.exists());
        let nowhere = room.path().join("no/page.html");
        assert_eq!(write_page(None, &nowhere).unwrap_err().exit_code(), 4);
        let lost = room.path().join("lost.toml");
        assert_eq!(write_page(Some(&lost), &out).unwrap_err().exit_code(), 2);
    }
}
