//! From the end of a march to the outcome of the run.

use crate::body::{End, Fields};
use crate::crowding::gaps;
use crate::drive::{Limit, Point, SupplyState};
use crate::face::faces;
use crate::ledger::Ledger;
use crate::march::March;
use crate::outcome::{BodyOutcome, ContactOutcome, Outcome, SupplyOutcome};
use crate::rates::Rates;
use crate::reading::readings;
use crate::resistance::resistance;
use crate::state::State;
use ionfall_field::Solution;
use ionfall_mesh::grid::Grid;
use ionfall_model::{Electrode, Supply};
use ionfall_network::Circuit;

/// Puts together the outcome of a march that has come to its end at `point`, where `state` is.
pub(crate) fn conclude<const D: usize>(
    march: March<'_, D>,
    grid: Grid<D>,
    state: State,
    point: Point,
    rates: Rates,
) -> Outcome<D> {
    let operator = &march.operator;
    let (model, circuit) = (operator.model, &operator.circuit);
    let parts = &model.geometry;
    let plated = !model.plan.is_empty();
    let electrodes = 0..parts.electrodes.len();
    let metal_v: Vec<f64> = electrodes
        .clone()
        .map(|e| point.metal_v(circuit, e))
        .collect();
    let supplies = supplies(
        &model.supplies,
        &parts.electrodes,
        &point,
        &rates.peak().ledger,
        &state.ledger,
    );
    let end = at_the_end(&grid, circuit, point.solution);
    let ledger = if plated { &state.ledger } else { &rates.ledger };
    let kappa = model.bath.conductivity.value;
    let fields = Fields {
        grid: &grid,
        surface: &march.surface,
        wagner_length_m: &|f| kappa / circuit.slope_s_per_m2(f, end.overpotential_v[f]),
        end: &end,
        state: &state,
        plated,
        ledger,
        gaps_m: if plated {
            gaps(&grid, parts, &state.thickness_m)
        } else {
            vec![f64::INFINITY; grid.facets.len()]
        },
    };
    let bodies: Vec<BodyOutcome> = electrodes
        .map(|e| fields.body(model, e, metal_v[e]))
        .collect();
    let faces = faces(&fields, parts, &bodies);
    let contact = |(c, contact): (usize, &ionfall_model::Contact<D>)| {
        let current_a = rates.peak().ledger.contact_c[c].abs();
        ContactOutcome {
            name: contact.name.clone(),
            on: parts.electrodes[contact.electrode].name.clone(),
            current_a,
            peak_a: state.contact_peak_a[c].max(current_a),
            charge_c: state.ledger.contact_c[c].abs(),
        }
    };
    let contacts = parts.contacts.iter().enumerate().map(contact).collect();
    let (voltage_v, current_a) = supplies
        .first()
        .map_or((0.0, 0.0), |s| (s.voltage_v, s.current_a));
    let wish_expected_s = expected_s(&march, &state, &rates).filter(|_| plated);
    let of_plan = |values: Vec<f64>| if plated { values } else { Vec::new() };
    Outcome {
        balance_error: balance_error(&bodies),
        readings: readings(&fields, parts, &bodies),
        bodies,
        faces,
        contacts,
        supplies,
        pulse: model.last_current().and_then(|step| step.pulse),
        voltage_v,
        current_a,
        time_s: plated.then_some(state.time_s),
        energy_j: plated.then(|| ledger.energy_j()),
        ledger: ledger.clone(),
        thickness_m: of_plan(state.thickness_m),
        covered_s: of_plan(state.covered_s),
        limit_share: state.limit_share,
        solution: end.solution,
        overpotential_v: end.overpotential_v,
        metal_potential_v: end.metal_potential_v,
        conducts: end.conducts,
        moments: state.moments,
        snapshots: state.snapshots,
        recesses: None,
        covering: Vec::new(),
        travelled: march.operator.positions.travelled,
        local: None,
        limit_a_per_m2: march.surface.limit_a_per_m2.clone(),
        growth_m_per_s: rates.growth_m_per_s,
        sensitivities: Vec::new(),
        turned: march.operator.rings.turned,
        surface: march.surface,
        wish_s: state.wish_s,
        wish_expected_s,
        time_steps: state.time_steps,
        work: state.work,
        grid_s: 0.0,
        field_s: 0.0,
        grid,
    }
}

