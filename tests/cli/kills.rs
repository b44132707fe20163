//! Runs that are killed, at any moment and before every step that changes a file, and two runs into one folder:
//! the folder always holds one whole result, the older or the newer, and nothing else after the next run.
//!
//! Some trials of each kind in ordinary tests; more, and with other moments:
//!
//! ```text
//! HOSTILE_COUNT=300 HOSTILE_SEED=7 cargo test --test cli kills -- --nocapture --test-threads 1
//! ```

use crate::bench::{Bench, PLATES, said};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok()?.parse().ok()
}

/// How many trials: as many as are asked for, or else a few.
fn trials(few: u64) -> u64 {
    number("HOSTILE_COUNT").unwrap_or(few)
}

/// Moments between 0 and 1, the same for the same seed.
struct Moments(u64);

impl Moments {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (self.0 >> 33) as f64 / (1u64 << 31) as f64
    }
}

/// The title of the one result that a folder holds: every file of its list is there, as it was
/// written. Nothing if there is none.
fn whole(folder: &Path) -> Option<String> {
    let list = fs::read(folder.join(".ionfall-files.json")).ok()?;
    let list: Value = serde_json::from_slice(&list).unwrap();
    for (name, stamp) in list["files"].as_object().unwrap() {
        let bytes = fs::read(folder.join(name)).unwrap();
        assert_eq!(
            bytes.len() as u64,
            stamp["bytes"].as_u64().unwrap(),
            "{name}"
        );
        assert_eq!(
            u64::from(crc32fast::hash(&bytes)),
            stamp["crc32"].as_u64().unwrap(),
            "{name}"
        );
    }
    let summary = fs::read(folder.join("summary.json")).unwrap();
    let summary: Value = serde_json::from_slice(&summary).unwrap();
    Some(summary["title"].as_str().unwrap().into())
}

fn names(folder: &Path) -> BTreeSet<String> {
    let entries = fs::read_dir(folder).unwrap();
    entries
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect()
}

/// A folder of results in which one run after the other is killed.
struct Folder {
    bench: Bench,
    /// What a whole result consists of.
    files: BTreeSet<String>,
    /// Title of the result that is there.
    title: String,
    /// How long a run takes that is let alone.
    took: Duration,
    trials: usize,
}

const RUN: [&str; 6] = ["run", "job.toml", "--plus-minus", "always", "--out", "out"];

impl Folder {
    fn new() -> Self {
        let bench = Bench::new(PLATES);
        let clock = Instant::now();
        let done = bench.ionfall(&RUN);
        assert!(done.status.success(), "{}", said(&done));
        Self {
            took: clock.elapsed(),
            files: names(&bench.path("out")),
            title: "plates".into(),
            trials: 0,
            bench,
        }
    }

    /// Starts a run of another title, which `kill` is to end, and looks at what is there then; after that
    /// comes the next run. Was the run killed?
    fn trial(&mut self, kill: impl FnOnce(&mut Command) -> bool) -> bool {
        self.trials += 1;
        let titled = |title: &str| {
            let job = PLATES.replace("title = \"plates\"", &format!("title = \"{title}\""));
            self.bench.write("job.toml", job.as_bytes());
        };
        let newer = format!("killed {}", self.trials);
        titled(&newer);
        let mut command = self.bench.command();
        command
            .args(RUN)
            .stdout(Stdio::null())
            .stderr(Stdio::null());
        let killed = kill(&mut command);
        let out = self.bench.path("out");
        // Reading the folder settles it; there is nothing to compare it with.
        let compare = ["compare", "out", "out", "--out", "page.html"];
        self.bench.ionfall(&compare);
        let title = whole(&out).expect("a result");
        assert!(
            title == newer || (killed && title == self.title),
            "{title}, neither {} nor {newer}",
            self.title
        );
        let left: Vec<String> = names(&out).difference(&self.files).cloned().collect();
        let progress =
            |name: &String| name.starts_with("progress.") || name == ".ionfall-unfinished";
        assert!(left.iter().all(progress), "{left:?}");
        self.title = format!("next {}", self.trials);
        titled(&self.title);
        let done = self.bench.ionfall(&RUN);
        assert!(done.status.success(), "{}", said(&done));
        assert_eq!(whole(&out).as_ref(), Some(&self.title));
        assert_eq!(names(&out), self.files, "after the next run");
        killed
    }
}

