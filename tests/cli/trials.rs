//! Trials: whole, killed and resumed, spread over processes, with cases that fail.

use crate::bench::{Bench, said};
use serde_json::Value;
use std::fs;
use std::process::Stdio;
use std::thread::sleep;
use std::time::{Duration, Instant};

/// A strip between an anode and a wall; one figure moves both ends of the anode.
const STRIP: &str = include_str!("jobs/strip.toml");

/// Six cases: three geometries, two settings.
const VARY: [&str; 4] = [
    "--vary",
    "distance=20..60/3 mm",
    "--vary",
    "supply.mean_current_density=1,2 A/dm2",
];

fn trials(bench: &Bench, more: &[&str]) {
    let output = bench.ionfall(&[&["trials", "job.toml"], &VARY[..], more].concat());
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
}

fn files(bench: &Bench, folder: &str) -> [Vec<u8>; 2] {
    ["trials.csv", "trials.json"].map(|name| fs::read(bench.path(folder).join(name)).unwrap())
}

fn cases(bench: &Bench, folder: &str) -> Vec<Value> {
    let text = fs::read_to_string(bench.path(folder).join("trials.json")).unwrap();
    let all: Value = serde_json::from_str(&text).unwrap();
    all["cases"].as_array().unwrap().clone()
}

#[test]
fn killed_spread_or_whole_it_gives_the_same_files() {
    let bench = Bench::new(STRIP);
    let clock = Instant::now();
    trials(&bench, &["--out", "whole", "--workers", "2"]);
    let took = clock.elapsed();
    // Killed again and again, and gone on with; fewer workers, more threads.
    let resumed = [
        &["trials", "job.toml"],
        &VARY[..],
        &["--out", "broken", "--threads", "2"],
    ];
    let mut alive = 0;
    for n in 1..=6 {
        let mut child = bench
            .command()
            .args(resumed.concat())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        sleep(took.mul_f64(0.12 * f64::from(n)));
        alive += usize::from(child.try_wait().unwrap().is_none());
        child.kill().unwrap();
        child.wait().unwrap();
    }
    assert!(alive > 0, "nothing was killed");
    trials(&bench, &["--out", "broken", "--threads", "2"]);
    assert!(files(&bench, "whole") == files(&bench, "broken"));
    // One process for each case, all at once and the first case too, then gathered.
    let children: Vec<_> = (1..=6)
        .map(|case| {
            let case = case.to_string();
            let more = ["--out", "spread", "--case", &case];
            bench
                .command()
                .args([&["trials", "job.toml"], &VARY[..], &more].concat())
                .stdout(Stdio::null())
                .spawn()
                .unwrap()
        })
        .collect();
    for mut child in children {
        assert!(child.wait().unwrap().success());
    }
    assert!(!bench.path("spread/trials.csv").exists());
    trials(&bench, &["--out", "spread", "--merge"]);
    assert!(files(&bench, "whole") == files(&bench, "spread"));
    // And with nothing left to do, at once.
    let clock = Instant::now();
    trials(&bench, &["--out", "whole"]);
    assert!(clock.elapsed() < took.max(Duration::from_millis(500)));
    assert!(files(&bench, "whole") == files(&bench, "spread"));
}

/// A case of trials, begun from the potentials of another grid, is what a run of its own gives.
#[test]
fn a_case_is_what_a_run_gives() {
    let bench = Bench::new(STRIP);
    trials(&bench, &["--out", "out"]);
    let job = STRIP.replace("\"40 mm\"", "\"60 mm\"");
    bench.write("far.toml", job.as_bytes());
    let run = bench.ionfall(&["run", "far.toml", "--json"]);
    let summary: Value = serde_json::from_slice(&run.stdout).unwrap();
    let work = crate::bench::body(&summary, "work");
    let figure = |key: &str| cases(&bench, "out")[5]["figures"][key].as_f64().unwrap();
    for (found, exact) in [
        (
            figure("thinnest_um"),
            1e6 * work["thinnest_m"]["value"].as_f64().unwrap(),
        ),
        (
            figure("thickest_um"),
            1e6 * work["thickest_m"]["value"].as_f64().unwrap(),
        ),
        (figure("voltage_V"), summary["voltage_v"].as_f64().unwrap()),
        (figure("metal_g"), 1e3 * work["metal_kg"].as_f64().unwrap()),
    ] {
        // The table has five digits.
        assert!((found / exact - 1.0).abs() < 1e-4, "{found} {exact}");
    }
    assert_eq!(cases(&bench, "out")[5]["values"]["distance"], "60 mm");
}

