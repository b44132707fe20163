//! `ionfall bath` from the command line.

use crate::program::ionfall;
use serde_json::Value;

fn said(words: &[&str]) -> (Option<i32>, String, String) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("job.toml"), JOB).unwrap();
    let output = ionfall(folder.path(), words);
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (
        output.status.code(),
        text(&output.stdout),
        text(&output.stderr),
    )
}

/// A job whose bath is right and whose rest is not there yet.
const JOB: &str = include_str!("jobs/bath-only.toml");

#[test]
fn alone_it_lists_the_baths() {
    let (code, text, _) = said(&["bath"]);
    assert_eq!(code, Some(0));
    for word in [
        "electroforming",
        "high throw",
        "nickel sulfamate",
        "silver cyanide",
        "g/L",
    ] {
        assert!(text.contains(word), "no {word} in\n{text}");
    }
}

#[test]
fn a_recipe_with_flags() {
    let (code, text, _) = said(&[
        "bath",
        "high throw",
        "--temperature",
        "30 degC",
        "--agitation",
        "air",
    ]);
    assert_eq!(code, Some(0));
    for word in [
        "30 degC",
        "conductivity",
        "S/m",
        "+-20 %",
        "worked out here",
        "published",
        "from memory",
        "limiting current density",
        "Wagner",
        "add acid to water",
    ] {
        assert!(text.contains(word), "no {word} in\n{text}");
    }
    // The cautions come last.
    assert!(text.rfind("Beware") > text.rfind("Wagner"), "{text}");
}

#[test]
fn the_bath_of_a_job_with_its_warning() {
    let (code, text, errors) = said(&["bath", "job.toml"]);
    assert_eq!(code, Some(0), "{errors}");
    for word in ["anhydrous", "free convection", "outside 18 to 40"] {
        assert!(text.contains(word), "no {word} in\n{text}");
    }
}

#[test]
fn machines_get_json() {
    let (_, text, _) = said(&["bath", "job.toml", "--json"]);
    let json: Value = serde_json::from_str(&text).unwrap();
    let figures = json["figures"].as_array().unwrap();
    let kappa = figures
        .iter()
        .find(|f| f["name"] == "conductivity")
        .unwrap();
    assert_eq!(kappa["unit"], "S/m");
    assert_eq!(kappa["grade"], "computed");
    assert!(kappa["band"][0].as_f64() < kappa["value"].as_f64());
    assert!(json["warnings"][0].as_str().unwrap().contains("50 degC"));
    assert!(json["bath"]["cautions"][0]["text"].is_string());
    let (_, text, _) = said(&["bath", "--json"]);
    let list: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(list["recipes"].as_array().unwrap().len(), 6);
}

#[test]
fn cyanide_is_named_first_among_the_cautions() {
    let (_, text, _) = said(&["bath", "silver cyanide"]);
    let beware = text.split("Beware").nth(1).unwrap();
    assert!(beware.trim_start().starts_with("CYANIDE"), "{text}");
}

/// What was said is not asked for again: nickel under any agitation has its limit, its law and its anodes.
#[test]
fn nickel_is_whole() {
    let still = "{ still = \"0.3 m\" }";
    let (code, text, errors) = said(&["bath", "nickel watts", "--agitation", still]);
    assert_eq!(code, Some(0), "{errors}");
    for word in [
        "limiting current density",
        "Tafel slope",
        "Wagner",
        "anode: passive",
        "back voltage",
    ] {
        assert!(text.contains(word), "no {word} in\n{text}");
    }
    assert!(!text.contains("No limiting current"), "{text}");
}

#[test]
fn mistakes_are_told_with_a_way_out() {
    for (words, piece) in [
        (&["bath", "hihg throw"][..], "did you mean `high throw`?"),
        (&["bath", "nickel wats"], "did you mean `nickel watts`?"),
        (&["bath", "general", "--temperature", "30"], "unit"),
        (&["bath", "nowhere.toml"], "cannot read"),
        (
            &[
                "bath",
                "nickel watts",
                "--agitation",
                "{ still = \"0.3 V\" }",
            ],
            "measures a voltage",
        ),
    ] {
        let (code, _, errors) = said(words);
        assert_eq!(code, Some(2), "{words:?}");
        assert!(
            errors.contains(piece) && !errors.contains("panicked"),
            "{errors}"
        );
    }
}
