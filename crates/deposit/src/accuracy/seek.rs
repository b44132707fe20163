//! Grid after grid, until the answers are as sharp as was asked.

use super::figures::Figure;
use super::level::{Level, Sought};
use super::reached::Ending;
use super::sizes::Sizes;
use crate::error::DepositError;
use crate::observer::Observer;
use crate::run::Begin;
use crate::settings::Settings;
use ionfall_mesh::grid::GridError;
use ionfall_model::{Model, Parts};

/// Most grids.
const MOST_GRIDS: usize = 16;

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
    let mut before: Vec<Vec<Figure>> = Vec::new();
    let mut grids = Vec::new();
    let (level, ending) = loop {
        if level.is_met(asked) {
            level.prove(settings, asked, observer);
        }
        grids.push(level.laid());
        let next = level.next(asked);
        let ending = match &next {
            _ if level.is_proven() && level.is_met(asked) => Ending::Met,
            _ if grids.len() == MOST_GRIDS => Ending::Grids,
            None => Ending::SmallestCells,
            Some(sizes) => {
                observer.lays(&grids);
                before.insert(0, level.figures.clone());
                match level.finer(sizes.clone(), settings, asked, &before, observer) {
                    Ok(finer) => {
                        level = finer;
                        continue;
                    }
                    Err(DepositError::Stopped) => return Err(DepositError::Stopped),
                    Err(error) if is_memory(&error) => Ending::Memory,
                    Err(error) => Ending::Failed(error.to_string()),
                }
            }
        };
        break (level, ending);
    };
    Ok(level.sought(settings, asked, grids, ending, observer))
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
        let level = Level::solve(sizes.clone(), settings, Begin::Cold, observer);
        let error = match level {
            Ok(level) => return Ok(level.estimated(asked, &[], None)),
            Err(error @ (DepositError::Grid(_) | DepositError::Network(_)))
                if !is_memory(&error) =>
            {
                error
            }
            Err(error) => return Err(error),
        };
        sizes = sizes.halved().ok_or(error)?;
    }
    let level = Level::solve(sizes, settings, Begin::Cold, observer)?;
    Ok(level.estimated(asked, &[], None))
}

fn is_memory(error: &DepositError) -> bool {
    matches!(
        error,
        DepositError::Grid(GridError::TooMany { .. } | GridError::TooLarge { .. })
    )
}