#[test]
fn killed_at_any_moment() {
    let mut folder = Folder::new();
    let mut moments = Moments(number("HOSTILE_SEED").unwrap_or(1));
    let (count, mut killed) = (trials(10), 0);
    for _ in 0..count {
        let moment = folder.took.mul_f64(1.05 * moments.next());
        killed += u64::from(folder.trial(|run| {
            let mut run = run.spawn().unwrap();
            sleep(moment.min(Duration::from_secs(5)));
            let alive = run.try_wait().unwrap().is_none();
            run.kill().unwrap();
            run.wait().unwrap();
            alive
        }));
    }
    eprintln!("{killed} of {count} runs were killed");
    assert!(2 * killed > count, "{killed} of {count}");
}

/// Ends the process before its `STOP_AT`th step that changes a file or a folder.
#[cfg(target_os = "linux")]
const STOPPER: &str = include_str!("stopper.c");

/// Every point between two steps that change files or folders, as a `kill -9` there.
#[cfg(target_os = "linux")]
#[test]
fn killed_before_every_step() {
    let mut folder = Folder::new();
    let [source, library] = ["stopper.c", "stopper.so"].map(|name| folder.bench.path(name));
    fs::write(&source, STOPPER).unwrap();
    let made = Command::new("cc")
        .args(["-shared", "-fPIC", "-O1", "-o"])
        .args([&library, &source])
        .arg("-ldl")
        .output()
        .unwrap();
    assert!(made.status.success(), "{}", said(&made));
    // One in a few, unless all are asked for.
    let step = if number("HOSTILE_COUNT").is_some() {
        1
    } else {
        6
    };
    let mut points = 0;
    for point in (1..).step_by(step) {
        let killed = folder.trial(|run| {
            let run = run
                .env("LD_PRELOAD", &library)
                .env("STOP_AT", point.to_string());
            !run.status().unwrap().success()
        });
        if !killed {
            break;
        }
        points += 1;
    }
    eprintln!("killed at {points} points");
    assert!(points * step >= 30, "{points} points, one in {step}");
}

/// Of two runs into one folder one is done and one is told.
#[test]
fn a_second_run_into_a_folder_is_told() {
    let bench = Bench::new(&PLATES.replace("4 mm", "1.5 mm"));
    let start = || {
        let mut command = bench.command();
        let command = command.args(["run", "job.toml", "--threads", "1"]);
        command
            .stderr(Stdio::piped())
            .stdout(Stdio::null())
            .spawn()
            .unwrap()
    };
    let pairs = trials(1);
    for _ in 0..pairs {
        let done = [start(), start()].map(|child| child.wait_with_output().unwrap());
        let mut codes = done.each_ref().map(|d| d.status.code().unwrap());
        codes.sort_unstable();
        assert_eq!(codes, [0, 4], "{} {}", said(&done[0]), said(&done[1]));
        let told = done.iter().find(|d| !d.status.success()).unwrap();
        for word in ["another run", "in use", "--out"] {
            assert!(said(told).contains(word), "{}", said(told));
        }
        assert!(whole(&bench.path("job-result")).is_some());
        let hidden = |name: &String| name.starts_with(".ionfall-");
        let hidden: Vec<String> = names(&bench.path("job-result"))
            .into_iter()
            .filter(hidden)
            .collect();
        assert_eq!(hidden, [".ionfall-files.json"]);
    }
    eprintln!("{pairs} pairs of runs");
}
