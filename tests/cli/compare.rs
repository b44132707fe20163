//! The README's worked comparisons, and comparing finished results.

use crate::bench::{Bench, PLATES, said};
use serde_json::Value;
use std::fs;
use std::path::Path;

/// Copies an example; the folder it is in stays clean.
fn example(bench: &Bench, name: &str) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/comparison");
    bench.write(name, &fs::read(folder.join(name)).unwrap());
}

fn compared(bench: &Bench, what: &[&str]) -> (String, Value) {
    let words = bench.ionfall(&[&["compare"], what].concat());
    assert_eq!(words.status.code(), Some(0), "{}", said(&words));
    let json = bench.ionfall(&[&["compare", "--json"], what].concat());
    let text = String::from_utf8(words.stdout).unwrap();
    assert!(text.lines().all(|l| l.chars().count() <= 100), "{text}");
    // Folded anywhere.
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    (text, serde_json::from_slice(&json.stdout).unwrap())
}

fn figure(comparison: &Value, run: usize, key: &str) -> f64 {
    comparison["runs"][run]["figures"][key].as_f64().unwrap()
}

/// Thinner diffusion films (0.15-0.5 mm in a still bath, 0.06-0.15 with a moving rod, less with
/// air: from memory, common practice) raise the limiting current in that order, so the same current
/// is a smaller share of it. Near the limit the film evens the deposit out; stirring takes that
/// away. Less of the voltage is lost in the film. The metal follows Faraday and stays.
#[test]
fn agitation_buys_soundness() {
    let bench = Bench::new(PLATES);
    let jobs = ["still.toml", "rod.toml", "air.toml"];
    jobs.iter().for_each(|job| example(&bench, job));
    let (text, found) = compared(&bench, &jobs);
    let all = |key: &str| [0, 1, 2].map(|run| figure(&found, run, key));
    let falls = |x: [f64; 3]| x[0] > x[1] && x[1] > x[2];
    assert!(falls(all("limit_share_percent")) && falls(all("voltage_V")));
    assert!(falls(all("thinnest_over_mean")) && falls(all("energy_kWh")));
    let [still, _, air] = all("limit_share_percent");
    assert!(still > 70.0 && air < 40.0, "{still} {air}");
    let [a, b, c] = all("metal_g");
    assert!((a / b - 1.0).abs() < 1e-6 && (a / c - 1.0).abs() < 1e-6);
    assert!(
        text.contains("smooth metal instead of trees and burning"),
        "{text}"
    );
    let page = fs::read_to_string(bench.path("compare.html")).unwrap();
    for piece in [
        "rod or air instead of still",
        "the inside of the channel",
        "<circle",
    ] {
        assert!(page.contains(piece), "no {piece}");
    }
    assert!(!page.contains("<script") && !page.contains("src=\"http"));
}

/// Acid conducts, so ordinary and high-throw bath differ four times in conductivity (published
/// figures in `bath`): more evenness and fewer volts. Less copper means a lower limiting current, which the
/// evener current makes up for at the lips.
#[test]
fn acid_buys_evenness_and_volts() {
    let bench = Bench::new(PLATES);
    let jobs = ["ordinary.toml", "high_throw.toml"];
    jobs.iter().for_each(|job| example(&bench, job));
    let (text, found) = compared(&bench, &jobs);
    let ratio = |key: &str| figure(&found, 1, key) / figure(&found, 0, key);
    assert!(ratio("thinnest_over_mean") > 1.5, "{text}");
    assert!(
        ratio("voltage_V") < 0.5 && ratio("wanted_after_h") < 0.7,
        "{text}"
    );
    let share = ratio("limit_share_percent");
    assert!((0.9..1.0).contains(&share), "{text}");
    assert!((ratio("metal_g") - 1.0).abs() < 1e-6);
    let (bought, cost) = text.split_once("; it cost").unwrap();
    assert!(bought.contains("at the thinnest place") && bought.contains("V at the rectifier"));
    assert!(cost.starts_with(" nothing of note"), "{text}");
    for job in ["ordinary", "high_throw"] {
        assert!(text.contains(&format!("{job}: Thick enough")), "{text}");
    }
}

