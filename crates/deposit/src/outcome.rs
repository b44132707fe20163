//! What a finished run has to say.

use crate::crowding::{CROWDED_SHARE, gaps};
use crate::drive::Point;
use crate::edge::{Body, Edge, padded};
use crate::ledger::Ledger;
use crate::march::March;
use crate::state::{Moment, Snapshot, State};
use crate::statistics::{Distribution, distribution, share_below};
use crate::surface::Surface;
use ionfall_field::Solution;
use ionfall_mesh::grid::Grid;
use ionfall_model::{Electrode, Model, Parts, Role};
use serde::Serialize;

/// A place and the value there.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Place {
    /// Coordinates, m ((x, y), (r, z) or (x, y, z); unused ones zero).
    pub at_m: [f64; 3],
    /// Value there.
    pub value: f64,
    /// The sharp convex edge there, if the value is a largest one.
    pub edge: Option<Edge>,
}

/// What happened at one electrode. Thickness and metal need a plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BodyOutcome {
    /// Name.
    pub name: String,
    /// What it is for.
    pub role: Role,
    /// Wetted conducting area, m2.
    pub area_m2: f64,
    /// Current from the metal into the electrolyte at the end, A (negative at cathodes).
    pub current_a: f64,
    /// Area where current leaves the metal (where it dissolves), m2.
    pub anodic_area_m2: f64,
    /// Current that leaves the metal there, A.
    pub anodic_current_a: f64,
    /// Current density at the end, magnitude, A/m2.
    pub current_density_a_per_m2: Distribution,
    /// Overpotential at the end, magnitude, V.
    pub overpotential_v: Distribution,
    /// Metal deposited (dissolved at anodes), kg.
    pub metal_kg: Option<f64>,
    /// Volume deposited (dissolved at anodes), m3.
    pub volume_m3: Option<f64>,
    /// Thickness, m.
    pub thickness_m: Option<Distribution>,
    /// Thinnest place, m.
    #[serde(rename = "thinnest_m")]
    pub thinnest: Option<Place>,
    /// Thickest place, m.
    #[serde(rename = "thickest_m")]
    pub thickest: Option<Place>,
    /// Share of the area below the wanted thickness.
    pub share_below_wanted: Option<f64>,
    /// Share of the area that is covered.
    pub covered_share: Option<f64>,
    /// When the last place was covered, s; nothing while some is not.
    pub covered_after_s: Option<f64>,
    /// Largest share of the limiting current density over the whole plan, where there is a limit.
    pub limit_share: Option<Place>,
    /// Where the deposit is thick for the room in front of it.
    pub crowding: Option<Crowding>,
    /// Largest drop of potential in the coat, from the metal behind to the farthest place, V.
    pub coat_drop_v: Option<f64>,
}

/// Deposit that fills much of the room in front of it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Crowding {
    /// Share of the area where it does.
    pub area_share: f64,
    /// The worst place; its value is the share of the gap that deposit from both sides fills.
    pub worst: Place,
    /// Gap there, m.
    pub gap_m: f64,
    /// When the two fronts meet there, s, if they do within the plan.
    pub met_after_s: Option<f64>,
}

/// A contact.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ContactOutcome {
    /// Name.
    pub name: String,
    /// Electrode it feeds.
    pub on: String,
    /// Current through it at the end, A.
    pub current_a: f64,
    /// Largest current through it, A.
    pub peak_a: f64,
    /// Charge through it, C.
    pub charge_c: f64,
}

/// A supply.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SupplyOutcome {
    /// Name.
    pub name: String,
    /// Voltage between its poles at the end, V.
    pub voltage_v: f64,
    /// Current at the end, A.
    pub current_a: f64,
    /// Is it at its voltage limit at the end?
    pub limited: bool,
    /// Charge, C.
    pub charge_c: f64,
    /// Energy, J.
    pub energy_j: f64,
}

