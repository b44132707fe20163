//! The way to a solution: Newton's method on the corrected network, with help of the plain one where
//! that leads astray.

use crate::bounds::beyond;
use crate::error::FieldError;
use crate::newton::{End, Onlookers, Record, State, newton};
use crate::preconditioner::Preconditioner;
use crate::settings::Settings;
use crate::start::{Means, chord_start};
use crate::system::{Operator, System};

/// Reduction asked of the plain network when it has to help out.
const ROUGHLY: f64 = 1e-2;

/// Times that more nodes are made plain where Newton's method is stuck; after that all are plain.
const MOST_ROUNDS: usize = 8;

/// Where Newton's method is stuck without any such place: nodes with this share of the largest
/// imbalance.
const NEAR: f64 = 0.1;

/// Where a solve begins.
#[derive(Clone, Copy)]
pub(crate) struct Start<'a> {
    /// Node potentials, V; without them chords of the laws.
    pub potential_v: Option<&'a [f64]>,
    /// Mean current densities of the laws, where they are known beforehand.
    pub foreseen: Option<&'a [Means]>,
}

/// Finds the potentials at which a network balances and keeps the maximum principle. Nodes of it may
/// become plain.
pub(crate) fn find(
    system: &mut System,
    preconditioner: &mut dyn Preconditioner,
    settings: &Settings,
    start: Start,
    told: &mut dyn FnMut(f64),
) -> Result<(State, Record), FieldError> {
    let mut record = Record::default();
    let x = begin(system, preconditioner, start, &mut record);
    let mut attempt = Attempt {
        settings,
        preconditioner,
        record,
        told,
        survey: true,
    };
    let mut state = State::at(system, Operator::Corrected, x);
    let mut end = attempt.corrected(system, &mut state);
    if end == End::Stuck && !system.is_plain() {
        end = attempt.by_plain(system, start.potential_v, &mut state);
    }
    for round in 0.. {
        let mut nodes = beyond(system, &state);
        let settled = end == End::Balanced && nodes.is_empty();
        if settled || end == End::Stuck && system.is_plain() {
            break;
        }
        if end == End::Stuck {
            nodes.extend(unbalanced(system, &state));
        }
        let more = system.make_plain(nodes);
        match end {
            // Plain already: what is left is below the tolerance of the solve.
            End::Balanced if !more => break,
            End::Wrong if !more => attempt.survey = false,
            End::Stuck if !more || round >= MOST_ROUNDS => {
                system.make_plain(0..system.nodes() as u32);
            }
            _ => {}
        }
        let x = std::mem::take(&mut state.x);
        state = State::at(system, Operator::Corrected, x);
        end = attempt.corrected(system, &mut state);
        if end == End::Stuck {
            end = attempt.by_plain(system, None, &mut state);
        }
    }
    let record = attempt.record;
    let place = system.places();
    if !state.norm.is_finite() {
        let bad = |&n: &usize| !state.imbalance[place[n] as usize].is_finite();
        let node = (0..place.len()).find(bad).unwrap_or(0) as u32;
        return Err(FieldError::NotFinite { node });
    }
    if end != End::Balanced {
        return Err(FieldError::NotConverged {
            residual_history: record.history,
        });
    }
    Ok((state, record))
}

/// Nodes whose imbalance is near the largest.
fn unbalanced(system: &System, state: &State) -> Vec<u32> {
    let largest = state.imbalance.iter().fold(0.0, |m: f64, i| m.max(i.abs()));
    let imbalance = |n: u32| state.imbalance[system.places()[n as usize] as usize].abs();
    let nodes = 0..system.nodes() as u32;
    nodes.filter(|&n| imbalance(n) >= NEAR * largest).collect()
}

/// Newton's method with what it needs and what it has done.
struct Attempt<'a> {
    settings: &'a Settings,
    preconditioner: &'a mut dyn Preconditioner,
    record: Record,
    told: &'a mut dyn FnMut(f64),
    /// Is an eye kept on the solution on the way?
    survey: bool,
}

impl Attempt<'_> {
    /// Solves the network as it stands.
    fn corrected(&mut self, system: &System, state: &mut State) -> End {
        self.newton(system, Operator::Corrected, state, self.settings.tolerance)
    }

    /// The same, beginning from a rough solution of the plain network.
    fn by_plain(&mut self, system: &System, start: Option<&[f64]>, state: &mut State) -> End {
        let x = begin(
            system,
            self.preconditioner,
            Start {
                potential_v: start,
                foreseen: None,
            },
            &mut self.record,
        );
        let mut plain = State::at(system, Operator::Plain, x);
        if system.is_plain() {
            let end = self.newton(system, Operator::Plain, &mut plain, self.settings.tolerance);
            *state = plain;
            return end;
        }
        self.newton(system, Operator::Plain, &mut plain, ROUGHLY);
        *state = State::at(system, Operator::Corrected, plain.x);
        self.corrected(system, state)
    }

    fn newton(
        &mut self,
        system: &System,
        operator: Operator,
        state: &mut State,
        tolerance: f64,
    ) -> End {
        let survey = self.survey && operator == Operator::Corrected;
        let wrong = |state: &State| survey && !beyond(system, state).is_empty();
        newton(
            system,
            operator,
            self.preconditioner,
            state,
            &Settings {
                tolerance,
                ..*self.settings
            },
            Onlookers {
                told: &mut *self.told,
                wrong: &wrong,
            },
            &mut self.record,
        )
    }
}

/// Potentials to begin with, in the solver's numbering.
fn begin(
    system: &System,
    preconditioner: &mut dyn Preconditioner,
    start: Start,
    record: &mut Record,
) -> Vec<f64> {
    let place = system.places();
    let mut x = vec![0.0; system.nodes()];
    for (&place, &v) in place.iter().zip(start.potential_v.unwrap_or_default()) {
        x[place as usize] = v;
    }
    for &(node, v) in &system.network.fixed {
        x[place[node as usize] as usize] = v;
    }
    if start.potential_v.is_none() {
        record.cycles += chord_start(system, preconditioner, &mut x, start.foreseen);
    }
    x
}
