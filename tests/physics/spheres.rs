//! Spheres, 3-D: cases P02, S02b, S07.

use crate::bench::{Bench, PRIMARY, at, linear, local, tafel};
use crate::cases::expected;
use ionfall_bath::Kinetics;
use ionfall_deposit::Outcome;
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Ball, Cuboid, Solid};
use ionfall_model::{Role, Tank};
use ionfall_textbook::order;
use std::f64::consts::PI;

const R1: f64 = 0.01;

fn ball(centre: [f64; 3], r: f64) -> Solid<3> {
    Solid::new(Ball::new(centre, r).unwrap())
}

/// Concentric spheres: radii R1 and `outer`; the centre is moved about the grid by `shift` (in
/// cells); leaves of the outer sphere and in the bulk up to the given multiples of h.
fn shells(
    n: u32,
    outer: f64,
    sizes: [f64; 2],
    shift: [f64; 3],
    inner_law: Kinetics,
    outer_law: Kinetics,
) -> Outcome<3> {
    let h = 2.0 * R1 / f64::from(n);
    let centre = shift.map(|s| s * h);
    let side = 1.3 * outer;
    let block = Solid::new(Cuboid::new([-side; 3], [side; 3]).unwrap());
    let around = Solid::Difference(Box::new(block), vec![ball(centre, outer)]);
    let [wall, bulk] = sizes.map(|s| s * h);
    Tank::bench(Space::Tank, ball([0.0; 3], 1.1 * outer), 10.0, bulk, bulk)
        .voltage_v(0.5)
        .put(Role::Work, ball(centre, R1), inner_law, h, h)
        .put(Role::Anode, around, outer_law, wall, wall)
        .run()
}

/// Resistance of the electrolyte between the spheres (P02), ohm.
fn between(outer: f64) -> f64 {
    (1.0 / R1 - 1.0 / outer) / (4.0 * PI * 10.0)
}

#[test]
fn p02_concentric_primary() {
    // The case itself, leaves of four sizes.
    let exact = expected("P02", "current density", "inner");
    let out = shells(32, 0.05, [2.0, 8.0], [0.1, 0.2, 0.3], PRIMARY, PRIMARY);
    let total = out.current_a / expected("P02", "current", "cell") - 1.0;
    let l = local(&out, 0, |_| Some(exact));
    eprintln!(
        "P02 n 32: total {:+.4} % max {:.4} %",
        100.0 * total,
        100.0 * l.max
    );
    assert!(l.max < 8e-3 && total.abs() < 1e-3);
    // Order, on a smaller outer sphere so that the whole tree can be refined.
    let outer = 0.02;
    let exact = 0.5 / between(outer) / (4.0 * PI * R1 * R1);
    let mut errors = Vec::new();
    for n in [16, 32, 64] {
        let out = shells(n, outer, [1.0, 2.0], [0.1, 0.2, 0.3], PRIMARY, PRIMARY);
        let l = local(&out, 0, |_| Some(exact));
        let total = out.current_a * between(outer) / 0.5 - 1.0;
        eprintln!(
            "P02, outer 2 R1, n {n}: cells {} total {:+.4} % max {:.4} % rms {:.4} %",
            out.grid.len(),
            100.0 * total,
            100.0 * l.max,
            100.0 * l.rms
        );
        errors.push(l.max);
    }
    eprintln!("P02 order {:.2}", order(&errors));
    assert!(order(&errors) >= 1.6);
}

#[test]
fn p02_no_bad_offset() {
    let exact = expected("P02", "current density", "inner");
    for shift in [
        [0.5, 0.25, 0.1],
        [0.33, 0.91, 0.57],
        [0.05, 0.62, 0.48],
        [0.77, 0.14, 0.86],
    ] {
        let out = shells(32, 0.05, [2.0, 8.0], shift, PRIMARY, PRIMARY);
        let l = local(&out, 0, |_| Some(exact));
        eprintln!("P02 {shift:?}: max {:.4} %", 100.0 * l.max);
        assert!(l.max < 8e-3);
    }
}

