//! Axisymmetric: the disk in an insulating plane (P04, S03c, S03d) and the boss (P12a).

use crate::bench::{Bench, PRIMARY, at, current_of, linear, local, tafel};
use crate::cases::expected;
use ionfall_bath::Kinetics;
use ionfall_deposit::Outcome;
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Ball, Cuboid, Ellipsoid, Point, Solid};
use ionfall_model::{Role, Tank};

const A: f64 = 0.02;

fn block(low: [f64; 2], high: [f64; 2]) -> Solid<2> {
    Solid::new(Cuboid::new(low, high).unwrap())
}

/// Disk of radius A in the plane z = 0 under the confocal half spheroid (axes sqrt(A^2 + h^2), h).
fn disk(h: f64, edge: f64, kinetics: Kinetics) -> Outcome<2> {
    let spheroid = || Solid::new(Ellipsoid::new([0.0, 0.0], [0.0013f64.sqrt(), 0.03]).unwrap());
    let counter = Solid::Difference(
        Box::new(block([0.0, -0.001], [0.05, 0.04])),
        vec![spheroid()],
    );
    Tank::bench(
        Space::Axisymmetric,
        block([0.0, 0.0], [0.045, 0.035]),
        20.0,
        2.0 * h,
        4.0 * h,
    )
    .voltage_v(1.0)
    .put(
        Role::Work,
        block([0.0, -0.005], [A, 0.0]),
        kinetics,
        h,
        edge,
    )
    .put(Role::Anode, counter, PRIMARY, h, h)
    .run()
}

#[test]
fn p04_disk_primary() {
    let edge = 0.001 / 256.0;
    let out = disk(0.0005, edge, PRIMARY);
    let total = out.current_a / expected("P04", "current", "cell at 1 V") - 1.0;
    let average = expected("P04", "current", "cell at 1 V") / (std::f64::consts::PI * A * A);
    let l = local(&out, 0, |x: &Point<2>| {
        let r = x[0] / A;
        (A - x[0] > 25.0 * edge).then(|| 0.5 * average / (1.0 - r * r).sqrt())
    });
    eprintln!(
        "P04: cells {} total {:+.4} % max beyond 25 edge cells {:.3} % rms {:.3} % notes {:?}",
        out.grid.len(),
        100.0 * total,
        100.0 * l.max,
        100.0 * l.rms,
        out.grid.notes
    );
    assert!(total.abs() < 1e-3);
    assert!(l.max < 1e-2);
}

#[test]
fn s03_disk_with_kinetics() {
    for (id, kinetics) in [("S03c", linear(1e-3)), ("S03d", tafel(1.0, 0.05, None))] {
        let out = disk(0.0005, 0.0005 / 16.0, kinetics);
        let total = out.current_a / expected(id, "current", "cell") - 1.0;
        let mut worst = 0.0f64;
        for r in ["0", "0.25", "0.5", "0.75", "0.9", "0.95"] {
            let x: f64 = r.parse().unwrap();
            let exact = at_radius(id, x);
            let i = at(&out, 0, &[(x * A).max(1e-6), 0.0]);
            worst = worst.max((i / exact - 1.0).abs());
        }
        eprintln!(
            "{id}: cells {} total {:+.4} % worst {:.4} %",
            out.grid.len(),
            100.0 * total,
            100.0 * worst
        );
        assert!(total.abs() < 1e-3);
        assert!(worst < 3e-3);
    }
}

/// The table's current density on the disk at r/a.
fn at_radius(id: &str, x: f64) -> f64 {
    match x {
        0.25 | 0.5 | 0.75 | 0.9 | 0.95 => expected(id, "current density", &format!("r/a = {x}")),
        _ => expected(id, "current density", "disk, r/a = 0"),
    }
}

#[test]
fn p12a_hemispherical_boss() {
    let h = 0.0005;
    let boss = Solid::Union(vec![
        block([0.0, -0.01], [0.04, 0.0]),
        Solid::new(Ball::new([0.0, 0.0], 0.01).unwrap()),
    ]);
    let out = Tank::bench(
        Space::Axisymmetric,
        block([0.0, 0.0], [0.03, 0.04]),
        10.0,
        h,
        2.0 * h,
    )
    .voltage_v(1.0)
    .put(Role::Work, boss, PRIMARY, h, h)
    .put(Role::Anode, block([0.0, 0.04], [0.04, 0.05]), PRIMARY, h, h)
    .run();
    let total = out.current_a / expected("P12a", "total current", "") - 1.0;
    let on_boss: f64 = out
        .grid
        .facets
        .iter()
        .zip(&out.solution.current_density_a_per_m2)
        .filter(|(f, _)| f.body == 0 && f.point[0].hypot(f.point[1]) < 0.01 + 1e-6)
        .map(|(f, i)| -f.area_m2 * i)
        .sum();
    let boss = on_boss / expected("P12a", "current of the boss", "") - 1.0;
    let tip = at(&out, 0, &[1e-6, 0.01]) / expected("P12a", "current density at the tip", "") - 1.0;
    let side = 0.01 * 0.5f64.sqrt();
    let slope = at(&out, 0, &[side, side]) / expected("P12a", "45 degrees", "") - 1.0;
    let plane = at(&out, 0, &[0.015, 0.0]) / expected("P12a", "at 1.5 R", "") - 1.0;
    let wall = at(&out, 0, &[0.03, 0.0]) / expected("P12a", "at the wall", "") - 1.0;
    eprintln!(
        "P12a total {:+.4} boss {:+.4} tip {:+.4} 45deg {:+.4} plane {:+.4} wall {:+.4} %",
        100.0 * total,
        100.0 * boss,
        100.0 * tip,
        100.0 * slope,
        100.0 * plane,
        100.0 * wall
    );
    assert!(total.abs() < 1e-3 && boss.abs() < 1e-3);
    for e in [tip, slope, plane, wall] {
        assert!(e.abs() < 1e-2);
    }
    assert!((current_of(&out, 0) / out.current_a - 1.0).abs() < 1e-8);
}
