//! The `[bath]` table: agitation in all its forms, the salt by each of its names, warnings.

use crate::told;
use approx::assert_relative_eq;
use ionfall_bath::{Electrolyte, Grade};
use ionfall_job::{Faults, parse, parse_bath, read_bath};
use proptest::prelude::*;
use std::path::Path;

fn bath(keys: &str) -> Electrolyte {
    match parse_bath("job.toml", &format!("[bath]\n{keys}\n")) {
        Ok(bath) => bath,
        Err(faults) => panic!("{}", faults.render()),
    }
}

fn copper(keys: &str) -> Electrolyte {
    bath(&format!("kind = \"acid copper\"\n{keys}"))
}

fn refused(keys: &str) -> String {
    let told = |faults: Faults| {
        faults
            .render()
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    told(parse_bath("job.toml", &format!("[bath]\n{keys}\n")).unwrap_err())
}

#[test]
fn every_form_of_agitation() {
    let film = |agitation: &str| {
        let bath = copper(&format!("agitation = {agitation}"));
        assert!(bath.limiting_current.unwrap().value > 0.0);
        1e3 * bath.film.unwrap().value
    };
    assert_relative_eq!(film("{ film = \"50 um\" }"), 0.05, max_relative = 1e-12);
    for (agitation, low, high) in [
        ("\"still\"", 0.15, 0.5),
        ("\"rod\"", 0.06, 0.15),
        ("\"air\"", 0.03, 0.1),
        ("\"pumped\"", 0.02, 0.08),
        ("\"jet\"", 0.005, 0.03),
        ("\"ultrasonic\"", 0.005, 0.03),
        ("{ still = \"300 mm\" }", 0.14, 0.17),
        ("{ rod = \"3 m/min\", length = \"100 mm\" }", 0.06, 0.25),
        ("{ air = \"2 %\" }", 0.03, 0.12),
        (
            "{ flow = \"0.5 m/s\", gap = \"20 mm\", length = \"100 mm\", width = \"0.2 m\" }",
            0.02,
            0.08,
        ),
        (
            "{ flow = \"5 cm/s\", gap = \"20 mm\", length = \"100 mm\" }",
            0.08,
            0.3,
        ),
        (
            "{ rotating_cylinder = \"500 rpm\", diameter = \"20 mm\" }",
            0.015,
            0.04,
        ),
        ("{ rotating_disk = \"500 rev/min\" }", 0.015, 0.04),
    ] {
        let found = film(agitation);
        assert!((low..=high).contains(&found), "{agitation}: {found} mm");
    }
}

#[test]
fn agitation_that_cannot_be() {
    for (agitation, piece) in [
        ("\"stil\"", "did you mean `still`"),
        ("{ still = \"3 V\" }", "measures a voltage"),
        ("{ rod = \"3 m/min\" }", "`length` is missing"),
        (
            "{ flow = \"1 m/s\", film = \"1 mm\" }",
            "both `flow` and `film`",
        ),
        ("{ stil = \"1 m\" }", "`stil` is not known"),
        ("{ air = \"100 %\" }", "share of gas"),
    ] {
        let told = refused(&format!("kind = \"acid copper\"\nagitation = {agitation}"));
        assert!(told.contains(piece), "{agitation}:\n{told}");
    }
    let told = refused(
        "kind = \"custom\"\nmetal = \"nickel\"\nconductivity = \"7 S/m\"\nagitation = { rotating_disk = \
         \"500 rpm\" }",
    );
    assert!(told.contains("no diffusion coefficient is known") && told.contains("film of known"));
}

#[test]
fn the_salt_by_each_of_its_names() {
    let by = |key: &str, amount: f64| {
        copper(&format!(
            "composition = {{ {key} = \"{amount} g/L\", sulfuric_acid = \"50 g/L\" }}"
        ))
    };
    let crystals = by("copper_sulfate_pentahydrate", 200.0);
    assert_eq!(crystals, by("copper_sulfate", 200.0));
    let [_, powder, metal, _] = crystals.composition[..] else {
        panic!("four lines");
    };
    assert_eq!(powder.0, "= CuSO4 (anhydrous)");
    for same in [
        by("copper_sulfate_anhydrous", powder.1.value),
        by("copper", metal.1.value),
    ] {
        let density = |b: &Electrolyte| b.fluid.density.unwrap().value;
        assert_relative_eq!(density(&same), density(&crystals), max_relative = 1e-12);
        assert_eq!(same.composition[0].1.grade, Grade::Computed);
    }
    let told = refused(
        "kind = \"acid copper\"\ncomposition = { copper = \"50 g/L\", copper_sulfate = \"200 g/L\", \
         sulfuric_acid = \"50 g/L\" }",
    );
    assert!(
        told.contains("both `copper_sulfate` and `copper`"),
        "{told}"
    );
}

#[test]
fn a_custom_bath_with_everything() {
    let bath = bath(
        "kind = \"custom\"\nmetal = \"nickel\"\nconductivity = \"70 mS/cm\"\nefficiency = \"96 %\"\n\
         concentration = \"1.3 mol/L\"\ndiffusion = \"7e-10 m2/s\"\ndensity = \"1.2 kg/L\"\n\
         viscosity = \"1.1 cP\"\ndensity_difference = \"12 %\"\nagitation = { still = \"200 mm\" }\n\
         hydrogen = { exchange_current_density = \"0.01 A/m2\", slope_per_decade = \"120 mV\", \
         above_metal = \"20 mV\" }",
    );
    assert_eq!(bath.conductivity.value, 7.0);
    assert_eq!(bath.fluid.viscosity.unwrap().grade, Grade::Given);
    assert!(bath.film.unwrap().source.contains("free convection"));
    assert_relative_eq!(bath.hydrogen.unwrap().equilibrium_v(), 0.02);
    let told = refused("kind = \"nickel watts\"\nhydrogen = true");
    assert!(told.contains("no hydrogen evolution is known"), "{told}");
}

const JOB: &str = include_str!("jobs/bath.toml");

#[test]
fn warnings_and_hydrogen_reach_the_description() {
    let model = parse("job.toml", JOB, Path::new("")).unwrap();
    assert!(model.notes[0].contains("temperature of 50 degC is outside 18 to 40"));
    let text = told(&model);
    for piece in [
        "Note: bath: temperature of 50 degC",
        "hydrogen beside the metal",
        "hydrogen: exchange current density: 0.001 A/m2",
        "anode: passive from about",
    ] {
        assert!(text.contains(piece), "no {piece} in\n{text}");
    }
    // The anode has the bath's law without limit and gas.
    let anode = text.split("anode `anode`").nth(1).unwrap();
    let law = anode.lines().nth(1).unwrap();
    assert!(
        law.contains("Butler-Volmer") && !law.contains("hydrogen"),
        "{law}"
    );
}

#[test]
fn only_the_bath_of_a_file_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.toml");
    std::fs::write(
        &path,
        "[bath]\nkind = \"acid copper\"\n[work]\nwhatever = 1\n",
    )
    .unwrap();
    assert_eq!(read_bath(&path).unwrap(), copper(""));
    assert!(read_bath(Path::new("nowhere.toml")).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// The same amounts in trade units give the same bath.
    #[test]
    fn trade_units_mean_the_same_amounts(
        salt in 60.0..240.0_f64,
        acid in 30.0..220.0_f64,
        celsius in 18.0..40.0_f64,
        asd in 1.0..10.0_f64,
    ) {
        let ounce = 28.349_523_125 / 3.785_411_784;
        let metric = copper(&format!(
            "composition = {{ copper_sulfate = \"{salt} g/L\", sulfuric_acid = \"{acid} g/L\" }}\n\
             temperature = \"{celsius} degC\"\nlimiting_current_density = \"{asd} A/dm2\""
        ));
        let trade = copper(&format!(
            "composition = {{ copper_sulfate = \"{} oz/gal\", sulfuric_acid = \"{} mL/L\" }}\n\
             temperature = \"{} degF\"\nlimiting_current_density = \"{} ASF\"",
            salt / ounce,
            acid / (0.96 * 1.84),
            1.8 * celsius + 32.0,
            asd * 100.0 * 0.3048 * 0.3048,
        ));
        for (a, b) in [
            (metric.fluid.density, trade.fluid.density),
            (metric.fluid.viscosity, trade.fluid.viscosity),
            (metric.diffusion, trade.diffusion),
            (metric.limiting_current, trade.limiting_current),
            (Some(metric.conductivity), Some(trade.conductivity)),
        ] {
            let (a, b) = (a.unwrap().value, b.unwrap().value);
            prop_assert!((a / b - 1.0).abs() < 1e-12, "{a} {b}");
        }
    }

    /// Crystals, powder and metal of the same copper are the same bath; of the same weight never.
    #[test]
    fn the_salts_are_never_confused(grams in 61.0..200.0_f64) {
        let copper_of = |key: &str, grams: f64| {
            let keys = format!(
                "composition = {{ {key} = \"{grams} g/L\", sulfuric_acid = \"50 g/L\" }}"
            );
            copper(&keys).concentration.unwrap().value
        };
        let crystals = copper_of("copper_sulfate_pentahydrate", grams);
        let powder = copper_of("copper_sulfate_anhydrous", grams * 159.609 / 249.685);
        prop_assert!((crystals / powder - 1.0).abs() < 1e-12);
        let wrong = copper_of("copper_sulfate_anhydrous", grams);
        prop_assert!((wrong / crystals - 249.685 / 159.609).abs() < 1e-9);
    }
}