#[test]
fn s02b_concentric_with_kinetics() {
    // Wa = kappa R / diameter = 0.25 and 2.5.
    for (r, text) in [(5e-4, "R_ct = 0.0005"), (5e-3, "R_ct = 0.005")] {
        let exact = expected("S02b", "current density", text);
        let out = shells(32, 0.05, [2.0, 8.0], [0.2, 0.4, 0.3], linear(r), linear(r));
        let l = local(&out, 0, |_| Some(exact));
        let total = out.current_a / (exact * 4.0 * PI * R1 * R1) - 1.0;
        eprintln!(
            "{text}: total {:+.4} % max {:.4} %",
            100.0 * total,
            100.0 * l.max
        );
        assert!(l.max < 3e-3 && total.abs() < 1e-3);
        let (outer, area) = (0.02, 4.0 * PI * R1 * R1);
        let exact = 0.5 / (between(outer) + r / area + r / (4.0 * area)) / area;
        let mut errors = Vec::new();
        for n in [16, 32, 64] {
            let out = shells(n, outer, [1.0, 2.0], [0.2, 0.4, 0.3], linear(r), linear(r));
            let l = local(&out, 0, |_| Some(exact));
            let total = out.current_a / (exact * area) - 1.0;
            eprintln!(
                "{text} n {n}: total {:+.4} % max {:.4} %",
                100.0 * total,
                100.0 * l.max
            );
            errors.push(l.max);
        }
        eprintln!("{text} order {:.2}", order(&errors));
        assert!(order(&errors) >= 1.9);
    }
}

#[test]
fn s07_tafel_ball_in_a_cube() {
    let mut errors = Vec::new();
    for n in [16, 32, 64] {
        let h = 0.02 / f64::from(n);
        let plate = |z: f64, up: f64| {
            let (low, high) = (z.min(z + up), z.max(z + up));
            Solid::new(Cuboid::new([-0.03, -0.03, low], [0.03, 0.03, high]).unwrap())
        };
        let tank = Solid::new(Cuboid::new([-0.025; 3], [0.025; 3]).unwrap());
        let out = Tank::bench(Space::Tank, tank, 20.0, 2.0 * h, 2.0 * h)
            .voltage_v(0.6)
            .put(
                Role::Work,
                ball([0.0; 3], 0.01),
                tafel(1.0, 0.05, None),
                h,
                h,
            )
            .put(Role::Anode, plate(0.025, 0.01), PRIMARY, 2.0 * h, 2.0 * h)
            .put(Role::Anode, plate(-0.025, -0.01), PRIMARY, 2.0 * h, 2.0 * h)
            .run();
        let total = out.current_a / expected("S07", "total current", "") - 1.0;
        let mut worst = 0.0f64;
        let (s2, s3) = (0.5f64.sqrt(), (1.0f64 / 3.0).sqrt());
        for (direction, place) in [
            ([0.0, 0.0, 1.0], "(0,0,1)"),
            ([1.0, 0.0, 0.0], "(1,0,0)"),
            ([s2, s2, 0.0], "(1,1,0)"),
            ([s2, 0.0, s2], "(1,0,1)"),
            ([s3, s3, s3], "(1,1,1)"),
        ] {
            let i = at(&out, 0, &direction.map(|c: f64| 0.01 * c));
            let exact = if place == "(1,0,1)" || place == "(1,1,1)" {
                expected("S07", "current density", &format!("direction {place}"))
            } else {
                expected("S07", "current density", place)
            };
            worst = worst.max((i / exact - 1.0).abs());
        }
        eprintln!(
            "S07 n {n}: cells {} total {:+.4} % worst point {:.4} % grid {:.2} field {:.2}",
            out.grid.len(),
            100.0 * total,
            100.0 * worst,
            out.grid_s,
            out.field_s
        );
        errors.push(worst);
        if n == 32 {
            assert!(worst < 3e-3 && total.abs() < 1e-3);
        }
    }
    eprintln!("S07 order {:.2}", order(&errors));
    assert!(order(&errors) >= 1.9);
}
