//! Resistive coats: strips and disks fed at one place, coupled tanks, extremes of the sheet
//! resistance.

use crate::bench::{Bench, PRIMARY, at, current_of, linear, tafel};
use crate::cases::expected;
use approx::assert_relative_eq;
use ionfall_deposit::Outcome;
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Cuboid, Solid};
use ionfall_model::{Hold, Role, Tank};

fn rectangle(low: [f64; 2], high: [f64; 2]) -> Solid<2> {
    Solid::new(Cuboid::new(low, high).unwrap())
}

/// A very good electrolyte, so that all resistance is that of the electrode's law and the tank is
/// locally one-dimensional.
const KAPPA: f64 = 1e5;
const GAP: f64 = 2e-3;

/// A strip along the floor between `left` and `right` under an anode, coated, not yet fed.
fn strip(space: Space, [left, right]: [f64; 2], law: ionfall_bath::Kinetics, h: f64) -> Tank<2> {
    let out = 0.01;
    Tank::bench(space, rectangle([left, 0.0], [right, GAP]), KAPPA, h, h)
        .put(
            Role::Anode,
            rectangle([left - out, GAP], [right + out, GAP + out]),
            PRIMARY,
            h,
            h,
        )
        .put(
            Role::Work,
            rectangle([left - out, -out], [right + out, 0.0]),
            law,
            h,
            h,
        )
}

/// A disk of 0.1 m from `inner` on, coated with 0.1 ohm per square and fed at `contact`.
fn disk(inner: f64, law: ionfall_bath::Kinetics, contact: f64) -> Tank<2> {
    strip(Space::Axisymmetric, [inner, 0.1], law, 2.5e-4)
        .coat_ohm_per_square(0.1)
        .contact("contact", end(contact), 0.0)
}

/// The border of a strip at `x`.
fn end(x: f64) -> Solid<2> {
    rectangle([x - 1e-6, -1e-3], [x + 1e-6, 1e-3])
}

const PLANAR: Space = Space::Planar { depth_m: 1.0 };

/// Checks the total and local values of a case given as `(x, "where")`.
fn check(outcome: &Outcome<2>, id: &str, mean: f64, places: &[(f64, &str)], tolerance: f64) {
    let area = outcome.bodies[1].area_m2;
    assert_relative_eq!(
        current_of(outcome, 1) / area,
        mean,
        max_relative = 0.5 * tolerance
    );
    for &(x, place) in places {
        let exact = expected(id, "current density", place);
        let found = at(outcome, 1, &[x, 0.0]);
        assert_relative_eq!(found, exact, max_relative = tolerance);
    }
}

#[test]
fn r01_strip_fed_at_one_end() {
    let bench = strip(PLANAR, [0.0, 0.2], linear(0.002 - GAP / KAPPA), 5e-4)
        .coat_ohm_per_square(0.05)
        .contact("contact", end(0.0), 0.0)
        .voltage_v(0.5);
    let outcome = bench.run();
    let places = [
        (0.0, "x = 0 L"),
        (0.05, "x = 0.25 L"),
        (0.1, "x = 0.5 L"),
        (0.15, "x = 0.75 L"),
        (0.2, "x = 1 L"),
    ];
    let mean = expected("R01", "mean current density", "");
    check(&outcome, "R01", mean, &places, 3e-3);
    assert_relative_eq!(
        outcome.bodies[1].coat_drop_v.unwrap(),
        expected("R01", "coat potential drop", ""),
        max_relative = 3e-3
    );
    assert!(outcome.ledger.energy_error() < 1e-8);
    assert_relative_eq!(
        outcome.contacts[0].current_a,
        outcome.current_a,
        max_relative = 1e-8
    );
}

