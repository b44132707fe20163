//! Runs the binary in a fresh folder.

use std::path::PathBuf;
use std::process::{Command, Output};
use tempfile::TempDir;

/// A fresh folder with a job in it.
pub struct Bench {
    pub folder: TempDir,
}

/// Two plates 100 mm apart in a box of 30 x 30 mm, conductivity 25 S/m, linear cathode.
pub const PLATES: &str = r#"
title = "plates"
[tank]
size = "100 x 30 x 30 mm"
[bath]
kind = "custom"
metal = "Cu"
conductivity = "25 S/m"
[[anode]]
name = "anode"
shape.box = { from = "95 x -5 x -5 mm", to = "105 x 35 x 35 mm" }
[[work]]
name = "plate"
shape.box = { from = "-5 x -5 x -5 mm", to = "5 x 35 x 35 mm" }
law.linear = { resistance = "0.002 ohm m2" }
[supply]
voltage = "1 V"
[plan]
time = "1 h"
[grid]
finest = "4 mm"
"#;

impl Bench {
    pub fn new(job: &str) -> Self {
        let bench = Self {
            folder: tempfile::tempdir().unwrap(),
        };
        bench.write("job.toml", job.as_bytes());
        bench
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn write(&self, name: &str, content: &[u8]) {
        std::fs::write(self.path(name), content).unwrap();
    }

    pub fn ionfall(&self, arguments: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_ionfall"))
            .args(arguments)
            .current_dir(self.folder.path())
            .env("NO_COLOR", "1")
            .output()
            .unwrap()
    }

    /// Runs the job into `out`.
    pub fn run(&self) -> Output {
        self.ionfall(&["run", "job.toml", "--out", "out"])
    }

    /// The run must fail with this code, say these words, not panic and write nothing.
    pub fn refused(&self, code: i32, words: &[&str]) {
        let output = self.run();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(code), "{said}");
        assert!(!said.contains("panicked"), "{said}");
        let flat = said.replace('│', " ");
        let flat = flat.split_whitespace().collect::<Vec<_>>().join(" ");
        for word in words {
            assert!(flat.contains(word), "no \"{word}\" in:\n{said}");
        }
        let left: Vec<_> = std::fs::read_dir(self.path("out"))
            .into_iter()
            .flatten()
            .collect();
        assert!(left.is_empty(), "something was written: {left:?}");
    }
}
