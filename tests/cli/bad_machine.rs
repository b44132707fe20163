//! What the machine cannot do: memory, disk, standard output. Exit code 4, nothing half-written.

use crate::bad_input::{WORK_BOX, changed};
use crate::bench::{Bench, PLATES, said};
use std::fs::{self, File};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Refused by `run` and by `check`, and soon: not after the memory has been filled. Gives the
/// size in mm that is suggested.
fn too_large(bench: &Bench) -> Vec<f64> {
    let suggested = [
        &["run", "job.toml", "--out", "out"][..],
        &["check", "job.toml"],
    ]
    .map(|arguments| {
        let clock = Instant::now();
        let mut child = bench
            .command()
            .args(arguments)
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        while child.try_wait().unwrap().is_none() {
            if clock.elapsed() > Duration::from_secs(10) {
                child.kill().unwrap();
                panic!("{arguments:?}: not refused after {:?}", clock.elapsed());
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        let output = child.wait_with_output().unwrap();
        let said = said(&output);
        assert_eq!(output.status.code(), Some(4), "{said}");
        for word in ["need", "MiB are allowed", "make the finest size larger"] {
            assert!(said.contains(word), "{said}");
        }
        let (_, rest) = said.split_once("(about ").unwrap();
        let (size, _) = rest.split_once(" mm would fit").unwrap();
        size.parse().unwrap()
    });
    assert!(!bench.path("out").exists());
    suggested.into()
}

#[test]
fn a_grid_larger_than_the_memory() {
    for mm in too_large(&changed("\"4 mm\"", "\"0.001 mm\"")) {
        // Between the size asked for and that of the plates.
        assert!(mm > 0.001 && mm < 4.0, "{mm}");
    }
}

/// Cells of a region, or along edges, that fill the memory of a process with 2 GB of it: the key to change is
/// named.
#[cfg(unix)]
#[test]
fn a_region_or_edges_larger_than_the_memory() {
    let region = "[[grid.region]]\nshape.box = { from = \"0 x 0 x 0 mm\", to = \"100 x 30 x 30 mm\" }\nfinest = \"0.01 mm\"\n";
    let inner = "shape.box = { from = \"40 x 10 x 10 mm\", to = \"50 x 20 x 20 mm\" }";
    let edges = PLATES.replace(WORK_BOX, inner) + "edge = \"0.0002 mm\"\n";
    for (job, word) in [
        (format!("{PLATES}{region}"), "cells of a [[grid.region]]"),
        (edges, "`edge` in [grid] or of a body"),
    ] {
        let bench = Bench::new(&job);
        for arguments in ["run job.toml --out out", "check job.toml"] {
            let clock = Instant::now();
            let output = Command::new("sh")
                .arg("-c")
                .arg(format!("ulimit -v 2000000; exec \"$0\" {arguments}"))
                .arg(env!("CARGO_BIN_EXE_ionfall"))
                .current_dir(bench.path(""))
                .output()
                .unwrap();
            let said = said(&output);
            assert_eq!(output.status.code(), Some(4), "{said}");
            for word in [word, "MiB are allowed: make them larger"] {
                assert!(said.contains(word), "no {word:?} in:\n{said}");
            }
            let took = clock.elapsed();
            assert!(took < Duration::from_secs(10), "{arguments}: {took:?}");
        }
        assert!(!bench.path("out").exists());
    }
}

/// A limit on the size of files stops the writing halfway, as a full disk does.
#[cfg(unix)]
#[test]
fn a_disk_that_fills_up() {
    let bench = Bench::new(PLATES);
    let run = || {
        Command::new("sh")
            .arg("-c")
            // Blocks of 512 bytes; the signal is ignored, so that writing fails instead.
            .arg("trap '' XFSZ; ulimit -f 8; exec \"$0\" run job.toml --out out")
            .arg(env!("CARGO_BIN_EXE_ionfall"))
            .current_dir(bench.path(""))
            .output()
            .unwrap()
    };
    let words = [
        "the results were not written",
        "cannot write out/",
        "make room on the disk",
        "--out",
    ];
    bench.refused_by(&run, 4, &words);
}

#[test]
fn a_file_where_the_folder_should_be() {
    let bench = Bench::new(PLATES);
    bench.write("mine", b"mine");
    for out in ["mine", "mine/deeper"] {
        let output = bench.ionfall(&["run", "job.toml", "--out", out]);
        assert_eq!(output.status.code(), Some(4), "{}", said(&output));
        for word in [&format!("cannot write {out}"), "--out"] {
            assert!(said(&output).contains(word), "{}", said(&output));
        }
    }
    assert_eq!(fs::read(bench.path("mine")).unwrap(), b"mine");
}

#[cfg(target_os = "linux")]
#[test]
fn an_answer_that_cannot_be_printed() {
    let bench = Bench::new(PLATES);
    let full = || File::options().write(true).open("/dev/full").unwrap();
    for arguments in [
        &["check", "job.toml"][..],
        &["run", "job.toml", "--out", "out", "--json"],
    ] {
        let output = bench.command().args(arguments).stdout(full()).output();
        let output = output.unwrap();
        assert_eq!(output.status.code(), Some(4), "{}", said(&output));
        assert!(said(&output).contains("cannot print the answer"));
    }
}