#[test]
fn finished_folders_are_compared_without_running() {
    let bench = Bench::new(PLATES);
    let run = |out: &str| {
        assert!(
            bench
                .ionfall(&["run", "job.toml", "--out", out])
                .status
                .success()
        )
    };
    run("one");
    bench.write("job.toml", PLATES.replace("\"1 V\"", "\"2 V\"").as_bytes());
    run("two");
    let (text, found) = compared(&bench, &["one", "two"]);
    assert!(
        (figure(&found, 1, "thinnest_um") / figure(&found, 0, "thinnest_um") - 2.0).abs() < 1e-6
    );
    assert!(text.contains("two instead of one bought"), "{text}");
    // The same facets: a map.
    let page = fs::read_to_string(bench.path("compare.html")).unwrap();
    assert!(page.contains("Where the metal moved") && page.contains("data:image/png"));
    fs::create_dir(bench.path("empty")).unwrap();
    for (what, word) in [
        ("empty", "no finished results"),
        ("none", "cannot read the job file"),
    ] {
        let output = bench.ionfall(&["compare", "one", what, "--out", "new.html"]);
        assert_eq!(output.status.code(), Some(2), "{}", said(&output));
        assert!(said(&output).contains(word), "{}", said(&output));
        assert!(!bench.path("new.html").exists());
    }
}

/// One of three jobs is wrong: it is named, the others are compared, and the exit code tells.
#[test]
fn a_job_that_fails_is_named_and_the_rest_goes_on() {
    let bench = Bench::new(PLATES);
    bench.write(
        "wrong.toml",
        PLATES.replace("voltage =", "voltige =").as_bytes(),
    );
    bench.write("more.toml", PLATES.replace("\"1 V\"", "\"2 V\"").as_bytes());
    let jobs = ["compare", "job.toml", "wrong.toml", "more.toml"];
    let output = bench.ionfall(&jobs);
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(
        text.starts_with("wrong.toml failed: ") && text.contains("`voltige`"),
        "{text}"
    );
    assert!(text.contains("more instead of job bought"), "{text}");
    let page = fs::read_to_string(bench.path("compare.html")).unwrap();
    assert!(page.contains("wrong.toml failed: "));
    let json = bench.ionfall(&[&jobs[..], &["--json"]].concat());
    assert_eq!(json.status.code(), Some(2));
    let found: Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!(found["failed"][0]["name"], "wrong.toml");
    assert_eq!(found["runs"].as_array().unwrap().len(), 2);
    // Only one is left: nothing to compare, and all that failed is told.
    let output = bench.ionfall(&[
        "compare",
        "none",
        "wrong.toml",
        "job.toml",
        "--out",
        "no.html",
    ]);
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    for name in ["none: ", "wrong.toml: "] {
        assert!(said(&output).contains(name), "{}", said(&output));
    }
    assert!(!bench.path("no.html").exists());
}

/// Thickness along a named line: exact between plates.
#[test]
fn a_named_line_is_told() {
    let line = "[[line]]\nname = \"across\"\nfrom = \"5 x 5 x 15 mm\"\nto = \"5 x 25 x 15 mm\"\n";
    let bench = Bench::new(&format!("{PLATES}{line}"));
    bench.solved();
    let table = fs::read_to_string(bench.path("out/lines.csv")).unwrap();
    let head: Vec<&str> = table.lines().next().unwrap().split(',').collect();
    let column = |name: &str| head.iter().position(|h| *h == name).unwrap();
    let rows: Vec<Vec<&str>> = table
        .lines()
        .skip(1)
        .map(|l| l.split(',').collect())
        .collect();
    assert!(rows.len() >= 5, "{table}");
    for row in &rows {
        assert_eq!((row[0], row[column("body")]), ("across", "plate"));
        let value = |name: &str| row[column(name)].parse::<f64>().unwrap();
        // 90 mm of electrolyte of 25 S/m and 0.002 ohm m2 in series, one hour of copper.
        assert!(
            (value("thickness_m") / 23.63e-6 - 1.0).abs() < 1e-3,
            "{row:?}"
        );
        assert!((value("y_m") - 5e-3 - value("way_m")).abs() < 1e-6 || value("way_m") < 1e-9);
    }
    let report = fs::read_to_string(bench.path("out/report.html")).unwrap();
    assert!(report.contains("The thickness along the line across"));
}
