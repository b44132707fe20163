//! What the supplies do: the operating point of the circuit.
//!
//! A supply holds its current until that takes more than its voltage limit; then it holds the
//! limit. Which of the two holds is found by trying: the circuit is monotone, so a supply that
//! passes less than its set current at the limit is limited, and one that needs less than the
//! limit is not. The current is tried first: a generous limit would drive the electrodes far beyond
//! what they ever see. Where the current cannot flow at all, as the solver says at once, or no
//! solution is found at it, the limit is next. Behind a coat that hardly conducts it is the current
//! that asks for absurd voltages, so there the limit is tried first; the answer is the same.
//!
//! The mirror of it is a supply that holds its voltage until more than its current limit would flow; then it holds
//! that current. There the voltage is tried first, behind coats too.
//!
//! A mean current density on the work is a current where nothing else takes a share of it. With
//! thieves or more supplies the current is sought whose work has its own: by secants, beginning
//! with what the others are known to give.

use crate::error::DepositError;
use crate::secant::Secant;
use ionfall_field::{FieldError, Solution};
use ionfall_model::{Electrode, Hold, Limits, Role, Supply};
use ionfall_network::Circuit;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// Most solves for one operating point.
const MOST_ROUNDS: usize = 40;
/// Relative difference at which a current or a voltage is met.
const MET: f64 = 1e-9;
/// After each change between current and limit the other must be passed by so much more.
const WIDER: f64 = 10.0;
/// Least share of the wanted current with which the search for a mean begins.
const SMALL: f64 = 1e-3;
/// With less than this share of it left to give, the others give all.
const LEAST: f64 = 1e-6;

/// What a supply is asked for at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Demand {
    pub hold: Hold,
    pub limits: Limits,
}

impl Demand {
    /// Of a supply that is off.
    pub const OFF: Self = Self {
        hold: Hold::Current(0.0),
        limits: Limits {
            voltage_v: None,
            current_a: None,
        },
    };

    /// Can it fall to a limit?
    fn can_fall(&self) -> bool {
        match self.hold {
            Hold::Voltage(_) => self.limits.current_a.is_some(),
            Hold::Current(_) | Hold::MeanCurrentDensity(_) => self.limits.voltage_v.is_some(),
        }
    }

    /// Does it hold a current, at its limit or not?
    fn holds_current(&self, limited: bool) -> bool {
        matches!(self.hold, Hold::Voltage(_)) == limited
    }
}

/// What a supply does.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct SupplyState {
    /// Voltage between its poles, V.
    pub voltage_v: f64,
    /// Current, A.
    pub current_a: f64,
    /// Has it fallen to its limit?
    pub limited: bool,
}

/// What a supply holds instead of what it is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Limit {
    /// Its largest voltage, because the current would ask for more.
    Voltage,
    /// Its largest current, because the voltage would drive more.
    Current,
}

/// The circuit at rest with its supplies.
#[derive(Clone, Debug)]
pub(crate) struct Point {
    /// Node potentials, and currents of the network's facets.
    pub solution: Solution,
    pub supplies: Vec<SupplyState>,
    /// The limit that each of them holds, if it holds one.
    pub limits: Vec<Option<Limit>>,
    /// Solves it took, their Newton steps and cycles; those in vain are not known.
    pub work: [usize; 3],
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
    told: &mut dyn FnMut(f64),
) -> Result<Point, DepositError> {
    let known = start.as_ref().map_or(&[][..], |s| s.supplies);
    let mut search = Search::new(circuit, electrodes, supplies, demands, known)?;
    let mut begin = start.map(|s| Cow::Borrowed(s.potential_v));
    let mut work = [0; 3];
    for _ in 0..MOST_ROUNDS {
        search.connect(circuit)?;
        match circuit
            .solver
            .solve_watched(settings, begin.as_deref(), told)
        {
            Ok(solution) => {
                let more = [1, solution.record.steps, solution.record.cycles];
                work = std::array::from_fn(|k| work[k] + more[k]);
                match search.judge(circuit, &solution)? {
                    Verdict::Settled => {
                        return Ok(Point {
                            solution,
                            limits: search.limits(),
                            supplies: search.now,
                            work,
                        });
                    }
                    Verdict::Again(scale) => {
                        let mut potential_v = solution.potential_v;
                        if scale != 1.0 {
                            potential_v.iter_mut().for_each(|v| *v *= scale);
                        }
                        begin = Some(Cow::Owned(potential_v));
                    }
                }
            }
            Err(error @ FieldError::DemandAboveLimit { .. }) => search.ask_less(error)?,
            Err(error @ (FieldError::NotConverged { .. } | FieldError::NotFinite { .. })) => {
                // From a bad start there may be no way; without one, the other way is tried.
                if begin.take().is_none() {
                    search.other_way(error)?;
                }
            }
            Err(error) => return Err(error.into()),
        }
    }
    Err(DepositError::MeanNotMet {
        off_percent: 100.0 * search.off.abs(),
    })
}