/// The network's facets on those of the grid; bare gaps in a coat do not conduct.
fn at_the_end<const D: usize>(grid: &Grid<D>, circuit: &Circuit, solution: Solution) -> End {
    let facets = grid.facets.len();
    let potential = |node: u32| solution.potential_v[node as usize];
    let mut conducts = vec![false; facets];
    let mut metal_potential_v = vec![f64::NAN; facets];
    let mut current = vec![0.0; facets];
    let mut surface_v: Vec<f64> = grid
        .facet_node
        .iter()
        .map(|&node| potential(node))
        .collect();
    let live = circuit.solver.facets().iter().zip(&circuit.live);
    for (k, (facet, &f)) in live.enumerate() {
        let f = f as usize;
        conducts[f] = true;
        metal_potential_v[f] = potential(facet.metal);
        current[f] = solution.current_density_a_per_m2[k];
        surface_v[f] = solution.surface_potential_v[k];
    }
    let over = |f: usize| {
        if conducts[f] {
            metal_potential_v[f] - surface_v[f]
        } else {
            0.0
        }
    };
    let overpotential_v = (0..facets).map(over).collect();
    End {
        conducts,
        overpotential_v,
        metal_potential_v,
        solution: Solution {
            current_density_a_per_m2: current,
            surface_potential_v: surface_v,
            ..solution
        },
    }
}

/// Difference of anodic and cathodic current over the larger.
fn balance_error(bodies: &[BodyOutcome]) -> f64 {
    let (anodic, cathodic) = bodies.iter().fold((0.0, 0.0), |(a, c), b| {
        (a + b.anodic_current_a, c + b.current_a - b.anodic_current_a)
    });
    let larger = f64::max(anodic, -cathodic);
    if larger > 0.0 {
        (anodic + cathodic).abs() / larger
    } else {
        0.0
    }
}

fn supplies(
    supplies: &[Supply],
    electrodes: &[Electrode],
    point: &Point,
    rates: &Ledger,
    ledger: &Ledger,
) -> Vec<SupplyOutcome> {
    let outcome = |(n, (supply, now)): (usize, (&Supply, &SupplyState))| {
        let given = [now.voltage_v, now.current_a];
        let resistance = resistance(supplies, electrodes, n, given, rates);
        SupplyOutcome {
            name: supply.name.clone(),
            voltage_v: now.voltage_v,
            current_a: now.current_a,
            limited: now.limited,
            current_limit_a: (supply.current_limit_a)
                .filter(|_| point.limits[n] == Some(Limit::Current)),
            resistance_ohm: resistance.whole_ohm,
            ohmic_resistance_ohm: resistance.ohmic_ohm,
            charge_c: ledger.supply_c[n],
            energy_j: ledger.supply_j[n],
        }
    };
    let supplies = supplies.iter().zip(&point.supplies);
    supplies.enumerate().map(outcome).collect()
}

/// When the wanted thickness would be reached everywhere at the rates of the end, s, if it was not.
fn expected_s<const D: usize>(march: &March<'_, D>, state: &State, rates: &Rates) -> Option<f64> {
    let wanted = march.operator.model.wanted.as_ref()?;
    let missing = march
        .surface
        .least(&march.operator.model.geometry, &wanted.on, |f| {
            // The least of minus the time still needed is minus the longest.
            let left_m = wanted.thickness_m - state.thickness_m[f];
            if left_m <= 0.0 {
                0.0
            } else {
                -left_m / rates.growth_m_per_s[f].max(0.0)
            }
        });
    (state.wish_s.is_none() && missing.is_finite()).then_some(state.time_s - missing)
}
