//! Cylinders, 2-D planar: cases P01, P03, S02a, S04.

use crate::bench::{Bench, PRIMARY, linear, local, tafel};
use crate::cases::expected;
use ionfall_bath::Kinetics;
use ionfall_deposit::Outcome;
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Ball, Cuboid, Point, Solid};
use ionfall_model::{Role, Tank};
use ionfall_textbook::laws::cylinders::{self as laws, Eccentric};
use ionfall_textbook::local::Local;
use ionfall_textbook::order;
use std::f64::consts::PI;

const KAPPA: f64 = 10.0;
const VOLTS: f64 = 0.5;
const R1: f64 = 0.01;

fn disk(x: f64, y: f64, r: f64) -> Solid<2> {
    Solid::new(Ball::new([x, y], r).unwrap())
}

/// The metal around a round hole.
fn around(r: f64) -> Solid<2> {
    let block = Solid::new(Cuboid::new([-1.5 * r; 2], [1.5 * r; 2]).unwrap());
    Solid::Difference(Box::new(block), vec![disk(0.0, 0.0, r)])
}

/// Inner cathode, outer anode; `n` cells across the inner diameter, leaves up to `coarsest` times as
/// large.
fn annulus(
    centre: [f64; 2],
    outer: f64,
    n: u32,
    coarsest: f64,
    inner_law: Kinetics,
    outer_law: Kinetics,
) -> Outcome<2> {
    let h = 2.0 * R1 / f64::from(n);
    Tank::bench(
        Space::Planar { depth_m: 1.0 },
        disk(0.0, 0.0, 1.2 * outer),
        KAPPA,
        h,
        coarsest * h,
    )
    .voltage_v(VOLTS)
    .put(Role::Work, disk(centre[0], centre[1], R1), inner_law, h, h)
    .put(Role::Anode, around(outer), outer_law, h, h)
    .run()
}

fn report(name: &str, n: u32, total: f64, l: &Local<2>) {
    eprintln!(
        "{name} n {n}: total {:+.4} % max {:.4} % rms {:.4} %",
        100.0 * total,
        100.0 * l.max,
        100.0 * l.rms
    );
}

#[test]
fn p01_concentric_primary() {
    let exact = expected("P01", "current density", "inner");
    for n in [32, 64] {
        let out = annulus([0.0, 0.0], 0.05, n, 4.0, PRIMARY, PRIMARY);
        let total = out.current_a / expected("P01", "current per length", "cell") - 1.0;
        let l = local(&out, 0, |_| Some(exact));
        report("P01", n, total, &l);
        let (max, sum) = if n == 32 { (5e-3, 5e-4) } else { (2e-3, 5e-4) };
        assert!(l.max < max && total.abs() < sum);
    }
}

#[test]
fn s02_concentric_with_kinetics() {
    for (r, text) in [
        (5e-4, "R_ct = 0.0005"),
        (1e-3, "R_ct = 0.001"),
        (5e-3, "R_ct = 0.005"),
    ] {
        let out = annulus([0.0, 0.0], 0.05, 32, 4.0, linear(r), linear(r));
        let exact = expected("S02a", "current density", text);
        let l = local(&out, 0, |_| Some(exact));
        report(text, 32, out.current_a / (exact * 2.0 * PI * R1) - 1.0, &l);
        assert!(l.max < 2e-3);
        assert!((out.current_a / (exact * 2.0 * PI * R1) - 1.0).abs() < 5e-4);
    }
    let out = annulus([0.0, 0.0], 0.05, 32, 4.0, tafel(1.0, 0.05, None), PRIMARY);
    let exact = expected("S02a", "current density", "Tafel");
    assert!(local(&out, 0, |_| Some(exact)).max < 2e-3);
}

/// The pair of P03.
fn pair() -> Eccentric {
    Eccentric::new(R1, 0.04, 0.02)
}

#[test]
fn p03_eccentric_primary() {
    let exact = |x: &Point<2>| Some(pair().primary(KAPPA, VOLTS, x[0]));
    let mut errors = Vec::new();
    for n in [32, 64, 128] {
        let out = annulus([0.02, 0.0], 0.04, n, 1.0, PRIMARY, PRIMARY);
        let total = out.current_a / expected("P03", "current per length", "cell") - 1.0;
        let l = local(&out, 0, exact);
        report("P03", n, total, &l);
        assert!(total.abs() < 5e-4);
        errors.push(l.max);
    }
    eprintln!("P03 order {:.2}", order(&errors));
    assert!(errors[0] < 5e-3 && errors[1] < 2e-3);
    assert!(order(&errors) >= 1.8);
    // With leaves of several sizes in the way.
    for (n, most) in [(32, 5e-3), (64, 2e-3)] {
        let out = annulus([0.02, 0.0], 0.04, n, 8.0, PRIMARY, PRIMARY);
        let total = out.current_a / expected("P03", "current per length", "cell") - 1.0;
        let l = local(&out, 0, exact);
        report("P03 graded", n, total, &l);
        assert!(l.max < most && total.abs() < 5e-4);
    }
}

#[test]
fn s04_eccentric_with_kinetics() {
    type Law = Box<dyn Fn(f64) -> (f64, f64)>;
    let ohmic = |r: f64| -> Law { Box::new(laws::linear(r)) };
    let table: [(&str, Kinetics, Law); 4] = [
        ("Wa = kappa R_ct/r1 = 0.2", linear(2e-4), ohmic(2e-4)),
        ("Wa = kappa R_ct/r1 = 1", linear(1e-3), ohmic(1e-3)),
        ("Wa = kappa R_ct/r1 = 5", linear(5e-3), ohmic(5e-3)),
        (
            "Tafel",
            tafel(1.0, 0.05, None),
            Box::new(laws::tafel(1.0, 0.05)),
        ),
    ];
    for (name, kinetics, law) in table {
        let exact = pair().secondary(KAPPA, VOLTS, law);
        let compare = |n: u32, coarsest: f64| {
            let out = annulus([0.02, 0.0], 0.04, n, coarsest, kinetics.clone(), PRIMARY);
            let total = out.current_a / case_value_total(name) - 1.0;
            let l = local(&out, 0, |x| Some(exact(x[0])));
            report(&format!("{name} leaves up to {coarsest} h"), n, total, &l);
            assert!(total.abs() < 5e-4 && l.max < if n == 32 { 2e-3 } else { 1.5e-3 });
            l.max
        };
        compare(32, 8.0);
        compare(64, 8.0);
        let errors: Vec<f64> = [32, 64, 128].map(|n| compare(n, 1.0)).to_vec();
        eprintln!("{name} order {:.2}", order(&errors));
        assert!(order(&errors) >= 1.8);
    }
}

fn case_value_total(law: &str) -> f64 {
    expected("S04", "current per length", &full(law))
}

/// How the table writes a law.
fn full(law: &str) -> String {
    match law {
        "Wa = kappa R_ct/r1 = 0.2" => "R_ct = 0.0002".into(),
        "Wa = kappa R_ct/r1 = 1" => "R_ct = 0.001".into(),
        "Wa = kappa R_ct/r1 = 5" => "R_ct = 0.005".into(),
        other => other.into(),
    }
}
