//! Operating points: what the supplies are asked for, and what happens then.
//!
//! Pulses are much shorter than anything that grows, so a cycle of them is a mean over its phases, each of
//! them at rest:
//!
//! ```text
//! forward    all supplies give their currents times `1 / (duty - reverse share * reverse duty)`
//! off        nothing flows
//! reverse    all supplies give the reverse share of their forward currents, the other way
//! ```
//! A voltage that is held is that of the forward time, and so are limits of voltage and current. Growth, charge and energy are
//! means over the cycle; what is told of a moment is the forward phase.
//!
//! In front of a pulsed cathode the concentration follows each pulse in a layer
//! `d = sqrt(2 D t_on (1 - duty))`; the rest of the film `f` sees the mean. With both in series the metal is used
//! up at `i_L / ((d / f) (1 - duty) + duty)`, which stands for the limiting current in the laws of the cathodes
//! (Ibl 1980, Surf. Technol. 10:81-104, from memory; that the duplex film is adequate for copper: Datta and
//! Landolt 1985, Surf. Technol. 25:97-110).

use crate::drive::{Demand, Point, Start, SupplyState, settle};
use crate::error::DepositError;
use crate::observer::Observer;
use crate::positions::Positions;
use crate::rates::Rates;
use crate::settings::Settings;
use crate::state::State;
use crate::turn::Rings;
use ionfall_bath::Electrolyte;
use ionfall_field::FieldError;
use ionfall_model::{Hold, Limits, Model, Parts, Pulse, Setting, Step};
use ionfall_network::Circuit;

/// What the supplies are asked for.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Asked {
    /// Of each supply; means over a cycle where they are pulsed.
    demands: Vec<Demand>,
    pulse: Option<Pulse>,
}

impl Asked {
    /// Without a plan.
    pub fn standing<G>(model: &Model<G>) -> Self {
        let supplies = model.supplies.iter();
        let demands = supplies.map(|s| Demand {
            hold: s.hold,
            limits: s.limits,
        });
        Self {
            demands: demands.collect(),
            pulse: None,
        }
    }

    /// So long after the beginning of a step; nothing in a rest.
    pub fn in_step<G>(model: &Model<G>, step: &Step, time_s: f64) -> Option<Self> {
        let main = match step.setting {
            Setting::Rest => return None,
            Setting::Hold(hold) => hold,
            Setting::Ramp(from, to) => between(from, to, time_s / step.at_most_s),
        };
        let mut asked = Self::standing(model);
        asked.demands[0].hold = main;
        for &n in &step.off {
            asked.demands[n] = Demand::OFF;
        }
        asked.pulse = step.pulse;
        Some(asked)
    }

    /// Is the current pulsed?
    pub fn is_pulsed(&self) -> bool {
        self.pulse.is_some()
    }

    /// In the forward time.
    pub fn forward(&self) -> Vec<Demand> {
        let times = self.pulse.map_or(1.0, |p| p.peak_factor());
        let demands = self.demands.iter().map(|d| Demand {
            hold: d.hold.with_current_times(times),
            ..*d
        });
        demands.collect()
    }
}

/// In the reverse time, after what the supplies gave in the forward time.
fn reverse(share: f64, forward: &[SupplyState]) -> Vec<Demand> {
    let demands = forward.iter().map(|s| Demand {
        hold: Hold::Current(-share * s.current_a),
        limits: Limits::default(),
    });
    demands.collect()
}

/// A solve of the circuit, and what it was for.
#[derive(Debug)]
pub(crate) struct Solved {
    asked: Asked,
    /// The operating point, of pulses in their forward time.
    pub point: Point,
    pub rates: Rates,
}

/// Limiting current at the peak of pulses over that of a steady current.
pub(crate) fn limits_times(pulse: Option<&Pulse>, bath: &Electrolyte) -> f64 {
    let Some(pulse) = pulse else { return 1.0 };
    let duty = pulse.duty();
    let layer = match (bath.diffusion, bath.film) {
        (Some(diffusion), Some(film)) => {
            let depth_m = (2.0 * diffusion.value * pulse.on_s * (1.0 - duty)).sqrt();
            (depth_m / film.value).min(1.0)
        }
        // Nothing known of the film: as if it followed every pulse.
        _ => 1.0,
    };
    1.0 / (layer * (1.0 - duty) + duty)
}

/// A circuit with those who drive it.
pub(crate) struct Operator<'a, const D: usize> {
    pub model: &'a Model<Parts<D>>,
    pub circuit: Circuit,
    pub settings: &'a Settings,
    pub observer: &'a mut dyn Observer,
    pub rings: Rings,
    pub positions: Positions,
    /// The last solve of a circuit that does not change with the deposit.
    pub last: Option<Solved>,
}