#[test]
fn r01b_strip_fed_at_both_ends() {
    let bench = strip(PLANAR, [0.0, 0.2], linear(0.002 - GAP / KAPPA), 5e-4)
        .coat_ohm_per_square(0.05)
        .contact("contact", end(0.0), 0.0)
        .contact("contact", end(0.2), 0.0)
        .voltage_v(0.5);
    let outcome = bench.run();
    let mean = expected("R01b", "mean current density", "");
    check(
        &outcome,
        "R01b",
        mean,
        &[(0.1, "middle"), (0.0, "each contact")],
        3e-3,
    );
    let [a, b] = [0, 1].map(|c| outcome.contacts[c].current_a);
    assert_relative_eq!(a, b, max_relative = 1e-6);
}

/// A clamp that covers the first part of a longer strip: beyond its rim everything is as in R01,
/// wherever the rim lies among the cells.
#[test]
fn r01_behind_a_clamp_in_the_middle() {
    for shift in [0.0, 1.3e-4, 3.1e-4] {
        let clamp = rectangle([-0.1, -1e-3], [shift, 1e-3]);
        let outcome = strip(
            PLANAR,
            [-0.03, 0.2 + shift],
            linear(0.002 - GAP / KAPPA),
            5e-4,
        )
        .coat_ohm_per_square(0.05)
        .contact("contact", clamp, 0.0)
        .voltage_v(0.5)
        .run();
        for (x, place) in [(0.1, "x = 0.5 L"), (0.2, "x = 1 L")] {
            let exact = expected("R01", "current density", place);
            assert_relative_eq!(
                at(&outcome, 1, &[x + shift, 0.0]),
                exact,
                max_relative = 3e-3
            );
        }
    }
}

/// A contact with resistance: the strip is one resistor, its contact another.
#[test]
fn contact_resistance_is_in_series() {
    let strip =
        || strip(PLANAR, [0.0, 0.2], linear(0.002 - GAP / KAPPA), 1e-3).coat_ohm_per_square(0.05);
    let amps = |ohm: f64| {
        strip()
            .contact("contact", end(0.0), ohm)
            .voltage_v(0.5)
            .run()
    };
    let (bare, fed) = (amps(0.0), amps(0.01));
    let ohm = 0.5 / bare.current_a + 0.01;
    assert_relative_eq!(fed.current_a, 0.5 / ohm, max_relative = 1e-9);
    let heat = 0.01 * fed.current_a.powi(2);
    assert_relative_eq!(fed.ledger.contact_j[0], heat, max_relative = 1e-9);
}

#[test]
fn r02_tafel_strip() {
    let outcome = strip(PLANAR, [0.0, 0.2], tafel(1.0, 0.05, None), 2.5e-4)
        .coat_ohm_per_square(0.05)
        .contact("contact", end(0.0), 0.0)
        .current_a(60.0)
        .run();
    let places = [(0.1, "x = L/2"), (0.2, "far end"), (0.0, "contact")];
    check(&outcome, "R02", 300.0, &places, 5e-3);
    assert_relative_eq!(
        outcome.bodies[1].coat_drop_v.unwrap(),
        expected("R02", "coat potential drop", ""),
        max_relative = 5e-3
    );
}

#[test]
fn r03_disk_fed_at_the_rim() {
    let outcome = disk(0.0, linear(0.0015 - GAP / KAPPA), 0.1)
        .voltage_v(0.4)
        .run();
    let places = [
        (0.0, "r = 0 a"),
        (0.025, "r = 0.25 a"),
        (0.05, "r = 0.5 a"),
        (0.075, "r = 0.75 a"),
        (0.1, "r = 1 a"),
    ];
    let mean = expected("R03", "mean current density", "");
    check(&outcome, "R03", mean, &places, 5e-3);
}

#[test]
fn r03b_tafel_disk_fed_at_the_rim() {
    let outcome = disk(0.0, tafel(1.0, 0.05, None), 0.1).current_a(10.0).run();
    let places = [(0.0, "centre"), (0.05, "r = a/2"), (0.1, "rim")];
    let mean = 10.0 / (std::f64::consts::PI * 0.01);
    check(&outcome, "R03b", mean, &places, 5e-3);
}