/// A finished run.
#[derive(Debug)]
pub struct Outcome<const D: usize> {
    /// The grid.
    pub grid: Grid<D>,
    /// Potentials of the nodes, and current densities and surface potentials of the grid's facets,
    /// at the end (at the last moment with current).
    pub solution: Solution,
    /// Time the plan took, s; nothing without a plan.
    pub time_s: Option<f64>,
    /// Thickness of each facet, m (negative where metal dissolves); empty without a plan.
    pub thickness_m: Vec<f64>,
    /// When each facet was covered, s; not a number where it was not; empty without a plan.
    pub covered_s: Vec<f64>,
    /// Largest share of the limiting current density at each facet over the plan; not a number
    /// without a limit.
    pub limit_share: Vec<f64>,
    /// Overpotential of each facet, V: metal (or coat) minus electrolyte at the surface.
    pub overpotential_v: Vec<f64>,
    /// Potential of the metal or coat behind each facet, V.
    pub metal_potential_v: Vec<f64>,
    /// Does each facet conduct? Bare gaps in a coat do not.
    pub conducts: Vec<bool>,
    /// The electrodes.
    pub bodies: Vec<BodyOutcome>,
    /// The contacts.
    pub contacts: Vec<ContactOutcome>,
    /// The supplies; the first is the main one.
    pub supplies: Vec<SupplyOutcome>,
    /// Voltage of the main supply at the end, V.
    pub voltage_v: f64,
    /// Current of the main supply at the end, A.
    pub current_a: f64,
    /// Difference of anodic and cathodic current at the end over the larger.
    pub balance_error: f64,
    /// Amounts over the plan, or rates (per second) without a plan.
    pub ledger: Ledger,
    /// Energy taken from all supplies, J; needs a plan.
    pub energy_j: Option<f64>,
    /// History of the plan.
    pub moments: Vec<Moment>,
    /// Surfaces at the times asked for.
    pub snapshots: Vec<Snapshot>,
    /// When the wanted thickness was reached everywhere, s.
    pub wish_s: Option<f64>,
    /// When it would be reached everywhere at the rates of the end, s, if it was not.
    pub wish_expected_s: Option<f64>,
    /// Time steps taken and refused.
    pub time_steps: [usize; 2],
    /// Solves, Newton steps and multigrid cycles.
    pub work: [usize; 3],
    /// Seconds spent on the grid.
    pub grid_s: f64,
    /// Seconds spent on the field and the time steps.
    pub field_s: f64,
}

