//! Solving a job, keeping the progress in its folder.

use super::{Extras, RunOptions, write};
use crate::checkpoint::Checkpoint;
use crate::error::AppError;
use ionfall_deposit::spread::spread;
use ionfall_deposit::{Begin, Go, Outcome, Settings, State, run_from};
use ionfall_job::{Model, Parts};
use ionfall_report::{Staging, Summary};

/// A job to be solved.
pub(super) struct Solver<'a, const D: usize> {
    model: &'a Model,
    parts: &'a Parts<D>,
    settings: &'a Settings,
    progress: &'a (dyn Fn(&str) + Sync),
}

impl<'a, const D: usize> Solver<'a, D> {
    pub fn new(
        model: &'a Model,
        parts: &'a Parts<D>,
        settings: &'a Settings,
        progress: &'a (dyn Fn(&str) + Sync),
    ) -> Self {
        Self {
            model,
            parts,
            settings,
            progress,
        }
    }

    /// Computes and writes everything.
    pub fn run(
        &self,
        options: &RunOptions,
        staging: Staging,
        checkpoint: &Checkpoint,
        begin: Begin,
    ) -> Result<(Summary, Vec<String>), AppError> {
        let outcome = self.solve(checkpoint, begin)?;
        let spread = if options.spread {
            let telling = &mut |_, text: &str| (self.progress)(text);
            let Self {
                model,
                parts,
                settings,
                ..
            } = *self;
            Some(spread(model, parts, settings, telling, &outcome)?)
        } else {
            None
        };
        let extras = Extras {
            spread,
            pictures: options.pictures,
        };
        let written = write(
            staging,
            self.model,
            self.parts,
            &outcome,
            extras,
            self.progress,
        )?;
        checkpoint.remove()?;
        Ok(written)
    }

    /// Grid, field and time steps; the state is kept after each of them.
    fn solve(&self, checkpoint: &Checkpoint, begin: Begin) -> Result<Outcome<D>, AppError> {
        let model = self.model;
        let mut unkept = None;
        let mut keep = |state: &State| {
            if state.step < model.plan.len()
                && let Err(error) = checkpoint.write(state)
            {
                unkept = Some(error);
                return Go::Stop;
            }
            Go::On
        };
        let telling = &mut |_, text: &str| (self.progress)(text);
        let outcome = run_from(
            model,
            self.parts,
            self.settings,
            telling,
            begin,
            &mut keep,
        );
        match unkept {
            Some(error) => Err(error.into()),
            None => Ok(outcome?),
        }
    }
}