/// What is known after a solve.
enum Verdict {
    /// Every supply does what it should.
    Settled,
    /// Not yet; the next solve begins from the potentials times this.
    Again(f64),
}

/// The search for the operating point.
struct Search<'a> {
    electrodes: &'a [Electrode],
    supplies: &'a [Supply],
    demands: &'a [Demand],
    work_m2: f64,
    /// Does the work not get just what a supply gives?
    shared: bool,
    now: Vec<SupplyState>,
    /// The currents injected; those that give the work its mean, as far as they are known.
    aimed_a: Vec<f64>,
    /// A current too small to be refused, for those.
    solved_a: Vec<f64>,
    aim: Secant,
    /// For the currents of thieves at their limits.
    thief: Vec<Secant>,
    /// How far, relatively, a current or a limit must be passed to be given up.
    slack: Vec<f64>,
    /// Which supplies were limited where no solution was found.
    failed: Vec<Vec<bool>>,
    /// Why the current was not tried any more.
    refused: Option<FieldError>,
    /// How far the work is from its mean.
    off: f64,
}

impl<'a> Search<'a> {
    fn new(
        circuit: &Circuit,
        electrodes: &'a [Electrode],
        supplies: &'a [Supply],
        demands: &'a [Demand],
        known: &[SupplyState],
    ) -> Result<Self, DepositError> {
        let work_m2 = work_area_m2(circuit, electrodes);
        let own: Vec<usize> = supplies.iter().flat_map(|s| s.thieves.clone()).collect();
        // Thieves on the common pole take their share of what is meant for the work.
        let common = |e: usize| electrodes[e].role == Role::Thief && !own.contains(&e);
        let common_m2 = circuit.area_m2(common);
        let coated = !circuit.coats.is_empty();
        let mut now = known.to_vec();
        if now.is_empty() {
            now.extend(demands.iter().zip(supplies).map(|(d, s)| SupplyState {
                voltage_v: d.limits.voltage_v.unwrap_or(0.0),
                current_a: 0.0,
                limited: coated && s.thieves.is_empty() && !matches!(d.hold, Hold::Voltage(_)),
            }));
        }
        for (state, demand) in now.iter_mut().zip(demands) {
            state.limited &= demand.can_fall();
        }
        let shared = supplies.len() > 1 || common_m2 > 0.0;
        let others_a = |main: usize| -> f64 {
            let others = demands.iter().zip(supplies).enumerate();
            others
                .filter(|(n, (_, s))| *n != main && s.thieves.is_empty())
                .filter_map(|(_, (d, _))| match d.hold {
                    Hold::Current(i) if d.limits.voltage_v.is_none() => Some(i),
                    _ => None,
                })
                .sum()
        };
        let (mut aimed_a, mut solved_a) = (Vec::new(), Vec::new());
        for (n, demand) in demands.iter().enumerate() {
            let (aimed, least) = match demand.hold {
                Hold::Current(i) => (i, i),
                Hold::Voltage(_) => {
                    let limit_a = demand.limits.current_a.unwrap_or(0.0);
                    (limit_a, limit_a)
                }
                Hold::MeanCurrentDensity(mean) => {
                    let (wanted_a, others_a) = (mean * work_m2, others_a(n));
                    if common_m2 == 0.0 && others_a >= wanted_a * (1.0 - MET) {
                        return Err(DepositError::OthersGiveAll { others_a, wanted_a });
                    }
                    let least = (wanted_a - others_a).max(SMALL * wanted_a);
                    let earlier = now[n].current_a;
                    let aimed = if shared && earlier > 0.0 && !now[n].limited {
                        earlier
                    } else {
                        (wanted_a + mean * common_m2 - others_a).max(least)
                    };
                    (aimed, least)
                }
            };
            // The limit of a thief's supply is met by its current, of which any may be too much.
            if now[n].limited && !supplies[n].thieves.is_empty() {
                aimed_a.push(now[n].current_a);
                solved_a.push(0.0);
            } else {
                aimed_a.push(aimed);
                solved_a.push(least.min(aimed));
            }
        }
        Ok(Self {
            electrodes,
            supplies,
            demands,
            work_m2,
            shared,
            now,
            aimed_a,
            solved_a,
            aim: Secant::default(),
            thief: vec![Secant::default(); supplies.len()],
            slack: vec![MET; supplies.len()],
            failed: Vec::new(),
            refused: None,
            off: 0.0,
        })
    }

