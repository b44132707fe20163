//! The folder of trials: a file for each finished case, and the potentials of case 1.
//!
//! `case-0007.json` holds the figures of a case, or why it failed, with the fingerprint of what
//! they depend on; a file with another fingerprint counts for nothing. Files are written beside
//! their final name and renamed, so several processes may work on the same trials.

use crate::checkpoint::Checkpoint;
use crate::error::AppError;
use crate::files::{json, put};
use ionfall_deposit::Nearby;
use ionfall_report::{Digest, ReportError};
use serde::{Deserialize, Serialize};
use std::fs;
use std::path::{Path, PathBuf};

/// A finished case.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Kept {
    fingerprint: String,
    /// Key figures; nothing if it failed.
    pub digest: Option<Digest>,
    /// Currents that were found, A, where some were to be.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub currents_a: Vec<f64>,
    /// Why it failed.
    pub failure: Option<String>,
    /// How long it took, s.
    pub seconds: f64,
}

/// The folder.
#[derive(Debug)]
pub(crate) struct Store {
    folder: PathBuf,
}

impl Store {
    /// Makes the folder if need be, and removes what killed processes have left half written.
    pub fn open(folder: &Path) -> Result<Self, AppError> {
        fs::create_dir_all(folder).map_err(|e| failed(folder, e))?;
        let lists_processes = Path::new("/proc/self").exists();
        let entries = fs::read_dir(folder).map_err(|e| failed(folder, e))?;
        for entry in entries.flatten() {
            let path = entry.path();
            let extension = path.extension().and_then(|e| e.to_str());
            let process = extension.and_then(|e| e.strip_prefix("new-"));
            let is_dead = |p: &str| lists_processes && !Path::new("/proc").join(p).exists();
            if process.is_some_and(is_dead) {
                // Somebody else may have been quicker.
                let _ = fs::remove_file(path);
            }
        }
        Ok(Self {
            folder: folder.into(),
        })
    }

    fn path(&self, case: usize) -> PathBuf {
        self.folder.join(format!("case-{case:04}.json"))
    }

    /// Folder for the whole results of a case.
    pub fn results(&self, case: usize) -> PathBuf {
        self.folder.join(format!("case-{case:04}"))
    }

    /// What is known of a case. A file that is damaged counts for nothing.
    pub fn read(&self, case: usize, fingerprint: u64) -> Option<Kept> {
        let text = fs::read_to_string(self.path(case)).ok()?;
        let kept: Kept = serde_json::from_str(&text).ok()?;
        (kept.fingerprint == written(fingerprint)).then_some(kept)
    }

    /// Keeps a case.
    pub fn write(
        &self,
        case: usize,
        fingerprint: u64,
        found: &Result<(Digest, Vec<f64>), String>,
        seconds: f64,
    ) -> Result<(), AppError> {
        let kept = Kept {
            fingerprint: written(fingerprint),
            digest: found.as_ref().ok().map(|found| found.0.clone()),
            currents_a: (found.as_ref().ok()).map_or_else(Vec::new, |found| found.1.clone()),
            failure: found.as_ref().err().cloned(),
            seconds,
        };
        let text = json(&kept)? + "\n";
        put(&self.path(case), text.as_bytes())
    }

    fn start(&self, fingerprint: u64) -> Checkpoint {
        Checkpoint::shared(self.folder.join("start.ionfall"), fingerprint)
    }

    /// The potentials of case 1. What cannot be read is computed anew.
    pub fn read_start(&self, fingerprint: u64) -> Option<Nearby> {
        self.start(fingerprint).read().ok().flatten()
    }

    /// Keeps the potentials of case 1.
    pub fn write_start(&self, fingerprint: u64, start: &Nearby) -> Result<(), AppError> {
        Ok(self.start(fingerprint).write(start)?)
    }
}

fn written(fingerprint: u64) -> String {
    format!("{fingerprint:016x}")
}

fn failed(path: &Path, source: std::io::Error) -> AppError {
    AppError::Report(ReportError::Write {
        path: path.into(),
        source,
    })
}
