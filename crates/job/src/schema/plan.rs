//! Supplies, the plan, what is wanted, and prices.

use super::value::{length, list, quantity, ratio, several, table, text};
use crate::unit::Dimension;
use serde_json::{Value, json};

/// What can be held constant.
pub(super) fn holds() -> Vec<(&'static str, Value)> {
    vec![
        ("current", quantity(Dimension::Current, "held constant")),
        ("voltage", quantity(Dimension::Voltage, "held constant")),
        (
            "mean_current_density",
            quantity(Dimension::CurrentDensity, "on the work, held constant"),
        ),
    ]
}

pub(super) fn supply() -> Value {
    let mut keys = holds();
    keys.extend([
        ("name", text("name, for messages")),
        (
            "voltage_limit",
            quantity(Dimension::Voltage, "most it can give"),
        ),
        (
            "current_limit",
            quantity(
                Dimension::Current,
                "most it can give where it holds a voltage",
            ),
        ),
        (
            "ammeter",
            quantity(Dimension::Share, "by which its ammeter may be off"),
        ),
        ("anodes", list(text("anode on it"))),
        ("thieves", list(text("thief on it"))),
    ]);
    table(&keys, &[])
}

pub(super) fn plan() -> Value {
    let time = |what| quantity(Dimension::Time, what);
    let pulse = table(
        &[
            ("on", time("forward time of a cycle")),
            ("off", time("time without current")),
            ("reverse", time("reverse time of a cycle")),
            ("reverse_share", ratio("reverse over forward current")),
        ],
        &["on"],
    );
    let mut keys = holds();
    keys.extend([
        ("name", text("name, for messages")),
        ("to", text("where a ramp ends, in the unit it begins with")),
        ("rest", json!({ "type": "boolean" })),
        ("off", list(text("supply beside the main one that is off"))),
        ("pulse", pulse),
        ("time", time("how long")),
        ("charge", quantity(Dimension::Charge, "until it has flowed")),
        ("thickness", length("until the thinnest place has it")),
        ("mean_thickness", length("until the mean reaches it")),
        ("on", text("on which work")),
        ("at_most", time("longest time")),
    ]);
    table(
        &[
            ("time", time("plating time")),
            ("step", several(table(&keys, &[]))),
        ],
        &[],
    )
}

pub(super) fn wanted() -> Value {
    table(
        &[
            ("thickness", length("least thickness")),
            ("at_most", length("largest thickness, anywhere on the work")),
            ("on", text("which work, or all copies of one")),
            ("face", text("only this face needs the least thickness")),
            ("covered", length("thickness that counts as covered")),
        ],
        &[],
    )
}

pub(super) fn prices() -> Value {
    table(
        &[
            ("currency", text("name of the currency")),
            (
                "metal",
                quantity(Dimension::PriceOfMass, "of metal on works and thieves"),
            ),
            (
                "energy",
                quantity(Dimension::PriceOfEnergy, "of the supplies' energy"),
            ),
            (
                "time",
                quantity(Dimension::PriceOfTime, "of the tank's time"),
            ),
            (
                "acid",
                quantity(
                    Dimension::PriceOfMass,
                    "of sulfuric acid that hydrogen takes, a mole for each mole of it",
                ),
            ),
        ],
        &[],
    )
}
