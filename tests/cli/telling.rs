//! What is told without computing: `check`, and the program without arguments.

use crate::bench::{Bench, PLATES, said};
use serde_json::Value;
use std::path::Path;

#[test]
fn check_tells_how_a_job_is_understood() {
    let bench = Bench::new(PLATES);
    let output = bench.ionfall(&["check", "job.toml"]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let text = String::from_utf8(output.stdout).unwrap();
    for piece in [
        "liquid 100 x 30 x 30 mm, 0.09 L",
        "conductivity: 25 S/m (given)",
        "anode `anode`: surface in the liquid 0.0",
        "work `plate`: surface in the liquid 0.0",
        "linear, 0.002 ohm m2",
        "1 V held constant",
        " cells and take about ",
        " MiB",
    ] {
        assert!(text.contains(piece), "no \"{piece}\" in:\n{text}");
    }
    // Plates of 30 x 30 mm, flush with the walls on all sides: 0.09 dm2.
    for line in text.lines().filter(|l| l.contains("surface in the liquid")) {
        let (_, rest) = line.split_once("surface in the liquid ").unwrap();
        let (area, _) = rest.split_once(" dm2").unwrap();
        let area: f64 = area.parse().unwrap();
        assert!((area / 0.09 - 1.0).abs() < 1e-6, "{line}");
    }
    assert!(!bench.path("out").exists() && !bench.path("job-result").exists());
}

/// An unbounded body has no volume to tell, rather than a wrong one.
#[test]
fn check_tells_no_volume_of_an_unbounded_body() {
    let bench = Bench::new(
        r#"
space = "planar"
depth = "100 mm"
tank.size = "60 x 20 mm"
bath = { kind = "acid copper" }
supply.voltage = "1 V"
anode.shape.half_plane = { at = "5 x 0 mm", outward = "x" }
work.shape.half_plane = { at = "55 x 0 mm", outward = "-x" }
"#,
    );
    let output = bench.ionfall(&["check", "job.toml"]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!(text.matches("without bounds").count(), 2, "{text}");
    assert!(!text.contains("volume"), "{text}");
}

#[test]
fn check_as_json() {
    let bench = Bench::new(PLATES);
    let output = bench.ionfall(&["check", "job.toml", "--json"]);
    let told: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(told["title"], "plates");
    assert!(told["understood"].as_array().unwrap().len() > 5);
    let cells = told["cells"].as_u64().unwrap();
    // A box of 100 x 30 x 30 mm in cells of 4 mm, and those around its walls.
    assert!((1_000..20_000).contains(&cells), "{cells}");
    assert!(told["memory_bytes"].as_u64() > Some(cells));
}

#[test]
fn alone_it_shows_three_things_to_try() {
    let bench = Bench::new(PLATES);
    let output = bench.ionfall(&[]);
    assert_eq!(output.status.code(), Some(0));
    let text = String::from_utf8(output.stdout).unwrap();
    let tries: Vec<_> = text
        .lines()
        .filter_map(|line| line.strip_prefix("  ionfall "))
        .collect();
    assert_eq!(tries.len(), 3, "{text}");
    for (shown, start) in tries.iter().zip([
        "check examples/plaque/plaque.toml",
        "run examples/plaque/plaque.toml",
        "--help",
    ]) {
        assert!(shown.starts_with(start), "{text}");
    }
    // The quick ones do work, from the folder of the program.
    for arguments in [&["check", "examples/plaque/plaque.toml"][..], &["--help"]] {
        let output = bench
            .command()
            .args(arguments)
            .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")))
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    }
}

#[test]
fn completions_and_manual_pages_know_every_command() {
    let bench = Bench::new(PLATES);
    for shell in ["bash", "zsh", "fish"] {
        let output = bench.ionfall(&["completions", shell]);
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        let text = String::from_utf8(output.stdout).unwrap();
        for word in ["trials", "compare", "pictures"] {
            assert!(text.contains(word), "no {word} for {shell}");
        }
    }
    let output = bench.ionfall(&["man", "--out", "man"]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    for (page, word) in [
        ("ionfall.1", "compare"),
        ("ionfall-trials.1", "vary"),
        ("ionfall-run.1", "resume"),
    ] {
        let text = std::fs::read_to_string(bench.path("man").join(page)).unwrap();
        assert!(text.contains(".TH") && text.contains(word), "{page}");
    }
    let page = String::from_utf8(bench.ionfall(&["man"]).stdout).unwrap();
    assert!(page.contains("Exit codes"), "{page}");
}

/// Standard error is no terminal here: no bar, and no line in the first ten seconds.
#[test]
fn a_short_run_says_nothing_where_nobody_looks() {
    let bench = Bench::new(PLATES);
    let output = bench.run();
    assert!(
        output.status.success() && output.stderr.is_empty(),
        "{}",
        said(&output)
    );
}

/// The verdict first, no list of files, safety in a line; all of it with `--safety`. As wide as is said,
/// and without colours, which only a terminal gets.
#[test]
fn a_run_is_told_on_one_screen() {
    let bench = Bench::new(include_str!("jobs/strip.toml"));
    let told = |columns: &str, more: &[&str]| {
        let output = bench
            .command()
            .args([&["run", "job.toml", "--out", "out"], more].concat())
            .env("COLUMNS", columns)
            .env_remove("NO_COLOR")
            .output()
            .unwrap();
        assert!(output.status.success(), "{}", said(&output));
        String::from_utf8(output.stdout).unwrap()
    };
    let text = told("72", &[]);
    assert!(text.lines().count() < 40, "{text}");
    assert!(text.lines().all(|l| l.chars().count() <= 72), "{text}");
    assert!(!text.contains('\u{1b}'), "{text}");
    let first = text.lines().next().unwrap();
    assert!(first.contains(": Thick enough"), "{first}");
    let count = std::fs::read_dir(bench.path("out")).unwrap();
    let shown = |entry: &std::fs::DirEntry| !entry.file_name().to_string_lossy().starts_with('.');
    let count = count.flatten().filter(shown).count();
    let line = format!("{count} files in out; open report.html in a browser");
    assert!(text.contains(&line), "{line}\n{text}");
    assert!(!text.contains("add acid to water"));
    let line = "sulfuric acid mist, acid, copper salts, current: see --safety";
    let wide = told("200", &["--safety"]);
    assert!(text.contains(line) && !wide.contains(line), "{text}");
    assert!(
        wide.contains("add acid to water") && wide.contains("bus bars"),
        "{wide}"
    );
    assert!(wide.lines().all(|l| l.chars().count() <= 100), "{wide}");
}
