//! What to change: the run again with one thing changed at a time, as a shop would change it.
//!
//! Every change keeps the grid, so that what is compared has the same errors, and begins from the potentials of
//! the run. A smaller current gets as much more time, a larger one less, so that the metal is the same; steps that
//! wait for a thickness or a charge end by themselves.

use crate::error::DepositError;
use crate::observer::{Observer, Stage};
use crate::outcome::{BodyOutcome, Outcome};
use crate::place::Place;
use crate::run::{Begin, run_on_grid};
use crate::settings::Settings;
use ionfall_bath::Electrolyte;
use ionfall_bath::electrolyte::Adjustment;
use ionfall_model::{Hold, Model, Parts, Role, Setting, Step, Until};
use serde::Serialize;

/// A warmer bath is warmer by this, K, and more of something in it is more by this factor.
const WARMER_K: f64 = 5.0;
const MORE: f64 = 1.1;

/// Something a shop can change, by a factor.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Change {
    /// All currents of the plan, with its time the other way round.
    Current,
    /// The time of the plan.
    Time,
    /// The conductivity of the bath, as by more acid.
    Conductivity,
    /// The limiting current of the work, as by stronger agitation.
    Limit,
    /// The sheet resistance of all coats.
    Coat,
    /// The resistance of all contacts.
    Contact,
    /// What one of several supplies gives.
    Supply(String),
    /// The bath, warmer or with more of something in it; the factor of a temperature is that in kelvin.
    Bath(Dose),
    /// A length that the job names.
    Length(Length),
}

/// A length that a job names, in the unit that stands there.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Length {
    /// Name.
    pub name: String,
    /// What it is.
    pub from: f64,
    /// What it would be.
    pub to: f64,
    /// Its unit.
    pub unit: String,
}

/// More of something in a bath, or a warmer bath, in the unit of the [`Adjustment`].
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Dose {
    /// What is changed.
    pub what: Adjustment,
    /// How much there is.
    pub from: f64,
    /// How much there would be.
    pub to: f64,
}

impl Dose {
    /// A fixed number of degrees, or a tenth more; nothing where it is not known how the bath follows, or what follows
    /// lies out of the range of what is known of it.
    fn new(bath: &Electrolyte, what: Adjustment) -> Option<Self> {
        let from = bath.adjustable(what)?;
        let to = match what {
            Adjustment::Temperature => from + WARMER_K,
            Adjustment::CopperSulfate | Adjustment::SulfuricAcid => MORE * from,
        };
        bath.remade_within_range(what, to)?;
        Some(Self { what, from, to })
    }

    /// What is multiplied by the factor, over the number of the dose.
    fn factor(&self, bath: &Electrolyte) -> f64 {
        match self.what {
            Adjustment::Temperature => 1.0 + (self.to - self.from) / bath.temperature_k,
            Adjustment::CopperSulfate | Adjustment::SulfuricAcid => self.to / self.from,
        }
    }
}

/// What more of something in the bath of a job would be told of, and the factor. Not with anodes that evolve gas: their
/// back voltage may have been measured.
pub(crate) fn doses<const D: usize>(model: &Model<Parts<D>>) -> Vec<(Dose, f64)> {
    let bath = &model.bath;
    let mut electrodes = model.geometry.electrodes.iter();
    if electrodes.any(|e| !e.kinetics.dissolves()) {
        return Vec::new();
    }
    let all = Adjustment::ALL
        .iter()
        .filter_map(|what| Dose::new(bath, *what));
    all.map(|dose| (dose, dose.factor(bath))).collect()
}

/// What a change makes of the answers.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Lever {
    /// What is changed.
    pub change: Change,
    /// It is multiplied by this.
    pub factor: f64,
    /// The answers then; nothing if the run failed.
    pub answers: Option<LeverAnswers>,
    /// Why the run failed, if it did.
    pub failure: Option<String>,
    /// Are the answers along the sensitivities of the run, rather than those of another run?
    pub first_order: bool,
    /// Plus-minus of the thinnest place, as a share of it, where shapes move.
    pub open_share: Option<f64>,
}

