//! What a study is asked for.

use std::path::PathBuf;

/// What a study is asked for.
#[derive(Clone, Debug, Default)]
pub struct StudyOptions {
    /// What to vary: `KEY=VALUES`.
    pub vary: Vec<String>,
    /// Folder of the study; else one beside the job.
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
