//! Plates and strips in tanks with insulating walls, planar, primary.

use super::make::{job, percent};
use crate::case::{Case, Reading, Variant};
use crate::laws::corner;
use crate::laws::strips;
use crate::table::expected;

pub(super) fn cases() -> Vec<Case> {
    vec![
        strips_in_a_channel(),
        short_plates(),
        baffle(),
        thief(),
        corner_rule(),
    ]
}

fn strips_in_a_channel() -> Case {
    const GAP: f64 = 0.01;
    let lengths = [
        ("P05a", "length/gap 0.5", 0.005, Some("2.5")),
        ("P05b", "length/gap 1", 0.01, None),
        ("P05c", "length/gap 2", 0.02, Some("10")),
    ];
    let case = lengths.into_iter().fold(
        Case::new(job!("strips-in-a-channel")),
        |case, (id, label, length, half)| {
            // Places, and how the table begins to name them.
            let places = [
                (0.0, "0 ("),
                (0.25, "0.25"),
                (0.5, "0.5 ("),
                (0.75, "0.75"),
                (0.9, "0.9 ("),
                (0.95, "0.95"),
            ]
            .map(|(share, x): (f64, &str)| {
                let stated = expected(id, "i/i_avg", &format!("2x/L = {x}"));
                (
                    format!("2x/L = {share}"),
                    [0.5 * length * share, 0.0],
                    stated,
                )
            });
            let variant = Variant::new(id, label);
            let variant = match half {
                Some("2.5") => variant
                    .change("\"-5 x", "\"-2.5 x")
                    .change("\"5 x", "\"2.5 x"),
                Some(_) => variant
                    .change("\"-5 x", "\"-10 x")
                    .change("\"5 x", "\"10 x"),
                None => variant,
            };
            let exact = move |x: &[f64; 3]| {
                (0.5 * length - x[0].abs() > 25.0 * 5e-6)
                    .then(|| strips::over_mean(length, GAP, x[0]))
            };
            case.with(
                variant
                    .current(
                        "conductance over kappa",
                        ("", 1.0),
                        expected(id, "conductance", "cell"),
                        percent(0.2),
                    )
                    .order(1.0)
                    .shares("strip", &places, percent(1.0))
                    .check(
                        "i/i_avg, worst place, 0.125 mm off the ends",
                        "",
                        Reading::CurveOverMean("strip", Box::new(exact)),
                        f64::NAN,
                        percent(1.0),
                    ),
            )
        },
    );
    case.drawn("strip", "place along the strip, mm", |x| Some(1e3 * x[0]))
        .over_mean()
}

fn short_plates() -> Case {
    const ANODE: &str = "\"210 x 60 mm\"";
    let layouts = [
        (Variant::new("P11a", "h1/H 0.6, h2/H 0.6, L/H 2"), 0.06),
        (
            Variant::new("P11b", "h1/H 0.5, h2/H 1, L/H 2")
                .change("\"0 x 60 mm\"", "\"0 x 50 mm\"")
                .change(ANODE, "\"210 x 120 mm\""),
            0.05,
        ),
        (
            Variant::new("P11c", "h1/H 0.6, h2/H 0.8, L/H 0.5")
                .change(ANODE, "\"60 x 80 mm\"")
                .change("\"200 x", "\"50 x"),
            0.06,
        ),
    ];
    let case = layouts.into_iter().fold(
        Case::new(job!("plates-short-of-the-walls")),
        |case, (variant, height)| {
            let id = variant.id;
            let stated = |place: &str| expected(id, "i/i_avg", place);
            let places = [
                ("centre", [0.0, 0.0], stated("centre")),
                ("0.5 h1", [0.0, 0.5 * height], stated("y = 0.5 h1")),
                ("0.8 h1", [0.0, 0.8 * height], stated("y = 0.8 h1")),
                ("0.9 h1", [0.0, 0.9 * height], stated("y = 0.9 h1")),
                ("0.95 h1", [0.0, 0.95 * height], stated("y = 0.95 h1")),
            ];
            case.with(
                variant
                    .current(
                        "conductance over kappa",
                        ("", 1.0),
                        expected(id, "conductance", ""),
                        percent(0.2),
                    )
                    .order(1.0)
                    .shares("plate", &places, percent(1.0)),
            )
        },
    );
    case.drawn("plate", "height, mm", |x| Some(1e3 * x[1]))
        .over_mean()
}

