//! Solving a network from end to end.

use crate::bounds::beyond;
use crate::error::FieldError;
use crate::hierarchy::Hierarchy;
use crate::network::{Network, NodeKind};
use crate::newton::{End, Record, State, newton};
use crate::start::{Means, chord_start};
use crate::system::{Operator, Sorted, System};
use crate::validate::{shapes, validate};
use crate::watch::Watch;
use rayon::prelude::*;
use std::time::Instant;

/// When to stop.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Imbalance of the nodes, relative to the currents of the facets (both as root of the sum of
    /// squares).
    pub tolerance: f64,
    /// Newton steps after which the attempt is given up.
    pub max_newton_steps: usize,
    /// Told how far it has come.
    pub watch: Watch,
}

impl Default for Settings {
    /// 1e-10, far below what any electrode law is known to, so that currents balance to every
    /// digit printed; 30 steps, two to ten being usual.
    fn default() -> Self {
        Settings {
            tolerance: 1e-10,
            max_newton_steps: 30,
            watch: Watch::default(),
        }
    }
}

/// Wall-clock times, s.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Timings {
    /// Checking and sorting the network, building the multigrid.
    pub setup_s: f64,
    /// Everything after that.
    pub solve_s: f64,
}

/// The solved network.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Solution {
    /// Potential of every node, V.
    pub potential_v: Vec<f64>,
    /// Current density of every facet, A/m2, from the metal into the electrolyte.
    pub current_density_a_per_m2: Vec<f64>,
    /// Potential of the electrolyte at the surface of every facet, V.
    pub surface_potential_v: Vec<f64>,
    /// Newton steps taken.
    pub newton_steps: usize,
    /// Multigrid cycles spent, those of the start included.
    pub linear_iterations: usize,
    /// Imbalance relative to the currents, before the first and after every step.
    pub residual_history: Vec<f64>,
    /// Net current the electrolyte gains or loses, relative to all that enters it.
    pub balance_error: f64,
    /// Times spent.
    pub timings: Timings,
}

/// Reduction asked of the plain network when it has to help out.
const ROUGHLY: f64 = 1e-2;

/// Times that more nodes are made plain where Newton's method is stuck; after that all are plain.
const MOST_ROUNDS: usize = 8;

/// Where Newton's method is stuck without any such place: nodes with this share of the largest
/// imbalance.
const NEAR: f64 = 0.1;

