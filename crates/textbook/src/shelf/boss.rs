//! Bosses, nodules and needles on a plane.

use super::make::{job, percent};
use crate::case::{Case, Variant};
use crate::laws::boss;
use crate::table::expected;

/// Current density of the even field, A/m2.
const FIELD: f64 = 100.0;

pub(super) fn cases() -> Vec<Case> {
    let mut all = in_tanks();
    all.extend(round());
    all.extend(slim());
    all
}

/// From the middle of the boss along its surface and the floor, mm.
fn along(x: &[f64; 3]) -> Option<f64> {
    Some(1e3 * x[0])
}

fn on_boss(x: &[f64; 3]) -> bool {
    x[1] > 1e-7
}

/// The point of a round boss under 45 degrees.
fn under_45_degrees() -> [f64; 2] {
    [0.01 * 0.5f64.sqrt(); 2]
}

/// In tanks that are not wide.
fn in_tanks() -> Vec<Case> {
    let in_tank = |id: &'static str| {
        let local = |quantity: &str| expected(id, quantity, "");
        [
            ("tip", [1e-6, 0.01], local("current density at the tip")),
            ("45 degrees", under_45_degrees(), local("45 degrees")),
            ("floor at 1.5 R", [0.015, 0.0], local("at 1.5 R")),
            ("floor at the wall", [0.03, 0.0], local("at the wall")),
        ]
    };
    let tanks = [
        (
            job!("boss-in-a-tank"),
            "P12a",
            "total current",
            "current of the boss",
            "A",
            0.1,
        ),
        (
            job!("half-cylinder-in-a-tank"),
            "P12b",
            "current per depth, half section",
            "current per depth of the boss",
            "A/m",
            0.2,
        ),
    ];
    let case = |(job, id, total, part, unit, most)| {
        Case::new(job)
            .with(
                Variant::new(id, "")
                    .current(
                        "current",
                        (unit, 1.0),
                        expected(id, total, ""),
                        percent(most),
                    )
                    .order(1.2)
                    .other(
                        "current of the boss",
                        unit,
                        |s| s.part_current_a("floor", |x| x[0].hypot(x[1]) < 0.01 + 1e-6),
                        expected(id, part, ""),
                        percent(most),
                    )
                    .places("floor", &in_tank(id), percent(1.0)),
            )
            .drawn("floor", "distance from the axis, mm", along)
    };
    tanks.into_iter().map(case).collect()
}

/// Round ones on a wide plane.
fn round() -> Vec<Case> {
    let round = [
        (job!("half-ball"), "P08a", "tip of the hemisphere", 3),
        (
            job!("half-cylinder"),
            "P08b",
            "crown of the half cylinder",
            2,
        ),
    ];
    let case = |(job, id, tip, n)| {
        let exact = move |x: &[f64; 3]| {
            // The foot of the boss is a corner where nothing flows: no share of nothing.
            let r = x[0].hypot(x[1]);
            (boss::round(n, 0.01, x) > 0.05 && (r - 0.01).abs() < 0.03)
                .then(|| FIELD * boss::round(n, 0.01, x))
        };
        let plane = |place: &str| FIELD * expected(id, "i/i0", place);
        Case::new(job)
            .with(
                Variant::new(id, "")
                    .places(
                        "boss",
                        &[
                            ("tip", [1e-6, 0.01], FIELD * expected(id, "i/i0", tip)),
                            (
                                "45 degrees",
                                under_45_degrees(),
                                FIELD * expected(id, "i/i0", "45 degrees"),
                            ),
                            ("floor at 1.5 R", [0.015, 0.0], plane("1.5 R")),
                            ("floor at 2 R", [0.02, 0.0], plane("2 R")),
                        ],
                        percent(1.0),
                    )
                    .other(
                        "current of the boss",
                        if n == 3 { "A" } else { "A/m" },
                        // Half the cylinder is in the tank.
                        move |s| {
                            let whole = if n == 3 { 1.0 } else { 2.0 };
                            Some(whole * s.part_current_a("boss", on_boss)?)
                        },
                        expected(id, "current", "i0 = 100"),
                        percent(if n == 3 { 0.1 } else { 0.2 }),
                    )
                    .curve("worst place above i0/20", "boss", exact, percent(1.0)),
            )
            .drawn("boss", "distance from the axis, mm", along)
    };
    round.into_iter().map(case).collect()
}

/// Slim ones on a wide plane.
fn slim() -> Vec<Case> {
    let slim = [
        (job!("nodule"), "P08c", 0.02),
        (job!("needle"), "P08d", 0.04),
    ];
    let case = |(job, id, height)| {
        let exact = move |x: &[f64; 3]| {
            (x[1] > 0.05 * height).then(|| FIELD * boss::spheroid(height, 0.01, x[1]))
        };
        let area = std::f64::consts::PI * 1e-4;
        Case::new(job)
            .with(
                Variant::new(id, "")
                    .places(
                        "boss",
                        &[("tip", [1e-6, height], FIELD * expected(id, "i/i0", "tip"))],
                        percent(1.0),
                    )
                    .other(
                        "current of the boss over i0 times its foot",
                        "",
                        move |s| Some(s.part_current_a("boss", on_boss)? / (FIELD * area)),
                        expected(id, "current of the boss", ""),
                        percent(0.1),
                    )
                    .curve(
                        "worst place above a twentieth of the height",
                        "boss",
                        exact,
                        percent(1.0),
                    ),
            )
            .drawn("boss", "height, mm", |x| {
                Some(1e3 * x[1]).filter(|z| *z > 0.1)
            })
    };
    slim.into_iter().map(case).collect()
}
