//! How far an answer may be off because cells and time steps are not infinitely small.
//!
//! The same job is run again on cells twice and four times as large, with time steps held to twice
//! and four times the tolerance. With an error `C h^p` three answers in a row give the order `p`
//! and the error of the finest:
//!
//! ```text
//! p = log2(|f2 - f4| / |f1 - f2|)        |f1 - f| = |f1 - f2| / (2^p - 1)
//! ```
//! Cells twice as large may not reach into a hollow any more: where the thinnest places of the two
//! grids differ much, the still larger cells would say nothing at all, and cells half as large again
//! take their place (`NEAR`).
//!
//! The order is held within bounds, and the error multiplied by a factor of safety. The upper bound
//! is low: next to edges the coarsest grid has errors of higher order beside that of the first, and
//! the order it shows is too good. Answers that do not come nearer to each other say nothing of an
//! order: then the largest spread of the three counts. The place of an extreme lies now nearer to an
//! edge, now farther from it, by chance of the grid, so that two of three answers may agree without
//! being good: the spread of all three counts there in any case. The factors are measured
//! (`tests/uncertainty`), so that the plus-minus holds in 95 of 100 cases.

use crate::error::DepositError;
use crate::levers::LeverAnswers;
use crate::observer::Observer;
use crate::outcome::{BodyOutcome, Outcome, Thicknesses, VoltsAmps};
use crate::place::{EdgeFigure, Place};
use crate::run::run;
use crate::settings::Settings;
use ionfall_mesh::grid::count_cells;
use ionfall_model::{Hold, Model, Parts, Role, Setting, Until};
use serde::Serialize;

/// Times larger cells from one of the coarser grids to the next.
pub const COARSER: f64 = 2.0;
/// Cells of the coarser grids over those of the job.
const FACTORS: [f64; 2] = [COARSER, COARSER * COARSER];
/// Cells of the nearest coarser grid, where bodies or their hollows do not stand larger ones.
const NEAR: f64 = 1.5;
/// Relative difference of two thinnest places, on the job's cells and on ones twice as large, from
/// which the larger do not resolve the place (chosen on a dish and a tube; that the plus-minus holds is
/// measured, `tests/uncertainty`).
const UNRESOLVED: f64 = 0.2;
/// Orders of convergence that are believed.
const ORDERS: [f64; 2] = [0.5, 1.25];
/// Relative error that a graded tree keeps however alike the answers are: its leaves grow with the
/// distance from the bodies, on all grids in the same way (measured on eccentric cylinders and
/// concentric spheres: 0.02 to 0.04 % in totals).
const FLOOR: f64 = 4e-4;
/// Spread of three answers, relative, that only an edge can make.
const AT_AN_EDGE: f64 = 0.1;
/// A body whose surface differs by more than this share is no longer the same body.
const SAME_AREA: f64 = 0.03;

/// What kind of answer a figure is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Figure {
    /// An integral, or a value at a place that is given: currents, volts, means.
    Whole,
    /// The smallest value of all places, and times that wait for it.
    Least,
    /// The largest value of all places, often at an edge.
    Most,
}

/// Factors of safety: of the extrapolated error, of the spread of three answers that do not come
/// nearer to each other, of the spread of three answers in any case, and of the extrapolated error
/// of first order where there are but two grids.
#[derive(Clone, Copy)]
struct Safety {
    extrapolated: f64,
    unsteady: f64,
    spread: f64,
    of_two: f64,
}

impl Figure {
    /// The factors; `doubt` is 0 where the answers are alike and 1 where they are so far apart that
    /// the extreme must lie at an edge.
    fn safety(self, doubt: f64) -> Safety {
        let (unsteady, spread) = match self {
            Self::Whole => (1.0, 0.0),
            // With 1.0 the plus-minus of a plaque, deep between letters, failed at two of twenty cell sizes.
            Self::Least => (1.3, 0.5),
            Self::Most => (1.0 + 0.5 * doubt, 0.4 + 0.5 * doubt),
        };
        let most = self == Self::Most;
        Safety {
            extrapolated: if most { 1.5 } else { 1.25 },
            unsteady,
            spread,
            of_two: if most { 5.0 } else { 2.0 },
        }
    }
}

