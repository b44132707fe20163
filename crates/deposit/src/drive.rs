//! What the supplies do: the operating point of the circuit.
//!
//! A supply holds its current until that takes more than its voltage limit; then it holds the
//! limit. Which of the two holds is found by trying: the circuit is monotone, so a supply that
//! passes less than its set current at the limit is limited, and one that needs less than the
//! limit is not. A mean current density on the work is a current where nothing else takes a share
//! of it; with thieves or more supplies the current is scaled until the work has its own.

use crate::circuit::Circuit;
use crate::run::DepositError;
use ionfall_field::{Solution, solve};
use ionfall_job::{Electrode, Hold, Role, Supply};
use serde::{Deserialize, Serialize};

/// Most solves for one operating point.
const MOST_ROUNDS: usize = 40;
/// Relative difference at which a current or a voltage is met.
const MET: f64 = 1e-9;

/// What a supply is asked for at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Demand {
    pub hold: Hold,
    pub voltage_limit_v: Option<f64>,
}

/// What a supply does.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct SupplyState {
    /// Voltage between its poles, V.
    pub voltage_v: f64,
    /// Current, A.
    pub current_a: f64,
    /// Has it fallen to its voltage limit?
    pub limited: bool,
}

/// The circuit at rest with its supplies.
#[derive(Clone, Debug)]
pub(crate) struct Point {
    /// Node potentials, and currents of the network's facets.
    pub solution: Solution,
    pub supplies: Vec<SupplyState>,
}

impl Point {
    /// Potential of the metal of an electrode, V.
    pub fn metal_v(&self, circuit: &Circuit, electrode: usize) -> f64 {
        self.solution.potential_v[circuit.metal[electrode] as usize]
    }
}

/// Where the search for the operating point begins.
#[derive(Clone, Debug)]
pub(crate) struct Start<'a> {
    pub potential_v: &'a [f64],
    pub supplies: &'a [SupplyState],
}

/// Finds the operating point.
pub(crate) fn settle(
    circuit: &mut Circuit,
    electrodes: &[Electrode],
    supplies: &[Supply],
    demands: &[Demand],
    start: Option<Start<'_>>,
    settings: &ionfall_field::Settings,
) -> Result<Point, DepositError> {
    let work_m2 = work_area_m2(circuit, electrodes);
    let thief_m2 = area_m2(circuit, electrodes, |r| r == Role::Thief);
    let mut now: Vec<SupplyState> = match &start {
        Some(start) if !start.supplies.is_empty() => start.supplies.to_vec(),
        _ => demands
            .iter()
            .map(|d| SupplyState {
                voltage_v: d.voltage_limit_v.unwrap_or(0.0),
                current_a: 0.0,
                limited: d.voltage_limit_v.is_some(),
            })
            .collect(),
    };
    // The current that gives the work its mean, as far as it is known.
    let mut aimed_a: Vec<f64> = demands
        .iter()
        .zip(&now)
        .map(|(d, state)| match d.hold {
            Hold::Current(i) => i,
            Hold::Voltage(_) => 0.0,
            Hold::MeanCurrentDensity(mean) if state.current_a > 0.0 && !state.limited => {
                state.current_a.max(0.1 * mean * work_m2)
            }
            Hold::MeanCurrentDensity(mean) => mean * (work_m2 + thief_m2),
        })
        .collect();
    let shared = supplies.len() > 1 || thief_m2 > 0.0;
    for (n, d) in demands.iter().enumerate() {
        if let (Hold::MeanCurrentDensity(mean), false) = (d.hold, shared) {
            aimed_a[n] = mean * work_m2;
        }
        now[n].limited &= d.voltage_limit_v.is_some();
    }
    let mut last: Option<Solution> = None;
    let mut off = 0.0;
    for _ in 0..MOST_ROUNDS {
        connect(circuit, supplies, demands, &now, &aimed_a);
        let begin = last
            .as_ref()
            .map(|s| s.potential_v.as_slice())
            .or(start.as_ref().map(|s| s.potential_v));
        let solution = solve(&mut circuit.network, settings, begin)?;
        let electrode_a = electrode_currents(circuit, electrodes.len(), &solution);
        let on_work: f64 = electrodes
            .iter()
            .zip(&electrode_a)
            .filter(|(e, _)| e.role == Role::Work)
            .map(|(_, a)| -a)
            .sum();
        let mut settled = true;
        off = 0.0;
        for (n, (demand, supply)) in demands.iter().zip(supplies).enumerate() {
            let poles = circuit.poles[n];
            let potential = |node: u32| solution.potential_v[node as usize];
            let volts = potential(poles.positive) - potential(poles.negative);
            let amps = supply_current(n, supply, supplies, &electrode_a);
            let moved = volts - now[n].voltage_v;
            now[n].voltage_v = volts;
            now[n].current_a = amps;
            let limit_v = demand.voltage_limit_v;
            if now[n].limited {
                // At the limit: does it pass more than it should?
                let too_much = match demand.hold {
                    Hold::Current(i) => amps > i * (1.0 + MET),
                    Hold::Voltage(_) => false,
                    Hold::MeanCurrentDensity(mean) => on_work > mean * work_m2 * (1.0 + MET),
                };
                if too_much {
                    now[n].limited = false;
                    settled = false;
                }
                // A thief's pole follows the main pole, which may have moved.
                let follows = !supply.thieves.is_empty() && moved.abs() > MET * volts.abs();
                settled &= !follows;
                continue;
            }
            if limit_v.is_some_and(|limit| volts > limit * (1.0 + MET)) {
                now[n].limited = true;
                now[n].voltage_v = limit_v.unwrap_or(volts);
                settled = false;
            } else if let (Hold::MeanCurrentDensity(mean), true) = (demand.hold, shared) {
                let target = mean * work_m2;
                off = on_work / target - 1.0;
                if off.abs() > MET {
                    aimed_a[n] *= target / on_work;
                    settled = false;
                }
            }
        }
        if settled {
            return Ok(Point {
                solution,
                supplies: now,
            });
        }
        last = Some(solution);
    }
    Err(DepositError::MeanNotMet {
        off_percent: 100.0 * off.abs(),
    })
}