/// Solves a network, beginning from chords of the laws or from given node potentials, V, such as
/// those of an earlier solution. The network is borrowed mutably because its rows are renumbered
/// where they lie, and because nodes that need it become [plain](Network::plain); all else comes
/// back as it was.
///
/// Every solution keeps the maximum principle: potentials lie between those of the metals, and no
/// current flows out of the lowest of them. Where the corrected network breaks it the nodes
/// concerned are made plain and the solve goes on from there. If all are plain, the network is
/// the gradient of a convex function, which has one minimum and is always found.
///
/// # Errors
/// See [`FieldError`]; a network that passes the checks has exactly one solution.
pub fn solve(
    network: &mut Network,
    settings: &Settings,
    start: Option<&[f64]>,
) -> Result<Solution, FieldError> {
    let clock = Instant::now();
    shapes(network)?;
    if let Some(start) = start
        && start.len() != network.addresses.len()
    {
        return Err(FieldError::Malformed(format!(
            "the start has {} nodes, the network {}",
            start.len(),
            network.addresses.len()
        )));
    }
    let (checked, sorted) = rayon::join(|| validate(network), || Sorted::new(network));
    let foreseen = checked?;
    let mut system = System::new(network, sorted);
    let mut hierarchy = system.hierarchy();
    let setup_s = clock.elapsed().as_secs_f64();
    let clock = Instant::now();
    let mut record = Record::default();
    let x = begin(
        &system,
        &mut hierarchy,
        start,
        foreseen.as_deref(),
        &mut record,
    );
    let mut attempt = Attempt {
        settings,
        hierarchy,
        record,
        survey: true,
    };
    let mut state = State::at(&system, Operator::Corrected, x);
    let mut end = attempt.corrected(&system, &mut state);
    if end == End::Stuck && !system.is_plain() {
        end = attempt.by_plain(&system, start, &mut state);
    }
    for round in 0.. {
        let mut nodes = beyond(&system, &state);
        let settled = end == End::Balanced && nodes.is_empty();
        if settled || end == End::Stuck && system.is_plain() {
            break;
        }
        if end == End::Stuck {
            nodes.extend(unbalanced(&system, &state));
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
        state = State::at(&system, Operator::Corrected, x);
        end = attempt.corrected(&system, &mut state);
        if end == End::Stuck {
            end = attempt.by_plain(&system, None, &mut state);
        }
    }
    let record = attempt.record;
    let place = &system.order.place;
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
    let mut solution = collect(&system, &state, record);
    solution.timings = Timings {
        setup_s,
        solve_s: clock.elapsed().as_secs_f64(),
    };
    Ok(solution)
}

/// Nodes whose imbalance is near the largest.
fn unbalanced(system: &System, state: &State) -> Vec<u32> {
    let largest = state.imbalance.iter().fold(0.0, |m: f64, i| m.max(i.abs()));
    let imbalance = |n: u32| state.imbalance[system.order.place[n as usize] as usize].abs();
    let nodes = 0..system.nodes() as u32;
    nodes.filter(|&n| imbalance(n) >= NEAR * largest).collect()
}

/// Newton's method with what it needs and what it has done.
struct Attempt<'a> {
    settings: &'a Settings,
    hierarchy: Hierarchy,
    record: Record,
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
        let x = begin(system, &mut self.hierarchy, start, None, &mut self.record);
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
            &mut self.hierarchy,
            state,
            &Settings {
                tolerance,
                ..self.settings.clone()
            },
            wrong,
            &mut self.record,
        )
    }
}

/// Potentials to begin with, in the solver's numbering.
fn begin(
    system: &System,
    hierarchy: &mut Hierarchy,
    start: Option<&[f64]>,
    foreseen: Option<&[Means]>,
    record: &mut Record,
) -> Vec<f64> {
    let place = &system.order.place;
    let mut x = vec![0.0; system.nodes()];
    for (&place, &v) in place.iter().zip(start.unwrap_or_default()) {
        x[place as usize] = v;
    }
    for &(node, v) in &system.network.fixed {
        x[place[node as usize] as usize] = v;
    }
    if start.is_none() {
        record.cycles += chord_start(system, hierarchy, &mut x, foreseen);
    }
    x
}

/// The answer in the numbering of the network.
fn collect(system: &System, state: &State, record: Record) -> Solution {
    let network = &*system.network;
    let place = &system.order.place;
    let facets = network.facets.par_iter().zip(&state.responses).enumerate();
    let surface_potential_v = facets
        .map(|(f, (facet, response))| {
            system.probe(Operator::Corrected, f, &state.x)
                + facet.series_ohm_m2 * response.current_a_per_m2
        })
        .collect();
    let wet = |node: usize| network.addresses[node].kind == NodeKind::Electrolyte;
    let (mut net, mut entering) = (0.0, 0.0);
    for (facet, response) in network.facets.iter().zip(&state.responses) {
        entering += (facet.area_m2 * response.current_a_per_m2).max(0.0);
    }
    for node in (0..place.len()).filter(|&n| wet(n)) {
        net += state.imbalance[place[node] as usize];
    }
    Solution {
        potential_v: place.par_iter().map(|&p| state.x[p as usize]).collect(),
        current_density_a_per_m2: (state.responses.iter())
            .map(|r| r.current_a_per_m2)
            .collect(),
        surface_potential_v,
        newton_steps: record.steps,
        linear_iterations: record.cycles,
        residual_history: record.history,
        balance_error: if entering > 0.0 {
            net.abs() / entering
        } else {
            0.0
        },
        timings: Timings::default(),
    }
}
