//! Runs whose cells follow from an accuracy that is asked for: telling how far the search has come.

use super::options::{Cells, RunOptions};
use crate::error::AppError;
use crate::progress::{Telling, tell};
use ionfall_deposit::accuracy::Laid;
use ionfall_deposit::{Observer, Stage};
use ionfall_model::{Model, Parts};
use ionfall_numerics::number::{grouped, significant};

/// Share of the bar that is left after each grid: how many there will be is not known.
const LEFT: f64 = 0.75;

/// The accuracy that is asked for, by the options or the job.
pub(super) fn asked<const D: usize>(
    model: &Model<Parts<D>>,
    options: &RunOptions,
) -> Result<Option<f64>, AppError> {
    let asked = match options.cells {
        Cells::AsWritten => None,
        Cells::OfJob => model.resolution.accuracy,
        Cells::Within(share) => Some(share),
    };
    if asked.is_some() && model.plan.is_empty() {
        return Err(AppError::NoThickness);
    }
    if asked.is_some() && options.resume {
        return Err(AppError::NoProgress);
    }
    Ok(asked)
}

/// Tells how far a search has come.
pub(super) struct Searching<'a> {
    telling: &'a Telling,
    /// How many grids there are with the one at work, and what is known of the one before.
    grids: usize,
    before: String,
    /// Is it at a coarser grid, for the plus-minus?
    coarser: bool,
}

impl<'a> Searching<'a> {
    pub fn new(telling: &'a Telling) -> Self {
        Self {
            telling,
            grids: 1,
            before: String::new(),
            coarser: false,
        }
    }
}

impl Observer for Searching<'_> {
    fn lays(&mut self, before: &[Laid]) {
        self.grids = before.len() + 1;
        self.coarser = false;
        self.before = before.last().map_or(String::new(), |last| {
            let share = last.share.map_or("plus-minus not known".into(), |share| {
                format!("{} %", significant(100.0 * share, 2))
            });
            format!(" ({share} with {} cells)", grouped(last.cells))
        });
    }

    fn coarser(&mut self, _number: usize) {
        self.coarser = true;
    }

    fn begins(&mut self, _stage: Stage, what: &str) {
        let done = 1.0 - LEFT.powi(self.grids as i32 - 1);
        let why = if self.coarser { ", plus-minus" } else { "" };
        let text = format!("grid {}{}{why}: {what}", self.grids, self.before);
        tell(self.telling, done, text);
    }
}
