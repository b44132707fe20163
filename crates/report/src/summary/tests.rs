use super::*;
use crate::testing::{assert_says, planar_in, tank};
use approx::assert_relative_eq;
use ionfall_deposit::Crowding;
use ionfall_deposit::levers::{Change, Lever, LeverAnswers};
use serde_json::Value;

/// Keys that need no unit.
const WITHOUT: &[&str] = &[
    "local_films",
    "course",
    "covering",
    "face",
    "most_on",
    "most_at_least",
    "copy_of",
    "repeats",
    "copies",
    "uncertainty",
    "spread",
    "crowding",
    "supplies",
    "contacts",
    "ledger",
    "history",
    "time_steps",
    "refused_steps",
    "solves",
    "step",
    "limited",
    "verdict",
    "state",
    "metal",
    "sound",
    "quality",
    "quality_at_worst",
    "at_least",
    "share",
    "until_reached",
    "coats",
    "limited_at_end",
    "energy_error",
    "charge_error",
    "ionfall",
    "title",
    "supply",
    "wanted",
    "bodies",
    "grid",
    "solver",
    "cautions",
    "notes",
    "name",
    "role",
    "axes",
    "schema",
    "cells",
    "facets",
    "newton_steps",
    "multigrid_cycles",
    "residual_history",
    "balance_error",
    "on",
    "met",
    "share_below_wanted",
    "bath",
    "readings",
    "faces",
    "inside",
    "surface",
    "over_mean",
    "change",
    "kind",
    "at_most",
    "vary",
    "levers",
    "recesses",
    "least_share",
    "still",
    "now",
    "answers",
    "evenness",
    "factor",
    "first_order",
    "failure",
    "cost",
    "wants",
];

/// Every key names its unit or is known to have none.
fn check_keys(value: &Value, path: &str) {
    const UNITS: [&str; 15] = [
        "_m",
        "_m2",
        "_m3",
        "_a",
        "_v",
        "_s",
        "_j",
        "_kg",
        "_k",
        "_per_m2",
        "_ohm",
        "_bytes",
        "_c",
        "_share",
        "_per_square",
    ];
    if let Value::Object(map) = value {
        for (key, inner) in map {
            let path = format!("{path}.{key}");
            let unit = UNITS.iter().any(|u| key.ends_with(u));
            assert!(
                unit || WITHOUT.contains(&key.as_str()),
                "{path} has no unit"
            );
            // Figures of the bath carry their unit beside them; distributions and places
            // have it in their own key.
            if key != "bath" && !unit {
                check_keys(inner, &path);
            }
        }
    }
    if let Value::Array(list) = value {
        list.iter().for_each(|inner| check_keys(inner, path));
    }
}

#[test]
fn the_document_is_whole_and_says_its_units() {
    let case = tank();
    let summary = Summary::new(&case.model, &case.outcome, "0.0.0", Some(1));
    let json = serde_json::to_value(&summary).unwrap();
    check_keys(&json, "");
    let now = LeverAnswers {
        thinnest_m: None,
        evenness: None,
        voltage_v: 1.0,
        limit_share: None,
        wish_s: None,
        time_s: None,
    };
    let lever = Lever {
        change: Change::Current,
        factor: 0.5,
        answers: Some(now),
        failure: None,
        open_share: None,
        first_order: false,
    };
    let levers = Levers {
        now,
        levers: vec![lever],
    };
    check_keys(&serde_json::to_value(levers).unwrap(), "levers");
    assert_eq!(json["supply"]["mean_current_density_a_per_m2"], 200.0);
    assert_eq!(json["bath"]["conductivity"]["unit"], "S/m");
    assert_eq!(json["bath"]["conductivity"]["grade"], "computed");
    assert_eq!(json["grid"]["axes"][2], "z");
    let plate = &json["bodies"][1];
    assert_eq!(plate["name"], "plate");
    // Faraday's law by hand: 2 A/dm2 for 10 h on the plate's own area.
    let charge_c = 200.0 * plate["area_m2"].as_f64().unwrap() * 36_000.0;
    let kg = charge_c * 63.546e-3 / (2.0 * 96_485.332_12);
    assert_relative_eq!(plate["metal_kg"].as_f64().unwrap(), kg, max_relative = 1e-6);
    let energy_j = summary.main.voltage_v * summary.main.current_a * 36_000.0;
    assert_relative_eq!(
        json["energy_j"].as_f64().unwrap(),
        energy_j,
        max_relative = 1e-12
    );
}

