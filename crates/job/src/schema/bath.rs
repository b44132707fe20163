//! Baths, their agitation, and the laws of electrodes.

use super::value::{direction, either, length, number, point, quantity, share, table, words};
use crate::bath::{SALTS, kinds};
use crate::unit::Dimension;
use crate::{agitation, insoluble};
use ionfall_bath::Metal;
use ionfall_bath::recipe::RECIPES;
use serde_json::{Value, json};

pub(super) fn bath() -> Value {
    let recipes: Vec<_> = RECIPES.iter().map(|r| r.name).collect();
    let mut amounts: Vec<_> = SALTS
        .iter()
        .zip(["CuSO4 5H2O", "CuSO4 5H2O", "CuSO4", "Cu"])
        .map(|(key, what)| (*key, quantity(Dimension::Content, what)))
        .collect();
    amounts.push(("sulfuric_acid", quantity(Dimension::AcidContent, "H2SO4")));
    let mut keys = vec![
        ("kind", words(&kinds())),
        ("recipe", words(&recipes)),
        ("composition", table(&amounts, &["sulfuric_acid"])),
        ("metal", words(&metals())),
        ("agitation", stirring()),
        (
            "stirring_radius",
            length("of a ball that stirring moves: hollows it does not enter may stand still"),
        ),
        ("hydrogen", hydrogen()),
        ("efficiency", share("current efficiency of deposition")),
        ("limiting_current_density", limit()),
    ];
    keys.extend(
        [
            ("temperature", Dimension::Temperature, "of the bath"),
            ("conductivity", Dimension::Conductivity, "measured"),
            ("concentration", Dimension::Concentration, "of the metal"),
            ("diffusion", Dimension::Diffusion, "of the metal ion"),
            ("density", Dimension::Density, "of the bath"),
            (
                "deposit_density",
                Dimension::Density,
                "of the metal as it grows",
            ),
            (
                "deposit_resistivity",
                Dimension::Resistivity,
                "of the metal as it grows",
            ),
            ("viscosity", Dimension::Viscosity, "of the bath"),
            (
                "density_difference",
                Dimension::Share,
                "by which the bath is heavier than without its metal",
            ),
        ]
        .map(|(key, dimension, what)| (key, quantity(dimension, what))),
    );
    table(&keys, &["kind"])
}

pub(super) fn metals() -> Vec<&'static str> {
    Metal::ALL.iter().flat_map(|m| [m.name, m.symbol]).collect()
}

pub(super) fn stirring() -> Value {
    let mut keys: Vec<_> = agitation::WAYS
        .iter()
        .map(|way| {
            let figure = match *way {
                "still" => length("height of the face"),
                "rod" => quantity(Dimension::Speed, "of the rod"),
                "air" => quantity(Dimension::Share, "gas in the bath"),
                "jet" => quantity(Dimension::Speed, "in the nozzle of a jet onto the face"),
                "flow" => quantity(Dimension::Speed, "mean, past the face"),
                "film" => length("diffusion film"),
                _ => quantity(Dimension::Rotation, "of the work"),
            };
            (*way, figure)
        })
        .collect();
    keys.extend([
        ("length", length("of the face along the movement")),
        ("gap", length("to the opposite wall")),
        ("width", length("of the channel")),
        ("diameter", length("of the work")),
        ("nozzle", length("diameter of the jet's nozzle")),
        ("distance", length("of the nozzle from the face")),
        ("radius", length("of the face about the jet's axis")),
        ("up", direction()),
        ("along", direction()),
        ("at", point("of the jet's axis")),
    ]);
    either(&[words(&agitation::words()), table(&keys, &[])])
}

pub(super) fn hydrogen() -> Value {
    let volts = |what| quantity(Dimension::Voltage, what);
    let figures = [
        (
            "exchange_current_density",
            quantity(Dimension::CurrentDensity, "i0"),
        ),
        ("slope_per_decade", volts("Tafel slope")),
        (
            "above_metal",
            volts("equilibrium potential less that of the metal"),
        ),
    ];
    let required = figures.each_ref().map(|(key, _)| *key);
    either(&[json!({ "type": "boolean" }), table(&figures, &required)])
}

pub(super) fn limit() -> Value {
    quantity(Dimension::CurrentDensity, "largest the solution can feed")
}

pub(super) fn law() -> Value {
    let figures = |keys: &[(&'static str, Value)]| {
        let mut keys = keys.to_vec();
        keys.push(("limiting_current_density", limit()));
        keys.push(("concentration_overpotential", json!({ "type": "boolean" })));
        table(&keys, &[])
    };
    let exchange = (
        "exchange_current_density",
        quantity(Dimension::CurrentDensity, "i0"),
    );
    let volts = |what| quantity(Dimension::Voltage, what);
    let resistance = quantity(Dimension::AreaResistance, "polarisation resistance");
    let laws = table(
        &[
            ("linear", figures(&[("resistance", resistance)])),
            (
                "tafel",
                figures(&[
                    exchange.clone(),
                    ("slope", volts("per factor e")),
                    ("slope_per_decade", volts("per factor ten")),
                ]),
            ),
            (
                "butler_volmer",
                figures(&[
                    exchange,
                    ("alpha_a", number("anodic transfer coefficient")),
                    ("alpha_c", number("cathodic transfer coefficient")),
                ]),
            ),
        ],
        &[],
    );
    either(&[words(&["primary", "bath"]), laws])
}

/// Anodes that do not dissolve.
pub(super) fn oxygen() -> Value {
    let volts = |what| quantity(Dimension::Voltage, what);
    let figures = [
        (
            "exchange_current_density",
            quantity(Dimension::CurrentDensity, "of oxygen"),
        ),
        ("slope_per_decade", volts("Tafel slope of oxygen")),
        (
            "back_voltage",
            volts("equilibrium of oxygen above that of the metal"),
        ),
    ];
    let required = figures.each_ref().map(|(key, _)| *key);
    let mut kinds = words(&insoluble::words());
    kinds["description"] = json!(format!(
        "an anode on which oxygen is evolved instead of metal dissolved, instead of a law: {}",
        insoluble::words().join(", ")
    ));
    either(&[kinds, table(&figures, &required)])
}