/// Plus-minus of an answer, in its unit: from that of the job's grid and those of coarser grids,
/// each with its cell size over that of the job, finest first.
///
/// ```
/// use ionfall_deposit::uncertainty::{Figure, plus_minus};
/// // Of first order: the error left is the last difference, times 1.25.
/// let off = plus_minus(Figure::Whole, 10.0, &[(2.0, 9.7), (4.0, 9.1)]).unwrap();
/// assert!((off - 0.375).abs() < 1e-12);
/// // Answers that happen to agree are still no better than the grid is.
/// assert_eq!(plus_minus(Figure::Whole, 10.0, &[(2.0, 10.0)]), Some(0.004));
/// assert_eq!(plus_minus(Figure::Whole, 10.0, &[]), None);
/// ```
pub fn plus_minus(figure: Figure, fine: f64, coarser: &[(f64, f64)]) -> Option<f64> {
    let &(ratio, second) = coarser.first()?;
    let last = (fine - second).abs();
    let off = match coarser.get(1) {
        None => figure.safety(1.0).of_two * last / (ratio - 1.0),
        Some(&(coarsest, third)) => {
            let before = second - third;
            let widest = last.max(before.abs()).max((fine - third).abs());
            let safety = figure.safety((widest / (AT_AN_EDGE * fine.abs())).min(1.0));
            let quotient = before.abs() / last;
            let shrinks =
                (fine - second) * before >= 0.0 && quotient > coarsest.ln() / ratio.ln() - 1.0;
            let error = if shrinks {
                let order = order_of(quotient, [ratio, coarsest]);
                safety.extrapolated * last / (ratio.powf(order) - 1.0)
            } else {
                safety.unsteady * widest
            };
            error.max(safety.spread * widest)
        }
    };
    Some(off.max(FLOOR * fine.abs()))
}

/// The order `p` at which errors `C h^p` on cells of 1, `r` and `s` differ by the quotient
/// `(s^p - r^p) / (r^p - 1)`, which grows with it; within the orders that are believed.
fn order_of(quotient: f64, [r, s]: [f64; 2]) -> f64 {
    let [mut low, mut high] = ORDERS;
    // To the last digit.
    for _ in 0..f64::MANTISSA_DIGITS {
        let p = 0.5 * (low + high);
        if (s.powf(p) - r.powf(p)) / (r.powf(p) - 1.0) < quotient {
            low = p;
        } else {
            high = p;
        }
    }
    0.5 * (low + high)
}

/// Plus-minus of the answers of a run. What the job holds has none.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Uncertainty {
    /// The coarser grids, finest first.
    pub grids: Vec<CoarserGrid>,
    /// The main supply at the end.
    #[serde(flatten)]
    pub main: VoltsAmps<Option<f64>>,
    /// All supplies at the end, in their order.
    pub supplies: Vec<SupplyUncertainty>,
    /// Energy taken from all supplies, J.
    pub energy_j: Option<f64>,
    /// When the wanted thickness was or would be reached everywhere, s.
    pub wish_s: Option<f64>,
    /// Time of the plan, s, if one of its steps waits for something.
    pub time_s: Option<f64>,
    /// The electrodes, in their order.
    pub bodies: Vec<BodyUncertainty>,
    /// Why a grid was left out.
    pub left_out: Vec<String>,
}

/// Plus-minus of one supply at the end.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SupplyUncertainty {
    /// Name.
    pub name: String,
    /// What it gives.
    #[serde(flatten)]
    pub given: VoltsAmps<Option<f64>>,
}

/// A coarser grid.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CoarserGrid {
    /// Its cell sizes over those of the job.
    pub factor: f64,
    /// Its cells.
    pub cells: usize,
    /// The answers on it, by which changes are judged.
    pub answers: LeverAnswers,
}

