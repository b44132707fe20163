//! The currents of several supplies that serve a job best: a few runs with their
//! [sensitivities](crate::sensitivity), and a linear program after each.
//!
//! With the value `v_f` of each place at the present currents and its slope `T_fk` by the current of supply `k`,
//!
//! ```text
//! largest t      v_f + sum_k T_fk d_k >= t        for every place that decides
//!                s_f + sum_k S_fk d_k <= most     shares of the limiting current, volts and anodes alike
//!                |d_k| <= r                       how far slopes are trusted
//! ```
//! and the currents move by `d`. What is largest is the least of all places, which has a kink wherever another place
//! becomes the least: the program sees all of them at once, where a search by values of the least alone would
//! creep along the kinks. Places enter it as they are needed. A run that turns out worse than it was
//! foretold takes the move back, and the next one is a quarter as long.

use crate::error::DepositError;
use crate::outcome::Outcome;
use crate::run::{Begin, run_on_grid};
use crate::sensitivity::{Cause, Sensitivity};
use crate::settings::Settings;
use ionfall_field::FieldError;
use ionfall_mesh::grid::Grid;
use ionfall_model::{Hold, Model, Parts, Role};
use microlp::{ComparisonOp, OptimizationDirection, Problem, Variable};

/// Most runs for one set of currents.
const MOST_RUNS: usize = 8;
/// First moves, as a share of each range, and the shortest.
const FIRST_MOVE: f64 = 0.5;
const SHORTEST_MOVE: f64 = 2e-3;
/// After a move that was taken back the next is so much shorter.
const SHORTER: f64 = 0.25;
/// A gain foretold below this share of the value ends the search.
const GAIN: f64 = 5e-4;
/// Least current over the largest of its range: slopes are by the logarithm.
const LEAST: f64 = 1e-3;
/// Where a current of zero begins, as a share of its range.
const BEGIN: f64 = 0.05;
/// A limit is kept within this share of it.
const KEPT: f64 = 1e-6;
/// Places that enter the linear program at once, and how often some may.
const ENTER: usize = 100;
const MOST_ROUNDS: usize = 40;

/// What the currents are to serve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aim {
    /// The thinnest place over the mean of the works, as large as possible.
    Evenness,
    /// The thinnest place, as thick as possible.
    Thinnest,
    /// The largest share of the limiting current, as small as possible.
    Share,
}

/// A supply whose current may be chosen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FreeCurrent {
    /// Number of the supply; it must hold a current.
    pub supply: usize,
    /// Smallest and largest current, A.
    pub range_a: [f64; 2],
    /// Currents are multiples of this, A.
    pub step_a: f64,
}

impl FreeCurrent {
    fn rounded(&self, current_a: f64) -> f64 {
        let steps = (current_a / self.step_a).round();
        // Without the crumbs of binary arithmetic.
        let text = format!("{:.11e}", steps * self.step_a);
        let within = text.parse().unwrap_or(current_a);
        self.range_a[0].max(self.range_a[1].min(within))
    }

    fn width_a(&self) -> f64 {
        self.range_a[1] - self.range_a[0]
    }
}

/// What is sought.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// The currents that may be chosen.
    pub free: Vec<FreeCurrent>,
    /// What they are to serve.
    pub aim: Aim,
    /// Largest share of the limiting current.
    pub most_share: Option<f64>,
    /// Largest voltage of the main supply, V.
    pub most_v: Option<f64>,
    /// Largest current density at any place of an anode, A/m2.
    pub most_anode_a_per_m2: Option<f64>,
}

/// What was found.
#[derive(Debug)]
pub struct Currents<const D: usize> {
    /// The currents, in the order in which they were asked for, A.
    pub currents_a: Vec<f64>,
    /// Runs it took.
    pub runs: usize,
    /// The run with them.
    pub outcome: Outcome<D>,
}