#[test]
fn a_case_that_fails_is_noted_and_the_others_go_on() {
    let bench = Bench::new(STRIP);
    let current = "supply.mean_current_density=2,200,3 A/dm2";
    let distance = "distance=40,90 mm";
    let vary = [
        "trials", "job.toml", "--vary", current, "--vary", distance, "--out", "out",
    ];
    for _ in 0..2 {
        let output = bench.ionfall(&vary);
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        let found = cases(&bench, "out");
        let failure = |n: usize| found[n]["failure"].as_str().unwrap_or_default().to_owned();
        assert!(found[0]["failure"].is_null() && found[4]["failure"].is_null());
        assert!(failure(2).contains("can flow"), "{}", failure(2));
        // At 90 mm the anode is outside of the tank.
        for case in [1, 3, 5] {
            assert!(
                failure(case).contains("outside the liquid"),
                "{}",
                failure(case)
            );
        }
        let csv = fs::read_to_string(bench.path("out/trials.csv")).unwrap();
        assert_eq!(csv.lines().count(), 7);
    }
    let page = fs::read_to_string(bench.path("out/trials.html")).unwrap();
    assert!(page.contains("2 of 2 cases reach") && page.contains("4 cases failed"));
    assert!(!page.contains("<script") && !page.contains("src=\"http"));
}

