//! How the work of a run is shared out among its stages, for the telling of how far it has come.
//!
//! The unit is one solve of the job: grid and field. What else there is costs a share of it that
//! was measured, roughly, or, on coarser grids, goes with their cells.

use crate::checkpoint::Checkpoint;
use crate::error::AppError;
use crate::progress::{Telling, part, tell};
use ionfall_deposit::{Go, Observer, Stage, State};

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

/// Tells how far the solves of a run have come, its own and those on coarser cells.
pub(super) struct Onlooker<'a> {
    telling: &'a Telling,
    course: &'a Course,
    /// Number of the coarser grid that is at work.
    coarser: Option<usize>,
    /// What the field that is being solved takes of the whole.
    field: Share,
    keeper: Option<Keeper<'a>>,
}

/// Keeps the state of a run whose plan has so many steps.
pub(super) struct Keeper<'a> {
    pub checkpoint: &'a Checkpoint,
    pub steps: usize,
    /// Why a state could not be kept.
    pub failure: Option<AppError>,
}

impl<'a> Onlooker<'a> {
    pub fn new(telling: &'a Telling, course: &'a Course, keeper: Option<Keeper<'a>>) -> Self {
        Self {
            telling,
            course,
            coarser: None,
            field: [0.0; 2],
            keeper,
        }
    }

    /// Why a state could not be kept, if one could not.
    pub fn failure(self) -> Option<AppError> {
        self.keeper?.failure
    }
}

impl Observer for Onlooker<'_> {
    fn begins(&mut self, stage: Stage, what: &str) {
        let (share, text) = match self.coarser {
            None => (self.course.solve(stage), what.to_owned()),
            Some(n) => (
                self.course.coarser(n, stage),
                format!("results are written; plus-minus, grid {}: {what}", n + 1),
            ),
        };
        self.field = self.course.field_after(share);
        tell(self.telling, share, text);
    }

    fn coarser(&mut self, number: usize) {
        self.coarser = Some(number);
    }

    /// Where one solve is all.
    fn imbalance(&mut self, imbalance: f64) {
        if self.course.stepped {
            return;
        }
        let [from, to] = self.field;
        // From all of the currents down to the tolerance, in powers of ten.
        let share = (imbalance.log10() / TOLERANCE_POWER).clamp(0.0, 1.0);
        let text = format!("solving, imbalance {imbalance:.0e}");
        tell(&part(self.telling, from, to, String::new()), share, text);
    }

    fn keep(&mut self, state: &State) -> Go {
        if let Some(keeper) = &mut self.keeper
            && state.step < keeper.steps
            && let Err(error) = keeper.checkpoint.write(state)
        {
            keeper.failure = Some(error.into());
            return Go::Stop;
        }
        Go::On
    }
}

/// Tells one after another of the runs with other figures.
pub(super) struct Others {
    telling: Telling,
    begun: usize,
    all: usize,
}

impl Others {
    /// Some of all of them are done already.
    pub fn new(telling: &Telling, course: &Course, done: usize, all: usize) -> Self {
        let [from, to] = course.again_with;
        Self {
            telling: part(telling, from, to, String::new()),
            begun: done,
            all,
        }
    }
}

impl Observer for Others {
    fn begins(&mut self, _stage: Stage, what: &str) {
        tell(&self.telling, self.begun as f64 / self.all as f64, what);
        self.begun += 1;
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
