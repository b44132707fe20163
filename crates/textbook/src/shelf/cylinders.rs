//! Rods in round tanks, balls in hollow balls and cubes.

use super::make::{at, job, percent};
use crate::case::{Case, Variant};
use crate::laws::cylinders::{Eccentric, linear, tafel};
use crate::table::expected;
use std::f64::consts::PI;

pub(super) fn cases() -> Vec<Case> {
    vec![
        concentric_cylinders(),
        eccentric_cylinders(),
        concentric_spheres(),
        ball_in_a_cube(),
    ]
}

const ROD: &str = "law = \"primary\" # of the rod";
const BALL: &str = "law = \"primary\" # of the ball";
const WALL: &str = "law = \"primary\" # of the wall";
const TAFEL: &str = "law.tafel = { exchange_current_density = \"1 A/m2\", slope = \"50 mV\" }";
const FIFTH: &str = "law.linear = { resistance = \"0.0002 ohm m2\" }";
const HALF: &str = "law.linear = { resistance = \"0.0005 ohm m2\" }";
const ONE: &str = "law.linear = { resistance = \"0.001 ohm m2\" }";
const FIVE: &str = "law.linear = { resistance = \"0.005 ohm m2\" }";

/// Laws of both electrodes, as the table names them.
const BOTH: [(&str, &str, &str); 3] = [
    ("linear, 0.0005 ohm m2", "R_ct = 0.0005", HALF),
    ("linear, 0.001 ohm m2", "R_ct = 0.001", ONE),
    ("linear, 0.005 ohm m2", "R_ct = 0.005", FIVE),
];

fn concentric_cylinders() -> Case {
    let exact = expected("P01", "current density", "inner");
    let case = Case::new(job!("concentric-cylinders")).with(
        Variant::new("P01", "primary")
            .current(
                "current per length",
                ("A/m", 1.0),
                expected("P01", "current per length", "cell"),
                percent(0.05),
            )
            .curve(
                "worst place of the rod",
                "rod",
                move |_| Some(exact),
                percent(0.2),
            )
            .order(1.8)
            .curve(
                "worst place of the wall",
                "wall",
                {
                    let exact = expected("P01", "current density", "outer");
                    move |_| Some(exact)
                },
                percent(0.2),
            ),
    );
    let case = BOTH.into_iter().fold(case, |case, (label, place, law)| {
        let both = Variant::new("S02a", label)
            .change(ROD, law)
            .change(WALL, law);
        case.with(even(
            both,
            "rod",
            expected("S02a", "current density", place),
        ))
    });
    let tafel = Variant::new("S02a", "Tafel").change(ROD, TAFEL);
    case.with(even(
        tafel,
        "rod",
        expected("S02a", "current density", "Tafel"),
    ))
    .drawn("rod", "angle, degrees", |x| {
        Some(x[1].atan2(x[0]).to_degrees())
    })
}

/// The same current density everywhere on the rod of 10 mm radius (per metre), or on the ball.
fn even(variant: Variant, body: &'static str, exact: f64) -> Variant {
    let area = match body {
        "rod" => 2.0 * PI * 0.01,
        _ => 4.0 * PI * 1e-4,
    };
    let (total, local, order) = match body {
        "rod" => (0.05, 0.15, 1.8),
        _ => (0.1, 0.3, 1.9),
    };
    variant
        .other(
            "current",
            "A",
            |s| Some(s.current_a()),
            exact * area,
            percent(total),
        )
        .curve(
            format!("worst place of the {body}"),
            body,
            move |_| Some(exact),
            percent(local),
        )
        .order(order)
}

/// What is compared in the same way on every law.
fn eccentric(
    variant: Variant,
    per_length: f64,
    gaps: [f64; 2],
    curve: impl Fn(f64) -> f64 + Send + Sync + 'static,
    [total, local, worst]: [f64; 3],
) -> Variant {
    let [near, far] = gaps;
    variant
        .other(
            "current per length",
            "A/m",
            |s| Some(s.current_a()),
            per_length,
            percent(total),
        )
        .check(
            "at the narrow gap",
            "A/m2",
            at("rod", 0.03, 0.0),
            near,
            percent(local),
        )
        .check(
            "opposite",
            "A/m2",
            at("rod", 0.01, 0.0),
            far,
            percent(local),
        )
        .curve(
            "worst place of the rod",
            "rod",
            move |x| Some(curve(x[0])),
            percent(worst),
        )
        .order(1.8)
}

