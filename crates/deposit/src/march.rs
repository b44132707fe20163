//! Through the plan in time.
//!
//! Metal grows slowly, so the field is in equilibrium with the deposit at every moment, and the
//! thickness obeys `dh/dt = f(h, t)`, one equation for each facet, where `f` is a solve of the
//! circuit. Without coats and at a constant setting `f` is constant: one solve is exact for any
//! length of time. Else the pair of orders three and two of Bogacki and Shampine (1989, Appl. Math.
//! Lett. 2:321-325; coefficients from memory, the orders are tested) is used with adaptive steps,
//!
//! ```text
//! k1 = f(h)              k2 = f(h + dt k1 / 2)      k3 = f(h + 3 dt k2 / 4)
//! new = h + dt (2 k1 + 3 k2 + 4 k3) / 9             k4 = f(new), the next step's k1
//! error = dt (-5/72 k1 + 1/12 k2 + 1/9 k3 - 1/8 k4)
//! ```
//! The error is measured where a coat is, against `h` plus the thickness that conducts as well as
//! the coat, so that the conductance of the skin is known to the tolerance everywhere; where the
//! first metal is islands, against what has joined plus a share of the islands, because the moment
//! at which they join is not known better. Between the
//! ends of a step the cubic through both values and slopes tells when a thickness is passed.
//! The solves of a step begin where the last two potentials point.

use crate::error::DepositError;
use crate::observer::{Go, Stage};
use crate::operate::{Asked, Operator, limits_times};
use crate::rates::Rates;
use crate::state::{Moment, State};
use crate::surface::Surface;
use ionfall_model::{Setting, Step, Until};
use rayon::prelude::*;

/// Shortest time step, as a share of the time the plan's step may take.
const SHORTEST: f64 = 1e-13;
/// First time step: growth as a share of the thickness that conducts like the coat.
const FIRST_GROWTH: f64 = 0.2;
/// Share of the thickness of islands within which they join.
const JOINING: f64 = 1.0;
/// Bounds of the change from one time step to the next, and the margin for the error.
const CHANGE: (f64, f64) = (0.2, 4.0);
const MARGIN: f64 = 0.85;
/// First time step over the time of its step of the plan, of a march that begins with tiny steps.
const TINY_STEP: f64 = 1e-3;
/// Bisections of a time step when an event is looked for.
const BISECTIONS: usize = 60;

/// A run under way.
pub(crate) struct March<'a, const D: usize> {
    pub operator: Operator<'a, D>,
    pub surface: Surface,
}

/// A time step that was tried.
struct Trial {
    dt: f64,
    /// Average rates over the step.
    average: Rates,
    end: Rates,
    /// Node potentials at the beginning of the step, V.
    begin_v: Vec<f64>,
    /// Error over tolerance.
    error: f64,
}

