//! One case: its grid, shared with other cases where the geometry is the same, a warm start, and
//! the key figures.

use super::plan::Case;
use super::store::Store;
use crate::error::AppError;
use crate::progress::silent;
use crate::run::{Extras, Solved, write};
use crate::version::VERSION;
use ionfall_deposit::currents::{Task, currents};
use ionfall_deposit::still::recesses;
use ionfall_deposit::{Begin, Nearby, Settings, run_on_grid};
use ionfall_mesh::grid::{Grid, build};
use ionfall_model::{Known, Model, Parts};
use ionfall_report::{Digest, Staging, Summary};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Grids that more than one case needs, by the fingerprint of the geometry.
#[derive(Debug, Default)]
pub(crate) struct Grids {
    flat: Shelf<2>,
    solid: Shelf<3>,
}

/// Grids in one space. A grid is built by whoever comes first, while others wait for it; it is
/// given away when its last case takes it.
type Shelf<const D: usize> = Mutex<HashMap<u64, Arc<Mutex<Place<D>>>>>;

#[derive(Debug)]
struct Place<const D: usize> {
    grid: Option<Grid<D>>,
    /// Cases that still want it.
    wanted: usize,
}

/// What all cases have in common.
pub(crate) struct Bench<'a> {
    pub store: &'a Store,
    pub grids: &'a Grids,
    pub settings: &'a Settings,
    /// Cases that will ask for each geometry.
    pub users: &'a HashMap<u64, usize>,
    /// Work out what recesses that stand still make of it? No goal of a search counts that.
    pub recesses: bool,
    /// Keep the whole results too?
    pub keep: bool,
    /// What currents are to be found, rather than taken from the job.
    pub currents: Option<&'a Task>,
}

impl Bench<'_> {
    /// Computes a case of a model and keeps what came of it. Case 1 gives the potentials that the others
    /// begin from.
    pub fn compute(
        &self,
        job: &Case,
        model: Result<Model, AppError>,
        start: Option<Arc<Nearby>>,
    ) -> Result<f64, AppError> {
        let clock = std::time::Instant::now();
        let found = model.and_then(|model| match model.known() {
            Known::Flat(model) => self.solve(job, &model, &self.grids.flat, start),
            Known::Solid(model) => self.solve(job, &model, &self.grids.solid, start),
        });
        let seconds = clock.elapsed().as_secs_f64();
        let found = match found {
            Ok(found) => Ok(found),
            // What the machine cannot do today it may do tomorrow: nothing is kept.
            Err(error) if error.exit_code() == 4 => return Err(error),
            Err(error) => Err(error.in_one_line()),
        };
        self.store
            .write(job.number, job.fingerprint, &found, seconds)?;
        Ok(seconds)
    }

    fn solve<const D: usize>(
        &self,
        job: &Case,
        model: &Model<Parts<D>>,
        shelf: &Shelf<D>,
        start: Option<Arc<Nearby>>,
    ) -> Result<(Digest, Vec<f64>), AppError> {
        let parts = &model.geometry;
        let grid = self.grid(job, parts, shelf)?;
        let begin = start.map_or(Begin::Cold, Begin::Nearby);
        let (mut outcome, currents_a) = match self.currents {
            None => {
                let outcome = run_on_grid(model, grid, self.settings, begin, &mut ())?;
                (outcome, Vec::new())
            }
            Some(task) => {
                let found = currents(model, &grid, self.settings, begin, task)?;
                (found.outcome, found.currents_a)
            }
        };
        if self.recesses {
            outcome.recesses = recesses(model, self.settings, &mut (), &outcome)?;
        }
        let summary = if self.keep {
            let mut staging = Staging::open(&self.store.results(job.number))?;
            let outcome = &outcome;
            let solved = Solved { model, outcome };
            write(&mut staging, solved, &Extras::default(), &silent())?.0
        } else {
            Summary::new(model, &outcome, VERSION, None)
        };
        if job.number == 1 && parts.coats.is_empty() {
            self.store
                .write_start(job.fingerprint, &Nearby::new(&outcome))?;
        }
        let digest = Digest::of(&summary).map_err(|e| AppError::Report(e.into()))?;
        Ok((digest, currents_a))
    }

    fn grid<const D: usize>(
        &self,
        job: &Case,
        parts: &Parts<D>,
        shelf: &Shelf<D>,
    ) -> Result<Grid<D>, AppError> {
        let place = {
            let mut shelf = shelf.lock().unwrap_or_else(PoisonError::into_inner);
            let wanted = self.users.get(&job.geometry).copied().unwrap_or(1);
            let place = shelf
                .entry(job.geometry)
                .or_insert_with(|| Arc::new(Mutex::new(Place { grid: None, wanted })));
            Arc::clone(place)
        };
        let mut place = place.lock().unwrap_or_else(PoisonError::into_inner);
        place.wanted = place.wanted.saturating_sub(1);
        let grid = match place.grid.take() {
            Some(grid) => grid,
            None => build(&parts.domain, self.settings.memory_bytes).map_err(AppError::Grid)?,
        };
        if place.wanted > 0 {
            place.grid = Some(grid.clone());
        }
        Ok(grid)
    }
}
