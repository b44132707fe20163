//! How an operating point follows small changes of what drives it: one linear solve for each cause.
//!
//! With the currents `F(phi, p)` that leave each node, `A` their derivative by the potentials (the corrected one
//! of the solver) and a cause `p` by its logarithm,
//!
//! ```text
//! A x = -F_p           di = s (A_drive x) + e          e: what p does to a facet at fixed potentials
//! e   = (L+(d, R+) - L-(d, R-)) / 2 h                  the facet with p times 1 + h and 1 - h
//! ```
//! for the response `L` of law and series resistance `R` at its drive `d`. A facet's `e` leaves its metal and
//! enters its cell; a link of conductance `g` in proportion to `1 / p` loses `g (phi_a - phi_b)`; with the
//! conductivity all currents between cells grow too, which in the balance of a cell are those of its facets. A bath that
//! is made otherwise moves its conductivity and its laws at once, by its own relations.
//! A mean current density that a supply holds beside others is a condition: what its own current must do so
//! that the work keeps its mean is one solve more.

pub use crate::cause::Cause;

use crate::drive::{Demand, Limit, Point, work_area_m2};
use crate::error::DepositError;
use crate::operate::Operator;
use crate::rates::efficiency;
use ionfall_bath::Kinetics;
use ionfall_bath::electrolyte::Adjustment;
use ionfall_field::FieldError;
use ionfall_field::law::Law;
use ionfall_model::{Hold, Role};

/// Relative step of differences of laws in closed form.
const STEP: f64 = 1e-4;
/// A cause a little more and a little less.
const SIDES: [f64; 2] = [1.0 + STEP, 1.0 - STEP];
/// Residual of the linear solves.
const TOLERANCE: f64 = 1e-7;

/// How an operating point follows a cause; all by its logarithm, so for a change by a hundredth a hundredth of it.
#[derive(Clone, Debug)]
pub struct Sensitivity {
    /// The cause.
    pub cause: Cause,
    /// Growth of each facet of the grid, m/s.
    pub growth_m_per_s: Vec<f64>,
    /// Current density of each facet of the grid, A/m2, positive into the bath.
    pub current_density_a_per_m2: Vec<f64>,
    /// Current of each electrode, A, positive into the bath.
    pub electrode_a: Vec<f64>,
    /// Voltage of each supply, V.
    pub supply_v: Vec<f64>,
}

/// What a supply holds, and what of it moves with what it is asked for: nothing at a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Held {
    Volts(f64),
    Amperes(f64),
    /// The work keeps its current, A, while this supply's own follows.
    Work(f64),
}

/// Sensitivities at an operating point that the circuit has just been solved at; nothing where a condition holds
/// that is not known here (the supply of a thief at its voltage limit, several means), or where a linear solve does
/// not get there.
///
/// # Errors
/// [`DepositError::Field`], whatever else the solver refuses.
pub(crate) fn sensitivities<const D: usize>(
    operator: &mut Operator<'_, D>,
    demands: &[Demand],
    point: &Point,
    causes: &[Cause],
) -> Result<Option<Vec<Sensitivity>>, DepositError> {
    let Some(held) = held(operator, demands, point) else {
        return Ok(None);
    };
    let facets = facets(operator, point);
    let nothing = vec![0.0; facets.len()];
    let mut linear = Linear {
        operator,
        point,
        held,
        facets,
    };
    let mean = linear.held.iter().position(|h| matches!(h, Held::Work(_)));
    let own = match mean {
        None => None,
        Some(n) => {
            let mut rhs = linear.zeros();
            linear.inject(n, 1.0, &mut rhs);
            let Some(x) = linear.solve(&rhs)? else {
                return Ok(None);
            };
            let di = linear.currents(&x, &nothing);
            Some((n, x, di))
        }
    };
    let mut all = Vec::new();
    for &cause in causes {
        let Some(varied) = linear.varied(cause) else {
            return Ok(None);
        };
        let explicit = linear.explicit(&varied);
        let rhs = linear.right_side(cause, &varied, &explicit);
        let Some(mut x) = linear.solve(&rhs)? else {
            return Ok(None);
        };
        let mut di = linear.currents(&x, &explicit);
        if let Some((n, by_unit, di_by_unit)) = &own {
            let missing_a = linear.work_wanted_a(cause, *n) - linear.work_a(&di);
            let times = missing_a / linear.work_a(di_by_unit);
            add(&mut x, times, by_unit);
            add(&mut di, times, di_by_unit);
        }
        all.push(linear.sensitivity(cause, &varied, &x, &di));
    }
    Ok(Some(all))
}