/// Puts together the outcome of a march that has come to its end at `point`, where `state` is.
pub(crate) fn outcome<const D: usize>(
    march: &March<'_, D>,
    grid: Grid<D>,
    state: State,
    point: Point,
    rate: &crate::rates::Rates,
) -> Outcome<D> {
    let March {
        model,
        parts,
        circuit,
        surface,
        ..
    } = march;
    let plated = !model.plan.is_empty();
    let facets = grid.facets.len();
    let mut conducts = vec![false; facets];
    let mut metal_potential_v = vec![f64::NAN; facets];
    let (mut current, mut surface_v) = (vec![0.0; facets], vec![0.0; facets]);
    for (f, v) in surface_v.iter_mut().enumerate() {
        *v = point.solution.potential_v[grid.facet_node[f] as usize];
    }
    for (k, (facet, &f)) in circuit
        .solver
        .facets()
        .iter()
        .zip(&circuit.live)
        .enumerate()
    {
        let f = f as usize;
        conducts[f] = true;
        metal_potential_v[f] = point.solution.potential_v[facet.metal as usize];
        current[f] = point.solution.current_density_a_per_m2[k];
        surface_v[f] = point.solution.surface_potential_v[k];
    }
    let overpotential_v: Vec<f64> = (0..facets)
        .map(|f| {
            if conducts[f] {
                metal_potential_v[f] - surface_v[f]
            } else {
                0.0
            }
        })
        .collect();
    let metal_v: Vec<f64> = (0..parts.electrodes.len())
        .map(|e| point.metal_v(circuit, e))
        .collect();
    let solution = Solution {
        current_density_a_per_m2: current,
        surface_potential_v: surface_v,
        ..point.solution
    };
    let ledger = if plated {
        state.ledger
    } else {
        rate.ledger.clone()
    };
    let kappa = model.bath.conductivity.value;
    let fields = Fields {
        grid: &grid,
        surface,
        wagner_length_m: &|f| kappa / circuit.slope_s_per_m2(f, overpotential_v[f]),
        conducts: &conducts,
        solution: &solution,
        thickness_m: plated.then_some(state.thickness_m.as_slice()),
        covered_s: &state.covered_s,
        limit_share: &state.limit_share,
        overpotential_v: &overpotential_v,
        metal_potential_v: &metal_potential_v,
        ledger: &ledger,
        gaps_m: if plated {
            gaps(&grid, parts, &state.thickness_m)
        } else {
            vec![f64::INFINITY; facets]
        },
        time_s: state.time_s,
    };
    let bodies: Vec<BodyOutcome> = (0..parts.electrodes.len())
        .map(|e| fields.body(model, parts, e, metal_v[e]))
        .collect();
    let (anodic, cathodic) = bodies.iter().fold((0.0, 0.0), |(a, c), b| {
        (a + b.anodic_current_a, c + b.current_a - b.anodic_current_a)
    });
    let larger = f64::max(anodic, -cathodic);
    let balance_error = if larger > 0.0 {
        (anodic + cathodic).abs() / larger
    } else {
        0.0
    };
    let contacts = parts
        .contacts
        .iter()
        .enumerate()
        .map(|(c, contact)| ContactOutcome {
            name: contact.name.clone(),
            on: parts.electrodes[contact.electrode].name.clone(),
            current_a: rate.ledger.contact_c[c].abs(),
            peak_a: state.contact_peak_a[c].max(rate.ledger.contact_c[c].abs()),
            charge_c: ledger.contact_c[c].abs(),
        })
        .collect();
    let supplies: Vec<SupplyOutcome> = model
        .supplies
        .iter()
        .zip(&point.supplies)
        .enumerate()
        .map(|(n, (supply, now))| SupplyOutcome {
            name: supply.name.clone(),
            voltage_v: now.voltage_v,
            current_a: now.current_a,
            limited: now.limited,
            charge_c: ledger.supply_c[n],
            energy_j: ledger.supply_j[n],
        })
        .collect();
    let wish_expected_s = model.wanted.as_ref().filter(|_| plated).and_then(|wanted| {
        let missing = surface.least(parts, &wanted.on, |f| {
            // The least of minus the time still needed is minus the longest.
            let left_m = wanted.thickness_m - state.thickness_m[f];
            if left_m <= 0.0 {
                0.0
            } else {
                -left_m / rate.growth_m_per_s[f].max(0.0)
            }
        });
        (state.wish_s.is_none() && missing.is_finite()).then_some(state.time_s - missing)
    });
    let (voltage_v, current_a) = supplies
        .first()
        .map_or((0.0, 0.0), |s| (s.voltage_v, s.current_a));
    let thickness_m = if plated {
        state.thickness_m
    } else {
        Vec::new()
    };
    let covered_s = if plated { state.covered_s } else { Vec::new() };
    Outcome {
        grid,
        solution,
        time_s: plated.then_some(state.time_s),
        thickness_m,
        covered_s,
        limit_share: state.limit_share,
        overpotential_v,
        metal_potential_v,
        conducts,
        bodies,
        contacts,
        supplies,
        voltage_v,
        current_a,
        balance_error,
        energy_j: plated.then(|| ledger.energy_j()),
        ledger,
        moments: state.moments,
        snapshots: state.snapshots,
        wish_s: state.wish_s,
        wish_expected_s,
        time_steps: state.time_steps,
        work: state.work,
        grid_s: 0.0,
        field_s: 0.0,
    }
}

/// Everything known at the facets.
struct Fields<'a, const D: usize> {
    grid: &'a Grid<D>,
    surface: &'a Surface,
    /// Wagner length at a facet that conducts, m.
    wagner_length_m: &'a dyn Fn(usize) -> f64,
    conducts: &'a [bool],
    solution: &'a Solution,
    thickness_m: Option<&'a [f64]>,
    covered_s: &'a [f64],
    limit_share: &'a [f64],
    overpotential_v: &'a [f64],
    metal_potential_v: &'a [f64],
    ledger: &'a Ledger,
    gaps_m: Vec<f64>,
    time_s: f64,
}