impl<const D: usize> March<'_, D> {
    /// Goes through the plan from a state.
    pub fn run(&mut self, state: &mut State) -> Result<(), DepositError> {
        while let Some(step) = self.operator.model.plan.get(state.step) {
            let stage = Stage::Time(self.share(state, step));
            let what = self.telling(state, step);
            self.operator.observer.begins(stage, &what);
            self.advance(state, step)?;
            if self.operator.observer.keep(state) == Go::Stop {
                return Err(DepositError::Stopped);
            }
        }
        Ok(())
    }

    /// One time step.
    fn advance(&mut self, state: &mut State, step: &Step) -> Result<(), DepositError> {
        self.operator.coarsen_anew();
        let rest = step.setting == Setting::Rest;
        let frozen = rest
            || (self.operator.circuit.coats.is_empty()
                && !matches!(step.setting, Setting::Ramp(..)));
        let start = match state.rates.take() {
            Some(rates) => rates,
            None => {
                let rates = self.rates_at(state, step, &state.thickness_m.clone(), state.time_s)?;
                self.watch(state, step, &rates);
                rates
            }
        };
        if state.time_s == 0.0
            && state.snapshots.is_empty()
            && self.operator.model.save.at_s.contains(&0.0)
        {
            state.take_snapshot(&start);
        }
        let end_s = state.step_begin_s + step.at_most_s;
        let saves = self.operator.model.save.at_s.iter().copied();
        let boundary_s = saves.filter(|&t| t > state.time_s).fold(end_s, f64::min);
        let room_s = boundary_s - state.time_s;
        let wished_s = match (frozen, state.next_s) {
            (true, _) => room_s,
            (false, Some(next)) => next,
            (false, None) => self.first_step_s(&start).unwrap_or(room_s),
        };
        let longest_s = match step.setting {
            Setting::Ramp(..) => step.at_most_s / self.operator.settings.ramp_steps,
            _ => f64::INFINITY,
        };
        let dt = wished_s.min(longest_s);
        // The last stretch is not left as a crumb.
        let to_boundary = dt > 0.999 * room_s;
        let dt = if to_boundary { room_s } else { dt };
        let mut trial = if frozen {
            Trial {
                dt,
                average: start.clone(),
                end: start.clone(),
                begin_v: Vec::new(),
                error: 0.0,
            }
        } else {
            self.try_step(state, step, &start, dt)?
        };
        let begin_v = std::mem::take(&mut trial.begin_v);
        let factor = (MARGIN * trial.error.powf(-1.0 / 3.0)).clamp(CHANGE.0, CHANGE.1);
        if trial.error > 1.0 {
            state.time_steps[1] += 1;
            state.next_s = Some(dt * factor.min(0.7));
            state.rates = Some(start);
            state.potential_v = begin_v;
            if dt < SHORTEST * step.at_most_s.max(state.time_s) {
                return Err(DepositError::StepTooSmall {
                    time_s: state.time_s,
                });
            }
            return Ok(());
        }
        // A step cut short by the boundary says little about the next one.
        let grown = dt * factor;
        state.next_s = Some(if to_boundary {
            grown.max(wished_s)
        } else {
            grown
        });
        let done = self.until(state, step, &start, &trial);
        let share = done.unwrap_or(1.0);
        self.cover(state, &start, &trial, share);
        let whole = share == 1.0;
        let amount = Amounts::new(&start, &trial, share);
        state.thickness_m = (0..state.thickness_m.len())
            .map(|f| amount.thickness_m(state.thickness_m[f], f))
            .collect();
        amount.book(&mut state.ledger);
        state.step_charge_c += amount.main_charge_c();
        state.time_steps[0] += 1;
        let ends = [&start, &trial.end];
        self.deplete(state, step, ends, share, share * dt);
        state.earlier = (!frozen).then_some((state.time_s, begin_v));
        state.time_s = if whole && to_boundary {
            boundary_s
        } else {
            state.time_s + share * dt
        };
        self.watch(state, step, &trial.end);
        if whole && to_boundary && self.operator.model.save.at_s.contains(&boundary_s) {
            state.take_snapshot(&trial.end);
        }
        if done.is_some() || state.time_s >= end_s {
            state.begin_next_step();
        } else {
            state.rates = Some(trial.end);
        }
        Ok(())
    }

    /// Stages of the embedded pair.
    fn try_step(
        &mut self,
        state: &mut State,
        step: &Step,
        k1: &Rates,
        dt: f64,
    ) -> Result<Trial, DepositError> {
        let h = state.thickness_m.clone();
        let t = state.time_s;
        let begin_v = state.potential_v.clone();
        if let Some((before_s, before_v)) = &state.earlier {
            foretell(&mut state.potential_v, before_v, 0.5 * dt / (t - before_s));
        }
        let k2 = self.rates_at(state, step, &moved(&h, &[(0.5 * dt, k1)]), t + 0.5 * dt)?;
        foretell(&mut state.potential_v, &begin_v, 0.25 / 0.5);
        let k3 = self.rates_at(state, step, &moved(&h, &[(0.75 * dt, &k2)]), t + 0.75 * dt)?;
        foretell(&mut state.potential_v, &begin_v, 0.25 / 0.75);
        let weights = [2.0 / 9.0, 1.0 / 3.0, 4.0 / 9.0];
        let new = moved(
            &h,
            &[
                (weights[0] * dt, k1),
                (weights[1] * dt, &k2),
                (weights[2] * dt, &k3),
            ],
        );
        let k4 = self.rates_at(state, step, &new, t + dt)?;
        let mut error = 0.0_f64;
        let relative = |f: usize| {
            let [own, islands] = self.surface.own_thickness_m[f];
            if own == 0.0 {
                return 0.0;
            }
            let k = |r: &Rates| r.growth_m_per_s[f];
            let e = dt * (-5.0 / 72.0 * k(k1) + k(&k2) / 12.0 + k(&k3) / 9.0 - k(&k4) / 8.0);
            e / ((new[f] - islands).max(0.0) + own + JOINING * islands)
        };
        for f in (0..h.len()).filter(|&f| self.surface.own_thickness_m[f][0] > 0.0) {
            error = error.max(self.surface.patches.at(f, relative).abs());
        }
        let mut average = Rates::default();
        average.growth_m_per_s.clone_from(&k1.growth_m_per_s);
        average.ledger.clone_from(&k1.ledger);
        average.ledger.add(weights[0] - 1.0, &k1.ledger);
        average.ledger.add(weights[1], &k2.ledger);
        average.ledger.add(weights[2], &k3.ledger);
        for (f, growth) in average.growth_m_per_s.iter_mut().enumerate() {
            *growth = (new[f] - h[f]) / dt;
        }
        Ok(Trial {
            dt,
            average,
            end: k4,
            begin_v,
            error: error / self.operator.settings.time_tolerance,
        })
    }

    /// Rates at a thickness and a time.
    fn rates_at(
        &mut self,
        state: &mut State,
        step: &Step,
        thickness_m: &[f64],
        time_s: f64,
    ) -> Result<Rates, DepositError> {
        match Asked::in_step(self.operator.model, step, time_s - state.step_begin_s) {
            Some(asked) => {
                let solved = self.operator.evaluate(state, thickness_m, &asked)?;
                Ok(self.operator.last.insert(solved).rates.clone())
            }
            None => Ok(Rates::rest(
                thickness_m.len(),
                self.operator.model.geometry.electrodes.len(),
                self.operator.model.geometry.contacts.len(),
                self.operator.model.supplies.len(),
            )),
        }
    }

    /// A time step that lets the quickest place grow by a share of what makes it conduct.
    fn first_step_s(&self, rates: &Rates) -> Option<f64> {
        // Growth over what makes a facet conduct, per second.
        let pace = |f: usize| {
            let [own, islands] = self.surface.own_thickness_m[f];
            if own > 0.0 {
                rates.growth_m_per_s[f] / (own + JOINING * islands)
            } else {
                0.0
            }
        };
        let coated = |f: &usize| self.surface.own_thickness_m[*f][0] > 0.0;
        (0..rates.growth_m_per_s.len())
            .filter(coated)
            .map(|f| self.surface.patches.at(f, pace))
            .reduce(f64::max)
            .filter(|pace| *pace > 0.0)
            .map(|pace| FIRST_GROWTH / pace)
    }

    /// The share of a time step after which the plan's step has what it waits for.
    fn until(&self, state: &State, step: &Step, start: &Rates, trial: &Trial) -> Option<f64> {
        let surface = &self.surface;
        let thickness = |share: f64, f: usize| {
            Amounts::new(start, trial, share).thickness_m(state.thickness_m[f], f)
        };
        match &step.until {
            Until::Time(_) => None,
            Until::Charge(charge_c) => passed(|share| {
                let more = Amounts::new(start, trial, share).main_charge_c();
                state.step_charge_c + more >= *charge_c
            }),
            Until::LeastThickness(wanted_m, on) => passed(|share| {
                surface.least(&self.operator.model.geometry, on, |f| thickness(share, f))
                    >= *wanted_m
            }),
            Until::MeanThickness(wanted_m, on) => passed(|share| {
                surface.mean(&self.operator.model.geometry, on, |f| thickness(share, f))
                    >= *wanted_m
            }),
        }
    }

    /// Notes which facets were covered and whether the wish was reached, in a share of a time step.
    fn cover(&self, state: &mut State, start: &Rates, trial: &Trial, share: f64) {
        let covered_m = self.operator.model.covered_m;
        let (thickness_m, time_s) = (&state.thickness_m, state.time_s);
        let before = |f: usize| thickness_m[f];
        let at = |part: f64, f: usize| Amounts::new(start, trial, part).thickness_m(before(f), f);
        let passed = |(f, covered_s): (usize, &mut f64)| {
            if covered_s.is_nan() && at(share, f) >= covered_m {
                let part = passed_within(share, |part| at(part, f) >= covered_m);
                *covered_s = time_s + part * trial.dt;
            }
        };
        (state.covered_s.par_iter_mut().enumerate()).for_each(passed);
        let (Some(wanted), None) = (&self.operator.model.wanted, state.wish_s) else {
            return;
        };
        let least = |part: f64| {
            self.surface
                .least(&self.operator.model.geometry, &wanted.on, |f| at(part, f))
        };
        if least(share) >= wanted.thickness_m {
            let part = passed_within(share, |part| least(part) >= wanted.thickness_m);
            state.wish_s = Some(state.time_s + part * trial.dt);
        }
    }

    /// Notes the figures of a moment, and peaks.
    fn watch(&self, state: &mut State, step: &Step, rates: &Rates) {
        let worst = self.used_up(state);
        let contacts = &rates.peak().ledger.contact_c;
        for (peak, now) in state.contact_peak_a.iter_mut().zip(contacts) {
            *peak = peak.max(now.abs());
        }
        let main = state.supplies.first().copied();
        let rest = step.setting == Setting::Rest;
        let main = main.filter(|_| !rest);
        let thickness = |f: usize| state.thickness_m[f];
        state.moments.push(Moment {
            time_s: state.time_s,
            step: state.step,
            voltage_v: main.map_or(0.0, |m| m.voltage_v),
            current_a: rates.peak().ledger.supply_c.first().copied().unwrap_or(0.0),
            limited: main.is_some_and(|m| m.limited),
            least_m: self
                .surface
                .least(&self.operator.model.geometry, &None, thickness),
            mean_m: self
                .surface
                .mean(&self.operator.model.geometry, &None, thickness),
            covered_share: self.surface.covered(|f| !state.covered_s[f].is_nan()),
            limit_share: worst,
        });
    }

    /// Lets the films in front of the facets follow a time step, of which a share was taken.
    fn deplete(
        &self,
        state: &mut State,
        step: &Step,
        [start, end]: [&Rates; 2],
        share: f64,
        dt_s: f64,
    ) {
        let times = limits_times(step.pulse.as_ref(), &self.operator.model.bath);
        let Surface {
            limit_m_per_s,
            film_s,
            ..
        } = &self.surface;
        for f in self.surface.limited() {
            let growth = [start, end].map(|rates| rates.peak().at_film(f));
            let last = growth[0] + share * (growth[1] - growth[0]);
            let shares = [growth[0], last].map(|g| g / (times * limit_m_per_s[f]));
            state.depletion[f].advance(film_s[f], shares, dt_s);
        }
    }

    /// Notes how much is used up in front of each facet; gives the largest share.
    fn used_up(&self, state: &mut State) -> Option<f64> {
        let shares: Vec<f64> = state.depletion.iter().map(|d| d.share()).collect();
        for f in self.surface.limited() {
            state.limit_share[f] = state.limit_share[f].max(shares[f]);
        }
        let read = |f: usize| self.surface.patches.at(f, |f| shares[f]);
        self.surface
            .limited()
            .map(read)
            .reduce(f64::max)
            .map(|s| s.max(0.0))
    }

    /// Notes the share of the limiting current at each facet, at rest.
    pub fn at_rest(&self, state: &mut State, rates: &Rates) {
        for f in self.surface.limited() {
            let share = rates.at_film(f) / self.surface.limit_m_per_s[f];
            state.limit_share[f] = state.limit_share[f].max(share);
        }
    }

    /// Share of the plan that is done: by time, or by thickness where that comes first. A coat makes
    /// the first time steps tiny and each longer than the one before, so that the work goes with the
    /// logarithm of the time.
    fn share(&self, state: &State, step: &Step) -> f64 {
        let last = state.moments.last();
        let reached = match (&step.until, last) {
            (Until::LeastThickness(goal, _), Some(m)) => m.least_m / goal,
            (Until::MeanThickness(goal, _), Some(m)) => m.mean_m / goal,
            _ => 0.0,
        };
        let own = state.moments.iter().filter(|m| m.step == state.step);
        let ends_s = own.map(|m| m.time_s - state.step_begin_s);
        let first_s = ends_s.into_iter().find(|&t| t > 0.0);
        let passed_s = state.time_s - state.step_begin_s;
        let passed = match first_s.filter(|t| t / step.at_most_s < TINY_STEP) {
            Some(first_s) => (passed_s / first_s).ln_1p() / (step.at_most_s / first_s).ln_1p(),
            None => passed_s / step.at_most_s,
        };
        let own = reached.max(passed).clamp(0.0, 1.0);
        (state.step as f64 + own) / self.operator.model.plan.len() as f64
    }

    fn telling(&self, state: &State, step: &Step) -> String {
        let least = state.moments.last().map_or(0.0, |m| m.least_m);
        format!(
            "{}: {:.3} h, thinnest place {:.3} um",
            step.name,
            state.time_s / 3600.0,
            1e6 * least
        )
    }
}

