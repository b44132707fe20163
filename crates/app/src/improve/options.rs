//! What `ionfall improve` is asked.

use super::goal::Goal;
use std::path::PathBuf;

/// What `ionfall improve` is asked.
#[derive(Clone, Debug)]
pub struct ImproveOptions {
    /// What may be changed: `KEY=FROM..TO UNIT`.
    pub free: Vec<String>,
    /// What for.
    pub goal: Goal,
    /// A second goal, that the first is weighed against.
    pub against: Option<Goal>,
    /// Largest share of the limiting current.
    pub most_share: f64,
    /// Largest voltage of the main supply, V.
    pub most_v: Option<f64>,
    /// Largest current density at any place of an anode, A/dm2.
    pub most_anode: Option<f64>,
    /// Longest plating time, h.
    pub most_h: Option<f64>,
    /// Solves that the search may take, the start included.
    pub solves: usize,
    /// Folder of the search; else one beside the job.
    pub out: Option<PathBuf>,
    /// Threads, 0 for all processors.
    pub threads: usize,
}
