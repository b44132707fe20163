//! A grid that is solved, with what is known of how far off its answers are.
//!
//! The grids before it tell that roughly and at no cost; only where they say that it is sharp enough is the
//! plus-minus worked out.

use super::figures::{Figure, Of, figures};
use super::flags::{bound, flagged};
use super::places::{Place, places};
use super::reached::{AccuracyReached, Ending, Laid};
use super::sizes::Sizes;
use crate::error::DepositError;
use crate::nearby::Nearby;
use crate::observer::Observer;
use crate::outcome::Outcome;
use crate::run::{Begin, run_from};
use crate::settings::Settings;
use crate::uncertainty::{Uncertainty, beside_coarser};
use ionfall_mesh::grid::{BYTES_PER_CELL, count_cells};
use ionfall_model::{Model, Parts, Role};
use std::sync::Arc;

/// Memory a finished run keeps while the next grid is solved, over what it took.
const KEPT: f64 = 0.5;

/// Cells of a grid over those of the one before that make it worth its time.
const WORTH: f64 = 1.2;

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
pub(super) struct Level<'a, const D: usize> {
    sizes: Sizes<'a, D>,
    model: Model<Parts<D>>,
    outcome: Outcome<D>,
    /// The places of each electrode; none of those that are no works.
    works: Vec<Vec<Place<D>>>,
    /// The plus-minus, once it is worked out.
    uncertainty: Option<Result<Uncertainty, String>>,
    /// The answers, with their plus-minus or what the grids before tell of it.
    pub figures: Vec<Figure>,
    /// Where a place may be thinner than the thinnest by more than is asked for.
    thinner: Vec<Place<D>>,
    /// Does anything tell how far off the answers are?
    is_known: bool,
}

impl<'a, const D: usize> Level<'a, D> {
    pub fn solve(
        sizes: Sizes<'a, D>,
        settings: &Settings,
        begin: Begin,
        observer: &mut dyn Observer,
    ) -> Result<Self, DepositError> {
        let model = sizes.model();
        let outcome = run_from(&model, settings, begin, observer)?;
        Ok(Self {
            works: works(&outcome),
            sizes,
            model,
            outcome,
            uncertainty: None,
            figures: Vec::new(),
            thinner: Vec::new(),
            is_known: false,
        })
    }

    /// The next grid, which begins with the potentials of this one; `before` are the figures of all so far.
    pub fn finer(
        &self,
        sizes: Sizes<'a, D>,
        settings: &Settings,
        asked: f64,
        before: &[Vec<Figure>],
        observer: &mut dyn Observer,
    ) -> Result<Self, DepositError> {
        let kept_bytes = KEPT * (self.outcome.grid.len() as u64 * BYTES_PER_CELL) as f64;
        let rest = Settings {
            memory_bytes: settings.memory_bytes.saturating_sub(kept_bytes as u64),
            ..settings.clone()
        };
        let begin = Begin::Nearby(Arc::new(Nearby::new(&self.outcome)));
        let finer = Self::solve(sizes, &rest, begin, observer)?;
        Ok(finer.estimated(asked, before, Some(&self.works)))
    }

    /// The same with what the grids before it tell of how far off it is.
    pub fn estimated(
        mut self,
        asked: f64,
        before: &[Vec<Figure>],
        coarser: Option<&[Vec<Place<D>>]>,
    ) -> Self {
        let all = figures(&self.outcome).into_iter();
        self.figures = all.map(|figure| figure.estimated(before)).collect();
        if let Some(coarser) = coarser {
            self.is_known = true;
            self.bind(coarser, asked);
        }
        self
    }

    /// Works out the plus-minus, on cells 2 and 4 times as large.
    pub fn prove(&mut self, settings: &Settings, asked: f64, observer: &mut dyn Observer) {
        let found = beside_coarser(&self.model, settings, &self.outcome, observer);
        let is_known = self.is_known;
        for figure in &mut self.figures {
            figure.counts = found.is_ok() && figure.counts;
        }
        self.uncertainty = Some(found.map(|(mut found, coarse)| {
            // What was presumed of a first grid is not known.
            let known = |f: &Figure| if is_known { f.off } else { 0.0 };
            let all = std::mem::take(&mut self.figures).into_iter();
            self.figures = all
                .map(|f| {
                    let known = known(&f);
                    f.proven(known, &mut found)
                })
                .collect();
            self.bind(&works(&coarse), asked);
            for figure in &self.figures {
                if let (Of::Thinnest(e), true) = (figure.of, figure.counts) {
                    found.bodies[e].thickness.thinnest_m = Some(figure.off);
                }
            }
            if let Some(supply) = found.supplies.first_mut() {
                supply.given = found.main;
            }
            found
        }));
        self.is_known = self.figures.iter().any(|f| f.counts);
    }

