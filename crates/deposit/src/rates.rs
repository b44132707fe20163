//! What happens in each second at an operating point: growth of every facet, and the ledger.
//!
//! ```text
//! dh/dt = -i e M / (z F rho)     e: current efficiency where metal is deposited (i < 0): that of the
//!                                bath times the metal's share of the local current; one where
//!                                it dissolves, nought on insoluble anodes
//! ```
//! The rest of a cathodic current evolves hydrogen, half a mole of it for each mole of electrons.

use crate::drive::Point;
use crate::ledger::Ledger;
use ionfall_bath::constants::FARADAY_C_PER_MOL;
use ionfall_bath::{Electrolyte, Kinetics};
use ionfall_model::{Contact, Electrode, Supply};
use ionfall_network::{Back, Circuit};
use serde::{Deserialize, Serialize};

/// Rates of change.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct Rates {
    /// Growth of each facet of the grid, m/s (negative where metal dissolves).
    pub growth_m_per_s: Vec<f64>,
    /// The same where nothing turns, if something does: what the film in front of a place sees.
    pub standing_m_per_s: Vec<f64>,
    /// Rates of the ledger.
    pub ledger: Ledger,
    /// Where the current is pulsed: rates in the forward time; the others are means over a cycle.
    pub forward: Option<Box<Rates>>,
}

/// Share of a current density `i` that is metal, at a drop of the surface's own.
pub(crate) fn efficiency(bath: &Electrolyte, law: &Kinetics, i: f64, own_v: f64) -> f64 {
    if i < 0.0 {
        bath.efficiency.value * law.metal_share(own_v)
    } else if law.dissolves() {
        1.0
    } else {
        0.0
    }
}

impl Rates {
    /// The largest: in the forward time of pulses, else at any time.
    pub fn peak(&self) -> &Self {
        self.forward.as_deref().unwrap_or(self)
    }

    /// Are these numbers, for so many facets?
    pub fn are_of(&self, facets: usize) -> bool {
        let standing = &self.standing_m_per_s;
        let growth = self.growth_m_per_s.iter().chain(standing);
        self.growth_m_per_s.len() == facets
            && (standing.is_empty() || standing.len() == facets)
            && growth.into_iter().all(|g| g.is_finite())
            && self.ledger.is_finite()
            && self.forward.iter().all(|f| f.are_of(facets))
    }

    /// Growth that the limiting current is compared with, m/s.
    pub fn at_film(&self, facet: usize) -> f64 {
        let standing = self.standing_m_per_s.get(facet);
        standing.copied().unwrap_or(self.growth_m_per_s[facet])
    }

    /// Means over a cycle of pulses: of its forward rates, with their share of the time, and of those in
    /// the reverse time, if there is one.
    pub fn of_cycle((duty, forward): (f64, Self), reverse: Option<(f64, Self)>) -> Self {
        let mut mean = forward.clone();
        mean.add(duty - 1.0, &forward);
        if let Some((share, back)) = reverse {
            mean.add(share, &back);
        }
        mean.forward = Some(Box::new(forward));
        mean
    }

    /// Adds `weight` times other rates.
    pub fn add(&mut self, weight: f64, other: &Self) {
        self.ledger.add(weight, &other.ledger);
        for (sum, more) in self.growth_m_per_s.iter_mut().zip(&other.growth_m_per_s) {
            *sum += weight * more;
        }
    }

    /// Nothing happens.
    pub fn rest(facets: usize, electrodes: usize, contacts: usize, supplies: usize) -> Self {
        Self {
            growth_m_per_s: vec![0.0; facets],
            standing_m_per_s: Vec::new(),
            ledger: Ledger::new(electrodes, contacts, supplies),
            forward: None,
        }
    }

    /// Of an operating point.
    pub fn new<const D: usize>(
        circuit: &Circuit,
        point: &Point,
        bath: &Electrolyte,
        electrodes: &[Electrode],
        contacts: &[Contact<D>],
        supplies: &[Supply],
    ) -> Self {
        let mut rates = Self::rest(
            circuit.electrode.len(),
            electrodes.len(),
            contacts.len(),
            supplies.len(),
        );
        let per_charge_m3 = bath.metal.thickness_rate_m_per_s(1.0, 1.0);
        let density = bath.metal.density.value;
        let ledger = &mut rates.ledger;
        let solution = &point.solution;
        let potential = |node: u32| solution.potential_v[node as usize];
        let solver = &circuit.solver;
        for (k, (facet, &f)) in solver.facets().iter().zip(&circuit.live).enumerate() {
            let f = f as usize;
            let e = usize::from(circuit.electrode[f]);
            let i = solution.current_density_a_per_m2[k];
            let amps = facet.area_m2 * i;
            let surface_v = solution.surface_potential_v[k];
            let drop_v = potential(facet.metal) - surface_v;
            let law = &circuit.laws[facet.law as usize];
            // The film takes its part of the drop.
            let own_v = drop_v - electrodes[e].film_ohm_m2 * i;
            let efficiency = efficiency(bath, law, i, own_v);
            let growth = -i * efficiency * per_charge_m3;
            rates.growth_m_per_s[f] = growth;
            let kg = growth * facet.area_m2 * density;
            if i < 0.0 {
                ledger.deposited_kg[e] += kg;
                ledger.hydrogen_mol[e] -= amps * (1.0 - efficiency) / (2.0 * FARADAY_C_PER_MOL);
            } else {
                ledger.dissolved_kg[e] -= kg;
            }
            ledger.charge_c[e] += amps;
            ledger.bath_j += amps * surface_v;
            ledger.polarisation_j[e] += amps * drop_v;
            if let Back::Contact(c) = circuit.coats.back[f] {
                ledger.contact_c[c as usize] += amps;
            }
        }
        let heat = |link: usize| {
            let link = solver.links()[link];
            link.conductance_s * (potential(link.a) - potential(link.b)).powi(2)
        };
        for (k, link) in circuit.squares().iter().enumerate() {
            ledger.coat_j += link.conductance_s * (potential(link.a) - potential(link.b)).powi(2);
            // Into the bath through the contact is away from it through the coat.
            let away = |from: u32, to: u32| link.conductance_s * (potential(from) - potential(to));
            let [at_a, at_b] = circuit.coats.contacts_at(k);
            if let Some(c) = at_a {
                ledger.contact_c[c as usize] += away(link.a, link.b);
            }
            if let Some(c) = at_b {
                ledger.contact_c[c as usize] += away(link.b, link.a);
            }
        }
        for (e, lead) in circuit.leads.iter().enumerate() {
            ledger.lead_j[e] = lead.map_or(0.0, heat);
        }
        for (c, link) in circuit.contact_link.iter().enumerate() {
            ledger.contact_j[c] = link.map_or(0.0, heat);
        }
        for (n, state) in point.supplies.iter().enumerate() {
            ledger.supply_c[n] = state.current_a;
            ledger.supply_j[n] = state.current_a * state.voltage_v;
        }
        rates
    }
}
