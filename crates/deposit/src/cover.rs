//! When powder coats are covered, if their first metal grows in islands.
//!
//! A run takes the metal on a coat to conduct from the first unless the job names `islands`, and what comes out is the
//! least time that Faraday's law allows on that coat. On [powders](ionfall_bath::islands) the first metal is islands
//! that do not touch, of a thickness that is known to a factor of ten: the plan is gone through again with both ends of
//! that band, each time no farther than until all is covered. A band that wide needs no fine cells, and fine ones would
//! take many times as long as the run: they are twice as large, if the time without islands comes out within
//! 30 % of that of the run there; else nothing is told. On a strip cells four times as large made the times 24
//! to 42 % too short.

use crate::error::DepositError;
use crate::islands::Covering;
use crate::observer::{Go, Observer, Stage};
use crate::outcome::Outcome;
use crate::run::{Begin, run_on_grid};
use crate::settings::Settings;
use crate::state::State;
use crate::uncertainty::scaled;
use ionfall_bath::islands::{POWDER_ISLANDS, POWDER_OHM};
use ionfall_field::FieldError;
use ionfall_mesh::grid::{Grid, build};
use ionfall_model::{Coat, Model, Parts};

/// Cells over those of the run.
const CELLS: [f64; 1] = [2.0];
/// By how much the time of cover without islands may differ there.
const SAME_TIME: f64 = 0.3;

/// Covers of the powder coats of a finished run of which the job says no islands, and that it covers.
///
/// # Errors
/// [`DepositError`]; a current that cannot flow then is part of the answer.
pub fn covering<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    observer: &mut dyn Observer,
    outcome: &Outcome<D>,
) -> Result<Vec<Covering>, DepositError> {
    let parts = &model.geometry;
    let covered = |e: usize| outcome.bodies[e].cover.after_s.is_some();
    let coated = |e: &usize| {
        covered(*e)
            && parts
                .coats
                .iter()
                .any(|c| c.electrode == *e && is_powder(c))
    };
    let electrodes: Vec<usize> = (0..parts.electrodes.len()).filter(coated).collect();
    if electrodes.is_empty() {
        return Ok(Vec::new());
    }
    let islands_m = [POWDER_ISLANDS.low, POWDER_ISLANDS.high].map(|um| 1e-6 * um);
    observer.begins(Stage::Field, "covering with islands");
    for factor in CELLS {
        let covers = Covers {
            model: scaled(model, factor),
            settings: settings.coarser(factor),
            electrodes: &electrodes,
        };
        // Larger cells must find the time without islands too.
        let [Ok(plain), Ok(least), Ok(most)] =
            [0.0, islands_m[0], islands_m[1]].map(|m| covers.after_s(m))
        else {
            continue;
        };
        let fits = |n: usize| {
            let fine_s = outcome.bodies[electrodes[n]].cover.after_s?;
            Some((plain[n]? / fine_s - 1.0).abs() < SAME_TIME)
        };
        if (0..electrodes.len()).all(|n| fits(n) == Some(true)) {
            let found = electrodes.iter().enumerate().map(|(n, e)| Covering {
                on: outcome.bodies[*e].name.clone(),
                islands_m,
                covered_after_s: [least[n], most[n]],
                cells: factor,
            });
            return Ok(found.collect());
        }
    }
    Ok(Vec::new())
}

/// A run as far as its cover.
struct Covers<'a, const D: usize> {
    model: Model<Parts<D>>,
    settings: Settings,
    electrodes: &'a [usize],
}

impl<const D: usize> Covers<'_, D> {
    /// When each electrode is covered with so much of islands, s.
    fn after_s(&self, islands_m: f64) -> Result<Vec<Option<f64>>, DepositError> {
        let mut model = self.model.clone();
        for coat in model.geometry.coats.iter_mut().filter(|c| is_powder(c)) {
            coat.islands_m = islands_m;
        }
        let grid = build(&model.geometry.domain, self.settings.memory_bytes)?;
        let mut watch = Watch::new(&model.geometry, self.electrodes, &grid);
        let begin = Begin::Cold;
        match run_on_grid(&model, grid, &self.settings, begin, &mut watch) {
            Ok(_)
            | Err(
                DepositError::Stopped
                | DepositError::Field(FieldError::DemandAboveLimit { .. })
                | DepositError::AbovePeakLimit { .. },
            ) => Ok(watch.covered_s),
            Err(error) => Err(error),
        }
    }
}

fn is_powder<const D: usize>(coat: &Coat<D>) -> bool {
    coat.sheet_resistance_ohm >= POWDER_OHM && coat.islands_m == 0.0
}

/// Looks on until all is covered.
struct Watch {
    /// Facets of each electrode that conduct.
    facets: Vec<Vec<usize>>,
    covered_s: Vec<Option<f64>>,
}

impl Watch {
    fn new<const D: usize>(parts: &Parts<D>, electrodes: &[usize], grid: &Grid<D>) -> Self {
        let coated = |e: usize, f: usize| {
            let at = &grid.facets[f].point;
            let covers = |c: &Coat<D>| c.region.as_ref().is_none_or(|r| r.contains(at));
            let own = parts.coats.iter().filter(|c| c.electrode == e);
            usize::from(grid.facets[f].body) == parts.electrodes[e].body
                && own.into_iter().any(covers)
        };
        let all = 0..grid.facets.len();
        let facets = |e: &usize| all.clone().filter(|f| coated(*e, *f)).collect();
        Self {
            facets: electrodes.iter().map(facets).collect(),
            covered_s: vec![None; electrodes.len()],
        }
    }
}

impl Observer for Watch {
    fn keep(&mut self, state: &State) -> Go {
        for (facets, covered_s) in self.facets.iter().zip(&mut self.covered_s) {
            let times = facets.iter().map(|&f| state.covered_s[f]);
            if covered_s.is_none() && times.clone().all(f64::is_finite) {
                *covered_s = times.reduce(f64::max);
            }
        }
        match self.covered_s.iter().all(Option::is_some) {
            true => Go::Stop,
            false => Go::On,
        }
    }
}