    /// The limits that are held.
    fn limits(&self) -> Vec<Option<Limit>> {
        let limit = |(state, demand): (&SupplyState, &Demand)| {
            state.limited.then_some(match demand.holds_current(true) {
                true => Limit::Current,
                false => Limit::Voltage,
            })
        };
        self.now.iter().zip(self.demands).map(limit).collect()
    }

    /// Lets a supply hold its limit, or its current again.
    fn switch(&mut self, n: usize) {
        self.now[n].limited = !self.now[n].limited;
        self.slack[n] *= WIDER;
        self.aim = Secant::default();
    }

    /// Compares what the supplies do with what they are asked for.
    fn judge(&mut self, circuit: &Circuit, solution: &Solution) -> Result<Verdict, DepositError> {
        let electrode_a = circuit.currents_a(solution);
        let of = |role: Role| -> f64 {
            let electrodes = self.electrodes.iter().zip(&electrode_a);
            electrodes
                .filter(|(e, _)| e.role == role)
                .map(|(_, a)| -a)
                .sum()
        };
        let on_work = of(Role::Work);
        let work_share = (on_work / (on_work + of(Role::Thief))).clamp(0.1, 1.0);
        let means = (self.demands.iter())
            .filter(|d| matches!(d.hold, Hold::MeanCurrentDensity(_)))
            .count() as f64;
        let (mut settled, mut scale) = (true, 1.0);
        self.off = 0.0;
        for n in 0..self.demands.len() {
            let (demand, supply) = (self.demands[n], &self.supplies[n]);
            let poles = circuit.poles[n];
            let potential = |node: u32| solution.potential_v[node as usize];
            let volts = potential(poles.positive) - potential(poles.negative);
            let amps = supply_current(n, supply, self.supplies, &electrode_a);
            self.now[n].voltage_v = volts;
            self.now[n].current_a = amps;
            let wanted_a = match demand.hold {
                Hold::Current(i) => i,
                Hold::Voltage(_) => f64::INFINITY,
                Hold::MeanCurrentDensity(mean) => mean * self.work_m2,
            };
            let is_mean = matches!(demand.hold, Hold::MeanCurrentDensity(_));
            if !supply.thieves.is_empty() {
                settled &= self.judge_thief(n, volts, wanted_a);
            } else if let Hold::Voltage(held_v) = demand.hold {
                if let Some(by) = self.judge_voltage(n, held_v) {
                    if n == 0 {
                        scale = by;
                    }
                    settled = false;
                }
            } else if self.now[n].limited {
                // At the limit: does it pass more than it should?
                let passes = if is_mean { on_work } else { amps };
                if passes > wanted_a * (1.0 + self.slack[n]) {
                    if is_mean && self.shared {
                        self.aimed_a[n] = (amps + wanted_a - on_work).max(0.1 * amps);
                    }
                    self.switch(n);
                    settled = false;
                }
            } else if let Some(limit_v) = demand.limits.voltage_v
                && volts > limit_v * (1.0 + self.slack[n])
            {
                self.switch(n);
                if n == 0 {
                    scale = limit_v / volts;
                }
                settled = false;
            } else if is_mean && self.shared {
                self.solved_a[n] = self.aimed_a[n];
                self.off = on_work / wanted_a - 1.0;
                if self.off.abs() > MET {
                    let missing = (wanted_a - on_work) / means;
                    let aimed_a = self.aimed_a[n];
                    let next = self.aim.next(aimed_a, -missing, work_share);
                    if next <= 0.0 && aimed_a < LEAST * wanted_a {
                        let others_a = on_work - amps;
                        return Err(DepositError::OthersGiveAll { others_a, wanted_a });
                    }
                    // A straight line may lead too far.
                    self.aimed_a[n] = next.max(0.1 * aimed_a);
                    settled = false;
                }
            }
        }
        Ok(if settled {
            Verdict::Settled
        } else {
            Verdict::Again(scale)
        })
    }