impl<const D: usize> Operator<'_, D> {
    /// Lets the solver's levels follow a coat that has grown. It is done before every time step and
    /// at the end, so that a run that was stopped and goes on has the same levels.
    pub fn coarsen_anew(&mut self) {
        if !self.circuit.coats.is_empty() {
            self.circuit.solver.coarsen_anew();
        }
    }

    /// The operating point at a thickness: the one of the last solve if nothing has changed.
    pub fn evaluate(
        &mut self,
        state: &mut State,
        thickness_m: &[f64],
        asked: &Asked,
    ) -> Result<Solved, DepositError> {
        let rigid = self.circuit.coats.is_empty();
        let kept = self
            .last
            .take()
            .filter(|last| rigid && last.asked == *asked);
        kept.map_or_else(|| self.solve(state, thickness_m, asked), Ok)
    }

    fn solve(
        &mut self,
        state: &mut State,
        thickness_m: &[f64],
        asked: &Asked,
    ) -> Result<Solved, DepositError> {
        let resistivity = self.model.bath.metal.resistivity.value;
        self.circuit.grow(thickness_m, resistivity)?;
        let times = limits_times(asked.pulse.as_ref(), &self.model.bath);
        self.circuit.set_limits_times(times)?;
        let start = (!state.potential_v.is_empty()).then(|| Start {
            potential_v: &state.potential_v,
            supplies: &state.supplies,
        });
        let refused = |error| match (error, asked.pulse) {
            (
                DepositError::Field(FieldError::DemandAboveLimit {
                    demand_a,
                    largest_a,
                }),
                Some(pulse),
            ) => DepositError::AbovePeakLimit {
                demand_a: demand_a.abs(),
                times: pulse.peak_factor(),
                largest_a: largest_a.abs(),
            },
            (error, _) => error,
        };
        let point = self.settle(&asked.forward(), start).map_err(refused)?;
        let forward = asked.forward();
        let mut rates = self.rates(&point, &forward, times)?;
        book(state, &point);
        if let Some(pulse) = asked.pulse {
            let mut reverse_rates = None;
            if pulse.reverse_s > 0.0 {
                // As far the other way, where nothing is curved.
                let potential_v = &point.solution.potential_v;
                let turned: Vec<f64> = (potential_v.iter())
                    .map(|v| -pulse.reverse_share * v)
                    .collect();
                let start = Start {
                    potential_v: &turned,
                    supplies: &point.supplies,
                };
                let demands = reverse(pulse.reverse_share, &point.supplies);
                let back = self
                    .settle(&demands, Some(start))
                    .map_err(|error| match error {
                        DepositError::Field(FieldError::DemandAboveLimit { .. }) => {
                            DepositError::OneWay
                        }
                        error => error,
                    })?;
                book(state, &back);
                reverse_rates = Some((pulse.reverse_duty(), self.rates(&back, &demands, times)?));
            }
            rates = Rates::of_cycle((pulse.duty(), rates), reverse_rates);
        }
        state.potential_v.clone_from(&point.solution.potential_v);
        self.circuit.solver.plain().clone_into(&mut state.plain);
        state.supplies.clone_from(&point.supplies);
        Ok(Solved {
            asked: asked.clone(),
            point,
            rates,
        })
    }

    fn settle(
        &mut self,
        demands: &[Demand],
        start: Option<Start<'_>>,
    ) -> Result<Point, DepositError> {
        let observer = &mut *self.observer;
        settle(
            &mut self.circuit,
            &self.model.geometry.electrodes,
            &self.model.supplies,
            demands,
            start,
            &self.settings.field,
            &mut |imbalance| observer.imbalance(imbalance),
        )
    }

    fn rates(
        &mut self,
        point: &Point,
        demands: &[Demand],
        limits_times: f64,
    ) -> Result<Rates, DepositError> {
        let mut rates = Rates::new(
            &self.circuit,
            point,
            &self.model.bath,
            &self.model.geometry.electrodes,
            &self.model.geometry.contacts,
            &self.model.supplies,
        );
        if let Some(means) = self.rings.means(&rates.growth_m_per_s) {
            rates.standing_m_per_s = std::mem::replace(&mut rates.growth_m_per_s, means);
        }
        let (model, settings) = (self.model, self.settings);
        self.positions
            .mean(&mut rates, model, settings, demands, limits_times)?;
        Ok(rates)
    }
}

/// Counts the work of an operating point.
fn book(state: &mut State, point: &Point) {
    for (sum, more) in state.work.iter_mut().zip(point.work) {
        *sum += more;
    }
}

/// A value on a ramp.
fn between(from: Hold, to: Hold, share: f64) -> Hold {
    let mix = |a: f64, b: f64| a + share.clamp(0.0, 1.0) * (b - a);
    match (from, to) {
        (Hold::Current(a), Hold::Current(b)) => Hold::Current(mix(a, b)),
        (Hold::Voltage(a), Hold::Voltage(b)) => Hold::Voltage(mix(a, b)),
        (Hold::MeanCurrentDensity(a), Hold::MeanCurrentDensity(b)) => {
            Hold::MeanCurrentDensity(mix(a, b))
        }
        (other, _) => other,
    }
}