#[test]
fn the_wish_is_judged_at_the_thinnest_place() {
    let mut case = tank();
    let summary = case.summary();
    let least = summary.works(None).next().unwrap().thinnest.unwrap().value;
    let wish = summary.wanted.unwrap();
    let expected = 36_000.0 * wish.thickness_m / least;
    assert_relative_eq!(
        wish.came.reached_after_s.unwrap(),
        expected,
        max_relative = 1e-9
    );
    assert_eq!(wish.came.least_m, Some(least));
    for (factor, met) in [(0.99, true), (1.01, false)] {
        let wanted = |on: &str| Wanted {
            thickness_m: factor * least,
            at_most_m: None,
            on: Some(on.into()),
            face: None,
        };
        let mut met_on = |on: &str| {
            case.model.wanted = Some(wanted(on));
            let summary = case.summary();
            summary.wanted.unwrap().came.met
        };
        assert_eq!(met_on("plate"), Some(met));
        assert_eq!(met_on("other"), None);
    }
}

/// The band of the bath's figures stands wherever the share does.
#[test]
fn the_share_of_the_limit_has_its_band() {
    let case = tank();
    let mut summary = case.summary();
    for body in &mut summary.bodies {
        if let Some(place) = &mut body.limit_share {
            place.value = 0.49;
        }
    }
    let spread = Spread {
        bodies: vec![ionfall_deposit::spread::BodySpread {
            name: "plate".into(),
            thickness: ionfall_deposit::Thicknesses {
                thinnest_m: [1e-4; 2],
                mean_m: [1e-4; 2],
                thickest_m: [1e-4; 2],
            },
            limit_share: Some([0.28, 0.77]),
        }],
        voltage_v: [1.0, 2.0],
        influences: Vec::new(),
    };
    summary.cautions = summary.strains();
    summary.cautions.push("a doubt".into());
    let beside = Beside {
        spread: Some(spread),
        ..Beside::default()
    };
    let summary = summary.bounded(&case.model, &case.outcome, beside);
    let band = "49 % (28 % to 77 % by the bath's figures)";
    assert!(summary.cautions[0].contains(band), "{:?}", summary.cautions);
    assert_eq!(summary.cautions.last().unwrap(), "a doubt");
    let text = crate::text(
        &summary,
        std::path::Path::new("r"),
        &[],
        crate::Look::default(),
    );
    let folded = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let line = "at least 49 % (28 % to 77 % by the bath's figures) of the limiting current";
    assert!(folded.contains(line), "{text}");
}

/// Each coat with the resistance of a square.
#[test]
fn coats_say_their_sheet_resistance() {
    let mut case = tank();
    let summary = case.summary();
    assert!(summary.coating.coats.is_empty());
    case.model.geometry.coats.push(ionfall_model::Coat {
        electrode: 1,
        region: None,
        sheet_resistance_ohm: 0.3,
        islands_m: 0.0,
    });
    let summary = case.summary();
    let json = serde_json::to_value(&summary).unwrap();
    assert_eq!(json["coats"][0]["on"], "plate");
    assert_eq!(json["coats"][0]["sheet_resistance_ohm_per_square"], 0.3);
    check_keys(&json, "");
    assert!(summary.notes.iter().all(|n| !n.contains("islands")));
}

/// Graphite, on which the metal is taken to conduct at once.
#[test]
fn islands_that_are_left_out_are_told() {
    let mut case = tank();
    let mut told = |islands_m: f64| {
        case.model.geometry.coats = vec![ionfall_model::Coat {
            electrode: 1,
            region: None,
            sheet_resistance_ohm: 500.0,
            islands_m,
        }];
        let summary = case.summary();
        summary
            .notes
            .iter()
            .any(|n| n.contains("islands =") && n.contains("0.1 to 1 um"))
    };
    assert!(told(0.0) && !told(3e-7));
}

