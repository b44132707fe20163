//! What a search has gained, and how sure that is: from the full runs before and after.
//!
//! Both runs have errors of their grids, and most of an error is the same in both. So the plus-minus of a gain is
//! not that of the figures, but that of their quotient, from the quotients on the same coarser grids.

use super::goal::Goal;
use crate::run::Finished;
use ionfall_deposit::uncertainty::{Figure, plus_minus};
use ionfall_report::Digest;

/// A gain, and what is open of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Gain {
    /// The figure of the goal before and after, in full runs.
    pub values: [f64; 2],
    /// The plus-minus of the second over the first; where that is not known the larger of both figures', as a share.
    pub open: Option<f64>,
}

impl Gain {
    /// Nothing where the goal has no figure in one of the runs.
    pub fn new(goal: Goal, runs: [&Finished; 2], digests: &[Digest; 2]) -> Option<Self> {
        let [a, b] = digests.each_ref().map(|digest| goal.value(digest));
        let values = [a?, b?];
        let alone = runs.map(|run| open_alone(goal, run)).into_iter();
        let open = open_of_both(goal, runs, values[1] / values[0]);
        Some(Self {
            values,
            open: open.or(alone.flatten().reduce(f64::max)),
        })
    }

    /// The change, as a share.
    pub fn change(&self) -> f64 {
        self.values[1] / self.values[0] - 1.0
    }

    /// Is it larger than what is open of it?
    pub fn is_sure(&self) -> bool {
        self.open.is_none_or(|open| self.change().abs() > open)
    }
}

/// The plus-minus of the quotient of both runs.
fn open_of_both(goal: Goal, runs: [&Finished; 2], quotient: f64) -> Option<f64> {
    let [before, after] = runs.map(|run| run.summary.beside.uncertainty.as_ref());
    let grids = before?.grids.iter().zip(&after?.grids);
    let quotients = grids.map(|(a, b)| {
        let [a_value, b_value] = [a, b].map(|grid| goal.answer(&grid.answers));
        (a.factor == b.factor).then_some((a.factor, b_value? / a_value?))
    });
    let quotients: Option<Vec<(f64, f64)>> = quotients.collect();
    plus_minus(Figure::Least, quotient, &quotients?)
}

/// The plus-minus of the goal of a run, as a share of it.
fn open_alone(goal: Goal, run: &Finished) -> Option<f64> {
    let all = run.summary.beside.uncertainty.as_ref()?;
    let share = |off: Option<f64>, value: Option<f64>| Some(off? / value?);
    if goal == Goal::Hours {
        let reached = run.summary.wanted.as_ref()?.came.reached_after_s;
        return share(all.wish_s, reached);
    }
    let bodies = run.summary.bodies.iter().zip(&all.bodies);
    let works = bodies.filter(|(body, _)| body.role.is_cathode());
    let of = works.filter_map(|(body, off)| match goal {
        Goal::Share => share(off.limit_share, body.limit_share.map(|p| p.value)),
        _ => share(off.thickness.thinnest_m, body.thinnest.map(|p| p.value)),
    });
    of.reduce(f64::max)
}