fn add(sum: &mut [f64], times: f64, more: &[f64]) {
    sum.iter_mut().zip(more).for_each(|(s, m)| *s += times * m);
}

/// How each supply is met.
fn held<const D: usize>(
    operator: &Operator<'_, D>,
    demands: &[Demand],
    point: &Point,
) -> Option<Vec<Held>> {
    let supplies = &operator.model.supplies;
    let electrodes = &operator.model.geometry.electrodes;
    let circuit = &operator.circuit;
    let common = |e: usize| {
        electrodes[e].role == Role::Thief && supplies.iter().all(|s| !s.thieves.contains(&e))
    };
    let shared = supplies.len() > 1 || circuit.area_m2(common) > 0.0;
    let each = demands.iter().enumerate().map(|(n, demand)| {
        Some(match (point.limits[n], demand.hold) {
            (Some(Limit::Voltage), _) if !supplies[n].thieves.is_empty() => return None,
            (Some(Limit::Voltage), _) => Held::Volts(0.0),
            (Some(Limit::Current), _) => Held::Amperes(0.0),
            (None, Hold::Voltage(v)) => Held::Volts(v),
            (None, Hold::Current(i)) => Held::Amperes(i),
            (None, Hold::MeanCurrentDensity(mean)) => {
                let work_a = mean * work_area_m2(circuit, electrodes);
                match shared {
                    true => Held::Work(work_a),
                    false => Held::Amperes(work_a),
                }
            }
        })
    });
    let all: Option<Vec<Held>> = each.collect();
    let means = |all: &Vec<Held>| all.iter().filter(|h| matches!(h, Held::Work(_))).count();
    all.filter(|all| means(all) <= 1)
}

/// A facet of the network at the operating point.
struct FacetAt {
    /// Facet of the grid, its electrode and its law.
    facet: usize,
    electrode: usize,
    law: usize,
    cell: usize,
    metal: usize,
    area_m2: f64,
    series_ohm_m2: f64,
    /// From the metal to the probe, V.
    drive_v: f64,
    current_a_per_m2: f64,
}

fn facets<const D: usize>(operator: &Operator<'_, D>, point: &Point) -> Vec<FacetAt> {
    let circuit = &operator.circuit;
    let kappa = operator.model.bath.conductivity.value;
    let solution = &point.solution;
    let live = circuit.solver.facets().iter().zip(&circuit.live);
    live.enumerate()
        .map(|(k, (facet, &f))| {
            let series_ohm_m2 = facet.series_m / kappa;
            let current = solution.current_density_a_per_m2[k];
            let drop_v =
                solution.potential_v[facet.metal as usize] - solution.surface_potential_v[k];
            let drive_v = drop_v + current * series_ohm_m2;
            FacetAt {
                facet: f as usize,
                electrode: usize::from(circuit.electrode[f as usize]),
                law: facet.law as usize,
                cell: facet.cell as usize,
                metal: facet.metal as usize,
                area_m2: facet.area_m2,
                series_ohm_m2,
                drive_v,
                current_a_per_m2: current,
            }
        })
        .collect()
}

/// What a cause times [`SIDES`] makes of the conductivity and of the laws of the circuit.
struct Varied {
    conductivity_times: [f64; 2],
    laws: [Vec<Kinetics>; 2],
}

impl Varied {
    /// Does nothing change at fixed potentials?
    fn is_nothing(&self, laws: &[Kinetics]) -> bool {
        self.conductivity_times == [1.0; 2] && self.laws.iter().all(|varied| varied == laws)
    }
}

/// The operating point and what is linear about it.
struct Linear<'a, 'b, const D: usize> {
    operator: &'a mut Operator<'b, D>,
    point: &'a Point,
    held: Vec<Held>,
    facets: Vec<FacetAt>,
}

impl<const D: usize> Linear<'_, '_, D> {
    fn zeros(&self) -> Vec<f64> {
        vec![0.0; self.operator.circuit.solver.nodes()]
    }