/// Plus-minus of the answers of one electrode.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BodyUncertainty {
    /// Name.
    pub name: String,
    /// Current at the end, A.
    pub current_a: Option<f64>,
    /// Its thickness.
    #[serde(flatten)]
    pub thickness: Thicknesses<Option<f64>>,
    /// The thickness that a twentieth of its area exceeds, m; told where an accuracy is asked for.
    #[serde(skip)]
    pub high_m: Option<f64>,
    /// Largest share of the limiting current.
    pub limit_share: Option<f64>,
}

/// What the coarser grids would cost: their cells over those of a run, for each.
///
/// # Errors
/// See [`count_cells`].
pub fn cost<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    cells: usize,
) -> Result<Vec<f64>, DepositError> {
    let ratio = |factor: &f64| {
        let coarse = count_cells(
            &scaled(model, *factor).geometry.domain,
            settings.memory_bytes,
        )?;
        Ok(coarse as f64 / cells as f64)
    };
    FACTORS.iter().map(ratio).collect()
}

/// Coarser grids, together, up to this share of a run's cells are worth their time; so are all of a
/// run with so few cells.
const WORTH_SHARE: f64 = 0.5;
const SMALL_CELLS: usize = 60_000;

/// Is the plus-minus worth its [`cost`]? Cells decide, not the clock, so that the same job has the
/// same answers everywhere.
pub fn worth_it(cost: &[f64], cells: usize) -> bool {
    cells <= SMALL_CELLS || cost.iter().sum::<f64>() <= WORTH_SHARE
}

/// Runs a finished job again on coarser grids, and compares. The observer is told the number of
/// each run, and its stages.
///
/// # Errors
/// Of the run on the finest of the coarser grids, whose cells may be too large for thin bodies or
/// small contacts.
pub fn uncertainty<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    fine: &Outcome<D>,
    observer: &mut dyn Observer,
) -> Result<Uncertainty, String> {
    beside_coarser(model, settings, fine, observer).map(|(found, _)| found)
}

/// The same, and the answers on the finest of the coarser grids.
pub(crate) fn beside_coarser<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    fine: &Outcome<D>,
    observer: &mut dyn Observer,
) -> Result<(Uncertainty, Outcome<D>), String> {
    let mut coarser: Vec<(f64, Outcome<D>)> = Vec::new();
    let mut left_out = Vec::new();
    for (n, factor) in FACTORS.into_iter().enumerate() {
        observer.coarser(n);
        let lost = coarser.first().is_some_and(|(_, c)| !resolves(c, fine));
        let factor = if lost { NEAR } else { factor };
        match comparable(model, settings, fine, factor, observer) {
            Ok(outcome) => coarser.push((factor, outcome)),
            Err(reason) => {
                left_out.push(reason);
                break;
            }
        }
    }
    if coarser.is_empty() {
        observer.coarser(0);
        match comparable(model, settings, fine, NEAR, observer) {
            Ok(outcome) => coarser.push((NEAR, outcome)),
            Err(reason) => {
                left_out.push(reason);
                return Err(left_out.join("; "));
            }
        }
    }
    coarser.sort_by(|a, b| a.0.total_cmp(&b.0));
    let found = compare(model, fine, &coarser, left_out);
    Ok((found, coarser.swap_remove(0).1))
}

/// Are the thinnest places of the work on coarser cells still those of the job?
fn resolves<const D: usize>(coarse: &Outcome<D>, fine: &Outcome<D>) -> bool {
    let mut pairs = fine.bodies.iter().zip(&coarse.bodies);
    pairs.all(
        |(fine, coarse)| match (fine.role, at(fine.thinnest), at(coarse.thinnest)) {
            (Role::Work, Some(fine), Some(coarse)) => {
                (coarse - fine).abs() <= UNRESOLVED * fine.abs()
            }
            _ => true,
        },
    )
}

/// The job on cells `factor` times as large, if its bodies are still the same there.
fn comparable<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    fine: &Outcome<D>,
    factor: f64,
    observer: &mut dyn Observer,
) -> Result<Outcome<D>, String> {
    let on = format!("on cells {factor} times as large");
    let coarse = run(&scaled(model, factor), &settings.coarser(factor), observer)
        .map_err(|e| format!("{on}, {e}"))?;
    for (fine, coarse) in fine.bodies.iter().zip(&coarse.bodies) {
        let off = coarse.area_m2 / fine.area_m2 - 1.0;
        if off.is_nan() || off.abs() > SAME_AREA {
            return Err(format!(
                "{on} the surface of `{}` differs by {:.0} %",
                fine.name,
                100.0 * off
            ));
        }
    }
    Ok(coarse)
}