/// Three strips side by side: how far apart they are is a figure of every case, and the case without a shield is the job
/// without one.
#[test]
fn the_parts_of_a_rack_and_a_shield_that_is_not_there() {
    let bench = Bench::new(include_str!("jobs/rack.toml"));
    let vary = ["--vary", "shield.sheet.open_area=100 %,20 %"];
    let output = bench.ionfall(&[&["trials", "job.toml", "--out", "out"], &vary[..]].concat());
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(
        text.contains("apart, %") && text.contains("Parts most alike: "),
        "{text}"
    );
    let csv = fs::read_to_string(bench.path("out/trials.csv")).unwrap();
    assert!(
        csv.lines()
            .next()
            .unwrap()
            .contains(",parts_apart_percent,"),
        "{csv}"
    );
    let apart = |n: usize| {
        cases(&bench, "out")[n]["figures"]["parts_apart_percent"]
            .as_f64()
            .unwrap()
    };
    // Behind the shield hangs the strip that gets most.
    assert!(apart(1) < 0.97 * apart(0), "{} {}", apart(0), apart(1));
    let job = include_str!("jobs/rack.toml");
    let (without, _) = job.split_once("[[shield]]").unwrap();
    fs::write(bench.path("without.toml"), without).unwrap();
    let output = bench.ionfall(&["run", "without.toml", "--pictures", "--out", "without"]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let summary = fs::read_to_string(bench.path("without/summary.json")).unwrap();
    let summary: Value = serde_json::from_str(&summary).unwrap();
    let share = summary["repeats"][0]["mean_thickness_m"]["share"]
        .as_f64()
        .unwrap();
    assert!(
        (apart(0) / (100.0 * share) - 1.0).abs() < 1e-4,
        "{} {share}",
        apart(0)
    );
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(
        text.contains("3 copies: from") && text.contains("strip 3  mean"),
        "{text}"
    );
    // One row of the job sheet for all.
    let sheet = fs::read_to_string(bench.path("without/job-sheet.html")).unwrap();
    let row = "<td>3 x strip</td><td>work</td><td>the first x 80 to 84, y 15 to 35 mm; all x 80 to 84, y 15 to 135 mm</td>";
    assert!(sheet.contains(row), "{sheet}");
}

/// Nothing is solved: that is no success.
#[test]
fn trials_that_fail_in_every_case_do_not_exit_with_success() {
    let bench = Bench::new(STRIP);
    // 500 A/dm2 and more is far above the limiting current.
    let vary = ["--vary", "supply.mean_current_density=500,600 A/dm2"];
    let output = bench.ionfall(&[&["trials", "job.toml", "--out", "out"], &vary[..]].concat());
    assert_eq!(output.status.code(), Some(3), "{}", said(&output));
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(
        text.contains("can flow") && text.ends_with("\nNo case is finished.\n"),
        "{text}"
    );
    let one = [
        &["trials", "job.toml", "--out", "out"],
        &vary[..],
        &["--case", "1"],
    ]
    .concat();
    assert_eq!(bench.ionfall(&one).status.code(), Some(3));
}

/// The plating time decides whether there is enough; the last words say which to take, and the same
/// stands at the head of the page. What does not matter is told as such, with the cheaper value.
#[test]
fn trials_end_in_a_sentence_for_the_shop() {
    let lead = STRIP.replace(
        "name = \"left anode\"\n",
        "name = \"left anode\"\nlead = \"1 mohm\"\n",
    );
    assert_ne!(lead, STRIP);
    let bench = Bench::new(&lead);
    let vary = [
        "--vary",
        "plan.time=10 min,2 h,3 h",
        "--vary",
        "\"anode.left anode.lead\"=500,1 mohm",
    ];
    let vary = vary.map(|v| v.replace('"', ""));
    let vary: Vec<&str> = vary.iter().map(String::as_str).collect();
    let output = bench.ionfall(&[&["trials", "job.toml", "--out", "out"], &vary[..]].concat());
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.lines().all(|l| l.chars().count() <= 100), "{text}");
    let (_, sentence) = text.trim_end().rsplit_once("\n\n").unwrap();
    let sentence = sentence.replace('\n', " ");
    let start =
        "Take plan.time = 2 h; anode.left anode.lead does not matter, take 1 mohm, which needs ";
    assert!(sentence.starts_with(start), "{sentence}");
    assert!(
        sentence.contains("of the 5 um wanted at the thinnest place; thick enough"),
        "{sentence}"
    );
    let page = fs::read_to_string(bench.path("out/trials.html")).unwrap();
    assert!(page.contains("Take plan.time = 2 h;"));
}

#[test]
fn whole_results_of_the_cases_on_request() {
    let bench = Bench::new(STRIP);
    trials(&bench, &["--out", "out", "--keep"]);
    for case in 1..=6 {
        for name in ["summary.json", "report.html", "facets.csv"] {
            assert!(
                bench.path(&format!("out/case-000{case}/{name}")).is_file(),
                "{case} {name}"
            );
        }
    }
}

#[test]
fn what_cannot_be_varied_is_said() {
    let bench = Bench::new(STRIP);
    for (vary, words) in [
        (
            "distanc=1,2 mm",
            ["no `distanc` in the job", "did you mean `distance`"],
        ),
        (
            "anode.lift anode.lead=1,2 ohm",
            ["there is no `lift anode`", "only what stands"],
        ),
        ("plan.time", ["equals sign", "--vary KEY=VALUES"]),
        (
            "distance=1..2 mm",
            ["how many values", "distance=100..200/5 mm"],
        ),
    ] {
        bench_refuses(&bench, &["--vary", vary], &words);
    }
    bench_refuses(
        &bench,
        &["--vary", "plan.time=1,2 h", "--case", "3"],
        &["no case 3", "1 to 2"],
    );
    bench_refuses(&bench, &[], &["--vary"]);
}

fn bench_refuses(bench: &Bench, more: &[&str], words: &[&str]) {
    let output = bench.ionfall(&[&["trials", "job.toml", "--out", "out"], more].concat());
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    for word in words {
        assert!(
            said(&output).contains(word),
            "no \"{word}\" in: {}",
            said(&output)
        );
    }
    assert!(!bench.path("out").exists());
}
