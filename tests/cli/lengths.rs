//! Lengths that the job names as levers, when asked for.

use crate::bench::{Bench, said};
use approx::assert_relative_eq;
use serde_json::Value;
use std::fs;

const WIRES: &str = include_str!("jobs/two-wires.toml");

/// Two plates, so one current density everywhere, however far they are apart.
const PLATES: &str = r#"
space = "planar"
depth = "100 mm"
[figures]
gap = "60 mm"
wide = "5 mm"
density = "2 A/dm2"
[tank]
size = "60 x 40 mm"
[bath]
kind = "custom"
metal = "copper"
conductivity = "10 S/m"
[[anode]]
law = "primary"
shape.rectangle = { from = "-5 x -5 mm", to = "60 mm - gap x 45 mm" }
[[work]]
name = "plate"
law = "primary"
shape.rectangle = { from = "60 x -5 mm", to = "60 mm + wide x 45 mm" }
[grid]
finest = "4 mm"
[supply]
mean_current_density = "density"
[plan]
time = "1 h"
"#;

fn levers(bench: &Bench, job: &str) -> (String, Vec<Value>) {
    let output = bench.ionfall(&["run", job, "--levers", "--out", "out"]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let summary = fs::read_to_string(bench.path("out/summary.json")).unwrap();
    let summary: Value = serde_json::from_str(&summary).unwrap();
    let all = summary["levers"]["levers"].as_array().unwrap();
    let lengths = all.iter().filter(|l| l["change"]["length"].is_object());
    let text = String::from_utf8(output.stdout).unwrap();
    (text, lengths.cloned().collect())
}

fn thinnest_m(lever: &Value) -> f64 {
    lever["answers"]["thinnest_m"].as_f64().unwrap()
}

/// Each is what a run of the job with it says, and has a plus-minus below its change.
#[test]
fn a_length_is_the_job_with_it() {
    let bench = Bench::new(WIRES);
    let (_, lengths) = levers(&bench, "job.toml");
    assert_eq!(lengths.len(), 2);
    for (lever, aside) in [(&lengths[0], "37.4 mm"), (&lengths[1], "30.6 mm")] {
        let change = &lever["change"]["length"];
        assert_eq!(change["name"], "aside");
        assert_eq!(format!("{} mm", change["to"]), aside);
        bench.write("other.toml", WIRES.replace("34 mm", aside).as_bytes());
        let output = bench.ionfall(&["run", "other.toml", "--out", "other"]);
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        let other = fs::read_to_string(bench.path("other/summary.json")).unwrap();
        let other: Value = serde_json::from_str(&other).unwrap();
        let bodies = other["bodies"].as_array().unwrap();
        let plate = bodies.iter().find(|b| b["name"] == "plate").unwrap();
        let own = plate["thinnest_m"]["value"].as_f64().unwrap();
        assert_relative_eq!(thinnest_m(lever), own, max_relative = 1e-5);
        let open = lever["open_share"].as_f64().unwrap();
        assert!(open < 0.03, "{open}");
    }
    assert!(thinnest_m(&lengths[0]) > 1.05 * thinnest_m(&lengths[1]));
}

/// What does not matter is told to be the same, volts follow the gap, and numbers that are no lengths are left alone.
#[test]
fn a_length_that_does_not_matter_is_told_so() {
    let bench = Bench::new(PLATES);
    let (text, lengths) = levers(&bench, "job.toml");
    assert_eq!(lengths.len(), 4, "{text}");
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        flat.contains("wide 5.5 instead of 5 mm: thinnest place the same"),
        "{text}"
    );
    let narrow = lengths.iter().find(|l| l["change"]["length"]["to"] == 54.0);
    let answers = &narrow.unwrap()["answers"];
    // 2 A/dm2 through 54 mm of 10 S/m.
    assert_relative_eq!(
        answers["voltage_v"].as_f64().unwrap(),
        200.0 * 0.054 / 10.0,
        max_relative = 1e-3
    );
    // A gap that would not fit is named as not possible, or is another job: here the anode leaves the tank.
    assert!(flat.contains("gap 66 instead of 60 mm"), "{text}");
}
