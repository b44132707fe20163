//! Anodes that do not dissolve, and the baths beside acid copper.

use approx::assert_relative_eq;
use ionfall_bath::{Grade, Kinetics, Origin, Polarisation};
use ionfall_job::{describe, parse};
use ionfall_model::{Geometry, Model};
use std::path::Path;

/// Two plates, the anode with these keys, the bath with those.
fn job(bath: &str, anode: &str) -> String {
    include_str!("jobs/plates.toml")
        .replace("# bath", bath)
        .replace("# anode", anode)
}

fn model(bath: &str, anode: &str) -> Model {
    crate::good(&job(bath, anode))
}

fn refused(bath: &str, anode: &str) -> String {
    let text = crate::faults(&job(bath, anode)).render();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn kinetics(model: &Model) -> [Kinetics; 2] {
    let Geometry::Flat(parts) = &model.geometry else {
        panic!("planar");
    };
    [0, 1].map(|n| parts.electrodes[n].kinetics.clone())
}

fn anode_law(model: &Model) -> Polarisation {
    let [Kinetics::Law(law), _] = kinetics(model) else {
        panic!("a law");
    };
    law
}

const COPPER: &str = "kind = \"acid copper\"\nagitation = \"air\"";

#[test]
fn every_insoluble_anode_by_its_name() {
    for (name, least, most) in [
        ("lead alloy", 1.3, 1.7),
        ("platinised titanium", 1.4, 1.8),
        ("mixed metal oxide", 1.1, 1.4),
    ] {
        let model = model(COPPER, &format!("insoluble = \"{name}\""));
        let law = anode_law(&model);
        assert_eq!(law.transfer_from(), Origin::Bath);
        // At 3 A/dm2, above the equilibrium of copper.
        let drop = law.drop_at(300.0).unwrap();
        assert!((least..most).contains(&drop), "{name}: {drop} V");
        let told = model.notes.join("\n");
        assert!(
            told.contains("1.19 g of copper") && told.contains(name),
            "{told}"
        );
        let text = describe(&model, &[0.01, 0.01]);
        assert!(text.contains("it does not dissolve"), "{text}");
    }
}

#[test]
fn an_insoluble_anode_by_its_figures() {
    let anode = "insoluble = { exchange_current_density = \"0.001 A/m2\", slope_per_decade = \"110 mV\", \
                 back_voltage = \"0.9 V\" }";
    let custom = "kind = \"custom\"\nmetal = \"copper\"\nconductivity = \"20 S/m\"";
    for bath in [COPPER, custom] {
        let law = anode_law(&model(bath, anode));
        assert_eq!(
            (law.transfer_from(), law.back_v()),
            (Origin::Job, Some(0.9))
        );
        let drop = law.drop_at(100.0).unwrap();
        assert_relative_eq!(drop, 0.9 + 5.0 * 0.11, max_relative = 1e-12);
    }
    let told = refused(custom, "insoluble = \"lead alloy\"");
    assert!(
        told.contains("no back voltage of insoluble anodes is known"),
        "{told}"
    );
    assert!(told.contains("back_voltage = \"0.9 V\""), "{told}");
}

#[test]
fn insoluble_anodes_that_cannot_be() {
    for (anode, piece) in [
        ("insoluble = \"lead aloy\"", "did you mean `lead alloy`"),
        (
            "insoluble = \"lead alloy\"\nlaw = \"bath\"",
            "both a law and `insoluble`",
        ),
        (
            "insoluble = { back_voltage = \"0.9 V\" }",
            "`slope_per_decade` is missing",
        ),
        ("insolubel = \"lead alloy\"", "did you mean `insoluble`"),
        (
            "insoluble = { exchange_current_density = \"1 A/m2\", slope_per_decade = \"1 mm\", back_voltage = \"1 V\" }",
            "measures a length",
        ),
    ] {
        let told = refused(COPPER, anode);
        assert!(told.contains(piece), "{anode}:\n{told}");
    }
    let work = job(COPPER, "").replace("[[work]]", "[[work]]\ninsoluble = \"lead alloy\"");
    assert!(parse("job.toml", &work, Path::new("")).is_err());
}

/// Chloride, cyanide and stannous tin have a word more.
#[test]
fn each_bath_says_what_insoluble_anodes_do_to_it() {
    for (kind, piece) in [
        ("nickel watts", "CHLORINE"),
        ("acid zinc", "CHLORINE"),
        ("silver cyanide", "destroys cyanide"),
        ("acid tin", "stannic"),
    ] {
        let bath = format!("kind = \"{kind}\"");
        let told = model(&bath, "insoluble = \"mixed metal oxide\"")
            .notes
            .join("\n");
        assert!(told.contains(piece), "{kind}: {told}");
    }
}

/// Whatever the bath and however it is stirred: a law, a limit, and nothing asked for that was said.
#[test]
fn every_bath_has_a_law_and_a_limit() {
    for kind in [
        "nickel watts",
        "nickel sulfamate",
        "silver cyanide",
        "acid zinc",
        "acid tin",
    ] {
        for agitation in [
            "\"air\"",
            "{ still = \"100 mm\" }",
            "{ rod = \"3 m/min\", length = \"100 mm\" }",
            "{ flow = \"0.5 m/s\", gap = \"20 mm\", length = \"100 mm\" }",
        ] {
            let model = model(&format!("kind = \"{kind}\"\nagitation = {agitation}"), "");
            assert!(model.bath.limiting_current.unwrap().band.is_some());
            let [_, work] = kinetics(&model);
            assert_eq!(
                work.limit_a_per_m2(),
                model.bath.limiting_current.map(|f| f.value)
            );
            let text = describe(&model, &[0.01, 0.01]);
            assert!(!text.contains("no limiting current"), "{text}");
            assert!(text.contains("from memory") && text.contains("anode: exchange current"));
        }
        let still = model(&format!("kind = \"{kind}\""), "");
        let text = describe(&still, &[0.01, 0.01]);
        assert!(text.contains("say how the bath is agitated\n"), "{text}");
        let measured = model(
            &format!("kind = \"{kind}\"\ndiffusion = \"5e-10 m2/s\""),
            "",
        );
        assert_eq!(measured.bath.diffusion.unwrap().grade, Grade::Given);
    }
}

/// A custom bath whose agitation is said is asked for what is missing, not for the agitation.
#[test]
fn what_was_said_is_not_asked_for() {
    let bath =
        "kind = \"custom\"\nmetal = \"nickel\"\nconductivity = \"7 S/m\"\nagitation = \"air\"";
    let text = describe(&model(bath, ""), &[0.01, 0.01]);
    assert!(
        text.contains("say the diffusion coefficient and concentration of the nickel"),
        "{text}"
    );
    assert!(!text.contains("how the bath is agitated"), "{text}");
}