/// Finds the currents, beginning with those of the model.
///
/// # Errors
/// [`DepositError`], where the first run fails; later ones that do are taken back.
pub fn currents<const D: usize>(
    model: &Model<Parts<D>>,
    grid: &Grid<D>,
    settings: &Settings,
    begin: Begin,
    task: &Task,
) -> Result<Currents<D>, DepositError> {
    let parts = &model.geometry;
    let causes = task.free.iter().map(|free| Cause::Supply(free.supply));
    let settings = Settings {
        causes: causes.collect(),
        ..settings.clone()
    };
    let run = |at: &[f64], begin: Begin| {
        let mut model = model.clone();
        for (free, current_a) in task.free.iter().zip(at) {
            model.supplies[free.supply].hold = Hold::Current(*current_a);
        }
        run_on_grid(&model, grid.clone(), &settings, begin, &mut ())
    };
    let start = task.free.iter().map(|free| {
        let own = match model.supplies[free.supply].hold {
            Hold::Current(a) => a,
            Hold::Voltage(_) | Hold::MeanCurrentDensity(_) => 0.0,
        };
        let least = free.range_a[0] + BEGIN * free.width_a();
        let is_none = own < LEAST * free.range_a[1];
        free.rounded(if is_none { least } else { own })
    });
    let mut at: Vec<f64> = start.collect();
    let mut outcome = run(&at, begin)?;
    let (mut runs, mut reach) = (1, FIRST_MOVE);
    while runs < MOST_RUNS && reach > SHORTEST_MOVE {
        let Some(there) = step(task, parts, &outcome, &at, reach).filter(|there| *there != at)
        else {
            break;
        };
        let warm = Begin::Warm(outcome.solution.potential_v.clone());
        runs += 1;
        match run(&there, warm) {
            Ok(next) if rank(task, parts, &next) > rank(task, parts, &outcome) => {
                (at, outcome) = (there, next);
            }
            Ok(_)
            | Err(
                DepositError::Field(FieldError::DemandAboveLimit { .. })
                | DepositError::OthersGiveAll { .. }
                | DepositError::MeanNotMet { .. },
            ) => reach *= SHORTER,
            Err(error) => return Err(error),
        }
    }
    Ok(Currents {
        currents_a: at,
        runs,
        outcome,
    })
}

/// How good a run is: first how far it keeps to the limits, then its value.
fn rank<const D: usize>(task: &Task, parts: &Parts<D>, outcome: &Outcome<D>) -> (f64, f64) {
    let over = |most: Option<f64>, is: f64| most.map_or(0.0, |m| (is / m - 1.0 - KEPT).max(0.0));
    let limits = outcome.surface.limited();
    let share = limits.map(|f| share(outcome, f)).fold(0.0, f64::max);
    let density = |f: usize| outcome.solution.current_density_a_per_m2[f];
    let anodes = anodes(parts, outcome).map(density).fold(0.0, f64::max);
    let excess = over(task.most_share, share)
        + over(task.most_v, outcome.voltage_v)
        + over(task.most_anode_a_per_m2, anodes);
    let least = Places::new(task.aim, parts, outcome).least();
    (-excess, least)
}

/// The places that decide about an aim, and their values.
struct Places<'a, const D: usize> {
    outcome: &'a Outcome<D>,
    parts: &'a Parts<D>,
    aim: Aim,
    facets: Vec<usize>,
    mean_m_per_s: f64,
}

impl<'a, const D: usize> Places<'a, D> {
    fn new(aim: Aim, parts: &'a Parts<D>, outcome: &'a Outcome<D>) -> Self {
        let facets = match aim {
            Aim::Share => outcome.surface.limited().collect(),
            Aim::Evenness | Aim::Thinnest => outcome.surface.deciding(parts, &None),
        };
        let growth = |f: usize| outcome.growth_m_per_s[f];
        Self {
            outcome,
            parts,
            aim,
            facets,
            mean_m_per_s: outcome.surface.mean(parts, &None, growth),
        }
    }

    fn value(&self, f: usize) -> f64 {
        let growth = |f: usize| self.outcome.growth_m_per_s[f];
        match self.aim {
            Aim::Share => -share(self.outcome, f),
            Aim::Evenness | Aim::Thinnest => {
                self.outcome.surface.patches.at(f, growth) / self.mean_m_per_s
            }
        }
    }

