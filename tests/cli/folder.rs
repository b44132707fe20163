//! The folder of results: nobody else's files, and none elsewhere.

use crate::bench::{Bench, PLATES, said};
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
