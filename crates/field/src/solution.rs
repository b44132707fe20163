//! What a solve gives.

use crate::network::NodeKind;
use crate::newton::{Record, State};
use crate::system::{Operator, System};
use rayon::prelude::*;

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
    /// What it took.
    pub record: Record,
    /// Net current the electrolyte gains or loses, relative to all that enters it.
    pub balance_error: f64,
    /// Times spent.
    pub timings: Timings,
}

/// The answer in the numbering of the network.
pub(crate) fn collect(system: &System, state: &State, record: Record) -> Solution {
    let network = &system.network;
    let place = system.places();
    let facets = network.facets.par_iter().zip(&state.responses).enumerate();
    let surface_potential_v = facets
        .map(|(f, (facet, response))| {
            system.probe(Operator::Corrected, f, &state.x)
                + network.series_ohm_m2(facet) * response.current_a_per_m2
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
        record,
        balance_error: if entering > 0.0 {
            net.abs() / entering
        } else {
            0.0
        },
        timings: Timings::default(),
    }
}
