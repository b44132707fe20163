//! The 267 mL trapezoid cell.

use super::make::{job, percent};
use crate::case::{Case, Variant};
use crate::table::expected;

/// Length of the panel, m.
const LENGTH: f64 = 0.1016710381574;

/// Point of the panel at a distance from its near end.
fn on(x: f64) -> [f64; 2] {
    [0.048 + x / LENGTH * 0.079, 0.064 - x / LENGTH * 0.064]
}

pub(super) fn cases() -> Vec<Case> {
    let case = Case::new(job!("trapezoid"))
        .with(primary())
        .with(printed_table());
    let case = kinetics().into_iter().fold(case, Case::with);
    vec![case.drawn("panel", "distance from the near end, mm", |x| {
        Some(1e3 * (x[0] - 0.048) / 0.079 * LENGTH).filter(|s| *s > 1.0)
    })]
}

/// Places of the panel by their distance from its near end, with what the table states there.
fn places(id: &str, quantity: &str, places: &[&str]) -> Vec<(String, [f64; 2], f64)> {
    let one = |x: &&str| {
        let stated = expected(id, quantity, &format!("cathode, {x} m"));
        let place: f64 = x.parse().unwrap_or(0.0);
        (
            format!("{} mm from the near end", 1e3 * place),
            on(place),
            stated,
        )
    };
    places.iter().map(one).collect()
}

fn primary() -> Variant {
    let primary = places(
        "P06",
        "i/i_avg",
        &[
            "0.002", "0.005", "0.010", "0.020", "0.030", "0.040", "0.050", "0.060", "0.070",
            "0.08255", "0.090", "0.095",
        ],
    );
    let mut first = Variant::new("P06", "primary")
        .current(
            "conductance over kappa",
            ("", 20.0),
            expected("P06", "conductance", "cell"),
            percent(0.2),
        )
        .shares("panel", &primary, percent(1.0));
    for (x, place) in [(0.01, "0.010"), (0.05, "0.050")] {
        first = first.other(
            format!("share of the current before {} mm", 1e3 * x),
            "",
            move |s| {
                let before = s.current_before_a("panel", |p| p[0], on(x)[0])?;
                Some(before / s.body_current_a("panel")?)
            },
            expected(
                "P06",
                "current between the near end and x",
                &format!("x = {place}"),
            ),
            percent(1.0),
        );
    }
    first
}

/// At the distances of the printed table; it rounds the exact values to two figures.
fn printed_table() -> Variant {
    let printed = [
        ("0.26 in", 0.006604),
        ("0.52 in", 0.013208),
        ("1.02 in", 0.025908),
        ("3.05 in", 0.07747),
        ("3.45 in", 0.08763),
        ("3.63 in", 0.092202),
    ]
    .map(|(name, x)| (name, on(x), expected("P06p", "exact primary i/i_avg", name)));
    Variant::new("P06p", "primary, at the distances of the printed table").shares(
        "panel",
        &printed,
        percent(1.0),
    )
}

fn kinetics() -> [Variant; 3] {
    [
        (
            "S05a",
            "Wagner number 0.1",
            "law.linear = { resistance = \"0.0005083551907869143 ohm m2\" }",
        ),
        (
            "S05b",
            "Wagner number 1",
            "law.linear = { resistance = \"0.005083551907869142 ohm m2\" }",
        ),
        (
            "S05c",
            "Tafel, 42 A/m",
            "law.tafel = { exchange_current_density = \"1 A/m2\", slope = \"50 mV\" }",
        ),
    ]
    .map(|(id, label, law)| {
        let stated = places(
            id,
            "current density",
            &[
                "0.005", "0.01", "0.02", "0.03", "0.04", "0.05", "0.06", "0.07", "0.08255", "0.095",
            ],
        );
        let variant = Variant::new(id, label)
            .change("law = \"primary\"\n", law)
            .change("edge = \"0.0078125 mm\"", "edge = \"0.03125 mm\"");
        let variant = if id == "S05c" {
            variant
                .change("voltage = \"1 V\"", "current = \"42 A\"")
                .voltage("voltage", expected(id, "cell voltage", ""), percent(0.2))
        } else {
            let total = expected(id, "current per depth", "");
            variant.current("current per depth", ("A/m", 1.0), total, percent(0.2))
        };
        variant.places("panel", &stated, percent(1.0))
    })
}
