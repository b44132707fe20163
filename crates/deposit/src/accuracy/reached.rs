//! What came of an accuracy that was asked for.

use serde::Serialize;

/// A grid on the way.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Laid {
    /// Its cells.
    pub cells: usize,
    /// Largest plus-minus over its answer, if it could be worked out.
    pub share: Option<f64>,
}

/// Why no further grid was laid.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Ending {
    /// It is as sharp as was asked.
    Met,
    /// The next grid does not fit into the memory.
    Memory,
    /// The cells are as small as the job allows.
    SmallestCells,
    /// So many grids were laid.
    Grids,
    /// The next grid could not be solved: why.
    Failed(String),
}

/// How sharp the answers are, and after which grids.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AccuracyReached {
    /// Largest plus-minus over an answer that was asked for.
    pub asked_share: f64,
    /// The figure that is off most, if the plus-minus could be worked out.
    pub worst: Option<String>,
    /// The grids, the last one that of the answers.
    pub grids: Vec<Laid>,
    /// Why it ended.
    pub ending: Ending,
}

impl AccuracyReached {
    /// Largest plus-minus over its answer at the end.
    pub fn share(&self) -> Option<f64> {
        self.grids.last()?.share
    }
}
