//! What no tank can do: the maximum principle, checked after a solve.
//!
//! The potential of an electrolyte takes its largest and its smallest value at electrodes, and a law
//! drives current only down its drop. Let `r` be the drop of a law at rest (no current). All
//! surfaces and all cells then lie between the lowest and the highest `phi_metal - r`, and from the
//! lowest metal no current flows into the electrolyte, into the highest none out of it.
//!
//! The plain network, whose every off-diagonal is a positive conductance, keeps this exactly. The
//! corrected one does not where cells are too large for a notch, a thin wall or a wire: there a
//! fit through cells on both sides of something can turn a current round. A cell whose centre lies
//! in a metal holds the continuation of the field and may lie beyond the metal by some slopes times
//! its size; [`BEYOND`] allows for that. Nodes that break it are made *plain* (own cell instead of probe,
//! no corrections) and the solve goes on from there. (Keeping the positive weights of a probe was tried:
//! no better, and up to 25 Newton steps instead of 17.)

use crate::network::NodeKind;
use crate::newton::State;
use crate::system::{Operator, System};

/// How far a cell may lie beyond the metals: so many times what the slope at its facets makes of the
/// depth of its centre behind them (one for a straight continuation; measured choice, with it 500
/// random scenes keep to 1 % in the electrolyte and sound bodies have no plain nodes).
const BEYOND: f64 = 1.5;

/// And besides, whatever the depth, in the lengths of the facet's probe: beside leaves of another size
/// and in hollows the field behind a surface is no straight continuation. Without it a sliver behind
/// the wall of a bowl, 3 % over the bound, was made plain and took the facets beside it along, which
/// then got a fifth of their current. With 0.25 three of 45 random scenes went 1 to 2 % of the voltage
/// beyond in the electrolyte, with 0.1 none.
const SLACK: f64 = 0.1;

/// What every cell may lie beyond, as a share of the voltage: overshoots of the corrections beside
/// corners stay below it.
const OVERSHOOT: f64 = 0.01;

/// Differences of potential that count as none, as a share of the voltage; and in terms of the
/// imbalance that is left, relative to the currents.
const NOTHING: f64 = 1e-10;
const BLUR: f64 = 1.0;

/// Cells (names in the network, ascending) to be made plain because the solution does there what no
/// tank can do.
pub(crate) fn beyond(system: &System, state: &State) -> Vec<u32> {
    let network = &system.network;
    let Some(range) = Range::of(system, state) else {
        return Vec::new();
    };
    let mut found = vec![false; network.addresses.len()];
    // Of the facets of each cell: the least depth (infinite where there are none: a centre in front of
    // any of them lies beside a convex corner, in the electrolyte) and the largest drop.
    let mut depth = vec![f32::INFINITY; network.addresses.len()];
    let mut largest = vec![0f32; network.addresses.len()];
    for (f, facet) in network.facets.iter().enumerate() {
        let drop = state.responses[f].current_a_per_m2 * network.series_ohm_m2(facet);
        let surface = system.probe(Operator::Corrected, f, &state.x) + drop;
        let behind = range.behind(system, state, f);
        let cell = facet.cell as usize;
        found[cell] |= range.outside(surface, 0.0)
            || (drop > range.nothing && behind <= range.lowest + range.nothing)
            || (-drop > range.nothing && behind >= range.highest - range.nothing);
        depth[cell] = depth[cell].min(facet.depth);
        largest[cell] = largest[cell].max(drop.abs() as f32);
    }
    let x = |node: usize| state.x[system.places()[node] as usize];
    let overshoot = OVERSHOOT * (range.highest - range.lowest);
    // Cells without facets follow those around them: only an extreme is a cause.
    let mut suspects: Vec<usize> = Vec::new();
    for (node, address) in network.addresses.iter().enumerate() {
        let alone = depth[node].is_infinite();
        let reach = if alone {
            0.0
        } else {
            (BEYOND * f64::from(depth[node]) + SLACK) * f64::from(largest[node])
        };
        let far = range.outside(x(node), reach.max(overshoot));
        if address.kind == NodeKind::Electrolyte && far {
            if alone {
                suspects.push(node);
            } else {
                found[node] = true;
            }
        }
    }
    let extreme = extremes(system, state, &range, suspects);
    let pulling = pulling(system, state, &range, &found);
    for node in extreme.into_iter().chain(pulling) {
        found[node] = true;
    }
    (0..found.len() as u32)
        .filter(|&n| found[n as usize])
        .collect()
}