/// Fixes potentials and injects currents.
fn connect(
    circuit: &mut Circuit,
    supplies: &[Supply],
    demands: &[Demand],
    now: &[SupplyState],
    aimed_a: &[f64],
) {
    let mut fixed = vec![(circuit.ground, 0.0)];
    let mut injected: Vec<(u32, f64)> = Vec::new();
    for (n, (supply, demand)) in supplies.iter().zip(demands).enumerate() {
        let poles = circuit.poles[n];
        let held_v = match demand.hold {
            Hold::Voltage(v) => Some(v),
            _ if now[n].limited => demand.voltage_limit_v,
            _ => None,
        };
        match held_v {
            Some(volts) if supply.thieves.is_empty() => fixed.push((poles.positive, volts)),
            Some(volts) => {
                // The main pole as last seen; the search goes on until it stays.
                let positive_v = if now[0].limited || matches!(demands[0].hold, Hold::Voltage(_)) {
                    fixed.iter().find(|f| f.0 == poles.positive).map(|f| f.1)
                } else {
                    None
                };
                let positive_v = positive_v.unwrap_or(now[0].voltage_v);
                fixed.push((poles.negative, positive_v - volts));
            }
            None => {
                injected.push((poles.positive, aimed_a[n]));
                if poles.negative != circuit.ground {
                    injected.push((poles.negative, -aimed_a[n]));
                }
            }
        }
    }
    // What flows into a pole whose potential is held is whatever it takes.
    injected.retain(|(node, _)| fixed.iter().all(|f| f.0 != *node));
    injected.sort_by_key(|i| i.0);
    injected.dedup_by(|b, a| {
        let same = a.0 == b.0;
        if same {
            a.1 += b.1;
        }
        same
    });
    circuit.network.fixed = fixed;
    circuit.network.injected = injected;
}

/// Current of each electrode, A.
fn electrode_currents(circuit: &Circuit, electrodes: usize, solution: &Solution) -> Vec<f64> {
    let mut sums = vec![0.0; electrodes];
    let facets = circuit.network.facets.iter().zip(&circuit.live);
    for ((facet, &f), i) in facets.zip(&solution.current_density_a_per_m2) {
        sums[usize::from(circuit.electrode[f as usize])] += facet.area_m2 * i;
    }
    sums
}

/// Current of a supply: that of its anodes less what supplies without own anodes borrow from them;
/// of a supply without own anodes, that of its thieves.
fn supply_current(n: usize, supply: &Supply, all: &[Supply], electrode_a: &[f64]) -> f64 {
    let of_thieves =
        |s: &Supply| -> f64 { s.thieves.iter().map(|&e| -electrode_a[e]).sum::<f64>() };
    if supply.anodes.is_empty() {
        return of_thieves(supply);
    }
    let borrowed: f64 = if n == 0 {
        all[1..]
            .iter()
            .filter(|s| s.anodes.is_empty())
            .map(of_thieves)
            .sum()
    } else {
        0.0
    };
    supply.anodes.iter().map(|&e| electrode_a[e]).sum::<f64>() - borrowed
}

fn area_m2(circuit: &Circuit, electrodes: &[Electrode], of: impl Fn(Role) -> bool) -> f64 {
    let facets = circuit.network.facets.iter().zip(&circuit.live);
    facets
        .filter(|(_, f)| of(electrodes[usize::from(circuit.electrode[**f as usize])].role))
        .map(|(facet, _)| facet.area_m2)
        .sum()
}

/// Conducting area of the works, m2.
pub(crate) fn work_area_m2(circuit: &Circuit, electrodes: &[Electrode]) -> f64 {
    area_m2(circuit, electrodes, |r| r == Role::Work)
}