    /// Lets a supply pass so many amperes more.
    fn inject(&self, n: usize, amperes: f64, rhs: &mut [f64]) {
        let poles = self.operator.circuit.poles[n];
        rhs[poles.positive as usize] += amperes;
        rhs[poles.negative as usize] -= amperes;
    }

    /// Nothing where the solve does not get there: the run stands without its sensitivities.
    fn solve(&mut self, rhs: &[f64]) -> Result<Option<Vec<f64>>, FieldError> {
        match self.operator.circuit.solver.tangent() {
            Some(mut tangent) => match tangent.solve(rhs, TOLERANCE) {
                Ok(x) => Ok(Some(x)),
                Err(FieldError::LinearNotConverged { .. }) => Ok(None),
                Err(error) => Err(error),
            },
            None => Ok(None),
        }
    }

    /// What a cause times [`SIDES`] makes of conductivity and laws; nothing if that is not known.
    fn varied(&self, cause: Cause) -> Option<Varied> {
        let circuit = &self.operator.circuit;
        let bath = &self.operator.model.bath;
        let baths = match cause {
            Cause::Bath(what) => {
                let value = bath.adjustable(what)?;
                // Degrees count from the absolute zero.
                let kelvin = match what {
                    Adjustment::Temperature => bath.temperature_k - value,
                    _ => 0.0,
                };
                let remade = |by: f64| bath.remade(what, by * (value + kelvin) - kelvin);
                let [more, less] = SIDES.map(remade);
                Some([more?, less?])
            }
            _ => None,
        };
        let law = |n: usize, side: usize| {
            let (own, cathode) = (&circuit.laws[n], circuit.is_cathode(n));
            match (cause, own, &baths) {
                (_, _, Some(baths)) => bath.law_in(&baths[side], own),
                (Cause::Limit, _, _) if cathode => own.with_limit_times(SIDES[side]),
                (Cause::Exchange, Kinetics::Law(own), _) if cathode => {
                    Kinetics::Law(own.with_exchange_times(SIDES[side]))
                }
                _ => own.clone(),
            }
        };
        let conductivity_times = match (cause, &baths) {
            (Cause::Conductivity, _) => SIDES,
            (_, Some(baths)) => {
                let now = bath.conductivity.value;
                baths.each_ref().map(|b| b.conductivity.value / now)
            }
            _ => [1.0; 2],
        };
        Some(Varied {
            conductivity_times,
            laws: [0, 1].map(|side| (0..circuit.laws.len()).map(|n| law(n, side)).collect()),
        })
    }

    /// What a cause does to the current density of each facet at fixed potentials, A/m2.
    fn explicit(&self, varied: &Varied) -> Vec<f64> {
        let circuit = &self.operator.circuit;
        if varied.is_nothing(&circuit.laws) {
            return vec![0.0; self.facets.len()];
        }
        let laws = varied.laws.each_ref().map(|laws| {
            let all = laws.iter().enumerate();
            all.map(|(n, law)| circuit.law_of(n, law))
                .collect::<Vec<Box<dyn Law>>>()
        });
        let current = |at: &FacetAt, side: usize| {
            let series_ohm_m2 = at.series_ohm_m2 / varied.conductivity_times[side];
            laws[side][at.law]
                .respond(at.drive_v, series_ohm_m2)
                .current_a_per_m2
        };
        let both = self.facets.iter().map(|at| current(at, 0) - current(at, 1));
        both.map(|twice| 0.5 * twice / STEP).collect()
    }

    /// What the balances lose by a cause at fixed potentials, and what is asked of prescribed potentials.
    fn right_side(&self, cause: Cause, varied: &Varied, explicit: &[f64]) -> Vec<f64> {
        let mut rhs = self.zeros();
        let [more, less] = varied.conductivity_times;
        let conductivity_slope = 0.5 * (more - less) / STEP;
        for (at, e) in self.facets.iter().zip(explicit) {
            let from_cell = conductivity_slope * at.current_a_per_m2;
            rhs[at.cell] += at.area_m2 * (e - from_cell);
            rhs[at.metal] -= at.area_m2 * e;
        }
        let circuit = &self.operator.circuit;
        let potential = |node: u32| self.point.solution.potential_v[node as usize];
        for (link, siemens) in self.links(cause) {
            let link = circuit.solver.links()[link];
            let amperes = siemens * (potential(link.a) - potential(link.b));
            rhs[link.a as usize] += amperes;
            rhs[link.b as usize] -= amperes;
        }
        for (n, held) in self.held.iter().enumerate() {
            if let Held::Amperes(amperes) = held
                && self.moves(cause, n)
            {
                self.inject(n, *amperes, &mut rhs);
            }
        }
        rhs[circuit.ground as usize] = 0.0;
        for (n, held) in self.held.iter().enumerate() {
            if let Held::Volts(volts) = held {
                let moved = cause == Cause::Supply(n);
                rhs[circuit.poles[n].positive as usize] = if moved { *volts } else { 0.0 };
            }
        }
        rhs
    }