/// The answers that changes are judged by.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LeverAnswers {
    /// Thickness at the thinnest place of the works, m.
    pub thinnest_m: Option<f64>,
    /// That over the mean thickness of the works.
    pub evenness: Option<f64>,
    /// Voltage of the main supply at the end, V.
    pub voltage_v: f64,
    /// Largest share of the limiting current, where there is a limit.
    pub limit_share: Option<f64>,
    /// When the wanted thickness was or would be reached everywhere, s.
    pub wish_s: Option<f64>,
    /// Time of the plan, s.
    pub time_s: Option<f64>,
}

impl LeverAnswers {
    /// Of a run.
    pub fn of<const D: usize>(outcome: &Outcome<D>) -> Self {
        let works = || outcome.bodies.iter().filter(|b| b.role == Role::Work);
        let value = |place: Option<Place>| place.map(|p| p.value);
        let thinnest_m = works().filter_map(|b| value(b.thinnest)).reduce(f64::min);
        let volume_m3 = |b: &BodyOutcome| Some(b.area_m2 * b.thickness_m?.mean);
        let area_m2: f64 = works().map(|b| b.area_m2).sum();
        let mean_m = works().filter_map(volume_m3).sum::<f64>() / area_m2;
        Self {
            thinnest_m,
            evenness: thinnest_m
                .filter(|_| mean_m > 0.0)
                .map(|thin| thin / mean_m),
            voltage_v: outcome.voltage_v,
            limit_share: works()
                .filter_map(|b| value(b.limit_share))
                .reduce(f64::max),
            wish_s: outcome.wish.time_s(),
            time_s: outcome.time_s,
        }
    }
}

/// What changes make of a run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Levers {
    /// The answers of the run as it is.
    pub now: LeverAnswers,
    /// Changes, the most helpful first: those that reach the wanted thickness soonest, or, without a
    /// wish, are the most even.
    pub levers: Vec<Lever>,
}

impl Levers {
    pub(crate) fn ranked(now: LeverAnswers, mut levers: Vec<Lever>) -> Self {
        levers.sort_by(|a, b| cost(a).total_cmp(&cost(b)));
        Self { now, levers }
    }

    /// With others among them.
    pub fn with(mut self, more: Vec<Lever>) -> Self {
        self.levers.extend(more);
        Self::ranked(self.now, self.levers)
    }
}

/// What there is to change in a job, and by how much: round factors, of a size that a shop would try.
pub fn changes<const D: usize>(model: &Model<Parts<D>>) -> Vec<(Change, f64)> {
    let held = model.plan.iter().any(|step| {
        let holds = match step.setting {
            Setting::Rest => [None, None],
            Setting::Hold(hold) => [Some(hold), None],
            Setting::Ramp(from, to) => [Some(from), Some(to)],
        };
        let mut holds = holds.into_iter().flatten();
        holds.any(|hold| matches!(hold, Hold::Voltage(_)))
    });
    let mut all = vec![(Change::Conductivity, 1.1)];
    if !model.plan.is_empty() {
        if !held {
            all.extend([(Change::Current, 0.5), (Change::Current, 1.5)]);
        }
        all.push((Change::Time, 1.25));
    }
    if model.bath.limiting_current.is_some() {
        all.push((Change::Limit, 2.0));
    }
    let parts = &model.geometry;
    if !parts.coats.is_empty() {
        all.push((Change::Coat, 0.5));
    }
    if parts.contacts.iter().any(|c| c.resistance_ohm > 0.0) {
        all.push((Change::Contact, 0.5));
    }
    let others = model.supplies.iter().skip(1);
    all.extend(others.map(|s| (Change::Supply(s.name.clone()), 1.2)));
    let doses = doses(model).into_iter();
    all.extend(doses.map(|(dose, factor)| (Change::Bath(dose), factor)));
    all
}

