//! Accuracy asked for instead of cells.

use crate::bench::{Bench, body, said};
use serde_json::Value;
use std::fs;
use std::process::Output;

/// A plate opposite an anode in the plane, with edges that have kinetics.
const STRIP: &str = include_str!("jobs/strip.toml");
const FINEST: &str = "finest = \"0.3 mm\"";

fn with(grid: &str) -> Bench {
    Bench::new(&STRIP.replace(FINEST, grid))
}

fn asked(bench: &Bench, share: &str) -> Output {
    bench.ionfall(&["run", "job.toml", "--out", "out", "--accuracy", share])
}

fn summary(bench: &Bench, output: &Output) -> (String, Value) {
    assert_eq!(output.status.code(), Some(0), "{}", said(output));
    let summary = fs::read_to_string(bench.path("out/summary.json")).unwrap();
    let text = String::from_utf8_lossy(&output.stdout);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    (text, serde_json::from_str(&summary).unwrap())
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value}"))
}

fn share(summary: &Value) -> f64 {
    let grids = summary["accuracy"]["grids"].as_array().unwrap();
    number(&grids.last().unwrap()["share"])
}

/// The accuracy is met, by the option as by the key; the plus-minus in the summary is what it says.
#[test]
fn what_is_asked_is_met_and_told() {
    let bench = with("");
    let (text, by_option) = summary(&bench, &asked(&bench, "3 %"));
    assert_eq!(by_option["accuracy"]["ending"], "met");
    assert!(share(&by_option) <= 0.03);
    assert!(text.contains("asked 3 %: "), "{text}");
    let work = &by_option["uncertainty"]["bodies"][1];
    let thinnest = &body(&by_option, "work")["thinnest_m"]["value"];
    assert!(number(&work["thinnest_m"]) <= 0.03 * number(thinnest));
    let bench = with("accuracy = \"3 %\"");
    let (_, by_key) = summary(&bench, &bench.run());
    assert_eq!(by_key["accuracy"], by_option["accuracy"]);
    // The option wins.
    let (text, sharper) = summary(&bench, &asked(&bench, "0.3 %"));
    assert!(share(&sharper) < share(&by_key) && text.contains("asked 0.3 %: "));
    let cells = |summary: &Value| summary["grid"]["cells"].as_u64().unwrap();
    assert!(cells(&sharper) > cells(&by_key));
    // Without it nothing is said of it.
    let bench = with("");
    let (text, plain) = summary(&bench, &bench.run());
    assert!(plain.get("accuracy").is_none() && !text.contains("asked"));
}

/// The answer lies within what is told of a grid much finer than any that was laid for it.
#[test]
fn the_truth_lies_within_what_is_told() {
    let fine = with("finest = \"0.05 mm\"");
    let fine = {
        let run = ["run", "job.toml", "--out", "out", "--plus-minus", "never"];
        summary(&fine, &fine.ionfall(&run)).1
    };
    for asked_share in ["3 %", "0.5 %", "0.3 %"] {
        let bench = with("");
        let (_, found) = summary(&bench, &asked(&bench, asked_share));
        let off = &found["uncertainty"]["bodies"][1];
        let values = [&found, &fine].map(|s| body(s, "work"));
        let check = |what: &str, [a, b]: [f64; 2], off: f64| {
            assert!(
                (a - b).abs() <= off,
                "{asked_share}, {what}: {a} {b} +- {off}"
            );
        };
        let thinnest = values.map(|b| number(&b["thinnest_m"]["value"]));
        check("thinnest", thinnest, number(&off["thinnest_m"]));
        let volts = [&found, &fine].map(|s| number(&s["supplies"][0]["voltage_v"]));
        check("volts", volts, number(&found["uncertainty"]["voltage_v"]));
    }
}

/// `finest` is then the smallest cell that may be made: it ends there, says so, and has no more cells than the job
/// itself.
#[test]
fn the_job_bounds_the_cells() {
    let bench = with("finest = \"2 mm\"");
    let (_, plain) = summary(&bench, &bench.run());
    let (text, found) = summary(&bench, &asked(&bench, "0.05 %"));
    assert_eq!(found["accuracy"]["ending"], "smallest_cells");
    assert!(share(&found) > 5e-4);
    assert!(text.contains("stopped at"), "{text}");
    assert!(
        text.contains("as small as `finest` in [grid] allows"),
        "{text}"
    );
    assert!(found["grid"]["cells"].as_u64() <= plain["grid"]["cells"].as_u64());
}

#[test]
fn what_cannot_be_is_refused() {
    with("accuracy = \"0 %\"").refused(2, &["must be greater than zero"]);
    with("accuracy = \"2 mm\"").refused(2, &["accuracy"]);
    let plan = "[plan]\ntime = \"2 h\"\n[wanted]\nthickness = \"5 um\"\n";
    let bench = Bench::new(
        &STRIP
            .replace(plan, "")
            .replace(FINEST, "accuracy = \"2 %\""),
    );
    bench.refused(2, &["without a plan no metal grows", "add [plan]"]);
    let bench = Bench::new(&STRIP.replace(plan, ""));
    bench.refused_by(
        &|| asked(&bench, "2 %"),
        2,
        &["without a plan no metal grows"],
    );
    let bench = with("");
    for wrong in ["0 %", "120 %", "sharp"] {
        let output = asked(&bench, wrong);
        assert_eq!(output.status.code(), Some(2), "{wrong}");
        assert!(said(&output).contains("--accuracy"), "{}", said(&output));
    }
    let resumed = || {
        let run = [
            "run",
            "job.toml",
            "--out",
            "out",
            "--accuracy",
            "2 %",
            "--resume",
        ];
        bench.ionfall(&run)
    };
    bench.refused_by(&resumed, 2, &["keeps no progress", "without --resume"]);
}
