//! Growth in time: coats that thicken as they are plated, plans, supplies.

use crate::bench::{Bench, PRIMARY, at, current_of, linear};
use crate::cases::expected_exactly;
use approx::assert_relative_eq;
use ionfall_bath::Electrolyte;
use ionfall_bath::electrolyte::Given;
use ionfall_bath::metal::COPPER;
use ionfall_deposit::Outcome;
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Cuboid, Solid};
use ionfall_model::{Hold, Role, Tank};

fn rectangle(low: [f64; 2], high: [f64; 2]) -> Solid<2> {
    Solid::new(Cuboid::new(low, high).unwrap())
}

/// Conductivity and first thickness of the coat in the growth cases.
const SIGMA: f64 = 5.8e7;
const FIRST_M: f64 = 1e-7;
const LENGTH: f64 = 0.15;

/// The strip of the growth cases, whose first metal may be islands.
fn strip(hold: Hold, islands_m: f64) -> Tank<2> {
    let (kappa, gap, h, out) = (1e5, 2e-3, 5e-4, 0.01);
    let bath = {
        let given = Given {
            conductivity_s_per_m: Some(kappa),
            ..Given::default()
        };
        let mut bath = Electrolyte::custom(COPPER, 25.0, &given).unwrap();
        bath.metal.resistivity.value = 1.0 / SIGMA;
        bath
    };
    Tank::bench(
        Space::Planar { depth_m: 1.0 },
        rectangle([0.0, 0.0], [LENGTH, gap]),
        kappa,
        h,
        h,
    )
    .put(
        Role::Anode,
        rectangle([-out, gap], [LENGTH + out, gap + out]),
        PRIMARY,
        h,
        h,
    )
    .put(
        Role::Work,
        rectangle([-out, -out], [LENGTH + out, 0.0]),
        linear(0.003 - gap / kappa),
        h,
        h,
    )
    .coat_ohm_per_square(1.0 / (SIGMA * FIRST_M))
    .islands_m(islands_m)
    .contact("contact", rectangle([-1e-6, -1e-3], [1e-6, 1e-3]), 0.0)
    .bath(bath)
    .hold(hold)
    .time_s(300.0)
    .save_s(&[10.0, 60.0, 300.0])
}

/// Thickness of a snapshot near a place, by a straight line through the nearest two facets.
fn thickness(outcome: &Outcome<2>, values: &[f64], x: f64) -> f64 {
    let facets = &outcome.grid.facets;
    let mut near: Vec<usize> = (0..facets.len()).filter(|&f| facets[f].body == 1).collect();
    near.sort_by(|&a, &b| {
        let far = |f: usize| (facets[f].point[0] - x).abs();
        far(a).total_cmp(&far(b))
    });
    let (a, b) = (near[0], near[1]);
    let (xa, xb) = (facets[a].point[0], facets[b].point[0]);
    values[a] + (values[b] - values[a]) * (x - xa) / (xb - xa)
}

fn check(id: &str, hold: Hold) -> Outcome<2> {
    let outcome = strip(hold, 0.0).run();
    assert_eq!(outcome.history.snapshots.len(), 3);
    for snapshot in &outcome.history.snapshots {
        let time = format!("t = {} s", snapshot.time_s);
        for (x, place) in [
            (0.0, "thickness at the contact x = 0"),
            (0.5 * LENGTH, "thickness at x = L/2"),
            (LENGTH, "thickness at x = L"),
        ] {
            let found = FIRST_M + thickness(&outcome, &snapshot.thickness_m, x);
            let exact = expected_exactly(id, place, &time);
            assert_relative_eq!(found, exact, max_relative = 5e-3);
        }
    }
    assert!(outcome.ledger.energy_error() < 1e-8);
    assert!(outcome.ledger.charge_error() < 1e-8);
    outcome
}

#[test]
fn g01a_strip_thickens_at_constant_voltage() {
    let outcome = check("G01a", Hold::Voltage(0.6));
    let mean = current_of(&outcome, 1) / outcome.bodies[1].area_m2;
    let exact = expected_exactly("G01a", "mean current density", "t = 300 s");
    assert_relative_eq!(mean, exact, max_relative = 5e-3);
    let far = at(&outcome, 1, &[LENGTH, 0.0]);
    let exact = expected_exactly("G01a", "current density at x = L", "t = 300 s");
    assert_relative_eq!(far, exact, max_relative = 5e-3);
}

#[test]
fn g01b_strip_thickens_at_constant_current() {
    let outcome = check("G01b", Hold::MeanCurrentDensity(200.0));
    let exact = expected_exactly("G01b", "voltage", "t = 300 s");
    assert_relative_eq!(outcome.voltage_v, exact, max_relative = 5e-3);
}

/// As long as the metal is islands the current stays that of the bare coat, and the thickness grows
/// with it in proportion to time.
#[test]
fn islands_do_not_conduct() {
    let outcome = strip(Hold::Voltage(0.6), 1e-5).run();
    let rate = 0.063_546 / (2.0 * 96_485.332_12 * 8960.0);
    for (x, place) in [
        (0.0, "current density at x = 0"),
        (LENGTH, "current density at x = L"),
    ] {
        let exact = 300.0 * rate * expected_exactly("G01a", place, "t = 0 s");
        let found = thickness(&outcome, &outcome.thickness_m, x);
        assert_relative_eq!(found, exact, max_relative = 5e-3);
    }
}
