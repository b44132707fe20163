//! The disk in an insulating plane.

use super::make::{job, percent};
use crate::case::{Case, Variant};
use crate::table::expected;
use std::f64::consts::PI;

/// Radius of the disk and of the far-counter disk, m.
const A: f64 = 0.02;
const FAR_A: f64 = 0.01;

pub(super) fn cases() -> Vec<Case> {
    vec![disk(), far_counter()]
}

fn disk() -> Case {
    let average = expected("P04", "current", "cell at 1 V") / (PI * A * A);
    // The middle of the disk of the job, and 25 cells of its edge off its rim.
    let room = 25.0 * 0.00390625e-3;
    let exact = move |x: &[f64; 3]| {
        let r = x[0] / A;
        (A - x[0] > room).then(|| 0.5 * average / (1.0 - r * r).sqrt())
    };
    let inside = |share: f64| {
        move |s: &crate::Solved| {
            Some(s.current_before_a("disk", |x| x[0], share * A)? / s.body_current_a("disk")?)
        }
    };
    let places = [
        ("r/a = 0", 0.0),
        ("r/a = 0.25", 0.25),
        ("r/a = 0.5", 0.5),
        ("r/a = 0.75", 0.75),
        ("r/a = 0.9", 0.9),
        ("r/a = 0.95", 0.95),
    ];
    let stated = |id: &str, quantity: &str| {
        places.map(|(name, r)| {
            (
                name,
                [(r * A).max(1e-6), 0.0],
                expected(id, quantity, &format!("disk, {name}")),
            )
        })
    };
    let primary = Variant::new("P04", "primary")
        .current(
            "current",
            ("A", 1.0),
            expected("P04", "current", "cell at 1 V"),
            percent(0.1),
        )
        .shares("disk", &stated("P04", "i/i_avg"), percent(1.0))
        .curve(
            "worst place, 0.1 mm off the rim",
            "disk",
            exact,
            percent(1.0),
        )
        .other(
            "share of the current inside r = 0.5 a",
            "",
            inside(0.5),
            expected("P04", "current inside radius", "r/a = 0.5"),
            percent(1.0),
        );
    [
        (
            "S03c",
            "linear, 0.001 ohm m2",
            "law.linear = { resistance = \"0.001 ohm m2\" }",
        ),
        (
            "S03d",
            "Tafel",
            "law.tafel = { exchange_current_density = \"1 A/m2\", slope = \"50 mV\" }",
        ),
    ]
    .into_iter()
    .fold(
        Case::new(job!("disk")).with(primary),
        |case, (id, label, law)| {
            case.with(
                Variant::new(id, label)
                    .change("law = \"primary\"", law)
                    .change("edge = \"0.00390625 mm\"", "edge = \"0.03125 mm\"")
                    .current(
                        "current",
                        ("A", 1.0),
                        expected(id, "current", "cell"),
                        percent(0.1),
                    )
                    .places("disk", &stated(id, "current density"), percent(0.3)),
            )
        },
    )
    .drawn("disk", "r/a", |x| Some(x[0] / A).filter(|r| *r < 0.995))
}

fn far_counter() -> Case {
    // Beyond the bowl: what is left of the spreading resistance, times kappa a.
    let beyond = (0.5 * PI - 20f64.atan()) / (2.0 * PI);
    let (kappa, slope) = (10.0, 0.05);
    let case = Case::new(job!("disk-far-counter"));
    let places = |id: &str, given: &str| {
        let at = |place: &str| expected(id, "i/i_avg", &format!("{given}, {place}"));
        [
            (
                "r/a = 0",
                [1e-6, 0.0],
                expected(id, "i_centre/i_avg", given),
            ),
            ("r/a = 0.5", [0.5 * FAR_A, 0.0], at("r/a = 0.5")),
            ("r/a = 0.9", [0.9 * FAR_A, 0.0], at("r/a = 0.9")),
        ]
    };
    let linear = [
        ("J = 0.1", "J = 0.1", "resistance = \"0.01 ohm m2\""),
        ("J = 1", "J = 1", "resistance = \"0.001 ohm m2\""),
        ("J = 10", "J = 10", "resistance = \"0.0001 ohm m2\""),
        ("J = 50", "J = 50", "resistance = \"0.00002 ohm m2\""),
    ];
    let case = linear
        .into_iter()
        .fold(case, |case, (label, given, resistance)| {
            let stated = expected(
                "S03a",
                "(cell resistance) * kappa * a",
                &format!("{given}, "),
            );
            case.with(
                Variant::new("S03a", label)
                    .change("resistance = \"0.001 ohm m2\"", resistance)
                    .other(
                        "resistance times kappa a",
                        "",
                        move |s| Some(s.voltage_v() / s.current_a() * kappa * FAR_A + beyond),
                        stated,
                        percent(0.1),
                    )
                    .shares("disk", &places("S03a", given), percent(0.3)),
            )
        });
    // I = delta kappa b pi a.
    let tafel = [
        ("delta = 1", "current = \"0.015707963267948967 A\""),
        ("delta = 10", "current = \"0.15707963267948966 A\""),
    ];
    tafel
        .into_iter()
        .fold(case, |case, (given, current)| {
            let drop = expected(
                "S03b",
                "ohmic drop from centre of disk to infinity / b",
                given,
            );
            let read = move |s: &crate::Solved| {
                let overpotential = slope * s.at("disk", &[1e-6, 0.0, 0.0])?.ln();
                let missing = s.current_a() * beyond / (kappa * FAR_A);
                Some((s.voltage_v() - overpotential + missing) / slope)
            };
            case.with(
                Variant::new("S03b", given)
                    .change(
                        "law.linear = { resistance = \"0.001 ohm m2\" }",
                        "law.tafel = { exchange_current_density = \"1 A/m2\", slope = \"50 mV\" }",
                    )
                    .change("voltage = \"1 V\"", current)
                    .other(
                        "drop, centre to infinity, over b",
                        "",
                        read,
                        drop,
                        percent(0.1),
                    )
                    .shares("disk", &places("S03b", given), percent(0.3)),
            )
        })
        .drawn("disk", "r/a", |x| Some(x[0] / FAR_A))
        .over_mean()
}
