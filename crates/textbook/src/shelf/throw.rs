//! Throwing power.

use super::make::{job, percent};
use crate::case::{Case, Tolerance, Variant};
use crate::solved::Solved;
use crate::table::expected;
use ionfall_bath::evenness::{field_percent, haring_blum_percent};

/// Metal on the near cathode over that on the far one.
fn ratio(solved: &Solved) -> Option<f64> {
    Some(solved.body("near")?.metal_kg? / solved.body("far")?.metal_kg?)
}

pub(super) fn cases() -> Vec<Case> {
    const K: f64 = 5.0;
    const LAW: &str = "law.linear = { resistance = \"0.0025 ohm m2\" }";
    let laws = [
        ("primary", "law = \"primary\"", "0 ohm m2"),
        (
            "0.0005 ohm m2",
            "law.linear = { resistance = \"0.0005 ohm m2\" }",
            "0.0005 ohm m2",
        ),
        (
            "0.001 ohm m2",
            "law.linear = { resistance = \"0.001 ohm m2\" }",
            "0.001 ohm m2",
        ),
        ("0.0025 ohm m2", LAW, "0.0025 ohm m2"),
        (
            "0.01 ohm m2",
            "law.linear = { resistance = \"0.01 ohm m2\" }",
            "0.01 ohm m2",
        ),
    ];
    let case = laws
        .into_iter()
        .fold(Case::new(job!("haring-blum")), |case, (label, law, r)| {
            let place = format!("resistance {r}");
            let metal = expected("P07", "metal ratio M", &place);
            // Throwing powers follow from the exact ratio; half a point of their scale.
            let half = Tolerance::Plain(0.5);
            case.with(
                Variant::new("P07", label)
                    .change(LAW, law)
                    .other("metal ratio near/far", "", ratio, metal, percent(0.5))
                    .other(
                        "throwing power, Haring-Blum",
                        "%",
                        |s| Some(haring_blum_percent(K, ratio(s)?)),
                        haring_blum_percent(K, metal),
                        half,
                    )
                    .other(
                        "throwing power, Field",
                        "%",
                        |s| Some(field_percent(K, ratio(s)?)),
                        field_percent(K, metal),
                        half,
                    ),
            )
        });
    let stated = |quantity: &str, place: &str| expected("P07b", quantity, place);
    vec![
        case.with(
            Variant::new("P07b", "Tafel")
                .change(
                    LAW,
                    "law.tafel = { exchange_current_density = \"1 A/m2\", slope = \"50 mV\" }",
                )
                .change("voltage = \"1 V\"", "current = \"1.6 A\"")
                .other(
                    "near cathode",
                    "A/m2",
                    |s| s.mean("near"),
                    stated("current density", "near"),
                    percent(0.5),
                )
                .other(
                    "far cathode",
                    "A/m2",
                    |s| s.mean("far"),
                    stated("current density", "far"),
                    percent(0.5),
                )
                .other(
                    "voltage",
                    "V",
                    |s| Some(s.voltage_v()),
                    stated("voltage", ""),
                    percent(0.5),
                ),
        ),
    ]
}
