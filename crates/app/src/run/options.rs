//! How a job is to be run.

use std::path::PathBuf;

/// How to run.
#[derive(Clone, Debug, Default)]
pub struct RunOptions {
    /// Folder of results; else the job's own, else one beside the job.
    pub out: Option<PathBuf>,
    /// May the job name a folder of results outside of its own folder?
    pub outside: bool,
    /// Number of threads, 0 for all processors.
    pub threads: usize,
    /// Memory the run may take, bytes; else most of what is free.
    pub memory_bytes: Option<u64>,
    /// Go on from the progress kept in the folder, if there is any.
    pub resume: bool,
    /// Repeat the run with the bath's figures at the ends of their bands.
    pub spread: bool,
    /// Repeat the run with what a shop could change.
    pub levers: bool,
    /// Also files that are left out of large results?
    pub all_files: bool,
    /// Also pictures and a job sheet?
    pub pictures: bool,
    /// When the plus-minus of the answers is worked out on a coarser grid.
    pub plus_minus: PlusMinus,
    /// What decides about the cells.
    pub cells: Cells,
}

/// What decides about the cells of a run.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Cells {
    /// The job: the accuracy that it asks for, else its sizes.
    #[default]
    OfJob,
    /// This accuracy: the largest plus-minus over an answer.
    Within(f64),
    /// The sizes of the job, whatever accuracy it asks for.
    AsWritten,
}

/// When a run is repeated on a coarser grid for the plus-minus of its answers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum PlusMinus {
    /// Where the coarser grids together have less than half of the cells, or the job has few cells.
    #[default]
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}
