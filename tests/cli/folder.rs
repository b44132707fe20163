//! The folder of results: nobody else's files, and none elsewhere.

use crate::bench::{Bench, PLATES, said};
use ionfall_model::USUAL_BATH_CELLS;
use std::fs;

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

/// The bath of a large result is written where it is asked for, and a note says how.
#[test]
fn a_large_bath_is_written_when_asked_for() {
    let large = include_str!("jobs/strip.toml");
    let bench = Bench::new(large);
    let cells = |out: &str| {
        let summary: serde_json::Value =
            serde_json::from_slice(&fs::read(bench.path(&format!("{out}/summary.json"))).unwrap())
                .unwrap();
        let told = summary["notes"].to_string().contains("--all-files");
        (summary["grid"]["cells"].as_u64().unwrap(), told)
    };
    let run = |out: &str, more: &[&str]| {
        let run = [&["run", "job.toml", "--out", out], more].concat();
        let done = bench.ionfall(&run);
        assert!(done.status.success(), "{}", said(&done));
        (cells(out), bench.path(&format!("{out}/bath.vtu")).exists())
    };
    let ((few, told), written) = run("small", &[]);
    assert!(few <= USUAL_BATH_CELLS as u64 && !told && written, "{few}");
    let sizes = "finest = \"0.1 mm\"\ncoarsest = \"0.1 mm\"";
    let fine = large.replace("finest = \"0.3 mm\"", sizes);
    bench.write("job.toml", fine.as_bytes());
    let ((many, told), written) = run("large", &[]);
    assert!(many > USUAL_BATH_CELLS as u64 && told && !written, "{many}");
    let ((_, told), written) = run("all", &["--all-files"]);
    assert!(!told && written);
    let asked = format!("{fine}\n[save]\nwhat = [\"bath\"]\n");
    bench.write("job.toml", asked.as_bytes());
    let ((_, told), written) = run("asked", &[]);
    assert!(!told && written);
}
