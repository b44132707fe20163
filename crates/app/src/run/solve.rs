//! Solving a job, keeping the progress in its folder.

use super::accuracy::{self, Searching};
use super::course::{Course, Keeper, Onlooker, Others};
use super::lengths::{self, Lengths};
use super::options::{PlusMinus, RunOptions};
use super::write::{Extras, Solved, rewrite, write};
use crate::checkpoint::Checkpoint;
use crate::error::AppError;
use crate::progress::{Telling, part, tell};
use ionfall_bath::spread::Variation;
use ionfall_deposit::accuracy::seek;
use ionfall_deposit::cover::covering;
use ionfall_deposit::islands::Covering;
use ionfall_deposit::levers::{Levers, changes, levers};
use ionfall_deposit::recess::Recesses;
use ionfall_deposit::sensitivity::Cause;
use ionfall_deposit::small::{causes, small_changes};
use ionfall_deposit::spread::{Spread, spread};
use ionfall_deposit::still::recesses;
use ionfall_deposit::uncertainty::{self, Uncertainty, uncertainty};
use ionfall_deposit::{Begin, Observer, Outcome, Settings, Stage, run_on_grid};
use ionfall_mesh::grid::{Grid, build};
use ionfall_model::{Geometry, Model, Parts, Setting};
use ionfall_report::story::JobText;
use ionfall_report::{Staging, Summary};
use std::path::Path;
use std::time::Instant;

/// What stands in the results while the coarser grids are being computed, and stays there if that
/// is stopped.
const NOT_YET: &str = "no plus-minus: the run was stopped before it was worked out; run it again, \
                       or with --resume";

/// Share of the bar that the search for an accuracy takes.
const SEARCHING: f64 = 0.85;

/// Is the plan gone through in many time steps?
fn is_stepped<const D: usize>(model: &Model<Parts<D>>) -> bool {
    let ramp = |step: &ionfall_model::Step| matches!(step.setting, Setting::Ramp(..));
    !model.geometry.coats.is_empty() || model.plan.iter().any(ramp)
}

/// A job to be solved.
pub(super) struct Solver<'a, const D: usize> {
    model: &'a Model<Parts<D>>,
    settings: &'a Settings,
    telling: &'a Telling,
    job: Option<JobText>,
    /// Where the files lie that the job names.
    folder: &'a Path,
}