/// A thickness after some rates have acted for some times.
fn moved(thickness_m: &[f64], by: &[(f64, &Rates)]) -> Vec<f64> {
    (0..thickness_m.len())
        .map(|f| {
            let sum: f64 = by.iter().map(|(w, r)| w * r.growth_m_per_s[f]).sum();
            thickness_m[f] + sum
        })
        .collect()
}

/// Moves potentials on along the straight line from earlier ones, by this share of the way from there.
fn foretell(potential_v: &mut [f64], earlier_v: &[f64], share: f64) {
    for (now, earlier) in potential_v.iter_mut().zip(earlier_v) {
        *now += share * (*now - earlier);
    }
}

/// The share of a step at which something that stays true becomes true; nothing if it is false at
/// the end.
fn passed(holds: impl Fn(f64) -> bool) -> Option<f64> {
    holds(1.0).then(|| passed_within(1.0, holds))
}

fn passed_within(share: f64, holds: impl Fn(f64) -> bool) -> f64 {
    let (mut lo, mut hi) = (0.0, share);
    for _ in 0..BISECTIONS {
        let middle = 0.5 * (lo + hi);
        if holds(middle) {
            hi = middle;
        } else {
            lo = middle;
        }
    }
    hi
}

/// What a share of a time step brings: the cubic through values and slopes at both ends.
struct Amounts<'a> {
    start: &'a Rates,
    trial: &'a Trial,
    /// Weights of the slope at the start, the average, the slope at the end; times.
    weights: [f64; 3],
}

impl<'a> Amounts<'a> {
    fn new(start: &'a Rates, trial: &'a Trial, share: f64) -> Self {
        let rest = 1.0 - share;
        let dt = trial.dt;
        Self {
            start,
            trial,
            weights: [
                dt * share * rest * rest,
                dt * share * share * (3.0 - 2.0 * share),
                -dt * share * share * rest,
            ],
        }
    }

    fn thickness_m(&self, before_m: f64, f: usize) -> f64 {
        let [a, b, c] = self.weights;
        before_m
            + a * self.start.growth_m_per_s[f]
            + b * self.trial.average.growth_m_per_s[f]
            + c * self.trial.end.growth_m_per_s[f]
    }

    fn main_charge_c(&self) -> f64 {
        let [a, b, c] = self.weights;
        let main = |r: &Rates| r.ledger.supply_c.first().copied().unwrap_or(0.0);
        a * main(self.start) + b * main(&self.trial.average) + c * main(&self.trial.end)
    }

    fn book(&self, ledger: &mut crate::ledger::Ledger) {
        let [a, b, c] = self.weights;
        ledger.add(a, &self.start.ledger);
        ledger.add(b, &self.trial.average.ledger);
        ledger.add(c, &self.trial.end.ledger);
    }
}
