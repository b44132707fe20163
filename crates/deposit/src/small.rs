//! What small changes make of a run, without running again: the answers along the [sensitivities](crate::sensitivity)
//! of its field.
//!
//! For a plan of one constant setting, without coats that change while metal grows, thickness is growth times time:
//!
//! ```text
//! g' = g + c dg/dln p      T' = T, or what the plan waits for is reached then
//! c  = factor - 1 for what the supplies give, ln(factor) for all else
//! ```
//! at every facet, so another place may become the thinnest. A change by a tenth is told; what is left out is of
//! second order, some hundredths of the effect.

use crate::levers::{Change, Lever, LeverAnswers, Levers, doses};
use crate::outcome::Outcome;
use crate::sensitivity::{Cause, Sensitivity};
use ionfall_bath::{Kinetics, Origin};
use ionfall_model::{Electrode, Model, Parts, Setting, Step, Until};

/// More of what helps by this, less of what hinders.
const MORE: f64 = 1.1;
const LESS: f64 = 0.9;

/// The step of a plan whose metal is growth times time: the only one that is no rest, constant and not pulsed.
fn step<G>(model: &Model<G>) -> Option<&Step> {
    let mut steps = model.plan.iter().filter(|s| s.setting != Setting::Rest);
    let only = steps.next().filter(|_| steps.next().is_none())?;
    (matches!(only.setting, Setting::Hold(_)) && only.pulse.is_none()).then_some(only)
}

/// A change that is told of a job, its factor, and what it moves in the field.
type Small = (Change, f64, Option<Cause>);

/// The changes that are told of a job; none where metal is not growth times time.
fn changes<const D: usize>(model: &Model<Parts<D>>) -> Vec<Small> {
    let parts = &model.geometry;
    let Some(step) = step(model).filter(|_| parts.coats.is_empty()) else {
        return Vec::new();
    };
    let mut all = vec![
        (Change::Conductivity, MORE, Some(Cause::Conductivity)),
        (Change::Current, LESS, Some(Cause::Currents)),
    ];
    if matches!(step.until, Until::Time(_)) {
        all.push((Change::Time, MORE, None));
    }
    if model.bath.limiting_current.is_some() {
        all.push((Change::Limit, MORE, Some(Cause::Limit)));
    }
    if parts.contacts.iter().any(|c| c.resistance_ohm > 0.0) {
        all.push((Change::Contact, LESS, Some(Cause::Contact)));
    }
    for (n, supply) in model.supplies.iter().enumerate().skip(1) {
        let change = Change::Supply(supply.name.clone());
        all.push((change, MORE, Some(Cause::Supply(n))));
    }
    let doses = doses(model).into_iter();
    all.extend(doses.map(|(dose, factor)| {
        let cause = Cause::Bath(dose.what);
        (Change::Bath(dose), factor, Some(cause))
    }));
    all
}

/// What a run has to know the sensitivities of, so that [`small_changes`] can tell; nothing where they cannot.
pub fn causes<const D: usize>(model: &Model<Parts<D>>) -> Vec<Cause> {
    let all = changes(model);
    all.into_iter().filter_map(|(_, _, cause)| cause).collect()
}

/// What small changes would make of a run that knows its sensitivities of [`causes`]; nothing if it does not.
pub fn small_changes<const D: usize>(
    model: &Model<Parts<D>>,
    outcome: &Outcome<D>,
) -> Option<Levers> {
    let step = step(model)?;
    let read = Read {
        model,
        outcome,
        until: &step.until,
        now: LeverAnswers::of(outcome),
    };
    let all = changes(model);
    let known = |cause: Cause| outcome.sensitivities.iter().find(|s| s.cause == cause);
    let lever = |(change, factor, cause): Small| {
        let by = match cause {
            Some(cause) => Some(known(cause)?),
            None => None,
        };
        Some(Lever {
            answers: Some(read.answers(&change, factor, by)),
            change,
            factor,
            failure: None,
            first_order: true,
            open_share: None,
        })
    };
    let levers: Vec<Lever> = all.into_iter().filter_map(lever).collect();
    let told = !levers.is_empty() && !outcome.sensitivities.is_empty();
    told.then(|| Levers::ranked(read.now, levers))
}

