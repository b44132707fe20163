//! The search: Powell's linear approximations (COBYLA: Powell 1994, in Advances in Optimization and
//! Numerical Analysis, 51-67; citation from memory) over the shares of the free ranges.
//!
//! It needs no derivatives, keeps to limits, and lives with figures that jump a little as facets come
//! and go (a quarter of a percent, rms). It is local, from where the job stands. It asks for one case
//! after another, always the same ones, and each is kept in a file; so a search that was stopped goes on
//! by asking again. Each combination of the choices is searched by itself, with its part of the cases; currents
//! are found within a case.

use super::asked::Asked;
use super::free::Free;
use super::goal::Goal;
use super::limit::Limit;
use crate::error::AppError;
use cobyla::{RhoBeg, StopTols, minimize};
use ionfall_report::Digest;
use std::cell::RefCell;
use std::cmp::Ordering;

/// First step, as a share of each range, and the step at which the search ends.
const FIRST_STEP: f64 = 0.25;
const LAST_STEP: f64 = 0.004;
/// Cases that each combination of choices gets at the least.
const LEAST_CASES: usize = 6;
/// Where, between the best for one goal and for the other, is searched too.
const BETWEEN: [f64; 3] = [0.25, 0.5, 0.75];
/// A smaller difference of costs is none.
const SAME: f64 = 1e-3;
/// How much worse than the worst so far a case counts that cannot be computed.
const FAILED: f64 = 0.5;
/// A limit counts as kept within this.
const KEPT: f64 = 1e-6;

/// Where a case lies.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Spot {
    /// In each range, 0 to 1.
    pub shares: Vec<f64>,
    /// The choices.
    pub choices: Vec<String>,
    /// Are the currents found, rather than those of the job?
    pub currents: bool,
}

/// A case of the search.
#[derive(Clone, Debug)]
pub(super) struct Case {
    pub spot: Spot,
    /// Its values, as in a job; currents as they were found.
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
    pub asked: &'a Asked,
    pub goal: Goal,
    pub limits: &'a [Limit],
    /// Cases, in the order in which they were asked for.
    pub cases: Vec<Case>,
    ask: Ask<'a>,
    /// A second goal, and the cost of it that must not be exceeded.
    bound: Option<(Goal, f64)>,
    /// What the machine refused.
    refused: Option<AppError>,
}

/// What came of a case: its figures, and its currents where they were to be found.
pub(super) type Found = Result<(Digest, Vec<f64>), String>;

/// Computes the case of a number with values, finding its currents or not.
type Ask<'a> = Box<dyn FnMut(usize, &[String], bool) -> Result<Found, AppError> + Send + 'a>;

impl<'a> Search<'a> {
    pub fn new(asked: &'a Asked, goal: Goal, limits: &'a [Limit], ask: Ask<'a>) -> Self {
        Self {
            asked,
            goal,
            limits,
            cases: Vec::new(),
            ask,
            bound: None,
            refused: None,
        }
    }

    /// Where the job stands.
    pub fn start(&self) -> Spot {
        let combinations = self.asked.combinations().into_iter();
        Spot {
            shares: self.asked.ranges().map(Free::start).collect(),
            choices: combinations.take(1).flatten().collect(),
            currents: false,
        }
    }

    /// Number of the case at a spot; what has the same values is computed once.
    ///
    /// # Errors
    /// What the machine refuses.
    pub fn at(&mut self, mut spot: Spot) -> Result<usize, AppError> {
        spot.shares.iter_mut().for_each(|s| *s = s.clamp(0.0, 1.0));
        let values = |spot: &Spot| self.asked.values(&spot.shares, &spot.choices, None);
        let asked = values(&spot);
        let is_known =
            |case: &Case| case.spot.currents == spot.currents && values(&case.spot) == asked;
        if let Some(known) = self.cases.iter().position(is_known) {
            return Ok(known);
        }
        let found = (self.ask)(self.cases.len() + 1, &asked, spot.currents)?;
        let (found, values) = match found {
            Ok((digest, currents_a)) if spot.currents => {
                let own = Some(&currents_a[..]);
                let values = self.asked.values(&spot.shares, &spot.choices, own);
                (Ok(digest), values)
            }
            Ok((digest, _)) => (Ok(digest), asked),
            Err(why) => (Err(why), asked),
        };
        self.cases.push(Case {
            spot,
            values,
            found,
        });
        Ok(self.cases.len() - 1)
    }