    /// Does a cause move what a supply is asked for?
    fn moves(&self, cause: Cause, n: usize) -> bool {
        matches!(cause, Cause::Currents) || cause == Cause::Supply(n)
    }

    /// Links whose conductance goes with one over the cause, and the part of it that does, S.
    fn links(&self, cause: Cause) -> Vec<(usize, f64)> {
        let circuit = &self.operator.circuit;
        let whole = |link: &Option<usize>| {
            link.map(|link| (link, circuit.solver.links()[link].conductance_s))
        };
        match cause {
            Cause::Coat => circuit.coat_links(),
            Cause::Contact => circuit.contact_link.iter().filter_map(whole).collect(),
            Cause::Lead => circuit.leads.iter().filter_map(whole).collect(),
            _ => Vec::new(),
        }
    }

    /// How current densities follow, with the potentials and beside them.
    fn currents(&mut self, x: &[f64], explicit: &[f64]) -> Vec<f64> {
        let mut di = match self.operator.circuit.solver.tangent() {
            Some(tangent) => tangent.current_densities(x),
            None => vec![0.0; explicit.len()],
        };
        add(&mut di, 1.0, explicit);
        di
    }

    /// What the work is to get more, A.
    fn work_wanted_a(&self, cause: Cause, n: usize) -> f64 {
        match self.held[n] {
            Held::Work(amperes) if self.moves(cause, n) => amperes,
            _ => 0.0,
        }
    }

    fn electrode_a(&self, di: &[f64]) -> Vec<f64> {
        let mut sums = vec![0.0; self.operator.model.geometry.electrodes.len()];
        for (at, di) in self.facets.iter().zip(di) {
            sums[at.electrode] += at.area_m2 * di;
        }
        sums
    }

    fn work_a(&self, di: &[f64]) -> f64 {
        let electrodes = self.operator.model.geometry.electrodes.iter();
        let all = electrodes.zip(self.electrode_a(di));
        all.filter(|(e, _)| e.role == Role::Work)
            .map(|(_, a)| -a)
            .sum()
    }

    fn sensitivity(&self, cause: Cause, varied: &Varied, x: &[f64], di: &[f64]) -> Sensitivity {
        let circuit = &self.operator.circuit;
        let mut growth = vec![0.0; circuit.electrode.len()];
        let mut density = growth.clone();
        for (at, di) in self.facets.iter().zip(di) {
            growth[at.facet] = self.growth(at, varied, *di);
            density[at.facet] = *di;
        }
        let turned = self.operator.rings.means(&growth);
        let poles = circuit.poles.iter();
        Sensitivity {
            cause,
            growth_m_per_s: turned.unwrap_or(growth),
            current_density_a_per_m2: density,
            electrode_a: self.electrode_a(di),
            supply_v: poles
                .map(|p| x[p.positive as usize] - x[p.negative as usize])
                .collect(),
        }
    }

    /// How the growth of a facet follows: its current, and the metal's share of it.
    fn growth(&self, at: &FacetAt, varied: &Varied, di: f64) -> f64 {
        let bath = &self.operator.model.bath;
        let per_charge_m3 = bath.metal.thickness_rate_m_per_s(1.0, 1.0);
        let rate = |side: usize| {
            let law = &varied.laws[side][at.law];
            let i = at.current_a_per_m2 + (SIDES[side] - 1.0) * di;
            let own_v = match law {
                Kinetics::Law(law) => law.drop_at(i).unwrap_or_default(),
                _ => 0.0,
            };
            -i * efficiency(bath, law, i, own_v) * per_charge_m3
        };
        0.5 * (rate(0) - rate(1)) / STEP
    }
}