#[test]
fn r03c_disk_fed_at_the_centre() {
    let outcome = disk(0.01, linear(0.0015 - GAP / KAPPA), 0.01)
        .voltage_v(0.4)
        .run();
    let places = [(0.01, "contact edge"), (0.05, "r = 0.05"), (0.1, "rim")];
    let mean = expected("R03c", "total current", "") / outcome.bodies[1].area_m2;
    check(&outcome, "R03c", mean, &places, 5e-3);
}

/// Bath and coat together, at two sizes of the cells.
#[test]
fn r04_coupled_tank() {
    let solved = |h: f64| {
        let out = 0.02;
        Tank::bench(
            PLANAR,
            rectangle([0.0, 0.0], [0.2, 0.05]),
            20.0,
            8.0 * h,
            8.0 * h,
        )
        .put(
            Role::Anode,
            rectangle([-out, 0.05], [0.2 + out, 0.05 + out]),
            PRIMARY,
            4.0 * h,
            4.0 * h,
        )
        .put(
            Role::Work,
            rectangle([-out, -out], [0.2 + out, 0.0]),
            linear(5e-4),
            h,
            h,
        )
        .coat_ohm_per_square(0.1)
        .contact("contact", end(0.0), 0.0)
        .voltage_v(0.5)
        .run()
    };
    let outcome = solved(5e-4);
    let places = [
        (0.0, "x = 0 L"),
        (0.02, "x = 0.1 L"),
        (0.05, "x = 0.25 L"),
        (0.1, "x = 0.5 L"),
        (0.15, "x = 0.75 L"),
        (0.2, "x = 1 L"),
    ];
    let mean = expected("R04", "mean current density", "");
    check(&outcome, "R04", mean, &places, 5e-3);
    assert_relative_eq!(
        outcome.bodies[1].coat_drop_v.unwrap(),
        expected("R04", "plate potential", ""),
        max_relative = 5e-3
    );
}

/// From silver to next to nothing: the one end is the equipotential plate, at the other nothing
/// flows far from the contact, and the solver does not mind.
#[test]
fn sheet_resistance_over_ten_decades() {
    let h = 1e-3;
    let tank = || {
        let out = 0.02;
        Tank::bench(
            PLANAR,
            rectangle([0.0, 0.0], [0.2, 0.05]),
            20.0,
            4.0 * h,
            4.0 * h,
        )
        .put(
            Role::Anode,
            rectangle([-out, 0.05], [0.2 + out, 0.05 + out]),
            PRIMARY,
            h,
            h,
        )
        .put(
            Role::Work,
            rectangle([-out, -out], [0.2 + out, 0.0]),
            crate::bench::butler_volmer(10.0, 1.5, 0.5),
            h,
            h,
        )
        .hold(Hold::Voltage(0.5))
    };
    let metal = tank().run();
    let mut steps = Vec::new();
    for decade in -4..=6 {
        let outcome = tank()
            .coat_ohm_per_square(10f64.powi(decade))
            .contact("contact", end(0.0), 0.0)
            .run();
        steps.push(outcome.solution.record.steps);
        if decade == -4 {
            assert_relative_eq!(outcome.current_a, metal.current_a, max_relative = 1e-3);
            let x = [0.2, 0.0];
            assert_relative_eq!(at(&outcome, 1, &x), at(&metal, 1, &x), max_relative = 1e-3);
        }
        if decade == 6 {
            let far: f64 = outcome
                .grid
                .facets
                .iter()
                .zip(&outcome.solution.current_density_a_per_m2)
                .filter(|(f, _)| f.body == 1 && f.point[0] > 0.1)
                .map(|(f, i)| f.area_m2 * i.abs())
                .sum();
            assert!(
                far < 1e-6 * metal.current_a,
                "{far:e} A far from the contact"
            );
        }
    }
    let (least, most) = (steps.iter().min().unwrap(), steps.iter().max().unwrap());
    assert!(most < &(2 * least), "Newton steps {steps:?}");
}
