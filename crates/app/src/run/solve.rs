//! Solving a job, keeping the progress in its folder.

use super::{Extras, PlusMinus, RunOptions, write};
use crate::checkpoint::Checkpoint;
use crate::error::AppError;
use crate::progress::{Telling, part, tell};
use ionfall_deposit::spread::spread;
use ionfall_deposit::uncertainty::{self, Uncertainty, uncertainty};
use ionfall_deposit::{Begin, Go, Outcome, Settings, Stage, State, run_from};
use ionfall_field::Watch;
use ionfall_job::{Model, Parts, Setting};
use ionfall_report::{Staging, Summary};

/// Shares of the work that are done with the grid and with the solution, where one solve is all
/// and where there are many time steps (both measured, roughly).
const AT_ONCE: [f64; 2] = [0.35, 0.75];
const STEPPED: [f64; 2] = [0.05, 0.95];
/// Share of a run's cells that the coarser grid for the plus-minus may have, and the time, s, of a
/// run so short that it does not matter.
const PLUS_MINUS_COST: f64 = 0.4;
const SHORT_S: f64 = 1.0;
/// Power of ten of the solver's tolerance.
const TOLERANCE_POWER: f64 = -10.0;

/// Is the plan gone through in many time steps?
fn is_stepped<const D: usize>(model: &Model, parts: &Parts<D>) -> bool {
    let ramp = |step: &ionfall_job::Step| matches!(step.setting, Setting::Ramp(..));
    !parts.coats.is_empty() || model.plan.iter().any(ramp)
}

/// A job to be solved.
pub(super) struct Solver<'a, const D: usize> {
    model: &'a Model,
    parts: &'a Parts<D>,
    settings: &'a Settings,
    telling: &'a Telling,
    /// Share of the work that is done when the grid and when the solution is there.
    shares: [f64; 2],
}

impl<'a, const D: usize> Solver<'a, D> {
    pub fn new(
        model: &'a Model,
        parts: &'a Parts<D>,
        settings: &'a Settings,
        telling: &'a Telling,
    ) -> Self {
        Self {
            model,
            parts,
            settings,
            telling,
            shares: if is_stepped(model, parts) {
                STEPPED
            } else {
                AT_ONCE
            },
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
            let telling = &mut |_, text: &str| tell(self.telling, self.shares[1], text);
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
            uncertainty: self.uncertainty(options.plus_minus, &outcome)?,
            pictures: options.pictures,
        };
        let written = write(
            staging,
            self.model,
            self.parts,
            &outcome,
            extras,
            &part(self.telling, self.shares[1], 1.0, String::new()),
        )?;
        checkpoint.remove()?;
        Ok(written)
    }

    /// Plus-minus of the answers, or why it could not be worked out; nothing if it is too costly.
    fn uncertainty(
        &self,
        when: PlusMinus,
        outcome: &Outcome<D>,
    ) -> Result<Option<Result<Uncertainty, String>>, AppError> {
        let worth_it = match when {
            PlusMinus::Never => false,
            PlusMinus::Always => true,
            PlusMinus::Auto => {
                outcome.grid_s + outcome.field_s < SHORT_S
                    || uncertainty::cost(self.parts, self.settings, outcome)? <= PLUS_MINUS_COST
            }
        };
        if !worth_it {
            return Ok(None);
        }
        tell(self.telling, self.shares[1], "the same on larger cells");
        let found = uncertainty(self.model, self.parts, self.settings, outcome);
        Ok(Some(found.map_err(|e| {
            format!("no plus-minus: on cells twice as large, {e}")
        })))
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
        let [grid, solved] = self.shares;
        let telling = &mut |stage, text: &str| {
            let share = match stage {
                Stage::Grid => 0.0,
                Stage::Field => grid,
                Stage::Time(done) => grid + done * (solved - grid),
            };
            tell(self.telling, share, text);
        };
        let mut settings = self.settings.clone();
        if self.shares == AT_ONCE {
            let telling = part(self.telling, grid, solved, String::new());
            settings.field.watch = Watch::new(move |imbalance: f64| {
                // From all of the currents down to the tolerance, in powers of ten.
                let share = imbalance.log10() / TOLERANCE_POWER;
                let text = format!("solving, imbalance {imbalance:.0e}");
                tell(&telling, share.clamp(0.0, 1.0), text);
            });
        }
        let outcome = run_from(model, self.parts, &settings, telling, begin, &mut keep);
        match unkept {
            Some(error) => Err(error.into()),
            None => Ok(outcome?),
        }
    }
}
