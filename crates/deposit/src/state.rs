//! Where a run stands between two time steps: all that is needed to go on from there.

use crate::depletion::Depletion;
use crate::drive::SupplyState;
use crate::ledger::Ledger;
use crate::rates::Rates;
use serde::{Deserialize, Serialize};

/// The main figures at a moment.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Moment {
    /// Time since the start, s.
    pub time_s: f64,
    /// Number of the step of the plan.
    pub step: usize,
    /// Voltage of the main supply, of pulses in their forward time, V.
    pub voltage_v: f64,
    /// Current of the main supply, of pulses in their forward time, A.
    pub current_a: f64,
    /// Is the main supply at its voltage limit?
    pub limited: bool,
    /// Thinnest place of the works, m.
    pub least_m: f64,
    /// Mean thickness of the works, m.
    pub mean_m: f64,
    /// Share of the works' area that is covered.
    pub covered_share: f64,
    /// Largest share of the metal that is used up in front of a place (at rest the share of the limiting
    /// current), where there is a limit.
    pub limit_share: Option<f64>,
}

/// The surfaces at a moment that was asked for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Snapshot {
    /// Time since the start, s.
    pub time_s: f64,
    /// Thickness of each facet, m.
    pub thickness_m: Vec<f64>,
    /// Growth of each facet, m/s.
    pub growth_m_per_s: Vec<f64>,
}

/// A run between two time steps. Two runs of one job that are in the same state go on in the same
/// way, to the last bit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Number of the plan's step under way; the number of steps when all are done.
    pub step: usize,
    /// Time since the start, s.
    pub time_s: f64,
    /// When the step began, s.
    pub step_begin_s: f64,
    /// Charge of the main supply since the start of the step, C.
    pub(crate) step_charge_c: f64,
    /// Thickness of each facet, m (negative where metal dissolved).
    pub thickness_m: Vec<f64>,
    /// When each facet was first covered, s; not a number while it is not.
    pub covered_s: Vec<f64>,
    /// What is used up in front of each facet.
    pub(crate) depletion: Vec<Depletion>,
    /// Largest share of the metal that was used up in front of each facet (at rest the share of the
    /// limiting current); not a number without a limit.
    pub limit_share: Vec<f64>,
    /// Largest current of each contact, A.
    pub contact_peak_a: Vec<f64>,
    /// When the wanted thickness was reached everywhere, s.
    pub wish_s: Option<f64>,
    /// Amounts so far.
    pub ledger: Ledger,
    /// History.
    pub moments: Vec<Moment>,
    /// Surfaces at the times asked for.
    pub snapshots: Vec<Snapshot>,
    /// Potentials of the nodes at the last operating point, V; empty before the first.
    pub(crate) potential_v: Vec<f64>,
    /// Time (s) and potentials at the beginning of the last time step, if the plan's step is still the
    /// same.
    pub(crate) earlier: Option<(f64, Vec<f64>)>,
    /// Nodes that have been made plain so far.
    pub(crate) plain: Vec<u32>,
    /// Supplies at the last operating point.
    pub(crate) supplies: Vec<SupplyState>,
    /// Rates here, if they are known.
    pub(crate) rates: Option<Rates>,
    /// Length proposed for the next time step, s.
    pub(crate) next_s: Option<f64>,
    /// Time steps taken and refused.
    pub time_steps: [usize; 2],
    /// Solves, Newton steps and multigrid cycles so far.
    pub work: [usize; 3],
}

impl State {
    /// Before the first step.
    pub(crate) fn new(limit: &[bool], contacts: usize, electrodes: usize, supplies: usize) -> Self {
        let facets = limit.len();
        Self {
            step: 0,
            time_s: 0.0,
            step_begin_s: 0.0,
            step_charge_c: 0.0,
            thickness_m: vec![0.0; facets],
            covered_s: vec![f64::NAN; facets],
            depletion: vec![Depletion::default(); facets],
            limit_share: limit
                .iter()
                .map(|has| if *has { 0.0 } else { f64::NAN })
                .collect(),
            contact_peak_a: vec![0.0; contacts],
            wish_s: None,
            ledger: Ledger::new(electrodes, contacts, supplies),
            moments: Vec::new(),
            snapshots: Vec::new(),
            potential_v: Vec::new(),
            earlier: None,
            plain: Vec::new(),
            supplies: Vec::new(),
            rates: None,
            next_s: None,
            time_steps: [0; 2],
            work: [0; 3],
        }
    }

    /// Keeps the surfaces as they are now.
    pub(crate) fn take_snapshot(&mut self, rates: &Rates) {
        self.snapshots.push(Snapshot {
            time_s: self.time_s,
            thickness_m: self.thickness_m.clone(),
            growth_m_per_s: rates.growth_m_per_s.clone(),
        });
    }

    /// Goes on to the next step of the plan.
    pub(crate) fn begin_next_step(&mut self) {
        self.step += 1;
        self.step_begin_s = self.time_s;
        self.step_charge_c = 0.0;
        self.next_s = None;
        self.rates = None;
        self.earlier = None;
    }

    /// Could it be a later state of the same run, with that many nodes?
    pub(crate) fn fits(&self, fresh: &Self, nodes: usize) -> bool {
        self.thickness_m.len() == fresh.thickness_m.len()
            && self.depletion.len() == fresh.depletion.len()
            && self.contact_peak_a.len() == fresh.contact_peak_a.len()
            && self.ledger.charge_c.len() == fresh.ledger.charge_c.len()
            && self.ledger.supply_c.len() == fresh.ledger.supply_c.len()
            && (self.potential_v.is_empty() || self.potential_v.len() == nodes)
            && (self.earlier.iter()).all(|(time_s, v)| *time_s < self.time_s && v.len() == nodes)
    }
}
