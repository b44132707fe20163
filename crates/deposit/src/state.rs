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

/// What a run has gone through.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct History {
    /// The main figures: at least at the ends of each step of the plan.
    pub moments: Vec<Moment>,
    /// Surfaces at the times asked for.
    pub snapshots: Vec<Snapshot>,
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
    /// What was so far.
    pub history: History,
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
            history: History::default(),
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
        self.history.snapshots.push(Snapshot {
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
            && self.is_possible(fresh)
    }

    /// Is everything a number where it has to be one, and no time later than now?
    fn is_possible(&self, fresh: &Self) -> bool {
        let facets = fresh.thickness_m.len();
        let past = |time_s: f64| (0.0..=self.time_s).contains(&time_s);
        let snapshot = |s: &Snapshot| {
            let lists = [&s.thickness_m, &s.growth_m_per_s];
            past(s.time_s) && lists.iter().all(|l| l.len() == facets && are_numbers(l))
        };
        let moment = |m: &Moment| {
            let figures = [
                m.voltage_v,
                m.current_a,
                m.least_m,
                m.mean_m,
                m.covered_share,
            ];
            past(m.time_s) && are_numbers(&figures) && m.limit_share.is_none_or(f64::is_finite)
        };
        let share = |(share, fresh): (&f64, &f64)| {
            (share.is_nan() && fresh.is_nan()) || (share.is_finite() && *share >= 0.0)
        };
        let earlier = self.earlier.iter().map(|(_, potential_v)| potential_v);
        self.time_s.is_finite()
            && past(self.step_begin_s)
            && self.step_charge_c.is_finite()
            && are_numbers(&self.thickness_m)
            && self.covered_s.len() == facets
            && self.covered_s.iter().all(|t| t.is_nan() || past(*t))
            && self.limit_share.len() == facets
            && self.limit_share.iter().zip(&fresh.limit_share).all(share)
            && self.depletion.iter().all(|d| d.share().is_finite())
            && are_numbers(&self.contact_peak_a)
            && self.wish_s.is_none_or(past)
            && self.ledger.is_finite()
            && self.history.moments.iter().all(moment)
            && self.history.snapshots.iter().all(snapshot)
            && are_numbers(&self.potential_v)
            && earlier.flatten().all(|v| v.is_finite())
            && (self.supplies.iter()).all(|s| are_numbers(&[s.voltage_v, s.current_a]))
            && self.rates.iter().all(|r| r.are_of(facets))
            && self.next_s.is_none_or(|s| s.is_finite() && s > 0.0)
    }
}

fn are_numbers(list: &[f64]) -> bool {
    list.iter().all(|x| x.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A state of two facets, the second without a limit, after ten seconds.
    fn later() -> State {
        State {
            time_s: 10.0,
            thickness_m: vec![1e-6, 2e-6],
            covered_s: vec![5.0, f64::NAN],
            ..fresh()
        }
    }

    fn fresh() -> State {
        State::new(&[true, false], 1, 2, 1)
    }

    #[test]
    fn a_state_that_cannot_be_is_refused() {
        assert!(fresh().fits(&fresh(), 3) && later().fits(&fresh(), 3));
        type Spoil = fn(&mut State);
        let spoilt: [Spoil; 11] = [
            |s| s.thickness_m[1] = f64::NAN,
            |s| s.thickness_m.truncate(1),
            |s| s.covered_s[0] = 11.0,
            |s| s.limit_share[0] = f64::NAN,
            |s| s.limit_share[0] = -1.0,
            |s| s.ledger.bath_j = f64::INFINITY,
            |s| s.ledger.charge_c[1] = f64::NAN,
            |s| s.step_begin_s = 20.0,
            |s| s.potential_v = vec![0.0, f64::NAN, 1.0],
            |s| s.next_s = Some(0.0),
            |s| s.time_s = f64::NAN,
        ];
        for (n, spoil) in spoilt.into_iter().enumerate() {
            let mut state = later();
            spoil(&mut state);
            assert!(!state.fits(&fresh(), 3), "{n}");
        }
    }
}
