//! Runs that are killed and go on.

use crate::bench::{Bench, said};
use serde_json::Value;
use std::fs;
use std::process::Stdio;
use std::thread::sleep;
use std::time::{Duration, Instant};

/// A coated strip that metal creeps along.
const STRIP: &str = include_str!("jobs/coated-strip.toml");

/// A small generator, so that the moments differ and yet are the same in each run of the tests.
struct Moments(u64);

impl Moments {
    fn next(&mut self, most: Duration) -> Duration {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        most.mul_f64((self.0 >> 33) as f64 / (1u64 << 31) as f64)
    }
}

/// A summary without what says how long the work took and how much memory it had.
fn summary(bench: &Bench, folder: &str) -> Value {
    let text = fs::read_to_string(bench.path(folder).join("summary.json")).unwrap();
    let mut summary: Value = serde_json::from_str(&text).unwrap();
    for of_the_machine in ["grid_s", "field_s", "peak_memory_bytes"] {
        let taken = summary.as_object_mut().unwrap().remove(of_the_machine);
        assert!(taken.is_some(), "{of_the_machine}");
    }
    summary
}

#[test]
fn killed_twenty_times_and_resumed_it_gives_the_same() {
    let bench = Bench::new(STRIP);
    let run = ["run", "job.toml", "--threads", "1", "--out"];
    let clock = Instant::now();
    let whole = bench.ionfall(&[&run[..], &["whole"]].concat());
    let took = clock.elapsed();
    assert!(whole.status.success(), "{}", said(&whole));
    let mut moments = Moments(7);
    let mut alive = 0;
    for _ in 0..20 {
        let mut child = bench
            .command()
            .args(run)
            .args(["broken", "--resume"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        sleep(moments.next(took.mul_f64(0.3)));
        // SIGKILL on Unix.
        alive += usize::from(child.try_wait().unwrap().is_none());
        child.kill().unwrap();
        child.wait().unwrap();
    }
    assert!(alive > 0, "nothing was killed");
    let resumed = bench.ionfall(&[&run[..], &["broken", "--resume"]].concat());
    assert!(resumed.status.success(), "{}", said(&resumed));
    for file in ["facets.csv", "surface.vtp", "series.pvd"] {
        let read = |folder: &str| fs::read(bench.path(folder).join(file)).unwrap();
        assert!(read("whole") == read("broken"), "{file} differs");
    }
    assert_eq!(summary(&bench, "whole"), summary(&bench, "broken"));
    let left: Vec<_> = fs::read_dir(bench.path("broken"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| n.contains("progress") || n.contains("unfinished"))
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

/// The results are there before the coarser grids are begun; a run that is killed then leaves them
/// whole, and says what is missing. Resumed, it gives the same as one that was let alone.
#[test]
fn killed_during_the_plus_minus_the_result_is_whole() {
    let bench = Bench::new(STRIP);
    let run = ["run", "job.toml", "--threads", "1", "--out"];
    let whole = bench.ionfall(&[&run[..], &["whole"]].concat());
    assert!(whole.status.success(), "{}", said(&whole));
    let mut child = bench
        .command()
        .args(run)
        .arg("killed")
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    while !bench.path("killed/summary.json").exists() {
        assert!(child.try_wait().unwrap().is_none(), "it ended too soon");
        sleep(Duration::from_millis(1));
    }
    child.kill().unwrap();
    child.wait().unwrap();
    let summary = |folder: &str| summary(&bench, folder);
    let report = |folder: &str| fs::read_to_string(bench.path(folder).join("report.html")).unwrap();
    let killed = summary("killed");
    assert!(killed["uncertainty"].is_null());
    let notes = killed["notes"].to_string();
    assert!(
        notes.contains("no plus-minus: the run was stopped"),
        "{notes}"
    );
    assert!(report("killed").contains("no plus-minus: the run was stopped"));
    let of_whole = summary("whole");
    assert_eq!(killed["bodies"], of_whole["bodies"]);
    for file in ["facets.csv", "surface.vtp", "series.pvd"] {
        let read = |folder: &str| fs::read(bench.path(folder).join(file)).unwrap();
        assert!(read("whole") == read("killed"), "{file} differs");
    }
    assert!(of_whole["uncertainty"]["grids"][1]["cells"].as_u64() > Some(0));
    assert!(report("whole").contains("cells 2 times as large"));
    let resumed = bench.ionfall(&[&run[..], &["killed", "--resume"]].concat());
    assert!(resumed.status.success(), "{}", said(&resumed));
    assert_eq!(summary("killed"), of_whole);
    assert!(!bench.path("killed/progress.ionfall").exists());
}

/// Stops a run as soon as it has kept some progress; gives the folder's name.
fn stopped(bench: &Bench) -> &'static str {
    let mut child = bench
        .command()
        .args(["run", "job.toml", "--out", "out"])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let kept = bench.path("out/progress.ionfall");
    while !kept.exists() {
        assert!(child.try_wait().unwrap().is_none(), "it ended too soon");
        sleep(Duration::from_millis(1));
    }
    child.kill().unwrap();
    child.wait().unwrap();
    "out"
}

#[test]
fn progress_of_another_job_or_damaged_is_refused() {
    let bench = Bench::new(STRIP);
    let out = stopped(&bench);
    let resume = ["run", "job.toml", "--out", out, "--resume"];
    bench.write("job.toml", STRIP.replace("20 ohm", "21 ohm").as_bytes());
    let refused = bench.ionfall(&resume);
    assert_eq!(refused.status.code(), Some(2), "{}", said(&refused));
    assert!(said(&refused).contains("has changed"), "{}", said(&refused));
    bench.write("job.toml", STRIP.as_bytes());
    let path = bench.path("out/progress.ionfall");
    let good = fs::read(&path).unwrap();
    for (place, word) in [(100, "damaged"), (0, "damaged"), (16, "version")] {
        let mut bad = good.clone();
        bad[place] ^= 1;
        fs::write(&path, &bad).unwrap();
        let refused = bench.ionfall(&resume);
        assert_eq!(refused.status.code(), Some(2), "{}", said(&refused));
        assert!(said(&refused).contains(word), "{}", said(&refused));
    }
    fs::write(&path, &good[..good.len() / 2]).unwrap();
    assert!(said(&bench.ionfall(&resume)).contains("damaged"));
    fs::write(&path, &good).unwrap();
    assert!(bench.ionfall(&resume).status.success());
}
