//! Newton's method on the balance of the network.
//!
//! The linear system of a step is that of the corrected operator, solved by flexible GMRES around
//! one multigrid cycle of the plain graph with the present slopes of the facets, only as closely
//! as pays (the forcing term of Eisenstat and Walker 1996, SIAM J. Sci. Comput. 17:16-32, first
//! choice: how well the last linear model predicted the balance).
//!
//! A step is shortened until it reduces the norm of the imbalance. The plain network is the
//! gradient of a convex function (its co-content, Millar 1951, Philos. Mag. 42:1150-1160), so
//! there a step can be judged by the slope along it; that is the way out when the corrected
//! operator leads astray.

use crate::krylov::MinimalResiduals;
use crate::law::Response;
use crate::preconditioner::Preconditioner;
use crate::settings::Settings;
use crate::system::{Operator, System};
use crate::tangent::Derivative;
use crate::vector::{add_scaled, dot, norm};

/// Loosest reduction asked of a linear solve. The next may ask for the square of the last one at
/// most: a first step that only mends the total current foretells nothing.
const LOOSEST: f64 = 0.1;

/// Directions GMRES keeps before it restarts.
const RESTART: usize = 30;

/// Cycles after which a linear solve is taken as it is.
const MOST_CYCLES: usize = 90;

/// An imbalance that a step does not halve is accepted up to this many rounding errors,
const ROUNDINGS: f64 = 64.0;

/// and up to this share of the currents: potentials that have run away have large roundings.
const LARGEST_REST: f64 = 1e-6;

/// Imbalance at which a solution shows whether it will be right, as a share of the currents.
const SURVEY: f64 = 1e-3;

/// Potentials with all that is known about them.
pub(crate) struct State {
    pub x: Vec<f64>,
    pub responses: Vec<Response>,
    pub imbalance: Vec<f64>,
    pub norm: f64,
}

/// What a solution took.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Record {
    /// Newton steps.
    pub steps: usize,
    /// Multigrid cycles, those of the start included.
    pub cycles: usize,
    /// Imbalance relative to the currents, before the first step and after every one.
    pub history: Vec<f64>,
}

impl State {
    /// Evaluates the network at the potentials `x`.
    pub fn at(system: &System, operator: Operator, x: Vec<f64>) -> Self {
        let nothing = Response {
            current_a_per_m2: 0.0,
            slope_s_per_m2: 0.0,
        };
        let mut state = State {
            responses: vec![nothing; system.network.facets.len()],
            imbalance: vec![0.0; x.len()],
            norm: 0.0,
            x,
        };
        state.evaluate(system, operator);
        state
    }

    fn evaluate(&mut self, system: &System, operator: Operator) {
        system.responses(operator, &self.x, &mut self.responses);
        system.balance(operator, &self.x, &self.responses, &mut self.imbalance);
        self.norm = norm(&self.imbalance);
    }

    /// Norm of the facet currents and injected currents, A: what an imbalance is compared with.
    pub fn scale(&self, system: &System) -> f64 {
        let facets = system.network.facets.iter().zip(&self.responses);
        let by_facet: f64 = facets
            .map(|(f, r)| (f.area_m2 * r.current_a_per_m2).powi(2))
            .sum();
        let injected: f64 = system.network.injected.iter().map(|s| s.1.powi(2)).sum();
        (by_facet.max(injected)).sqrt()
    }
}

/// How an iteration ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum End {
    /// The imbalance is small.
    Balanced,
    /// On the way the solution was seen to go wrong.
    Wrong,
    /// It cannot be reduced further, or not in as many steps.
    Stuck,
}

/// Those who look on while an iteration goes its way.
pub(crate) struct Onlookers<'a> {
    /// Told the imbalance, relative to the currents, before each step.
    pub told: &'a mut dyn FnMut(f64),
    /// Asked once, when the imbalance is below [`SURVEY`] of the currents: is the rest in vain?
    pub wrong: &'a dyn Fn(&State) -> bool,
}

/// Iterates until the imbalance is small.
pub(crate) fn newton(
    system: &System,
    operator: Operator,
    preconditioner: &mut dyn Preconditioner,
    state: &mut State,
    settings: &Settings,
    onlookers: Onlookers<'_>,
    record: &mut Record,
) -> End {
    let mut linear = MinimalResiduals::new(RESTART);
    let mut forcing = LOOSEST;
    let mut step = vec![0.0; state.x.len()];
    let mut surveyed = false;
    let most = record.steps + settings.max_newton_steps;
    loop {
        let scale = state.scale(system);
        let target = settings.tolerance * scale;
        let imbalance = state.norm / scale.max(f64::MIN_POSITIVE);
        record.history.push(imbalance);
        (onlookers.told)(imbalance);
        if state.norm <= target {
            return End::Balanced;
        }
        if record.steps >= most || !state.norm.is_finite() {
            return End::Stuck;
        }
        if state.norm <= SURVEY * scale && !surveyed {
            surveyed = true;
            if (onlookers.wrong)(state) {
                return End::Wrong;
            }
        }
        system.load(&state.responses, preconditioner);
        // Half the target leaves room for what the linear model does not see.
        let goal = forcing.max(0.5 * target / state.norm);
        let derivative = Derivative {
            system,
            operator,
            responses: &state.responses,
        };
        let outcome = linear.solve(
            &derivative,
            preconditioner,
            &state.imbalance,
            &mut step,
            goal * state.norm,
            MOST_CYCLES,
        );
        record.cycles += outcome.iterations;
        record.steps += 1;
        let before = state.norm;
        let length = take_step(system, operator, state, &step);
        let roundings = || ROUNDINGS * system.rounding(&state.x);
        let small = state.norm <= LARGEST_REST * scale;
        if small && state.norm > 0.5 * before && state.norm <= roundings() {
            record.history.push(state.norm / scale);
            return End::Balanced;
        }
        let Some(length) = length else {
            return End::Stuck;
        };
        let predicted = (1.0 - length) * before + length * outcome.residual;
        let surprise = (state.norm - predicted).abs() / before;
        forcing = surprise.clamp(forcing * forcing, LOOSEST);
    }
}

/// Halvings of a step, at most.
const MOST_CUTS: usize = 30;

/// Moves against a direction as far as it helps; returns the length of the step.
fn take_step(system: &System, operator: Operator, state: &mut State, step: &[f64]) -> Option<f64> {
    let before = state.norm;
    let descent = dot(&state.imbalance, step);
    let mut length = 1.0;
    add_scaled(&mut state.x, -length, step);
    for _ in 0..MOST_CUTS {
        state.evaluate(system, operator);
        let good = match operator {
            Operator::Corrected => state.norm <= (1.0 - 1e-4 * length) * before,
            Operator::Plain => {
                let slope = dot(&state.imbalance, step);
                state.norm.is_finite() && slope.abs() <= 0.9 * descent.abs()
            }
        };
        if good {
            return Some(length);
        }
        length *= 0.5;
        add_scaled(&mut state.x, length, step);
    }
    add_scaled(&mut state.x, length, step);
    state.evaluate(system, operator);
    None
}
