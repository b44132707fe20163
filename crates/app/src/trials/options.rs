//! What trials are asked for.

use std::path::PathBuf;

/// What trials are asked for.
#[derive(Clone, Debug, Default)]
pub struct TrialsOptions {
    /// What to vary: `KEY=VALUES`.
    pub vary: Vec<String>,
    /// Folder of the trials; else one beside the job.
    pub out: Option<PathBuf>,
    /// Only this case, counted from one; nothing is gathered then.
    pub case: Option<usize>,
    /// Only gather what is there.
    pub merge: bool,
    /// Also keep the whole results of each case.
    pub keep: bool,
    /// Threads of each case, 0 for one.
    pub threads: usize,
    /// Cases at once; else what processors and memory allow.
    pub workers: Option<usize>,
}