    /// Cost and room at a spot. After a refusal nothing is asked any more.
    fn measure(&mut self, spot: Spot) -> (f64, Vec<f64>) {
        let found = match self.refused {
            Some(_) => None,
            None => match self.at(spot) {
                Ok(n) => self.cases[n].found.as_ref().ok(),
                Err(error) => {
                    self.refused = Some(error);
                    None
                }
            },
        };
        let cost = found.and_then(|digest| self.goal.cost(digest));
        let room = |limit: &Limit| found.map_or(0.0, |digest| limit.room(digest));
        let bound = self.bound.iter().map(|(goal, most)| {
            let cost = found.and_then(|digest| goal.cost(digest));
            cost.map_or(0.0, |cost| most - cost)
        });
        let rooms = self.limits.iter().map(room).chain(bound).collect();
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

    /// Searches from where the job stands, with so many cases; then, against a second goal, for what lies
    /// between the best for either.
    pub fn run(mut self, solves: usize, against: Option<Goal>) -> Result<Self, AppError> {
        let Some(second) = against else {
            return self.best_for_goal(solves);
        };
        let part = (solves / (2 + BETWEEN.len())).max(LEAST_CASES);
        self = self.best_for_goal(2 * part)?;
        let Some(first_best) = self.best() else {
            return Ok(self);
        };
        let from = self.cases[first_best].spot.clone();
        let first = std::mem::replace(&mut self.goal, second);
        self = self.walk(&from, part)?;
        let second_best = self.best().unwrap_or(first_best);
        self.goal = first;
        let cost = |case: usize| {
            let digest = self.cases[case].found.as_ref().ok();
            digest.and_then(|digest| second.cost(digest))
        };
        let Some((worst, best)) = cost(first_best).zip(cost(second_best)) else {
            return Ok(self);
        };
        for share in BETWEEN {
            self.bound = Some((second, worst + share * (best - worst)));
            self = self.walk(&from, part)?;
        }
        self.bound = None;
        Ok(self)
    }

    /// The cases that no other is better than in both goals, in the order of the first; limits are kept.
    pub fn front(&self, second: Goal) -> Vec<usize> {
        let costs = |n: usize| {
            let case = &self.cases[n];
            let first = case.cost(self.goal, self.limits)?;
            Some((n, first, second.cost(case.found.as_ref().ok()?)?))
        };
        let mut all: Vec<_> = (0..self.cases.len()).filter_map(costs).collect();
        all.sort_by(|a, b| {
            (a.1, a.2)
                .partial_cmp(&(b.1, b.2))
                .unwrap_or(Ordering::Equal)
        });
        let mut best = f64::INFINITY;
        all.retain(|(_, _, cost)| {
            let is_better = *cost < best - SAME;
            best = best.min(*cost);
            is_better
        });
        all.into_iter().map(|(n, ..)| n).collect()
    }

    fn best_for_goal(mut self, solves: usize) -> Result<Self, AppError> {
        let start = self.start();
        self.at(start.clone())?;
        let combinations = self.asked.combinations();
        let each = (solves / combinations.len()).max(LEAST_CASES.min(solves));
        for choices in combinations {
            let spot = Spot {
                choices,
                currents: self.asked.task.is_some(),
                ..start.clone()
            };
            self = self.walk(&spot, each)?;
        }
        Ok(self)
    }

    /// Walks through the ranges from a spot.
    fn walk(self, from: &Spot, solves: usize) -> Result<Self, AppError> {
        let ranges = from.shares.len();
        if ranges == 0 {
            let mut all = self;
            return all.at(from.clone()).map(|_| all);
        }
        let limits = self.limits.len() + usize::from(self.bound.is_some());
        let all = RefCell::new(self);
        let spot = |x: &[f64]| Spot {
            shares: x.to_vec(),
            ..from.clone()
        };
        let cost = |x: &[f64], all: &mut &RefCell<Self>| all.borrow_mut().measure(spot(x)).0;
        let room = |n: usize| {
            move |x: &[f64], all: &mut &RefCell<Self>| all.borrow_mut().measure(spot(x)).1[n]
        };
        let rooms: Vec<_> = (0..limits).map(room).collect();
        let stop = StopTols {
            xtol_abs: vec![LAST_STEP; ranges],
            ..StopTols::default()
        };
        let within = vec![(0.0, 1.0); ranges];
        let step = RhoBeg::All(FIRST_STEP);
        // How it ended does not matter: all that it asked for is known.
        let _ = minimize(
            cost,
            &from.shares,
            &within,
            &rooms,
            &all,
            solves,
            step,
            Some(stop),
        );
        let mut done = all.into_inner();
        match done.refused.take() {
            Some(error) => Err(error),
            None => Ok(done),
        }
    }
}