/// Of cells without facets that lie beyond the metals, those that none around them exceeds.
fn extremes(system: &System, state: &State, range: &Range, suspects: Vec<usize>) -> Vec<usize> {
    if suspects.is_empty() {
        return suspects;
    }
    let network = &system.network;
    let x = |node: usize| state.x[system.places()[node] as usize];
    let mut exceeded = vec![false; network.addresses.len()];
    for link in network.all_links() {
        let ends = [link.a as usize, link.b as usize];
        for [n, m] in [ends, [ends[1], ends[0]]] {
            exceeded[n] |= if x(n) < range.lowest {
                x(m) <= x(n)
            } else {
                x(m) >= x(n)
            };
        }
    }
    suspects.into_iter().filter(|&n| !exceeded[n]).collect()
}

/// What pulls the faulty cells across that are plain already: only a neighbour that lies beyond can, and
/// where that is plain too, one of its own.
fn pulling(system: &System, state: &State, range: &Range, found: &[bool]) -> Vec<usize> {
    let network = &system.network;
    let x = |node: usize| state.x[system.places()[node] as usize];
    let mut plain = vec![false; found.len()];
    for &node in &network.plain {
        plain[node as usize] = true;
    }
    let mut pulled: Vec<bool> = (0..found.len()).map(|n| found[n] && plain[n]).collect();
    let mut out = Vec::new();
    let mut more = pulled.contains(&true);
    while more {
        more = false;
        for link in network.all_links() {
            let ends = [link.a as usize, link.b as usize];
            for [n, m] in [ends, [ends[1], ends[0]]] {
                if pulled[n] && !pulled[m] && range.outside(x(m), 0.0) {
                    pulled[m] = plain[m];
                    more |= plain[m];
                    if !plain[m] {
                        out.push(m);
                    }
                }
            }
        }
    }
    out
}

/// Between which potentials all surfaces lie.
struct Range {
    lowest: f64,
    highest: f64,
    /// A difference that counts as none.
    nothing: f64,
    rest: Vec<f64>,
}

impl Range {
    /// None if there is a law that cannot rest: it bounds nothing.
    fn of(system: &System, state: &State) -> Option<Self> {
        let network = &system.network;
        let rest: Vec<f64> = network.laws.iter().map(|l| l.drop_at(0.0)).collect();
        let mut range = Self {
            lowest: f64::INFINITY,
            highest: f64::NEG_INFINITY,
            nothing: 0.0,
            rest,
        };
        for (f, facet) in network.facets.iter().enumerate() {
            if facet.area_m2 > 0.0 {
                let behind = range.behind(system, state, f);
                range.lowest = range.lowest.min(behind);
                range.highest = range.highest.max(behind);
            }
        }
        let blur = NOTHING.max(BLUR * state.norm / state.scale(system));
        range.nothing = blur * (range.highest - range.lowest);
        let bounded = range.nothing.is_finite() && range.rest.iter().all(|r| r.is_finite());
        bounded.then_some(range)
    }

    /// Potential of the electrolyte at which a facet would rest.
    fn behind(&self, system: &System, state: &State, f: usize) -> f64 {
        let facet = &system.network.facets[f];
        let metal = system.places()[facet.metal as usize] as usize;
        state.x[metal] - self.rest[facet.law as usize]
    }

    fn outside(&self, potential: f64, by: f64) -> bool {
        let by = by + self.nothing;
        !(self.lowest - by..=self.highest + by).contains(&potential)
    }
}