fn compare<const D: usize>(
    model: &Model<Parts<D>>,
    fine: &Outcome<D>,
    coarser: &[(f64, Outcome<D>)],
    left_out: Vec<String>,
) -> Uncertainty {
    let of = |figure: Figure, value: &dyn Fn(&Outcome<D>) -> Option<f64>| {
        let values: Option<Vec<_>> = coarser.iter().map(|(k, o)| Some((*k, value(o)?))).collect();
        plus_minus(figure, value(fine)?, &values?)
    };
    let body = |e: usize| {
        let of = |figure: Figure, value: &dyn Fn(&BodyOutcome) -> Option<f64>| {
            of(figure, &|o: &Outcome<D>| value(o.bodies.get(e)?))
        };
        BodyUncertainty {
            name: fine.bodies[e].name.clone(),
            current_a: of(Figure::Whole, &|b| Some(b.current_a)),
            thickness: Thicknesses {
                thinnest_m: of(Figure::Least, &|b| at(b.thinnest)),
                mean_m: of(Figure::Whole, &|b| Some(b.thickness_m?.mean)),
                thickest_m: of(Figure::Most, &|b| at(b.thickest))
                    .filter(|_| settles(fine.bodies[e].thickest)),
            },
            high_m: of(Figure::Most, &|b| Some(b.thickness_m?.p95)),
            limit_share: of(Figure::Most, &|b| at(b.limit_share))
                .filter(|_| settles(fine.bodies[e].limit_share)),
        }
    };
    let supply = |n: usize| {
        let held = held(model, fine, n);
        let volts = of(Figure::Whole, &|o| Some(o.supplies.get(n)?.voltage_v));
        let amperes = of(Figure::Whole, &|o| Some(o.supplies.get(n)?.current_a));
        SupplyUncertainty {
            name: fine.supplies[n].name.clone(),
            given: VoltsAmps {
                voltage_v: volts.filter(|_| held != Held::Voltage),
                current_a: amperes.filter(|_| held != Held::Current),
            },
        }
    };
    let supplies: Vec<_> = (0..fine.supplies.len()).map(supply).collect();
    let main = supplies.first().map(|s| s.given);
    let waits = |until: &Until| !matches!(until, Until::Time(_));
    Uncertainty {
        grids: coarser
            .iter()
            .map(|(factor, outcome)| CoarserGrid {
                factor: *factor,
                cells: outcome.grid.len(),
                answers: LeverAnswers::of(outcome),
            })
            .collect(),
        main: main.unwrap_or_default(),
        supplies,
        energy_j: of(Figure::Whole, &|o| o.energy_j),
        wish_s: of(Figure::Least, &|o| o.wish.time_s()),
        time_s: of(Figure::Least, &|o| o.time_s)
            .filter(|_| model.plan.iter().any(|step| waits(&step.until))),
        bodies: (0..fine.bodies.len()).map(body).collect(),
        left_out,
    }
}

fn at(place: Option<Place>) -> Option<f64> {
    place.map(|p| p.value)
}

/// Is the value at a place one that finer cells would come nearer to? At a sharp edge that the cells do
/// not resolve it is not.
fn settles(place: Option<Place>) -> bool {
    let edge = place.and_then(|p| p.edge);
    edge.is_none_or(|e| e.figure == EdgeFigure::Resolved)
}

/// What a supply is told to keep at the end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Held {
    Voltage,
    Current,
    /// A mean current density: the current follows the area.
    Neither,
}

