//! When powder coats are covered, if their first metal grows in islands ([`cover`](crate::cover)).

use serde::Serialize;

/// When an electrode is covered with the least and the most of islands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Covering {
    /// The electrode.
    pub on: String,
    /// Thickness of the islands, m.
    pub islands_m: [f64; 2],
    /// When its last place is covered, s; nothing where the plan ends before, or no current can flow.
    pub covered_after_s: [Option<f64>; 2],
    /// Size of the cells on which that was computed, over those of the run.
    pub cells: f64,
}