    /// A supply that holds its voltage up to its current limit. Where the other of the two is to hold, by how much
    /// potentials are too large.
    fn judge_voltage(&mut self, n: usize, held_v: f64) -> Option<f64> {
        let limit_a = self.demands[n].limits.current_a?;
        let SupplyState {
            voltage_v,
            current_a,
            limited,
        } = self.now[n];
        let (is, most) = if limited {
            (voltage_v, held_v)
        } else {
            (current_a, limit_a)
        };
        (is > most * (1.0 + self.slack[n])).then(|| {
            self.switch(n);
            most / is
        })
    }

    /// The supply of a thief hangs on the main pole, which moves: where it is limited, the current
    /// is sought that takes just the limit. Is it found?
    fn judge_thief(&mut self, n: usize, volts: f64, set_a: f64) -> bool {
        self.solved_a[n] = self.aimed_a[n];
        let Some(limit_v) = self.demands[n].limits.voltage_v else {
            return true;
        };
        let over_v = volts - limit_v;
        if !self.now[n].limited {
            if over_v <= self.slack[n] * limit_v {
                return true;
            }
            self.switch(n);
        } else if over_v.abs() <= MET * limit_v {
            return true;
        } else if self.aimed_a[n] >= set_a && over_v < 0.0 {
            self.switch(n);
            return false;
        }
        let ohm = volts.abs().max(limit_v) / set_a;
        let next = self.thief[n].next(self.aimed_a[n], over_v, ohm);
        self.aimed_a[n] = next.min(set_a);
        false
    }

    /// The electrodes cannot carry what they are asked for.
    fn ask_less(&mut self, error: FieldError) -> Result<(), DepositError> {
        self.refused.get_or_insert_with(|| error.clone());
        let free = |n: &usize| {
            let demand = &self.demands[*n];
            demand.can_fall() && demand.holds_current(self.now[*n].limited)
        };
        if (0..self.now.len()).any(|n| free(&n)) {
            return self.other_way(error);
        }
        // The search for the mean, or for the limit of a thief, went too far.
        let above = |n: &usize| {
            let (aimed_a, solved_a) = (self.aimed_a[*n], self.solved_a[*n]);
            aimed_a - solved_a > 1e-6 * solved_a.abs()
        };
        let Some(n) = (0..self.now.len()).find(above) else {
            return Err(error.into());
        };
        self.aimed_a[n] = 0.5 * (self.aimed_a[n] + self.solved_a[n]);
        self.aim = Secant::default();
        Ok(())
    }

    /// No solution was found: a supply that has not been tried so holds its limit instead of its
    /// current, or the other way round.
    fn other_way(&mut self, error: FieldError) -> Result<(), DepositError> {
        let limited: Vec<bool> = self.now.iter().map(|s| s.limited).collect();
        let untried = |n: &usize| {
            let mut other = limited.clone();
            other[*n] = !other[*n];
            other != limited && !self.failed.contains(&other)
        };
        let mut can = (0..limited.len()).filter(|n| self.demands[*n].can_fall());
        let next = can.find(untried);
        self.failed.push(limited);
        match next {
            Some(n) => {
                self.switch(n);
                if let (Hold::Current(set_a), false) =
                    (self.demands[n].hold, self.supplies[n].thieves.is_empty())
                {
                    let limited = self.now[n].limited;
                    self.aimed_a[n] = if limited { 0.5 * set_a } else { set_a };
                    self.solved_a[n] = if limited { 0.0 } else { set_a };
                }
                Ok(())
            }
            None => Err(self.refused.take().unwrap_or(error).into()),
        }
    }

    /// Fixes potentials and injects currents.
    fn connect(&self, circuit: &mut Circuit) -> Result<(), FieldError> {
        let mut fixed = vec![(circuit.ground, 0.0)];
        let mut injected: Vec<(u32, f64)> = Vec::new();
        for (n, (supply, demand)) in self.supplies.iter().zip(self.demands).enumerate() {
            let poles = circuit.poles[n];
            let held_v = match demand.hold {
                Hold::Voltage(_) if self.now[n].limited => None,
                Hold::Voltage(v) => Some(v),
                _ if self.now[n].limited && supply.thieves.is_empty() => demand.limits.voltage_v,
                _ => None,
            };
            match held_v {
                Some(volts) => fixed.push((poles.positive, volts)),
                None => {
                    injected.push((poles.positive, self.aimed_a[n]));
                    if poles.negative != circuit.ground {
                        injected.push((poles.negative, -self.aimed_a[n]));
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
        circuit.solver.supply(fixed, injected)
    }
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

/// Conducting area of the works, m2.
pub(crate) fn work_area_m2(circuit: &Circuit, electrodes: &[Electrode]) -> f64 {
    circuit.area_m2(|e| electrodes[e].role == Role::Work)
}
