//! Powder coats: both times of cover are told.

use crate::program::{body, summary};
use serde_json::Value;

const JOB: &str = include_str!("jobs/powder.toml");

fn number(of: &Value) -> f64 {
    of.as_f64().unwrap_or_else(|| panic!("{of} is no number"))
}

/// The times with islands are those of runs that name the islands, on cells of the run, to a quarter, which is what
/// larger cells leave open (11 and 19 % short; four times as large 24 and 42 %), in a band of a factor of ten.
#[test]
fn a_powder_is_covered_later_than_at_the_least() {
    let found = summary(JOB);
    let covering = &found["covering"][0];
    assert_eq!(covering["on"], "strip");
    let least = number(&body(&found, "strip")["covered_after_s"]);
    let [first, last] = [0, 1].map(|k| number(&covering["covered_after_s"][k]));
    assert!(least < first && first < last, "{least} {covering}");
    for (um, told) in [(0.1, first), (1.0, last)] {
        let coat = format!("\"200 ohm/sq\", islands = \"{um} um\"");
        let named = summary(&JOB.replace("\"200 ohm/sq\"", &coat));
        assert!(named["covering"].as_array().unwrap().is_empty());
        let exact = number(&body(&named, "strip")["covered_after_s"]);
        assert!((told / exact - 1.0).abs() < 0.25, "{um}: {told} {exact}");
    }
    let notes = found["notes"].to_string();
    assert!(!notes.contains("islands"), "{notes}");
}

/// Metal rather than powder: nothing is asked.
#[test]
fn silvered_coats_have_no_islands() {
    let silvered = summary(&JOB.replace("200 ohm/sq", "0.1 ohm/sq"));
    assert!(silvered["covering"].as_array().unwrap().is_empty());
}
