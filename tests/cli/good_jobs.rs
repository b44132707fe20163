//! Jobs that run, against exact values.

use crate::bench::{Bench, PLATES, body};
use crate::cases::expected;
use approx::assert_relative_eq;
use serde_json::Value;
use std::fs;

/// Faraday constant, C/mol (exact in the SI of 2019: elementary charge times Avogadro constant).
const FARADAY: f64 = 1.602176634e-19 * 6.02214076e23;

/// Concentric cylinders of 10 and 50 mm: case P01 of the table of check values.
const CYLINDERS: &str = include_str!("jobs/cylinders.toml");

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// Thickness of a deposit, m: `i t M / (n F rho)`, with the figures of the metal that the summary
/// states.
fn faraday_m(summary: &Value, density_a_per_m2: f64) -> f64 {
    let metal = &summary["bath"]["metal"];
    let figure = |key: &str| number(&metal[key]["value"]);
    let kg_per_mol = 1e-3 * figure("atomic_weight");
    density_a_per_m2 * number(&summary["time_s"]) * kg_per_mol
        / (figure("electrons_per_atom") * FARADAY * figure("density"))
}

/// What holds for every result: charge and metal balance, and files that are all there.
fn sound(bench: &Bench, text: &str, summary: &Value) {
    assert!(number(&summary["balance_error"]) < 1e-8);
    assert!(summary["grid"]["cells"].as_u64() > Some(100));
    let mut there: Vec<_> = fs::read_dir(bench.path("out"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        // The list of the files themselves.
        .filter(|name| name != ".ionfall-files.json")
        .collect();
    there.sort();
    // The answer counts them, the list names each.
    let line = format!(
        "{} files in out; open report.html in a browser",
        there.len()
    );
    assert!(text.contains(&line), "{line}\n{text}");
    let list = fs::read_to_string(bench.path("out/.ionfall-files.json")).unwrap();
    for name in &there {
        assert!(list.contains(&format!("\"{name}\"")), "{name} in {list}");
    }
    assert!(there.len() >= 7, "{there:?}");
    facets_add_up(bench, summary);
}

/// `facets.csv` against the summary: area, current and volume of each body. The table has nine
/// digits after the point.
fn facets_add_up(bench: &Bench, summary: &Value) {
    let text = fs::read_to_string(bench.path("out/facets.csv")).unwrap();
    let mut lines = text.lines();
    let head: Vec<&str> = lines.next().unwrap().split(',').collect();
    let column = |name: &str| head.iter().position(|h| *h == name).unwrap();
    let rows: Vec<Vec<&str>> = lines.map(|line| line.split(',').collect()).collect();
    assert_eq!(Some(rows.len() as u64), summary["grid"]["facets"].as_u64());
    for body in summary["bodies"].as_array().unwrap() {
        let integral = |name: Option<&str>| -> f64 {
            rows.iter()
                .filter(|row| body["name"] == row[column("name")])
                .map(|row| {
                    let value = |name| row[column(name)].parse::<f64>().unwrap();
                    value("area_m2") * name.map_or(1.0, value)
                })
                .sum()
        };
        let sign = if body["role"] == "anode" { -1.0 } else { 1.0 };
        let volume = sign * integral(Some("thickness_m"));
        assert_relative_eq!(volume, number(&body["volume_m3"]), max_relative = 1e-8);
        let current = integral(Some("current_density_A_per_m2"));
        assert_relative_eq!(current, number(&body["current_a"]), max_relative = 1e-8);
        let area = integral(None);
        assert_relative_eq!(area, number(&body["area_m2"]), max_relative = 1e-8);
    }
}

#[test]
fn plates_give_the_series_resistance_and_faradays_thickness() {
    let bench = Bench::new(PLATES);
    let (text, summary) = bench.solved();
    sound(&bench, &text, &summary);
    // 90 mm of electrolyte of 25 S/m and 0.002 ohm m2 in series, on 30 x 30 mm.
    let density = 1.0 / (0.09 / 25.0 + 0.002);
    let current = number(&summary["current_a"]);
    assert_relative_eq!(current, density * 9e-4, max_relative = 1e-6);
    let thickness = &body(&summary, "work")["thickness_m"];
    for key in ["min", "mean", "max"] {
        let exact = faraday_m(&summary, density);
        assert_relative_eq!(number(&thickness[key]), exact, max_relative = 1e-6);
    }
    // Copper at 1 A/dm2 grows about 0.22 um a minute; here 60 minutes at 178.57 A/m2.
    assert_relative_eq!(number(&thickness["mean"]), 23.63e-6, max_relative = 1e-3);
    let energy = number(&summary["energy_j"]);
    assert_relative_eq!(energy, current * 1.0 * 3600.0, max_relative = 1e-6);
}

/// Copper, energy and an hour of the tank at prices of the job: 178.57 A/m2 on 9 cm2 at 1 V.
#[test]
fn a_run_is_told_what_it_costs() {
    let prices = "\n[prices]\ncurrency = \"EUR\"\nmetal = \"11 per kg\"\nenergy = \"0.28 per kWh\"\n\
                  time = \"6 per h\"\n";
    let bench = Bench::new(&format!("{PLATES}{prices}"));
    let (text, summary) = bench.solved();
    let cost = &summary["cost"];
    let current_a = 9e-4 / (0.09 / 25.0 + 0.002);
    // Faraday's law: 63.546 g of copper for 2 F.
    let metal = 11.0 * current_a * 3600.0 * 63.546e-3 / (2.0 * 96485.332);
    let energy = 0.28 * current_a * 1.0 / 1000.0;
    assert_relative_eq!(number(&cost["metal"]), metal, max_relative = 1e-5);
    assert_relative_eq!(number(&cost["energy"]), energy, max_relative = 1e-5);
    assert_relative_eq!(number(&cost["time"]), 6.0, max_relative = 1e-9);
    let total = 6.0 + metal + energy;
    assert_relative_eq!(number(&cost["total"]), total, max_relative = 1e-6);
    assert!(text.contains("EUR: metal 0.00"), "{text}");
}

#[test]
fn concentric_cylinders_carry_the_current_of_the_table() {
    let bench = Bench::new(CYLINDERS);
    let (text, summary) = bench.solved();
    sound(&bench, &text, &summary);
    assert!(bench.path("out/part-rod.vtp").exists());
    let total = expected("P01", "current per length", "cell");
    assert_relative_eq!(number(&summary["current_a"]), total, max_relative = 5e-4);
    let work = body(&summary, "work");
    let exact = expected("P01", "current density", "inner");
    let density = &work["current_density_a_per_m2"];
    assert_relative_eq!(number(&density["mean"]), exact, max_relative = 5e-4);
    let thickness = number(&work["thickness_m"]["mean"]);
    assert_relative_eq!(thickness, faraday_m(&summary, exact), max_relative = 5e-4);
}

#[test]
fn the_printed_json_is_the_summary() {
    let bench = Bench::new(PLATES);
    let output = bench.ionfall(&["run", "job.toml", "--out", "out", "--json"]);
    assert_eq!(output.status.code(), Some(0));
    let summary = fs::read(bench.path("out/summary.json")).unwrap();
    assert!(output.stdout == summary);
    let summary: Value = serde_json::from_slice(&summary).unwrap();
    assert_eq!(summary["title"], "plates");
}

#[test]
fn strict_tells_an_unmet_wish() {
    let bench = |thickness: &str| {
        Bench::new(&format!(
            "{PLATES}\n[wanted]\nthickness = \"{thickness}\"\n"
        ))
    };
    let run = |bench: &Bench, extra: &[&str]| {
        let arguments = [&["run", "job.toml", "--out", "out"], extra].concat();
        let code = bench.ionfall(&arguments).status.code();
        assert!(bench.path("out/summary.json").exists());
        code
    };
    let (much, little) = (bench("5 mm"), bench("20 um"));
    assert_eq!(run(&much, &[]), Some(0));
    assert_eq!(run(&much, &["--strict"]), Some(1));
    assert_eq!(run(&little, &["--strict"]), Some(0));
}

#[test]
fn without_being_told_results_lie_beside_the_job() {
    let bench = Bench::new(PLATES);
    assert_eq!(bench.ionfall(&["run", "job.toml"]).status.code(), Some(0));
    assert!(bench.path("job-result/summary.json").exists());
}