fn eccentric_cylinders() -> Case {
    let pair = Eccentric::new(0.01, 0.04, 0.02);
    let primary = eccentric(
        Variant::new("P03", "primary"),
        expected("P03", "current per length", "cell"),
        ["nearest", "farthest"].map(|place| expected("P03", "current density", place)),
        move |x| pair.primary(10.0, 0.5, x),
        [0.05, 0.2, 0.2],
    );
    type Curve = Box<dyn Fn(f64) -> f64 + Send + Sync>;
    let laws: [(&str, &str, &str, Curve); 4] = [
        (
            "Wagner number 0.2",
            "R_ct = 0.0002",
            FIFTH,
            Box::new(pair.secondary(10.0, 0.5, linear(2e-4))),
        ),
        (
            "Wagner number 1",
            "R_ct = 0.001",
            ONE,
            Box::new(pair.secondary(10.0, 0.5, linear(1e-3))),
        ),
        (
            "Wagner number 5",
            "R_ct = 0.005",
            FIVE,
            Box::new(pair.secondary(10.0, 0.5, linear(5e-3))),
        ),
        (
            "Tafel",
            "Tafel",
            TAFEL,
            Box::new(pair.secondary(10.0, 0.5, tafel(1.0, 0.05))),
        ),
    ];
    let case = Case::new(job!("eccentric-cylinders")).with(primary);
    let with_law = |case: Case, (label, place, law, curve): (_, &str, _, Curve)| {
        let stated = |point: &str| {
            expected(
                "S04",
                "current density",
                &format!("inner, {point}; {place}"),
            )
        };
        let variant = Variant::new("S04", label).change(ROD, law);
        let per_length = expected("S04", "current per length", place);
        let gaps = ["nearest point", "farthest point"].map(stated);
        case.with(eccentric(
            variant,
            per_length,
            gaps,
            curve,
            [0.05, 0.15, 0.15],
        ))
    };
    laws.into_iter()
        .fold(case, with_law)
        .drawn("rod", "angle from the narrow gap, degrees", |x| {
            Some(x[1].atan2(x[0] - 0.02).to_degrees()).filter(|angle| *angle >= 0.0)
        })
}

fn concentric_spheres() -> Case {
    let exact = expected("P02", "current density", "inner");
    let primary = Variant::new("P02", "primary")
        .current(
            "current",
            ("A", 1.0),
            expected("P02", "current", "cell"),
            percent(0.1),
        )
        .curve(
            "worst place of the ball",
            "ball",
            move |_| Some(exact),
            percent(0.8),
        )
        .order(1.6);
    let case = Case::new(job!("concentric-spheres")).with(primary);
    BOTH.into_iter().fold(case, |case, (label, place, law)| {
        let both = Variant::new("S02b", label)
            .change(BALL, law)
            .change(WALL, law);
        case.with(even(
            both,
            "ball",
            expected("S02b", "current density", place),
        ))
    })
}

fn ball_in_a_cube() -> Case {
    let (s2, s3) = (0.01 * 0.5f64.sqrt(), 0.01 / 3f64.sqrt());
    let start = Variant::new("S07", "").other(
        "current of the ball",
        "A",
        |s| s.body_current_a("ball"),
        expected("S07", "total current", ""),
        percent(0.1),
    );
    let places = [
        ("pole", [0.0, 0.0, 0.01], "pole facing"),
        ("equator, towards a wall", [0.01, 0.0, 0.0], "(1,0,0)"),
        ("equator, towards an edge", [s2, s2, 0.0], "(1,1,0)"),
        ("45 degrees", [s2, 0.0, s2], "direction (1,0,1)"),
        ("towards a corner", [s3, s3, s3], "direction (1,1,1)"),
    ];
    let variant = places.into_iter().fold(start, |variant, (name, x, place)| {
        let value = expected("S07", "current density", place);
        variant
            .check(
                name,
                "A/m2",
                crate::case::Reading::At("ball", x),
                value,
                percent(0.3),
            )
            .order(1.5)
    });
    Case::new(job!("ball-in-a-cube")).with(variant).drawn(
        "ball",
        "height above the middle, mm",
        |x| Some(1e3 * x[2]),
    )
}