/// The job with a change.
fn changed<const D: usize>(
    (change, factor): &(Change, f64),
    model: &Model<Parts<D>>,
) -> Model<Parts<D>> {
    let (mut model, factor) = (model.clone(), *factor);
    let parts = &mut model.geometry;
    let hasten = |plan: &mut [Step], times: f64| {
        for step in plan {
            step.at_most_s *= times;
            if let Until::Time(time_s) = &mut step.until {
                *time_s *= times;
            }
        }
    };
    match change {
        Change::Current => {
            for supply in &mut model.supplies {
                supply.hold = supply.hold.with_current_times(factor);
            }
            for step in &mut model.plan {
                step.setting = match step.setting {
                    Setting::Rest => Setting::Rest,
                    Setting::Hold(hold) => Setting::Hold(hold.with_current_times(factor)),
                    Setting::Ramp(from, to) => Setting::Ramp(
                        from.with_current_times(factor),
                        to.with_current_times(factor),
                    ),
                };
            }
            hasten(&mut model.plan, 1.0 / factor);
        }
        Change::Time => hasten(&mut model.plan, factor),
        Change::Conductivity => model.bath.conductivity.value *= factor,
        Change::Limit => {
            if let Some(limit) = &mut model.bath.limiting_current {
                limit.value *= factor;
            }
            if let Some(film) = &mut model.bath.film {
                film.value /= factor;
            }
            for e in parts.electrodes.iter_mut().filter(|e| e.role.is_cathode()) {
                e.kinetics = e.kinetics.with_limit_times(factor);
            }
        }
        Change::Coat => {
            for coat in &mut parts.coats {
                coat.sheet_resistance_ohm *= factor;
            }
        }
        Change::Contact => {
            for contact in &mut parts.contacts {
                contact.resistance_ohm *= factor;
            }
        }
        Change::Bath(dose) => {
            if let Some(bath) = model.bath.remade(dose.what, dose.to) {
                for e in &mut parts.electrodes {
                    e.kinetics = model.bath.law_in(&bath, &e.kinetics);
                }
                model.bath = bath;
            }
        }
        // Its shapes are made anew from the text of the job.
        Change::Length(_) => {}
        Change::Supply(name) => {
            for supply in model.supplies.iter_mut().filter(|s| s.name == *name) {
                supply.hold = match supply.hold {
                    Hold::Voltage(v) => Hold::Voltage(factor * v),
                    hold => hold.with_current_times(factor),
                };
            }
        }
    }
    model
}

/// Runs a finished job again with each of its [`changes`]. The observer is told what is changed.
///
/// # Errors
/// Currents that cannot flow after a change are part of the answer; anything else is an error.
pub fn levers<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    observer: &mut dyn Observer,
    outcome: &Outcome<D>,
) -> Result<Levers, DepositError> {
    let all = changes(model);
    let count = all.len();
    let mut levers = Vec::new();
    for (n, what) in all.into_iter().enumerate() {
        observer.begins(Stage::Field, &format!("change {} of {count}", n + 1));
        let changed = changed(&what, model);
        // Limits of films belong to the network, which is made anew; the potentials are a start.
        let begin = Begin::Warm(outcome.solution.potential_v.clone());
        let grid = outcome.grid.clone();
        let run = run_on_grid(&changed, grid, settings, begin, &mut ());
        let (answers, failure) = match run {
            Ok(outcome) => (Some(LeverAnswers::of(&outcome)), None),
            Err(
                error @ (DepositError::Field(_)
                | DepositError::AbovePeakLimit { .. }
                | DepositError::OthersGiveAll { .. }
                | DepositError::MeanNotMet { .. }),
            ) => (None, Some(error.to_string())),
            Err(other) => return Err(other),
        };
        let (change, factor) = what;
        levers.push(Lever {
            change,
            factor,
            answers,
            failure,
            first_order: false,
            open_share: None,
        });
    }
    Ok(Levers::ranked(LeverAnswers::of(outcome), levers))
}

/// The smaller, the more a change helps.
fn cost(lever: &Lever) -> f64 {
    let of = |a: &LeverAnswers| a.wish_s.or(a.evenness.map(|e| -e));
    lever.answers.as_ref().and_then(of).unwrap_or(f64::INFINITY)
}
