//! Grid after grid, until the answers are as sharp as was asked.

use super::figures::{Figure, Of, figures};
use super::flags::{Place, bound, flagged};
use super::reached::{AccuracyReached, Ending, Laid};
use super::sizes::Sizes;
use crate::error::DepositError;
use crate::nearby::Nearby;
use crate::observer::Observer;
use crate::outcome::Outcome;
use crate::run::{Begin, run_from};
use crate::settings::Settings;
use crate::uncertainty::{Uncertainty, beside_coarser};
use ionfall_mesh::grid::{BYTES_PER_CELL, GridError};
use ionfall_model::{Model, Parts, Role};
use std::sync::Arc;

/// Most grids.
const MOST_GRIDS: usize = 16;
/// Memory a finished run keeps while the next grid is solved, over what it took.
const KEPT: f64 = 0.5;

/// A run that is as sharp as could be.
#[derive(Debug)]
pub struct Sought<const D: usize> {
    /// The job with the cells of the last grid.
    pub model: Model<Parts<D>>,
    /// The answers on it.
    pub outcome: Outcome<D>,
    /// Their plus-minus, or why there is none.
    pub uncertainty: Result<Uncertainty, String>,
    /// What came of the accuracy.
    pub reached: AccuracyReached,
}

/// A grid that is solved.
struct Level<'a, const D: usize> {
    sizes: Sizes<'a, D>,
    model: Model<Parts<D>>,
    outcome: Outcome<D>,
    uncertainty: Result<Uncertainty, String>,
    figures: Vec<Figure>,
    /// Where a place may be thinner than the thinnest by more than is asked for.
    thinner: Vec<Place<D>>,
}

impl<'a, const D: usize> Level<'a, D> {
    fn solve(
        sizes: Sizes<'a, D>,
        settings: &Settings,
        asked: f64,
        begin: Begin,
        observer: &mut dyn Observer,
    ) -> Result<Self, DepositError> {
        let model = sizes.model();
        let outcome = run_from(&model, settings, begin, observer)?;
        let mut level = Self {
            sizes,
            model,
            outcome,
            uncertainty: Err(String::new()),
            figures: Vec::new(),
            thinner: Vec::new(),
        };
        let found = beside_coarser(&level.model, settings, &level.outcome, observer);
        level.uncertainty = found.map(|(uncertainty, coarse)| {
            let uncertainty = level.bounded(uncertainty, &coarse, asked);
            level.figures = figures(&level.outcome, &uncertainty);
            uncertainty
        });
        Ok(level)
    }

    /// A plus-minus with the thinnest places of works as sure as all of their places are.
    fn bounded(
        &mut self,
        mut uncertainty: Uncertainty,
        coarse: &Outcome<D>,
        asked: f64,
    ) -> Uncertainty {
        for (e, body) in uncertainty.bodies.iter_mut().enumerate() {
            let work = self.outcome.bodies[e].role == Role::Work;
            let off_m = body.thickness.thinnest_m.as_mut().filter(|_| work);
            let bound = bound(&self.outcome, coarse, e, asked);
            if let (Some(off_m), Some(bound)) = (off_m, bound) {
                *off_m = off_m.max(bound.off_m);
                self.thinner.extend(bound.places);
            }
        }
        uncertainty
    }

    /// The figure that is off most.
    fn worst(&self) -> Option<&Figure> {
        let all = self.figures.iter();
        all.max_by(|a, b| a.share().total_cmp(&b.share()))
    }

    fn laid(&self) -> Laid {
        Laid {
            cells: self.outcome.grid.len(),
            share: self.worst().map(Figure::share),
        }
    }

    /// The sizes of the next grid; nothing if the job allows no smaller cells.
    fn next(&self, asked: f64) -> Option<Sizes<'a, D>> {
        let off = self.figures.iter().filter(|f| f.share() > asked);
        let everywhere = self.figures.is_empty() || off.clone().any(|f| f.of == Of::Whole);
        let mut places = Vec::new();
        if !everywhere {
            places.extend(off.flat_map(|f| flagged(&self.outcome, f)));
            places.extend(&self.thinner);
        }
        let local = self.sizes.around(&places);
        local.or_else(|| self.sizes.halved())
    }
}

/// Runs a model on finer and finer grids, until no answer that counts is off by more than the share of it that is
/// asked. The observer is told of each.
///
/// # Errors
/// [`DepositError`] where no grid at all could be solved.
pub fn seek<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    asked: f64,
    observer: &mut dyn Observer,
) -> Result<Sought<D>, DepositError> {
    let mut level = first(model, settings, asked, observer)?;
    let mut grids = vec![level.laid()];
    let ending = loop {
        if level.worst().is_some_and(|f| f.share() <= asked) {
            break Ending::Met;
        }
        if grids.len() == MOST_GRIDS {
            break Ending::Grids;
        }
        let Some(sizes) = level.next(asked) else {
            break Ending::SmallestCells;
        };
        observer.lays(&grids);
        let kept_bytes = KEPT * (level.outcome.grid.len() as u64 * BYTES_PER_CELL) as f64;
        let rest = Settings {
            memory_bytes: settings.memory_bytes.saturating_sub(kept_bytes as u64),
            ..settings.clone()
        };
        let begin = Begin::Nearby(Arc::new(Nearby::new(&level.outcome)));
        match Level::solve(sizes, &rest, asked, begin, observer) {
            Ok(finer) => level = finer,
            Err(DepositError::Stopped) => return Err(DepositError::Stopped),
            Err(error) if is_memory(&error) => break Ending::Memory,
            Err(error) => break Ending::Failed(error.to_string()),
        }
        grids.push(level.laid());
    };
    let worst = level.worst().map(|figure| figure.words.clone());
    Ok(Sought {
        reached: AccuracyReached {
            asked_share: asked,
            worst,
            grids,
            ending,
        },
        model: level.model,
        outcome: level.outcome,
        uncertainty: level.uncertainty,
    })
}

/// The first grid, on the largest cells that show all of the bodies.
fn first<'a, const D: usize>(
    model: &'a Model<Parts<D>>,
    settings: &Settings,
    asked: f64,
    observer: &mut dyn Observer,
) -> Result<Level<'a, D>, DepositError> {
    let mut sizes = Sizes::first(model);
    for _ in 1..MOST_GRIDS {
        observer.lays(&[]);
        let error = match Level::solve(sizes.clone(), settings, asked, Begin::Cold, observer) {
            Ok(level) => return Ok(level),
            Err(error @ (DepositError::Grid(_) | DepositError::Network(_)))
                if !is_memory(&error) =>
            {
                error
            }
            Err(error) => return Err(error),
        };
        sizes = sizes.halved().ok_or(error)?;
    }
    Level::solve(sizes, settings, asked, Begin::Cold, observer)
}

fn is_memory(error: &DepositError) -> bool {
    matches!(error, DepositError::Grid(GridError::TooMany { .. }))
}
