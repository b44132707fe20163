//! Jobs that run.

use crate::bench::{Bench, PLATES};
use approx::assert_relative_eq;
use serde_json::Value;

fn summary(bench: &Bench) -> Value {
    let text = std::fs::read_to_string(bench.path("out/summary.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

#[test]
fn plates_give_the_series_resistance_and_faradays_thickness() {
    let bench = Bench::new(PLATES);
    let output = bench.run();
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let s = summary(&bench);
    // 90 mm of electrolyte of 25 S/m and 0.002 ohm m2 in series.
    let density = 1.0 / (0.09 / 25.0 + 0.002);
    assert_relative_eq!(
        s["current_a"].as_f64().unwrap(),
        density * 9e-4,
        max_relative = 1e-6
    );
    assert!(s["balance_error"].as_f64().unwrap() < 1e-8);
    let bodies = s["bodies"].as_array().unwrap();
    let work = bodies.iter().find(|b| b["role"] == "work").unwrap();
    // M t i / (z F rho), CODATA F, density 8960 kg/m3, all the current deposits.
    let thickness = density * 3600.0 * 0.063546 / (2.0 * 96485.33212 * 8960.0);
    assert_relative_eq!(
        work["thickness_m"]["mean"].as_f64().unwrap(),
        thickness,
        max_relative = 1e-6
    );
    for file in [
        "surface.vtp",
        "bath.vtu",
        "series.pvd",
        "facets.csv",
        "part-plate.vtp",
    ] {
        assert!(bench.path("out").join(file).exists(), "{file} is missing");
    }
}

#[test]
fn facets_add_up_to_the_deposit() {
    let bench = Bench::new(PLATES);
    assert!(bench.run().status.success());
    let s = summary(&bench);
    let text = std::fs::read_to_string(bench.path("out/facets.csv")).unwrap();
    let mut lines = text.lines().filter(|l| !l.starts_with('#'));
    let head: Vec<&str> = lines.next().unwrap().split(',').collect();
    let column = |name: &str| head.iter().position(|h| h.contains(name)).unwrap();
    let (body, area, thickness) = (column("name"), column("area"), column("thickness"));
    let volume: f64 = lines
        .map(|l| l.split(',').collect::<Vec<_>>())
        .filter(|c| c[body].contains("plate"))
        .map(|c| c[area].parse::<f64>().unwrap() * c[thickness].parse::<f64>().unwrap())
        .sum();
    let work = s["bodies"]
        .as_array()
        .unwrap()
        .iter()
        .find(|b| b["role"] == "work")
        .unwrap();
    assert_relative_eq!(
        volume,
        work["volume_m3"].as_f64().unwrap(),
        max_relative = 1e-5
    );
}

#[test]
fn strict_tells_an_unmet_wish() {
    let bench = Bench::new(&format!("{PLATES}\n[wanted]\nthickness = \"5 mm\"\n"));
    let code = |extra: &[&str]| {
        let arguments = [&["run", "job.toml", "--out", "out"], extra].concat();
        bench.ionfall(&arguments).status.code()
    };
    assert_eq!(code(&[]), Some(0));
    assert_eq!(code(&["--strict"]), Some(1));
}

#[test]
fn check_tells_how_a_job_is_understood() {
    let bench = Bench::new(PLATES);
    let output = bench.ionfall(&["check", "job.toml"]);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success());
    for word in ["plate", "anode", "cells", "MiB"] {
        assert!(said.contains(word), "no \"{word}\" in:\n{said}");
    }
    let json = bench.ionfall(&["check", "job.toml", "--json"]);
    assert!(
        serde_json::from_slice::<Value>(&json.stdout)
            .unwrap()
            .is_object()
    );
    assert!(!bench.path("out").exists());
}

#[test]
fn alone_it_shows_what_to_try() {
    let bench = Bench::new(PLATES);
    let output = bench.ionfall(&[]);
    let said = String::from_utf8_lossy(&output.stdout).into_owned()
        + &String::from_utf8_lossy(&output.stderr);
    for word in ["run", "check", "--help"] {
        assert!(said.contains(word), "no \"{word}\" in:\n{said}");
    }
}