impl<'a, const D: usize> Solver<'a, D>
where
    Parts<D>: TryFrom<Geometry, Error = Geometry>,
{
    pub fn new(
        model: &'a Model<Parts<D>>,
        settings: &'a Settings,
        telling: &'a Telling,
        job: Option<JobText>,
        folder: &'a Path,
    ) -> Self {
        Self {
            model,
            settings,
            telling,
            job,
            folder,
        }
    }

    /// Computes and writes everything, on the cells that the job or the options ask for.
    pub fn answer(
        &self,
        options: &RunOptions,
        staging: Staging,
        checkpoint: &Checkpoint,
        begin: Begin,
    ) -> Result<(Summary, Vec<String>), AppError> {
        match accuracy::asked(self.model, options)? {
            None => self.run(options, staging, checkpoint, begin),
            Some(asked) => self.search(asked, options, staging),
        }
    }

    /// First the results, then, where it is worked out, their plus-minus.
    fn run(
        &self,
        options: &RunOptions,
        mut staging: Staging,
        checkpoint: &Checkpoint,
        begin: Begin,
    ) -> Result<(Summary, Vec<String>), AppError> {
        tell(self.telling, 0.0, "building the grid");
        let clock = Instant::now();
        let grid = build(&self.model.geometry.domain, self.settings.memory_bytes)
            .map_err(AppError::Grid)?;
        let grid_s = clock.elapsed().as_secs_f64();
        let coarser = self.coarser(options.plus_minus, grid.len())?;
        let others = coarser.as_deref().unwrap_or_default();
        let course = self.course(options, others);
        let mut outcome = self.solve(&course, grid, checkpoint, begin, self.causes(options))?;
        outcome.grid_s = grid_s;
        let mut extras = self.extras(&course, options, &mut outcome)?;
        extras.uncertainty = coarser.as_ref().map(|_| Err(NOT_YET.into()));
        let [from, to] = course.writing;
        let telling = part(self.telling, from, to, String::new());
        let solved = Solved {
            model: self.model,
            outcome: &outcome,
        };
        let written = write(&mut staging, solved, &extras, &telling)?;
        let written = if coarser.is_some() {
            extras.uncertainty = Some(self.uncertainty(&course, &outcome));
            tell(self.telling, course.again[0], "writing the plus-minus");
            let summary = rewrite(&mut staging, solved, &extras)?;
            (summary, written.1)
        } else {
            written
        };
        checkpoint.remove()?;
        Ok(written)
    }

    /// Looks for the cells of an accuracy; what comes after sees only the last grid.
    fn search(
        &self,
        asked: f64,
        options: &RunOptions,
        mut staging: Staging,
    ) -> Result<(Summary, Vec<String>), AppError> {
        let settings = &Settings {
            causes: self.causes(options),
            ..self.settings.clone()
        };
        let [before, after] = [[0.0, SEARCHING], [SEARCHING, 1.0]]
            .map(|[from, to]| part(self.telling, from, to, String::new()));
        let found = seek(self.model, settings, asked, &mut Searching::new(&before))?;
        let mut outcome = found.outcome;
        let last = Solver {
            model: &found.model,
            telling: &after,
            job: self.job.clone(),
            ..*self
        };
        let course = last.course(options, &[]);
        let mut extras = last.extras(&course, options, &mut outcome)?;
        let unknown = |reason| format!("no plus-minus: {reason}");
        extras.uncertainty = Some(found.uncertainty.map_err(unknown));
        extras.accuracy = Some(found.reached);
        let solved = Solved {
            model: last.model,
            outcome: &outcome,
        };
        write(&mut staging, solved, &extras, &after)
    }

    /// How many runs with other figures of the bath, and with what a shop could change.
    fn more(&self, options: &RunOptions) -> [usize; 2] {
        let bands = match options.spread {
            true => Variation::set(&self.model.bath).len(),
            false => 0,
        };
        let changes = match options.levers {
            true => changes(self.model).len() + lengths::count(self.model),
            false => 0,
        };
        [bands, changes]
    }

    fn course(&self, options: &RunOptions, coarser: &[f64]) -> Course {
        let more = self.more(options).iter().sum();
        Course::new(is_stepped(self.model), more, coarser)
    }

    /// Are small changes told, to first order?
    fn tells_small(&self, options: &RunOptions) -> bool {
        self.model.wanted.is_some() && !options.levers
    }

    /// What the run is to know its sensitivities of.
    fn causes(&self, options: &RunOptions) -> Vec<Cause> {
        match self.tells_small(options) {
            true => causes(self.model),
            false => Vec::new(),
        }
    }

    /// What other runs on the same grid tell of an outcome.
    fn extras(
        &self,
        course: &Course,
        options: &RunOptions,
        outcome: &mut Outcome<D>,
    ) -> Result<Extras, AppError> {
        let more = self.more(options);
        outcome.recesses = self.recesses(course, outcome)?;
        outcome.covering = self.covering(course, outcome)?;
        Ok(Extras {
            spread: self.spread(course, more, outcome)?,
            levers: match self.tells_small(options) {
                true => small_changes(self.model, outcome),
                false => self.levers(course, more, outcome)?,
            },
            uncertainty: None,
            accuracy: None,
            pictures: options.pictures,
            job: self.job.clone(),
        })
    }

    /// What the coarser grids cost, if the plus-minus is to be worked out.
    fn coarser(&self, when: PlusMinus, cells: usize) -> Result<Option<Vec<f64>>, AppError> {
        if when == PlusMinus::Never {
            return Ok(None);
        }
        let cost = uncertainty::cost(self.model, self.settings, cells)?;
        let wanted = when == PlusMinus::Always || uncertainty::worth_it(&cost, cells);
        Ok(wanted.then_some(cost))
    }

    fn spread(
        &self,
        course: &Course,
        [bands, changes]: [usize; 2],
        outcome: &Outcome<D>,
    ) -> Result<Option<Spread>, AppError> {
        if bands == 0 {
            return Ok(None);
        }
        let observer = &mut Others::new(self.telling, course, 0, bands + changes);
        let (model, settings) = (self.model, self.settings);
        Ok(Some(spread(model, settings, observer, outcome)?))
    }

    /// What recesses that stand still make of it.
    fn recesses(
        &self,
        course: &Course,
        outcome: &Outcome<D>,
    ) -> Result<Option<Recesses>, AppError> {
        let observer = &mut Others::new(self.telling, course, 0, 1);
        let (model, settings) = (self.model, self.settings);
        Ok(recesses(model, settings, observer, outcome)?)
    }

    /// When powder coats are covered if their first metal grows in islands.
    fn covering(&self, course: &Course, outcome: &Outcome<D>) -> Result<Vec<Covering>, AppError> {
        let observer = &mut Others::new(self.telling, course, 0, 1);
        Ok(covering(self.model, self.settings, observer, outcome)?)
    }

    fn levers(
        &self,
        course: &Course,
        [bands, changes]: [usize; 2],
        outcome: &Outcome<D>,
    ) -> Result<Option<Levers>, AppError> {
        if changes == 0 {
            return Ok(None);
        }
        let observer = &mut Others::new(self.telling, course, bands, bands + changes);
        let (model, settings) = (self.model, self.settings);
        let found = levers(model, settings, observer, outcome)?;
        let lengths = self.job.as_ref().map(|job| Lengths {
            model,
            settings,
            text: &job.text,
            folder: self.folder,
        });
        Ok(Some(match lengths {
            Some(lengths) => found.with(lengths.levers(outcome, observer)?),
            None => found,
        }))
    }

    /// Plus-minus of the answers, or why it could not be worked out.
    fn uncertainty(&self, course: &Course, outcome: &Outcome<D>) -> Result<Uncertainty, String> {
        let observer = &mut Onlooker::new(self.telling, course, None);
        let (model, settings) = (self.model, self.settings);
        uncertainty(model, settings, outcome, observer)
            .map_err(|reason| format!("no plus-minus: {reason}"))
    }

    /// Field and time steps; the state is kept after each of them.
    fn solve(
        &self,
        course: &Course,
        grid: Grid<D>,
        checkpoint: &Checkpoint,
        begin: Begin,
        causes: Vec<Cause>,
    ) -> Result<Outcome<D>, AppError> {
        let settings = &Settings {
            causes,
            ..self.settings.clone()
        };
        let keeper = Keeper {
            checkpoint,
            steps: self.model.plan.len(),
            failure: None,
        };
        let mut onlooker = Onlooker::new(self.telling, course, Some(keeper));
        onlooker.begins(Stage::Field, &format!("solving {} cells", grid.len()));
        let model = self.model;
        let outcome = run_on_grid(model, grid, settings, begin, &mut onlooker);
        match onlooker.failure() {
            Some(error) => Err(error),
            None => Ok(outcome?),
        }
    }
}
