//! How far a run has come, kept in a file so that it can go on after it was stopped.
//!
//! ```text
//! "ionfall progress"  version  fingerprint of the job  length  state (postcard)  CRC-32 of the state
//! ```
//! Numbers are little-endian. The file is written beside its final name and renamed, so whoever
//! is killed leaves the earlier file whole; it is removed when the results are complete.

use crate::error::CheckpointError;
use crate::files::write_new;
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

const MAGIC: &[u8; 16] = b"ionfall progress";
/// Raised whenever the state changes its make.
const VERSION: u32 = 4;
const HEAD: usize = MAGIC.len() + 4 + 8 + 8;

/// The file of a run.
#[derive(Clone, Debug)]
pub(crate) struct Checkpoint {
    path: PathBuf,
    /// Where it is written first.
    new: PathBuf,
    fingerprint: u64,
}

impl Checkpoint {
    /// In the folder of results.
    pub fn new(folder: &Path, fingerprint: u64) -> Self {
        let path = folder.join("progress.ionfall");
        Self {
            new: path.with_extension("new"),
            path,
            fingerprint,
        }
    }

    /// In a file of another name, which several processes may write at the same time.
    pub fn shared(path: PathBuf, fingerprint: u64) -> Self {
        Self {
            new: path.with_extension(format!("new-{}", std::process::id())),
            path,
            fingerprint,
        }
    }

    fn failed(&self, source: io::Error) -> CheckpointError {
        CheckpointError::File {
            path: self.path.clone(),
            source,
        }
    }

    /// Keeps a state.
    pub fn write(&self, state: &impl Serialize) -> Result<(), CheckpointError> {
        let body = postcard::to_stdvec(state).map_err(|e| self.failed(io::Error::other(e)))?;
        let mut bytes = Vec::with_capacity(HEAD + body.len() + 4);
        bytes.extend(MAGIC);
        bytes.extend(VERSION.to_le_bytes());
        bytes.extend(self.fingerprint.to_le_bytes());
        bytes.extend((body.len() as u64).to_le_bytes());
        bytes.extend(&body);
        bytes.extend(crc32fast::hash(&body).to_le_bytes());
        write_new(&self.new, &bytes)
            .and_then(|()| fs::rename(&self.new, &self.path))
            .map_err(|e| {
                // What is left of it hinders nobody.
                let _ = fs::remove_file(&self.new);
                self.failed(e)
            })
    }

    /// The state kept last; nothing if there is no file.
    pub fn read<T: DeserializeOwned>(&self) -> Result<Option<T>, CheckpointError> {
        let bytes = match fs::read(&self.path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(self.failed(error)),
        };
        let path = self.path.clone();
        let damaged = || CheckpointError::Damaged {
            path: self.path.clone(),
        };
        let field = |from: usize, to: usize| bytes.get(from..to).ok_or_else(damaged);
        if field(0, MAGIC.len())? != MAGIC {
            return Err(damaged());
        }
        let number = |from: usize, size: usize| -> Result<u64, CheckpointError> {
            let mut wide = [0; 8];
            wide[..size].copy_from_slice(field(from, from + size)?);
            Ok(u64::from_le_bytes(wide))
        };
        if number(MAGIC.len(), 4)? != u64::from(VERSION) {
            return Err(CheckpointError::OtherVersion { path });
        }
        if number(MAGIC.len() + 4, 8)? != self.fingerprint {
            return Err(CheckpointError::OtherJob { path });
        }
        let length = number(MAGIC.len() + 12, 8)?;
        let end = usize::try_from(length)
            .ok()
            .and_then(|l| HEAD.checked_add(l))
            .ok_or_else(damaged)?;
        let body = field(HEAD, end)?;
        if number(end, 4)? != u64::from(crc32fast::hash(body)) || bytes.len() != end + 4 {
            return Err(damaged());
        }
        postcard::from_bytes(body).map(Some).map_err(|_| damaged())
    }

    /// Removes the file, if there is one, and what a run that was killed has left beside it.
    pub fn remove(&self) -> Result<(), CheckpointError> {
        for path in [&self.new, &self.path] {
            match fs::remove_file(path) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => {
                    return Err(self.failed(error));
                }
                _ => {}
            }
        }
        Ok(())
    }
}