    fn least(&self) -> f64 {
        let values = self.facets.iter().map(|&f| match self.aim {
            // Over a mean that moves the thinnest place would be the evenness.
            Aim::Thinnest => self.value(f) * self.mean_m_per_s,
            _ => self.value(f),
        });
        values.fold(f64::INFINITY, f64::min)
    }

    /// Slopes of the value at a facet by each current, 1/A.
    fn slopes(&self, f: usize, by: &[(&Sensitivity, f64)], means: &[f64]) -> Vec<f64> {
        let slope = |(k, (s, ampere)): (usize, &(&Sensitivity, f64))| {
            let growth = |f: usize| s.growth_m_per_s[f];
            let own = match self.aim {
                Aim::Share => -share_slope(self.outcome, s, f),
                Aim::Thinnest => self.outcome.surface.patches.at(f, growth) / self.mean_m_per_s,
                Aim::Evenness => {
                    let own = self.outcome.surface.patches.at(f, growth);
                    (own - self.value(f) * means[k]) / self.mean_m_per_s
                }
            };
            own / ampere
        };
        by.iter().enumerate().map(slope).collect()
    }

    /// How the mean follows each cause.
    fn means(&self, by: &[(&Sensitivity, f64)]) -> Vec<f64> {
        let mean = |s: &Sensitivity| {
            let growth = |f: usize| s.growth_m_per_s[f];
            self.outcome.surface.mean(self.parts, &None, growth)
        };
        by.iter().map(|(s, _)| mean(s)).collect()
    }
}

/// The facets of the anodes.
fn anodes<'a, const D: usize>(
    parts: &'a Parts<D>,
    outcome: &'a Outcome<D>,
) -> impl Iterator<Item = usize> + 'a {
    let facets = 0..outcome.solution.current_density_a_per_m2.len();
    let electrode = |f: usize| &parts.electrodes[outcome.surface.electrode(f)];
    facets.filter(move |f| electrode(*f).role == Role::Anode)
}

/// Share of the limiting current at a facet.
fn share<const D: usize>(outcome: &Outcome<D>, f: usize) -> f64 {
    outcome.surface.share(|f| outcome.growth_m_per_s[f], f)
}

/// How it follows a cause.
fn share_slope<const D: usize>(outcome: &Outcome<D>, by: &Sensitivity, f: usize) -> f64 {
    outcome.surface.share(|f| by.growth_m_per_s[f], f)
}

/// A row of the linear program: `value + slopes d >= bound`, or the variable `t` where there is no bound.
struct Row {
    value: f64,
    slopes: Vec<f64>,
    bound: Option<f64>,
}

impl Row {
    /// What is missing in it.
    fn missing(&self, moves: &[f64], t: f64) -> f64 {
        let moved: f64 = self.slopes.iter().zip(moves).map(|(s, d)| s * d).sum();
        self.bound.unwrap_or(t) - self.value - moved
    }
}

/// The currents that the linear program moves to; nothing where the gain it foretells is none.
fn step<const D: usize>(
    task: &Task,
    parts: &Parts<D>,
    outcome: &Outcome<D>,
    at: &[f64],
    reach: f64,
) -> Option<Vec<f64>> {
    let of = |free: &FreeCurrent| {
        let cause = Cause::Supply(free.supply);
        outcome.sensitivities.iter().find(|s| s.cause == cause)
    };
    let found: Option<Vec<&Sensitivity>> = task.free.iter().map(of).collect();
    let by: Vec<(&Sensitivity, f64)> = found?.into_iter().zip(at.iter().copied()).collect();
    let rows = rows(task, parts, outcome, &by);
    let now = rows
        .iter()
        .filter(|r| r.bound.is_none())
        .map(|r| r.value)
        .fold(f64::INFINITY, f64::min);
    let within = task.free.iter().zip(at).map(|(free, now_a)| {
        let reach_a = reach * free.width_a();
        let least_a = free.range_a[0].max(LEAST * free.range_a[1]);
        let low = (least_a - now_a).max(-reach_a).min(0.0);
        let high = (free.range_a[1] - now_a).min(reach_a).max(0.0);
        (low, high)
    });
    let within: Vec<(f64, f64)> = within.collect();
    let (moves, t) = solve(&rows, &within)?;
    let broken = rows.iter().any(|r| r.bound.is_some_and(|b| r.value < b));
    (broken || t - now > GAIN * now.abs()).then(|| {
        let free = task.free.iter().zip(at).zip(moves);
        free.map(|((free, now_a), by)| free.rounded(now_a + by))
            .collect()
    })
}

