//! Anodes by what becomes of their current, and works without polarisation, on parallel plates.

use approx::assert_relative_eq;
use ionfall_bath::Kinetics;
use ionfall_deposit::Outcome;
use ionfall_deposit::judge::{Answers, Bounds, judge};
use ionfall_model::{Model, Parts};

const JOB: &str = include_str!("jobs/anodes.toml");

fn solved(bath: &str, anode: &str, work: &str) -> (Model<Parts<2>>, Outcome<2>) {
    let keys = [("# bath", bath), ("# anode", anode), ("# work", work)];
    let text = keys.iter().fold(JOB.to_owned(), |text, (mark, keys)| {
        text.replace(mark, keys)
    });
    let model = crate::model(&text);
    let outcome = crate::solved(&model);
    (model, outcome)
}

fn law(model: &Model<Parts<2>>, electrode: usize) -> Kinetics {
    model.geometry.electrodes[electrode].kinetics.clone()
}

const COPPER: &str = "kind = \"acid copper\"\nconductivity = \"20 S/m\"\nagitation = \"air\"";
const DENSITY_A_PER_M2: f64 = 200.0;
const AREA_M2: f64 = 0.01;
const HOUR_S: f64 = 3600.0;

/// Volts are those of bath, anode and work one after the other; no metal dissolves, and the bath loses all that
/// grows (1.186 g of copper an A h).
#[test]
fn an_insoluble_anode_takes_its_volts_and_the_metal_of_the_bath() {
    for name in ["lead alloy", "mixed metal oxide"] {
        let (model, outcome) = solved(COPPER, &format!("insoluble = \"{name}\""), "");
        let drop = |electrode, i| match law(&model, electrode) {
            Kinetics::Law(law) => law.drop_at(i).unwrap(),
            _ => panic!("a law"),
        };
        let volts =
            drop(0, DENSITY_A_PER_M2) - drop(1, -DENSITY_A_PER_M2) + DENSITY_A_PER_M2 * 0.08 / 20.0;
        assert_relative_eq!(outcome.voltage_v, volts, max_relative = 1e-6);
        let ledger = &outcome.ledger;
        let amps = DENSITY_A_PER_M2 * AREA_M2;
        let grown_kg = amps * HOUR_S * 0.063_546 / (2.0 * 96_485.332_12);
        assert_eq!(ledger.dissolved_kg[0], 0.0);
        assert_relative_eq!(ledger.deposited_kg[1], grown_kg, max_relative = 1e-6);
        assert_relative_eq!(ledger.bath_gain_kg(), -grown_kg, max_relative = 1e-6);
        assert!(ledger.energy_error() < 1e-8 && ledger.charge_error() < 1e-8);
    }
}

/// Without polarisation the current is compared with the limit of the bath all the same, also past it.
#[test]
fn a_work_without_polarisation_has_the_limit_of_the_bath() {
    let bath = |limit: &str| {
        format!(
            "kind = \"custom\"\nmetal = \"nickel\"\nconductivity = \"8 S/m\"\nlimiting_current_density = \"{limit}\""
        )
    };
    for (limit, share) in [("8 A/dm2", 0.25), ("1.6 A/dm2", 1.25)] {
        let (model, outcome) = solved(&bath(limit), "", "");
        assert!(law(&model, 1).is_primary());
        let worst = outcome.bodies[1].limit_share.unwrap();
        assert_relative_eq!(worst.value, share, max_relative = 1e-6);
        let verdict = judge(&model, Answers::of(&outcome), Bounds::default());
        assert_eq!(verdict.sound.share.map(|s| s > 1.0), Some(share > 1.0));
        assert_eq!(verdict.sound.wants, None);
    }
}

/// What is missing is told, not what was said.
#[test]
fn the_verdict_says_what_it_wants() {
    let bath = |more: &str| {
        format!("kind = \"custom\"\nmetal = \"nickel\"\nconductivity = \"8 S/m\"\n{more}")
    };
    for (more, wants) in [
        ("", "say how the bath is agitated, and"),
        (
            "agitation = \"air\"",
            "say the diffusion coefficient and concentration",
        ),
    ] {
        let (model, outcome) = solved(&bath(more), "", "");
        let verdict = judge(&model, Answers::of(&outcome), Bounds::default());
        assert_eq!(verdict.sound.share, None);
        let told = verdict.sound.wants.unwrap();
        assert!(told.starts_with(wants), "{told}");
    }
}

/// Watts nickel: the cathode alone takes 0.5 to 0.7 V at 2 A/dm2 (from memory), and past the limit nothing flows.
#[test]
fn nickel_takes_its_volts() {
    let bath = "kind = \"nickel watts\"\nagitation = \"air\"";
    let (model, outcome) = solved(bath, "", "");
    // The anodes follow the bath, too, unless the job says otherwise.
    let (_, bare) = solved(bath, "law = \"primary\"", "");
    let Kinetics::Law(anode) = law(&model, 0) else {
        panic!("a law");
    };
    let over = anode.drop_at(DENSITY_A_PER_M2).unwrap();
    assert_relative_eq!(
        outcome.voltage_v - bare.voltage_v,
        over,
        max_relative = 1e-6
    );
    let Kinetics::Law(work) = law(&model, 1) else {
        panic!("a law");
    };
    let drop = -work.drop_at(-DENSITY_A_PER_M2).unwrap();
    assert!((0.5..0.7).contains(&drop), "{drop}");
    let ohmic = DENSITY_A_PER_M2 * 0.08 / model.bath.conductivity.value;
    assert!(outcome.voltage_v > ohmic + drop, "{}", outcome.voltage_v);
    assert!(outcome.bodies[1].limit_share.unwrap().value < 0.1);
}