fn held<const D: usize>(model: &Model<Parts<D>>, fine: &Outcome<D>, supply: usize) -> Held {
    // The plan is that of the main supply.
    let settings = model.plan.iter().rev().map(|step| step.setting);
    let last = settings.into_iter().find_map(|setting| match setting {
        Setting::Rest => None,
        Setting::Hold(hold) | Setting::Ramp(_, hold) => Some(hold),
    });
    let hold = last
        .filter(|_| supply == 0)
        .unwrap_or(model.supplies[supply].hold);
    match (hold, fine.supplies[supply].limited) {
        (Hold::Voltage(_), true) | (Hold::Current(_), false) => Held::Current,
        (Hold::Voltage(_), false) | (_, true) => Held::Voltage,
        (Hold::MeanCurrentDensity(_), false) => Held::Neither,
    }
}

/// A model's parts with all wanted cell sizes times a factor.
pub fn scaled<const D: usize>(model: &Model<Parts<D>>, factor: f64) -> Model<Parts<D>> {
    let mut model = model.clone();
    let domain = &mut model.geometry.domain;
    for body in &mut domain.bodies {
        body.across /= factor;
    }
    let bodies = domain.bodies.iter_mut();
    let bodies = bodies.flat_map(|b| [&mut b.finest_m, &mut b.edge_m]);
    let sheets = domain.sheets.iter_mut();
    let sheets = sheets.flat_map(|s| [&mut s.finest_m, &mut s.edge_m]);
    let regions = domain.regions.iter_mut().map(|r| &mut r.finest_m);
    let tank = [&mut domain.wall_m, &mut domain.coarsest_m];
    for size_m in bodies.chain(sheets).chain(regions).chain(tank) {
        *size_m *= factor;
    }
    model
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Answers with an error of one power of the cell size, on grids of 1, 2 and 4.
    fn power(order: f64) -> f64 {
        let value = |h: f64| 1.0 + 0.1 * h.powf(order);
        let coarser = [(2.0, value(2.0)), (4.0, value(4.0))];
        plus_minus(Figure::Whole, value(1.0), &coarser).unwrap()
    }

    #[test]
    fn errors_of_one_order_are_known_up_to_the_factor_of_safety() {
        let safety = Figure::Whole.safety(0.0).extrapolated;
        for order in [0.5, 0.75, 1.0, 1.25] {
            assert_relative_eq!(power(order), safety * 0.1, max_relative = 1e-9);
        }
        // A higher order is not believed: on the safe side.
        assert!(power(2.0) > safety * 0.1);
    }

    /// The same on cells of 1, 1.5 and 2.
    #[test]
    fn near_grids_know_the_order_too() {
        let safety = Figure::Whole.safety(0.0).extrapolated;
        for order in [0.5, 0.75, 1.0, 1.25] {
            let value = |h: f64| 1.0 + 0.1 * h.powf(order);
            let coarser = [(1.5, value(1.5)), (2.0, value(2.0))];
            let off = plus_minus(Figure::Whole, value(1.0), &coarser).unwrap();
            assert_relative_eq!(off, safety * 0.1, max_relative = 1e-9);
        }
    }

    #[test]
    fn answers_that_do_not_come_nearer_count_with_their_whole_spread() {
        let off =
            |second, third| plus_minus(Figure::Whole, 1.0, &[(2.0, second), (4.0, third)]).unwrap();
        // To and fro, and ever farther.
        assert_relative_eq!(off(1.1, 0.95), 0.15, max_relative = 1e-9);
        assert_relative_eq!(off(1.2, 1.3), 0.3, max_relative = 1e-9);
        // An extreme is not believed to be better than the spread of all grids says.
        let lucky = [(2.0, 1.001), (4.0, 1.3)];
        let of = |figure| plus_minus(figure, 1.0, &lucky).unwrap();
        assert!(of(Figure::Whole) < 0.01 && of(Figure::Least) > 0.07 && of(Figure::Most) > 0.26);
        // One near grid: taken to be of first order.
        let near = plus_minus(Figure::Whole, 1.0, &[(1.5, 1.1)]).unwrap();
        assert_relative_eq!(near, 0.4, max_relative = 1e-9);
    }

    #[test]
    fn cells_decide_whether_it_is_worth_it() {
        assert!(worth_it(&[0.25, 0.07], 10_000_000));
        assert!(!worth_it(&[0.4, 0.15], 10_000_000));
        assert!(worth_it(&[0.4, 0.15], 50_000));
    }
}
