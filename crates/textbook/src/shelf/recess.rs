//! Electrodes at the bottom of a recess.

use super::make::{job, percent};
use crate::case::{Case, Variant};
use crate::table::expected;

pub(super) fn cases() -> Vec<Case> {
    let depths = [
        ("depth half the half width", Some(" x -2.5 mm"), 0.0025),
        ("depth the half width", None, 0.005),
        ("depth twice the half width", Some(" x -10 mm"), 0.01),
    ];
    [
        (
            job!("recessed-strip"),
            ["P09a1", "P09a2", "P09a3"],
            "conductance per depth",
            0.2,
        ),
        (
            job!("recessed-disk"),
            ["P09b1", "P09b2", "P09b3"],
            "conductance",
            0.1,
        ),
    ]
    .into_iter()
    .map(|(job, ids, quantity, most)| {
        let case = ids.into_iter().zip(depths).fold(
            Case::new(job),
            |case, (id, (label, change, depth))| {
                let mut variant = Variant::new(id, label);
                if let Some(to) = change {
                    variant = variant.change(" x -5 mm", to);
                }
                let stated = |place: &str| expected(id, "i/i_avg", place);
                let half = 0.005;
                let places = [
                    ("centre", [1e-6, -depth], stated("centre")),
                    ("half way", [0.5 * half, -depth], stated("half way")),
                    ("0.9 a", [0.9 * half, -depth], stated("x = 0.9 a")),
                    ("at the side wall", [half, -depth], stated("edge")),
                ];
                let total = expected(id, quantity, "");
                let unit = if most < 0.2 { "m" } else { "" };
                case.with(
                    variant
                        .current("conductance over kappa", (unit, 1.0), total, percent(most))
                        .order(if most < 0.2 { 0.5 } else { 1.0 })
                        .shares("floor", &places, percent(1.0)),
                )
            },
        );
        case.drawn("floor", "distance from the middle, mm", |x| {
            Some(1e3 * x[0])
        })
        .over_mean()
    })
    .collect()
}
