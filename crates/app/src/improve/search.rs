//! The search: Powell's linear approximations (COBYLA: Powell 1994, in Advances in Optimization and
//! Numerical Analysis, 51-67; citation from memory) over the shares of the free ranges.
//!
//! It needs no derivatives, keeps to limits, and lives with figures that jump a little as facets come
//! and go (a quarter of a percent, rms). It is local, from where the job stands. It asks for one case
//! after another, always the same ones, and each is kept in a file; so a search that was stopped goes on
//! by asking again.

use super::free::Free;
use super::goal::Goal;
use super::limit::Limit;
use crate::error::AppError;
use cobyla::{RhoBeg, StopTols, minimize};
use ionfall_report::Digest;
use std::cell::RefCell;

/// First step, as a share of each range, and the step at which the search ends.
const FIRST_STEP: f64 = 0.25;
const LAST_STEP: f64 = 0.004;
/// How much worse than the worst so far a case counts that cannot be computed.
const FAILED: f64 = 0.5;
/// A limit counts as kept within this.
const KEPT: f64 = 1e-6;

/// A case of the search.
#[derive(Clone, Debug)]
pub(super) struct Case {
    /// Where in the ranges it lies.
    pub shares: Vec<f64>,
    /// Its values, as in a job.
    pub values: Vec<String>,
    /// What came of it.
    pub found: Result<Digest, String>,
}

impl Case {
    /// Its cost, if it keeps to all limits.
    pub fn cost(&self, goal: Goal, limits: &[Limit]) -> Option<f64> {
        let digest = self.found.as_ref().ok()?;
        let kept = limits.iter().all(|limit| limit.room(digest) >= -KEPT);
        goal.cost(digest).filter(|_| kept)
    }
}

/// The cases so far. `ask` computes the next one.
pub(super) struct Search<'a> {
    pub frees: &'a [Free],
    pub goal: Goal,
    pub limits: &'a [Limit],
    /// Cases, in the order in which they were asked for.
    pub cases: Vec<Case>,
    ask: Ask<'a>,
    /// What the machine refused.
    refused: Option<AppError>,
}

/// Computes the case of a number with values.
type Ask<'a> =
    Box<dyn FnMut(usize, &[String]) -> Result<Result<Digest, String>, AppError> + Send + 'a>;

impl<'a> Search<'a> {
    pub fn new(frees: &'a [Free], goal: Goal, limits: &'a [Limit], ask: Ask<'a>) -> Self {
        Self {
            frees,
            goal,
            limits,
            cases: Vec::new(),
            ask,
            refused: None,
        }
    }

    /// Number of the case at some shares; the same values are computed once.
    ///
    /// # Errors
    /// What the machine refuses.
    pub fn at(&mut self, shares: &[f64]) -> Result<usize, AppError> {
        let shares: Vec<f64> = shares.iter().map(|s| s.clamp(0.0, 1.0)).collect();
        let pairs = self.frees.iter().zip(&shares);
        let values: Vec<String> = pairs.map(|(free, share)| free.text(*share)).collect();
        if let Some(known) = self.cases.iter().position(|case| case.values == values) {
            return Ok(known);
        }
        let found = (self.ask)(self.cases.len() + 1, &values)?;
        self.cases.push(Case {
            shares,
            values,
            found,
        });
        Ok(self.cases.len() - 1)
    }

    /// Cost and room at some shares. After a refusal nothing is asked any more.
    fn measure(&mut self, shares: &[f64]) -> (f64, Vec<f64>) {
        let found = match self.refused {
            Some(_) => None,
            None => match self.at(shares) {
                Ok(n) => self.cases[n].found.as_ref().ok(),
                Err(error) => {
                    self.refused = Some(error);
                    None
                }
            },
        };
        let cost = found.and_then(|digest| self.goal.cost(digest));
        let room = |limit: &Limit| found.map_or(0.0, |digest| limit.room(digest));
        let rooms = self.limits.iter().map(room).collect();
        (cost.unwrap_or_else(|| self.worst() + FAILED), rooms)
    }

    fn worst(&self) -> f64 {
        let found = self
            .cases
            .iter()
            .filter_map(|case| case.found.as_ref().ok());
        let costs = found.filter_map(|digest| self.goal.cost(digest));
        costs.reduce(f64::max).unwrap_or(0.0)
    }

    /// Number of the best case that keeps to all limits; of equal ones the first.
    pub fn best(&self) -> Option<usize> {
        let cost = |n: usize| Some((n, self.cases[n].cost(self.goal, self.limits)?));
        let valued = (0..self.cases.len()).filter_map(cost);
        valued
            .reduce(|best, next| if next.1 < best.1 { next } else { best })
            .map(|(n, _)| n)
    }

    /// Searches from some shares, with so many cases.
    pub fn run(self, start: &[f64], solves: usize) -> Result<Self, AppError> {
        let (frees, limits) = (self.frees.len(), self.limits.len());
        let all = RefCell::new(self);
        let cost = |x: &[f64], all: &mut &RefCell<Self>| all.borrow_mut().measure(x).0;
        let room =
            |n: usize| move |x: &[f64], all: &mut &RefCell<Self>| all.borrow_mut().measure(x).1[n];
        let rooms: Vec<_> = (0..limits).map(room).collect();
        let stop = StopTols {
            xtol_abs: vec![LAST_STEP; frees],
            ..StopTols::default()
        };
        let within = vec![(0.0, 1.0); frees];
        let step = RhoBeg::All(FIRST_STEP);
        // How it ended does not matter: all that it asked for is known.
        let _ = minimize(cost, start, &within, &rooms, &all, solves, step, Some(stop));
        let mut done = all.into_inner();
        match done.refused.take() {
            Some(error) => Err(error),
            None => Ok(done),
        }
    }
}
