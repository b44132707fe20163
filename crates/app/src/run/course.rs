//! How the work of a run is shared out among its stages, for the telling of how far it has come.
//!
//! The unit is one solve of the job: grid and field. What else there is costs a share of it that
//! was measured, roughly, or, on coarser grids, goes with their cells.

use crate::progress::{Telling, part, tell};
use ionfall_deposit::Stage;
use ionfall_field::Watch;
use std::sync::{Arc, Mutex, PoisonError};

/// Shares of a solve that are the grid's, and cost of writing the results over that of a solve,
/// where one solve of the field is all and where there are many time steps.
const AT_ONCE: [f64; 2] = [0.45, 0.35];
const STEPPED: [f64; 2] = [0.05, 0.05];
/// Cost of a solve that begins from a similar one, over that of the field.
const WARM: f64 = 0.8;
/// Cost of writing the report again, over that of writing everything.
const AGAIN: f64 = 0.5;
/// Power of ten of the solver's tolerance.
const TOLERANCE_POWER: f64 = -10.0;

/// From and to, as shares of the whole.
pub(super) type Share = [f64; 2];

/// The stages of a run with their shares.
#[derive(Debug, PartialEq)]
pub(super) struct Course {
    grid: Share,
    field: Share,
    /// The bath at the ends of its bands, and what a shop could change.
    pub again_with: Share,
    pub writing: Share,
    coarser: Vec<Share>,
    pub again: Share,
    /// Share of a solve that is the grid's.
    split: f64,
    stepped: bool,
}

impl Course {
    /// With so many runs for bands and levers, and coarser grids that cost so much of a solve.
    pub fn new(stepped: bool, more: usize, coarser: &[f64]) -> Self {
        let [split, write] = if stepped { STEPPED } else { AT_ONCE };
        let again = if coarser.is_empty() { 0.0 } else { AGAIN };
        let head = [
            split,
            1.0 - split,
            more as f64 * WARM * (1.0 - split),
            write,
        ];
        let all: Vec<f64> = (head.iter().chain(coarser))
            .copied()
            .chain([again * write])
            .collect();
        let whole: f64 = all.iter().sum();
        let mut done = 0.0;
        let ends: Vec<Share> = all
            .iter()
            .map(|cost| {
                let from = done;
                done += cost / whole;
                [from, done.min(1.0)]
            })
            .collect();
        Self {
            grid: ends[0],
            field: ends[1],
            again_with: ends[2],
            writing: ends[3],
            coarser: ends[4..4 + coarser.len()].to_vec(),
            again: ends[4 + coarser.len()],
            split,
            stepped,
        }
    }

    /// Where a stage of the job's own solve begins.
    pub fn solve(&self, stage: Stage) -> f64 {
        within([self.grid[0], self.field[1]], self.split, stage)
    }

    /// Where a stage of the solve on a coarser grid begins.
    pub fn coarser(&self, n: usize, stage: Stage) -> f64 {
        let share = self.coarser.get(n).copied();
        within(share.unwrap_or(self.again), self.split, stage)
    }

    /// Where the field of the solve that has just begun its field lies.
    fn field_after(&self, begins: f64) -> Share {
        let solves = [[self.grid[0], self.field[1]]];
        let mut solves = solves.iter().chain(&self.coarser);
        let own = solves.find(|s| (s[0]..s[1]).contains(&begins));
        [begins, own.map_or(begins, |s| s[1])]
    }
}

fn within([from, to]: Share, split: f64, stage: Stage) -> f64 {
    let done = match stage {
        Stage::Grid => 0.0,
        Stage::Field => split,
        Stage::Time(done) => split + done * (1.0 - split),
    };
    from + done * (to - from)
}

/// The part of the work that a telling solver is at.
#[derive(Clone, Debug)]
pub(super) struct Now(Arc<Mutex<Share>>);

impl Now {
    pub fn new() -> Self {
        Self(Arc::new(Mutex::new([0.0; 2])))
    }

    /// Tells a stage, and keeps in mind what part a field that begins takes.
    pub fn begin(&self, telling: &Telling, course: &Course, share: f64, text: &str) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = course.field_after(share);
        tell(telling, share, text);
    }

    /// Hears the imbalance of a solver, where one solve is all.
    pub fn watch(&self, telling: &Telling, course: &Course) -> Watch {
        if course.stepped {
            return Watch::default();
        }
        let (now, telling) = (Arc::clone(&self.0), Arc::clone(telling));
        Watch::new(move |imbalance: f64| {
            let [from, to] = *now.lock().unwrap_or_else(PoisonError::into_inner);
            // From all of the currents down to the tolerance, in powers of ten.
            let share = (imbalance.log10() / TOLERANCE_POWER).clamp(0.0, 1.0);
            let text = format!("solving, imbalance {imbalance:.0e}");
            tell(&part(&telling, from, to, String::new()), share, text);
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stages_follow_each_other_to_the_end() {
        for stepped in [false, true] {
            for coarser in [&[][..], &[0.5], &[0.25, 0.06]] {
                for bands in [0, 6] {
                    let course = Course::new(stepped, bands, coarser);
                    let mut shares =
                        vec![course.grid, course.field, course.again_with, course.writing];
                    shares.extend(&course.coarser);
                    shares.push(course.again);
                    assert_eq!(shares[0][0], 0.0);
                    assert!((shares.last().unwrap()[1] - 1.0).abs() < 1e-12);
                    for pair in shares.windows(2) {
                        assert_eq!(pair[0][1], pair[1][0]);
                    }
                    assert!(shares.iter().all(|s| s[0] <= s[1]));
                    assert_eq!(course.coarser.len(), coarser.len());
                }
            }
        }
    }

    #[test]
    fn a_coarser_grid_takes_as_much_as_it_costs() {
        let course = Course::new(false, 0, &[0.25, 0.0625]);
        let width = |s: Share| s[1] - s[0];
        let solve = course.field[1] - course.grid[0];
        assert!((width(course.coarser[0]) / solve - 0.25).abs() < 1e-12);
        assert!((width(course.coarser[1]) / solve - 0.0625).abs() < 1e-12);
        let begins = course.coarser(1, Stage::Field);
        let [from, to] = course.field_after(begins);
        assert_eq!((from, to), (begins, course.coarser[1][1]));
        assert!(course.coarser(0, Stage::Time(0.5)) < course.coarser(0, Stage::Time(1.0)));
    }
}
