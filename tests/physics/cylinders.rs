//! Cylinders, 2-D planar: cases P01, P03, S02a, S04.

use crate::bench::{Bench, Local, PRIMARY, linear, local, solve_dense, tafel};
use crate::cases::expected;
use ionfall_bath::Kinetics;
use ionfall_deposit::Outcome;
use ionfall_job::Role;
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Ball, Cuboid, Point, Solid};
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
    Bench::new(
        Space::Planar { depth_m: 1.0 },
        disk(0.0, 0.0, 1.2 * outer),
        KAPPA,
        h,
        coarsest * h,
    )
    .volts(VOLTS)
    .electrode(Role::Work, disk(centre[0], centre[1], R1), inner_law, h, h)
    .electrode(Role::Anode, around(outer), outer_law, h, h)
    .run()
}

fn report(name: &str, n: u32, total: f64, l: &Local) {
    eprintln!(
        "{name} n {n}: total {:+.4} % max {:.4} % rms {:.4} %",
        100.0 * total,
        100.0 * l.max,
        100.0 * l.rms
    );
}

/// Convergence order of errors at three doublings.
pub fn order(errors: &[f64]) -> f64 {
    (errors[0] / errors[errors.len() - 1]).log2() / (errors.len() - 1) as f64
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

/// Bipolar coordinates of the eccentric pair P03: c, tau of inner and outer circle, distance of
/// the outer centre from the radical axis.
fn bipolar() -> (f64, f64, f64, f64) {
    let (r2, e) = (0.04, 0.02);
    let d2 = (r2 * r2 - R1 * R1 + e * e) / (2.0 * e);
    let c = ((d2 - e).powi(2) - R1 * R1).sqrt();
    (c, (c / R1).asinh(), (c / r2).asinh(), d2)
}

/// cosh tau - cos sigma at a point of the inner circle (= c sinh tau / distance from the axis).
fn metric(x: &Point<2>) -> f64 {
    let (c, t1, _, d2) = bipolar();
    c * t1.sinh() / (d2 - x[0])
}

#[test]
fn p03_eccentric_primary() {
    // i = kappa V (cosh tau - cos sigma) / (c (tau1 - tau2))
    let (c, t1, t2, _) = bipolar();
    let exact = |x: &Point<2>| Some(KAPPA * VOLTS * metric(x) / (c * (t1 - t2)));
    // The stated points of the case, to tie the formula to the table.
    for (x, place) in [(0.03, "nearest"), (0.01, "farthest")] {
        let stated = expected("P03", "current density", place);
        assert!((exact(&[x, 0.0]).unwrap() / stated - 1.0).abs() < 1e-9);
    }
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

/// Exact secondary distribution of S04 on the inner circle: Newton on the cosine coefficients of
/// the potential, with the exact map from boundary potential to normal derivative in bipolar
/// coordinates. Returns sigma -> i, magnitude.
fn secondary(law: impl Fn(f64) -> (f64, f64)) -> impl Fn(f64) -> f64 {
    const M: usize = 48;
    let (c, t1, t2, _) = bipolar();
    let width = t1 - t2;
    let sigma: Vec<f64> = (0..M).map(|j| PI * (j as f64 + 0.5) / M as f64).collect();
    // phi(sigma) = sum a_k cos k sigma on the inner circle, V on the outer one.
    let slope = |k: usize| {
        if k == 0 {
            1.0 / width
        } else {
            k as f64 / (k as f64 * width).tanh()
        }
    };
    let mut a = vec![0.0; M];
    a[0] = 0.5 * VOLTS;
    for _ in 0..60 {
        let mut system: Vec<Vec<f64>> = Vec::new();
        let mut off = 0.0f64;
        for &s in &sigma {
            let stretch = KAPPA * (t1.cosh() - s.cos()) / c;
            let phi: f64 = (0..M).map(|k| a[k] * (k as f64 * s).cos()).sum();
            let inward: f64 = (0..M)
                .map(|k| {
                    let above = if k == 0 { a[0] - VOLTS } else { a[k] };
                    -slope(k) * above * (k as f64 * s).cos()
                })
                .sum();
            let (i, di) = law(phi);
            let residual = stretch * inward - i;
            off = off.max(residual.abs());
            let mut row: Vec<f64> = (0..M)
                .map(|k| (-stretch * slope(k) - di) * (k as f64 * s).cos())
                .collect();
            row.push(-residual);
            system.push(row);
        }
        let step = solve_dense(&mut system);
        for (a, d) in a.iter_mut().zip(&step) {
            *a += d.clamp(-0.1, 0.1);
        }
        if off < 1e-9 {
            break;
        }
    }
    move |s| {
        let phi: f64 = (0..M).map(|k| a[k] * (k as f64 * s).cos()).sum();
        law(phi).0
    }
}

#[test]
fn s04_eccentric_with_kinetics() {
    let (_, t1, _, _) = bipolar();
    let at = move |x: &Point<2>| (t1.cosh() - metric(x)).clamp(-1.0, 1.0).acos();
    type Law = Box<dyn Fn(f64) -> (f64, f64)>;
    let ohmic = |r: f64| -> Law { Box::new(move |phi: f64| (phi / r, 1.0 / r)) };
    let table: [(&str, Kinetics, Law); 4] = [
        ("Wa = kappa R_ct/r1 = 0.2", linear(2e-4), ohmic(2e-4)),
        ("Wa = kappa R_ct/r1 = 1", linear(1e-3), ohmic(1e-3)),
        ("Wa = kappa R_ct/r1 = 5", linear(5e-3), ohmic(5e-3)),
        (
            "Tafel",
            tafel(1.0, 0.05, None),
            Box::new(|phi: f64| {
                let i = (phi / 0.05).exp();
                (i, i / 0.05)
            }),
        ),
    ];
    for (name, kinetics, law) in table {
        let exact = secondary(law);
        // Tie the series to the table: nearest point is sigma = 0 seen from the narrow gap's side.
        let stated = case_value(name, "nearest point");
        let found = exact(at(&[0.03, 0.0])).max(exact(at(&[0.01, 0.0])));
        assert!(
            (found / stated - 1.0).abs() < 1e-7,
            "{name}: {found} {stated}"
        );
        let compare = |n: u32, coarsest: f64| {
            let out = annulus([0.02, 0.0], 0.04, n, coarsest, kinetics, PRIMARY);
            let total = out.current_a / case_value_total(name) - 1.0;
            let l = local(&out, 0, |x| Some(exact(at(x))));
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

fn case_value(law: &str, point: &str) -> f64 {
    expected(
        "S04",
        "current density",
        &format!("inner, {point}; {}", full(law)),
    )
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
