//! What must not be exceeded: `ln(most / figure) >= 0`.

use super::options::ImproveOptions;
use ionfall_report::{Digest, KeyFigure};

/// What must not be exceeded.
#[derive(Clone, Copy, Debug)]
pub(super) struct Limit {
    pub figure: KeyFigure,
    /// In the unit of the figure.
    pub most: f64,
}

impl Limit {
    /// Those of a search.
    pub fn all(options: &ImproveOptions) -> Vec<Self> {
        [
            (KeyFigure::LimitShare, Some(100.0 * options.most_share)),
            (KeyFigure::Voltage, options.most_v),
            (KeyFigure::Time, options.most_h),
            (KeyFigure::AnodeDensity, options.most_anode),
        ]
        .into_iter()
        .filter_map(|(figure, most)| most.map(|most| Self { figure, most }))
        .collect()
    }

    /// The room that is left, as a logarithm; negative if it is exceeded. A figure that does not exist
    /// (no limiting current is known) exceeds nothing.
    pub fn room(&self, digest: &Digest) -> f64 {
        match self.figure.of(digest) {
            Some(value) if value > 0.0 => (self.most / value).ln(),
            _ => 1.0,
        }
    }
}
