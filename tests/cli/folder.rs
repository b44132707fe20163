//! The folder of results: nobody else's files, one run at a time, always one whole result.

use crate::bench::{Bench, PLATES, said};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Stdio;
use std::thread::sleep;
use std::time::{Duration, Instant};

/// What a folder may hold that is no part of a result.
const OWN: [&str; 6] = [
    "report.html",
    "picture-holiday.png",
    "part-of-my-novel.vtp",
    "lines.csv",
    "summary.json",
    "notes.txt",
];

#[test]
fn files_of_the_user_are_never_touched() {
    let bench = Bench::new(PLATES);
    fs::create_dir(bench.path("mine")).unwrap();
    for name in OWN {
        bench.write(&format!("mine/{name}"), b"mine");
    }
    for job in [PLATES.into(), format!("{PLATES}[save]\nwhere = \"mine\"\n")] {
        bench.write("job.toml", job.as_bytes());
        let mut run = vec!["run", "job.toml"];
        if job == PLATES {
            run.extend(["--out", "mine"]);
        }
        let done = bench.ionfall(&run);
        assert_eq!(done.status.code(), Some(2), "{}", said(&done));
        for word in ["`lines.csv`", "--out", "move these files away"] {
            assert!(said(&done).contains(word), "{}", said(&done));
        }
        for name in OWN {
            assert_eq!(
                fs::read(bench.path(&format!("mine/{name}"))).unwrap(),
                b"mine"
            );
        }
        assert_eq!(fs::read_dir(bench.path("mine")).unwrap().count(), OWN.len());
    }
}

#[test]
fn a_job_writes_outside_of_its_folder_only_if_allowed() {
    let bench = Bench::new(PLATES);
    fs::create_dir(bench.path("inner")).unwrap();
    let absolute = bench.path("absolute");
    for folder in ["../outer", absolute.to_str().unwrap(), "x/../../outer"] {
        let job = format!("{PLATES}[save]\nwhere = {folder:?}\n");
        bench.write("inner/job.toml", job.as_bytes());
        let done = bench.ionfall(&["run", "inner/job.toml"]);
        assert_eq!(done.status.code(), Some(2), "{}", said(&done));
        assert!(said(&done).contains("--outside"), "{}", said(&done));
        assert!(!bench.path("outer").exists() && !absolute.exists());
    }
    let done = bench.ionfall(&["run", "inner/job.toml", "--outside"]);
    assert!(done.status.success(), "{}", said(&done));
    assert!(bench.path("outer/summary.json").is_file());
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
    let done = [start(), start()].map(|child| child.wait_with_output().unwrap());
    let mut codes = done.each_ref().map(|d| d.status.code().unwrap());
    codes.sort_unstable();
    assert_eq!(codes, [0, 4], "{} {}", said(&done[0]), said(&done[1]));
    let told = done.iter().find(|d| !d.status.success()).unwrap();
    for word in ["another run", "in use", "--out"] {
        assert!(said(told).contains(word), "{}", said(told));
    }
    assert!(whole(&bench.path("job-result")).is_some());
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

/// Killed at any moment, a run leaves one whole result to whoever looks next: the older or the
/// newer. Hidden folders are gone then.
#[test]
fn whoever_kills_a_run_keeps_one_whole_result() {
    let bench = Bench::new(PLATES);
    let run = ["run", "job.toml", "--plus-minus", "never", "--out", "out"];
    let clock = Instant::now();
    assert!(bench.ionfall(&run).status.success());
    let took = clock.elapsed();
    let mut seen = Vec::new();
    for n in 0..24u32 {
        bench.write(
            "job.toml",
            PLATES.replace("plates", &format!("run {n}")).as_bytes(),
        );
        let mut child = bench.command();
        let child = child.args(run).stdout(Stdio::null()).stderr(Stdio::null());
        let mut child = child.spawn().unwrap();
        // Most moments lie at the end, where files are moved.
        sleep(
            took.mul_f64(0.6 + 0.5 * f64::from(n) / 23.0)
                .min(Duration::from_secs(5)),
        );
        child.kill().unwrap();
        child.wait().unwrap();
        // Reading the folder settles it; there is nothing to compare it with.
        bench.ionfall(&["compare", "out", "out", "--out", "page.html"]);
        let title = whole(&bench.path("out")).unwrap();
        let newest = format!("run {n}");
        let older = seen.last().map_or("plates", String::as_str);
        assert!(title == newest || title == older, "{title}, not {older}");
        seen.push(title);
        let hidden = fs::read_dir(bench.path("out")).unwrap().filter(|e| {
            let name = e.as_ref().unwrap().file_name();
            name.to_str().unwrap().starts_with(".ionfall-") && name != ".ionfall-files.json"
        });
        assert_eq!(hidden.count(), 0);
    }
    bench.write("job.toml", PLATES.as_bytes());
    assert!(bench.ionfall(&run).status.success());
    assert_eq!(whole(&bench.path("out")).unwrap(), "plates");
}