/// A run, and how its answers are read.
struct Read<'a, const D: usize> {
    model: &'a Model<Parts<D>>,
    outcome: &'a Outcome<D>,
    until: &'a Until,
    now: LeverAnswers,
}

impl<const D: usize> Read<'_, D> {
    /// The answers with a change.
    fn answers(&self, change: &Change, factor: f64, slope: Option<&Sensitivity>) -> LeverAnswers {
        let now = self.now;
        // What supplies give moves a primary field in proportion.
        let by = match change {
            Change::Current | Change::Supply(_) => factor - 1.0,
            _ => factor.ln(),
        };
        let before = |f: usize| self.outcome.growth_m_per_s[f];
        let after = |f: usize| before(f) + slope.map_or(0.0, |s| by * s.growth_m_per_s[f]);
        let surface = &self.outcome.surface;
        let least = |name: &Option<String>| {
            let of =
                |growth: &dyn Fn(usize) -> f64| surface.least(&self.model.geometry, name, growth);
            of(&after) / of(&before)
        };
        let mean = |name: &Option<String>| {
            let of =
                |growth: &dyn Fn(usize) -> f64| surface.mean(&self.model.geometry, name, growth);
            of(&after) / of(&before)
        };
        let all = &None;
        let longer = match (self.until, change) {
            (Until::Time(_) | Until::Charge(_), Change::Current) => 1.0 / factor,
            (Until::Time(_), Change::Time) => factor,
            (Until::LeastThickness(_, on), _) => 1.0 / least(on),
            (Until::MeanThickness(_, on), _) => 1.0 / mean(on),
            _ => 1.0,
        };
        let wanted_on = self.model.wanted.as_ref().map(|w| least(&w.on));
        let limits = self.limits_times(change, factor);
        let same = vec![1.0; limits.len()];
        let share = self.largest_share(&after, &limits) / self.largest_share(&before, &same);
        // Where nothing grows there is nothing to compare with.
        let times = |now: Option<f64>, by: f64| now.map(|x| x * by).filter(|x| x.is_finite());
        LeverAnswers {
            thinnest_m: times(now.thinnest_m, least(all) * longer),
            evenness: times(now.evenness, least(all) / mean(all)),
            voltage_v: now.voltage_v + slope.map_or(0.0, |s| by * s.supply_v[0]),
            limit_share: times(now.limit_share, share),
            wish_s: wanted_on.and_then(|by| times(now.wish_s, 1.0 / by)),
            time_s: times(now.time_s, longer),
        }
    }

    /// What a change makes of the limiting current of each electrode.
    fn limits_times(&self, change: &Change, factor: f64) -> Vec<f64> {
        let bath = &self.model.bath;
        let remade = match change {
            Change::Bath(dose) => bath.remade(dose.what, dose.to),
            _ => None,
        };
        let of_bath = remade.map_or(1.0, |remade| bath.limit_ratio(&remade));
        let times = |electrode: &Electrode| match (change, &electrode.kinetics) {
            (Change::Limit, _) => factor,
            (_, Kinetics::Law(law)) if law.limit_from() == Origin::Job => 1.0,
            (_, Kinetics::Own(_)) => 1.0,
            _ => of_bath,
        };
        let electrodes = self.model.geometry.electrodes.iter();
        electrodes.map(times).collect()
    }

    /// Largest share of the limiting current on the cathodes, that of each electrode times a factor.
    fn largest_share(&self, growth: &dyn Fn(usize) -> f64, limits_times: &[f64]) -> f64 {
        let surface = &self.outcome.surface;
        let over_limit = |f: usize| growth(f) / limits_times[surface.electrode(f)];
        let shares = surface.limited().map(|f| surface.share(over_limit, f));
        shares.fold(0.0, f64::max)
    }
}
