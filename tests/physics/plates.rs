//! Plates, 1-D in effect: cases S01a-d, T01, T01b.

use crate::bench::{Bench, PRIMARY, anodic_tafel, butler_volmer, linear, local, tafel};
use crate::cases::expected;
use ionfall_bath::kinetics::{Branch, Limit, Transfer};
use ionfall_bath::{Kinetics, Polarisation};
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Cuboid, Solid};
use ionfall_model::{Role, Tank};

/// Cathode at x = 0, anode at x = 0.1 m, in a 3-D box.
fn check(id: &str, volts: f64, cathode: Kinetics, anode: Kinetics) {
    let h = 0.005;
    let block = |low: [f64; 3], high: [f64; 3]| Solid::new(Cuboid::new(low, high).unwrap());
    let out = Tank::bench(
        Space::Tank,
        block([0.0; 3], [0.1, 0.03, 0.03]),
        25.0,
        2.0 * h,
        4.0 * h,
    )
    .voltage_v(volts)
    .put(
        Role::Work,
        block([-0.01, -0.01, -0.01], [0.0, 0.05, 0.05]),
        cathode,
        h,
        h,
    )
    .put(
        Role::Anode,
        block([0.1, -0.01, -0.01], [0.11, 0.05, 0.05]),
        anode,
        h,
        h,
    )
    .run();
    let exact = expected(id, "current density", "everywhere");
    for body in [0, 1] {
        let l = local(&out, body, |_| Some(exact));
        eprintln!("{id}: max {:e} over {} facets", l.max, l.facets);
        assert!(l.max < 1e-6, "{id} {:e}", l.max);
    }
}

#[test]
fn s01a_linear() {
    check("S01a", 1.0, linear(0.002), linear(0.0005));
}

#[test]
fn s01b_tafel() {
    check(
        "S01b",
        0.8,
        tafel(0.5, 0.0513, None),
        anodic_tafel(10.0, 0.0257),
    );
}

#[test]
fn s01c_and_d_butler_volmer() {
    let skew = butler_volmer(30.0, 1.5, 0.5);
    check("S01c", 1.2, skew.clone(), skew);
    let even = butler_volmer(5.0, 0.5, 0.5);
    check("S01d", 0.5, even.clone(), even);
}

#[test]
fn t01_limiting_current() {
    check("T01b", 2.2, tafel(0.5, 0.0513, Some(500.0)), PRIMARY);
    // With the concentration overpotential of the film in series.
    let transfer = Transfer::Tafel {
        branch: Branch::Cathodic,
        exchange_a_per_m2: 0.5,
        slope_v: 0.0513,
    };
    let film_voltage_v = Some(8.314462618 * 298.15 / (2.0 * 96485.33212));
    let limit = Limit {
        current_a_per_m2: 500.0,
        film_voltage_v,
    };
    check(
        "T01",
        2.2,
        Kinetics::Law(Polarisation::new(transfer, Some(limit)).unwrap()),
        PRIMARY,
    );
}