fn rows<const D: usize>(
    task: &Task,
    parts: &Parts<D>,
    outcome: &Outcome<D>,
    by: &[(&Sensitivity, f64)],
) -> Vec<Row> {
    let places = Places::new(task.aim, parts, outcome);
    let means = places.means(by);
    let aims = places.facets.iter().map(|&f| Row {
        value: places.value(f),
        slopes: places.slopes(f, by, &means),
        bound: None,
    });
    let mut rows: Vec<Row> = aims.collect();
    if let Some(most) = task.most_share {
        rows.extend(outcome.surface.limited().map(|f| {
            Row {
                value: -share(outcome, f),
                slopes: by
                    .iter()
                    .map(|(s, ampere)| -share_slope(outcome, s, f) / ampere)
                    .collect(),
                bound: Some(-most),
            }
        }));
    }
    if let Some(most) = task.most_anode_a_per_m2 {
        rows.extend(anodes(parts, outcome).map(|f| {
            let slope = |(s, ampere): &(&Sensitivity, f64)| -s.current_density_a_per_m2[f] / ampere;
            Row {
                value: -outcome.solution.current_density_a_per_m2[f],
                slopes: by.iter().map(slope).collect(),
                bound: Some(-most),
            }
        }));
    }
    if let Some(most_v) = task.most_v {
        rows.push(Row {
            value: -outcome.voltage_v,
            slopes: by
                .iter()
                .map(|(s, ampere)| -s.supply_v[0] / ampere)
                .collect(),
            bound: Some(-most_v),
        });
    }
    rows
}

/// Moves and `t` of the linear program over all rows. A bound that the start breaks already, and that no move
/// keeps, is to be broken no further.
fn solve(rows: &[Row], within: &[(f64, f64)]) -> Option<(Vec<f64>, f64)> {
    let reachable = |row: &Row| {
        let best = row.slopes.iter().zip(within).map(|(s, (low, high))| {
            let (a, b) = (s * low, s * high);
            a.max(b)
        });
        row.value + best.sum::<f64>()
    };
    let mut inside: Vec<usize> = Vec::new();
    let (mut moves, mut t) = (vec![0.0; within.len()], f64::INFINITY);
    for _ in 0..MOST_ROUNDS {
        let mut missing: Vec<(f64, usize)> = (rows.iter().enumerate())
            .map(|(n, row)| (row.missing(&moves, t), n))
            .filter(|(by, n)| *by > 1e-12 && !inside.contains(n))
            .collect();
        if missing.is_empty() {
            return Some((moves, t));
        }
        missing.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        inside.extend(missing.iter().take(ENTER).map(|m| m.1));
        let mut problem = Problem::new(OptimizationDirection::Maximize);
        let top = problem.add_var(1.0, (f64::NEG_INFINITY, f64::INFINITY));
        let all: Vec<Variable> = within.iter().map(|w| problem.add_var(0.0, *w)).collect();
        for &n in &inside {
            let row = &rows[n];
            let mut sides: Vec<(Variable, f64)> =
                all.iter().copied().zip(row.slopes.clone()).collect();
            let bound = match row.bound {
                None => {
                    sides.push((top, -1.0));
                    0.0
                }
                Some(bound) => bound.min(0.999 * reachable(row) + 0.001 * row.value),
            };
            problem.add_constraint(sides, ComparisonOp::Ge, bound - row.value);
        }
        // Without a place that decides `t` has no end.
        if !inside.iter().any(|n| rows[*n].bound.is_none()) {
            problem.add_constraint([(top, 1.0)], ComparisonOp::Le, 0.0);
        }
        let found = problem.solve().ok()?.into_solution().ok()?;
        moves = all.iter().map(|v| found[*v]).collect();
        t = found[top];
    }
    Some((moves, t))
}