    /// Makes thinnest places no surer than all places that could be thinner, as a coarser grid shows them.
    fn bind(&mut self, coarser: &[Vec<Place<D>>], asked: f64) {
        self.thinner.clear();
        for figure in &mut self.figures {
            if let Of::Thinnest(e) = figure.of {
                let bound = bound(figure.value, &self.works[e], &coarser[e], asked);
                figure.off = figure.off.max(bound.off_m);
                self.thinner.extend(bound.places);
            }
        }
    }

    /// The figure that is off most.
    fn worst(&self) -> Option<&Figure> {
        let all = self.figures.iter().filter(|f| f.counts && self.is_known);
        all.max_by(|a, b| a.share().total_cmp(&b.share()))
    }

    /// Is it as sharp as is asked, for all that is known?
    pub fn is_met(&self, asked: f64) -> bool {
        self.worst().is_some_and(|worst| worst.share() <= asked)
    }

    /// Is its plus-minus worked out?
    pub fn is_proven(&self) -> bool {
        self.uncertainty.is_some()
    }

    /// Its place among the grids.
    pub fn laid(&self) -> Laid {
        Laid {
            cells: self.outcome.grid.len(),
            share: self.worst().map(Figure::share),
        }
    }

    /// The sizes of the next grid; nothing if the job allows no smaller cells.
    pub fn next(&self, asked: f64) -> Option<Sizes<'a, D>> {
        let off = self.figures.iter();
        let off = off.filter(|f| f.counts && f.share() > asked);
        let everywhere =
            !self.figures.iter().any(|f| f.counts) || off.clone().any(|f| f.of.is_whole());
        let extremes = off.filter_map(|figure| match figure.of {
            Of::Thinnest(e) => Some((e, true, figure)),
            Of::Thickest(e) | Of::High(e) => Some((e, false, figure)),
            Of::Volts | Of::Amperes | Of::Mean(_) => None,
        });
        let flagged = extremes
            .filter(|_| !everywhere)
            .flat_map(|(e, is_least, f)| flagged(&self.works[e], is_least, f.value, f.off));
        let thinner = self.thinner.iter().filter(|_| !everywhere);
        let places: Vec<&Place<D>> = flagged.chain(thinner).collect();
        // A few cells more are not worth a grid.
        let few = |sizes: &Sizes<'a, D>| {
            let domain = sizes.model().geometry.domain;
            let cells = count_cells(&domain, u64::MAX).unwrap_or(u64::MAX);
            (cells as f64) < WORTH * self.outcome.grid.len() as f64
        };
        let local = match self.sizes.around(&places, 1) {
            Some(sizes) if few(&sizes) => self.sizes.around(&places, 2),
            other => other,
        };
        local.or_else(|| self.sizes.halved())
    }

    /// The last grid, with its plus-minus.
    pub fn sought(
        mut self,
        settings: &Settings,
        asked: f64,
        mut grids: Vec<Laid>,
        ending: Ending,
        observer: &mut dyn Observer,
    ) -> Sought<D> {
        if !self.is_proven() {
            self.prove(settings, asked, observer);
        }
        grids.pop();
        grids.push(self.laid());
        let worst = self.worst().map(|figure| figure.words.clone());
        let met = self.is_met(asked);
        let unknown = || Err("it was not worked out".into());
        Sought {
            reached: AccuracyReached {
                asked_share: asked,
                worst,
                grids,
                // The plus-minus may turn out to be better than the grids before foretold.
                ending: if met { Ending::Met } else { ending },
            },
            uncertainty: self.uncertainty.unwrap_or_else(unknown),
            model: self.model,
            outcome: self.outcome,
        }
    }
}

fn works<const D: usize>(outcome: &Outcome<D>) -> Vec<Vec<Place<D>>> {
    let bodies = outcome.bodies.iter().enumerate();
    let own = |(e, body): (usize, &crate::outcome::BodyOutcome)| match body.role {
        Role::Work => places(outcome, e),
        _ => Vec::new(),
    };
    bodies.map(own).collect()
}
