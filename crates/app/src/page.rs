//! `ionfall page`: the live page with a job, or with an empty tank, as one file.

use crate::error::AppError;
use ionfall_job::{NamedFiles, parse_with};
use ionfall_live::{Start, page};
use ionfall_report::ReportError;
use std::borrow::Cow;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

/// The folder of a job, and what was read from it.
struct Recorded<'a> {
    folder: &'a Path,
    read: RefCell<BTreeMap<String, Vec<u8>>>,
}

impl NamedFiles for Recorded<'_> {
    fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    fn length(&self, name: &str) -> Option<u64> {
        let found = std::fs::metadata(self.path(name)).ok()?;
        found.is_file().then(|| found.len())
    }

    fn bytes(&self, name: &str) -> io::Result<Cow<'_, [u8]>> {
        let bytes = std::fs::read(self.path(name))?;
        self.read.borrow_mut().insert(name.to_owned(), bytes.clone());
        Ok(Cow::Owned(bytes))
    }

    fn way_out(&self) -> &'static str {
        "check its name; files are looked for from the folder of the job file"
    }
}

/// Writes the page. Only files that the job names, and that are meshes or pictures, go into it.
///
/// # Errors
/// Everything wrong with the job; a file that cannot be written.
pub(crate) fn write_page(job: Option<&Path>, out: &Path) -> Result<u64, AppError> {
    let written = match job {
        None => page(None),
        Some(job) => {
            // Tells all that is wrong with the job.
            ionfall_job::read(job)?;
            let text = std::fs::read_to_string(job).map_err(|source| {
                let path = job.to_owned();
                ReportError::Unreadable { path, source }
            })?;
            let name = job.file_name().unwrap_or_default().to_string_lossy();
            let folder = job.parent().unwrap_or(Path::new(""));
            let recorded = Recorded { folder, read: RefCell::default() };
            // It has been read without faults just now.
            let _ = parse_with(&name, &text, &recorded);
            page(Some(&Start { name: &name, text: &text, files: &recorded.read.into_inner() }))
        }
    };
    let written = written.map_err(ReportError::from)?;
    std::fs::write(out, &written).map_err(|source| {
        let path = out.to_owned();
        ReportError::Write { path, source }
    })?;
    Ok(written.len() as u64)
}