impl<const D: usize> Fields<'_, D> {
    fn body(&self, model: &Model, parts: &Parts<D>, e: usize, metal_v: f64) -> BodyOutcome {
        let electrode: &Electrode = &parts.electrodes[e];
        let grid = self.grid;
        let own: Vec<usize> = (0..grid.facets.len())
            .filter(|&f| usize::from(grid.facets[f].body) == electrode.body && self.conducts[f])
            .collect();
        let area = |f: usize| grid.facets[f].area_m2;
        let body = Body {
            domain: &parts.domain,
            grid,
            patches: &self.surface.patches,
            facets: &own,
            wagner_length_m: self.wagner_length_m,
        };
        let extreme = |value: &dyn Fn(usize) -> f64, largest| body.extreme(value, largest);
        let read = |value: &dyn Fn(usize) -> f64, f: usize| self.surface.patches.at(f, value);
        let current = |f: usize| self.solution.current_density_a_per_m2[f];
        let sum =
            |value: &dyn Fn(usize) -> f64| -> f64 { own.iter().map(|&f| area(f) * value(f)).sum() };
        let spread = |value: &dyn Fn(usize) -> f64| {
            let pairs = own.iter().map(|&f| (read(value, f), area(f)));
            distribution(pairs).map_or_else(Distribution::default, |spread| Distribution {
                mean: sum(value) / sum(&|_| 1.0),
                max: extreme(value, true).map_or(spread.max, |place| place.value),
                ..spread
            })
        };
        let cathode = electrode.role.is_cathode();
        let thickness = |f: usize| self.thickness_m.map_or(0.0, |t| t[f]);
        let plated = self.thickness_m.is_some();
        let covered = |f: usize| !self.covered_s[f].is_nan();
        let on_cathode = plated && cathode;
        let area_m2 = sum(&|_| 1.0);
        let wanted = model.wanted.as_ref().filter(|w| {
            electrode.role == Role::Work && w.on.as_ref().is_none_or(|on| *on == electrode.name)
        });
        let last = own.iter().map(|&f| self.covered_s[f]).reduce(f64::max);
        let coated = parts.coats.iter().any(|c| c.electrode == e);
        let drop = |f: usize| (self.metal_potential_v[f] - metal_v).abs();
        let metal_kg = if cathode {
            self.ledger.deposited_kg[e]
        } else {
            self.ledger.dissolved_kg[e]
        };
        BodyOutcome {
            name: electrode.name.clone(),
            role: electrode.role,
            area_m2,
            current_a: sum(&current),
            anodic_area_m2: sum(&|f| if current(f) > 0.0 { 1.0 } else { 0.0 }),
            anodic_current_a: sum(&|f| current(f).max(0.0)),
            current_density_a_per_m2: spread(&|f| current(f).abs()),
            overpotential_v: spread(&|f| self.overpotential_v[f].abs()),
            metal_kg: plated.then_some(metal_kg),
            volume_m3: plated.then(|| metal_kg / model.bath.metal.density.value),
            thickness_m: plated.then(|| spread(&|f| thickness(f).abs())),
            thinnest: plated.then(|| extreme(&thickness, false)).flatten(),
            thickest: plated.then(|| extreme(&thickness, true)).flatten(),
            share_below_wanted: wanted.filter(|_| plated).map(|w| {
                let pairs = own.iter().map(|&f| (read(&thickness, f), area(f)));
                share_below(pairs, w.thickness_m)
            }),
            covered_share: on_cathode
                .then(|| sum(&|f| if covered(f) { 1.0 } else { 0.0 }) / area_m2),
            covered_after_s: last.filter(|_| on_cathode && own.iter().all(|&f| covered(f))),
            limit_share: own
                .iter()
                .any(|&f| self.limit_share[f].is_finite())
                .then(|| extreme(&|f| self.limit_share[f], true))
                .flatten(),
            crowding: self.crowding(&own, area_m2),
            coat_drop_v: coated.then(|| own.iter().map(|&f| drop(f)).fold(0.0, f64::max)),
        }
    }
}

impl<const D: usize> Fields<'_, D> {
    fn crowding(&self, own: &[usize], area_m2: f64) -> Option<Crowding> {
        let filled = |f: usize| 2.0 * self.thickness_m.map_or(0.0, |t| t[f]) / self.gaps_m[f];
        let area = |f: usize| self.grid.facets[f].area_m2;
        let crowded = own.iter().filter(|&&f| filled(f) > CROWDED_SHARE);
        let read = |&f: &usize| (f, self.surface.patches.at(f, filled));
        let places = crowded.clone().map(read);
        let (worst, value) = places.max_by(|a, b| a.1.total_cmp(&b.1))?;
        (value > CROWDED_SHARE).then(|| Crowding {
            area_share: crowded.map(|&f| area(f)).sum::<f64>() / area_m2,
            worst: Place {
                at_m: padded(&self.grid.facets[worst].point),
                value,
                edge: None,
            },
            gap_m: self.gaps_m[worst],
            // Growth in proportion to time.
            met_after_s: (value >= 1.0).then(|| self.time_s / value),
        })
    }
}