#[test]
fn strained_assumptions_are_told() {
    let mut case = tank();
    let mut summary = case.summary();
    let with_share = |summary: &mut Summary, share: f64| {
        for body in &mut summary.bodies {
            if let Some(place) = &mut body.limit_share {
                place.value = share;
            }
        }
        summary.strains().join("; ")
    };
    assert!(!with_share(&mut summary, 0.39).contains("limiting"));
    assert!(with_share(&mut summary, 0.41).contains("41 % of the limiting current: expect rough"));
    assert!(with_share(&mut summary, 0.71).contains("expect trees"));
    summary.bodies[1].crowding = Some(Crowding {
        area_share: 0.1,
        worst: summary.bodies[1].thinnest.unwrap(),
        gap_m: 4e-4,
        met_after_s: Some(7200.0),
    });
    assert!(with_share(&mut summary, 0.1).contains("meet after about 2 h"));
    case.outcome
        .bodies
        .iter_mut()
        .for_each(|b| b.limit_share = None);
    let summary = case.summary();
    let said = summary.cautions.join("; ");
    assert!(said.contains("burning cannot be judged"), "{said}");
}

/// An insoluble anode: what the bath loses and gains, by Faraday's law, and that nothing dissolves.
#[test]
fn insoluble_anodes_are_told_with_what_they_do() {
    let case = planar_in("kind = \"acid copper\"", "insoluble = \"lead alloy\"");
    let summary = case.summary();
    let said = summary.cautions.join("; ");
    // As much as two moles of acid a mole of copper.
    let grown_g = 1e3 * summary.ledger.as_ref().unwrap().deposited_kg[1];
    let [metal, acid] = [grown_g, grown_g / 63.546 * 98.079].map(|g| significant(g, 3));
    assert_says(
        &said,
        &[
            "`anode` does not dissolve",
            &format!("loses {metal} g of copper"),
            &format!("({acid} g as sulfuric acid)"),
        ],
    );
    let text = crate::text(
        &summary,
        std::path::Path::new("r"),
        &[],
        crate::Look::default(),
    );
    assert_says(&text, &["A/dm2 on average, does not dissolve"]);
    let json = serde_json::to_value(&summary).unwrap();
    check_keys(&json, "");
}

/// Anodes that are driven too hard are told of, unless they do not dissolve; those of nickel turn passive.
#[test]
fn hard_driven_anodes_are_told() {
    let nickel = "kind = \"nickel watts\"";
    let said = |bath: &str, anode: &str, times: f64| {
        let mut case = planar_in(bath, anode);
        for body in &mut case.outcome.bodies {
            body.current_density_a_per_m2.mean *= times;
            body.current_density_a_per_m2.max *= times;
        }
        let summary = case.summary();
        summary.cautions.join("; ")
    };
    assert!(!said(nickel, "", 0.3).contains("passive"));
    assert_says(
        &said(nickel, "", 10.0),
        &["`anode`: ", "may turn passive", "from about 4 A/dm2"],
    );
    let lead = said(nickel, "insoluble = \"lead alloy\"", 10.0);
    assert!(!lead.contains("may turn passive"), "{lead}");
    assert_says(
        &said("kind = \"acid copper\"", "", 10.0),
        &["a salt film may passivate it"],
    );
}

/// Where no law is known that is said; a current density beyond the usual one, too.
#[test]
fn unknown_volts_and_unusual_currents_are_told() {
    let bath = "kind = \"custom\"\nmetal = \"nickel\"\nconductivity = \"8 S/m\"";
    let mut case = planar_in(bath, "");
    let summary = case.summary();
    let notes = summary.notes.join("; ");
    assert_says(&notes, &["no law of `anode` and `work` is known"]);
    let cautions = summary.cautions.join("; ");
    assert_says(
        &cautions,
        &["say the diffusion coefficient and concentration of the nickel"],
    );
    assert!(!cautions.contains("usual"), "{cautions}");
    let usual = |high| {
        Some(ionfall_bath::Range::new(
            0.5,
            high,
            "A/dm2",
            ionfall_bath::Grade::Memory,
            "",
        ))
    };
    for (high, told) in [(1.5, true), (2.5, false)] {
        case.model.bath.usual_current = usual(high);
        let summary = case.summary();
        let said = summary.cautions.join("; ");
        assert_eq!(said.contains("0.5 to 1.5 A/dm2 are usual"), told, "{said}");
    }
}