fn baffle() -> Case {
    let slots = [
        Variant::new("P13a", "slot of half the width"),
        Variant::new("P13b", "slot of a fifth of the width")
            .change("\"100 x 50 mm\"", "\"100 x 20 mm\""),
    ];
    let case = slots
        .into_iter()
        .fold(Case::new(job!("slotted-baffle")), |case, variant| {
            let id = variant.id;
            let stated = |place: &str| expected(id, "i/i_avg", place);
            let places = [
                ("facing the slot", [0.0, 0.0], stated("facing the slot")),
                ("0.25 H", [0.0, 0.025], stated("y = 0.25 H")),
                ("0.5 H", [0.0, 0.05], stated("y = 0.5 H")),
                ("0.75 H", [0.0, 0.075], stated("y = 0.75 H")),
                ("at the side wall", [0.0, 0.1], stated("side wall")),
            ];
            case.with(
                variant
                    .current(
                        "conductance over kappa",
                        ("", 1.0),
                        expected(id, "conductance per depth", ""),
                        percent(0.2),
                    )
                    .shares("plate", &places, percent(1.0)),
            )
        });
    case.drawn("plate", "height, mm", |x| Some(1e3 * x[1]))
        .over_mean()
}

fn thief() -> Case {
    let variants = [
        (Variant::new("P14", "with thief"), "with thief"),
        (
            Variant::new("P14", "that wall insulating").change("[[thief]]", "[[shield]]"),
            "without thief",
        ),
    ];
    let case = variants
        .into_iter()
        .fold(Case::new(job!("thief")), |case, (variant, which)| {
            let stated =
                |cm: &str| expected("P14", "i/i_avg", &format!("cathode y = {cm} cm, {which}"));
            let places = [
                ("y = 0", [0.0, 0.0], stated("0")),
                ("y = 30 mm", [0.0, 0.03], stated("3")),
                ("y = 45 mm", [0.0, 0.045], stated("4.5")),
                ("y = 54 mm", [0.0, 0.054], stated("5.4")),
            ];
            let total = expected("P14", "conductance", which);
            let mut variant =
                variant.current("conductance over kappa", ("", 1.0), total, percent(0.2));
            if which == "with thief" {
                variant = variant.other(
                    "share of the plate",
                    "",
                    |s| Some(s.body_current_a("plate")? / s.current_a()),
                    expected("P14", "cathode share", which),
                    percent(0.2),
                );
            }
            case.with(variant.shares("plate", &places, percent(1.0)))
        });
    case.drawn("plate", "height, mm", |x| Some(1e3 * x[1]))
        .over_mean()
}

fn corner_rule() -> Case {
    const WEDGE: &str = "points = [\"0 x 0 mm\", \"40 x 0 mm\", \"40 x 40 mm\", \"-40 x 40 mm\"]";
    const ROUND: &str = "points = [\"0 x 0 mm\", \"40 x 0 mm\", \"40 x 40 mm\", \"-40 x 40 mm\", \
                         \"-40 x -40 mm\", \"0 x -40 mm\"]";
    let wedges = [
        (
            "insulator, 45 degrees",
            45.0,
            false,
            Some("points = [\"0 x 0 mm\", \"40 x 0 mm\", \"40 x 40 mm\"]"),
        ),
        (
            "insulator, 90 degrees",
            90.0,
            false,
            Some("points = [\"0 x 0 mm\", \"40 x 0 mm\", \"40 x 40 mm\", \"0 x 40 mm\"]"),
        ),
        ("insulator, 135 degrees", 135.0, false, None),
        ("insulator, 270 degrees", 270.0, false, Some(ROUND)),
        ("two faces, 270 degrees", 270.0, true, Some(ROUND)),
    ];
    wedges.into_iter().fold(
        Case::new(job!("corner")),
        |case, (label, degrees, faces, tank)| {
            let mut variant = Variant::new("P10", label);
            if let Some(tank) = tank {
                variant = variant.change(WEDGE, tank);
            }
            if faces {
                // The cathode fills the missing quarter.
                variant = variant.change(
                    "\"25 x -12 mm\", \"25 x 0 mm\"",
                    "\"0 x -20 mm\", \"20 x -20 mm\", \"20 x 0 mm\"",
                );
            }
            let kind = if faces {
                "electrode meets electrode"
            } else {
                "electrode meets insulator"
            };
            let place = format!("{degrees} deg");
            let stated = expected(
                "P10",
                "exponent p of i ~ r^p",
                &format!(
                    "{kind}{}, interior angle {place}",
                    if faces { " (same potential)" } else { "" }
                ),
            );
            debug_assert!((stated - corner::exponent(degrees, faces)).abs() < 1e-9);
            // Near the corner of a cell of 30 mm the next power of the series is small, though not nothing.
            let read = |s: &crate::Solved| {
                let [near, far] = [0.03e-3, 0.06e-3].map(|r| s.at("face", &[r, 0.0, 0.0]));
                Some((far? / near?).log2())
            };
            case.with(variant.other(
                "exponent p, from 0.03 and 0.06 mm",
                "",
                read,
                stated,
                crate::case::Tolerance::Plain(0.01),
            ))
        },
    )
}
