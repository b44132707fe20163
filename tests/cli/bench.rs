//! Runs the binary in a fresh folder.

use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;
use tempfile::TempDir;

/// A fresh folder with a job in it.
pub struct Bench {
    folder: TempDir,
}

/// Two plates 90 mm apart in a box of 30 x 30 mm, conductivity 25 S/m, linear cathode.
pub const PLATES: &str = include_str!("jobs/plates.toml");

/// What a file is called, below its folder, and what is in it.
type Files = BTreeMap<PathBuf, Vec<u8>>;

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
        fs::write(self.path(name), content).unwrap();
    }

    /// The program in the folder of the job, ready to be started.
    pub fn command(&self) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_ionfall"));
        command
            .current_dir(self.folder.path())
            .env("NO_COLOR", "1")
            .env_remove("COLUMNS")
            .env_remove("RUST_BACKTRACE");
        command
    }

    pub fn ionfall(&self, arguments: &[&str]) -> Output {
        self.command().args(arguments).output().unwrap()
    }

    /// Runs the job into `out`.
    pub fn run(&self) -> Output {
        self.ionfall(&["run", "job.toml", "--out", "out"])
    }

    /// Runs the job, which must succeed, into `out`; what it printed and its summary.
    pub fn solved(&self) -> (String, Value) {
        let output = self.run();
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        let summary = fs::read_to_string(self.path("out/summary.json")).unwrap();
        let summary = serde_json::from_str(&summary).unwrap();
        (String::from_utf8(output.stdout).unwrap(), summary)
    }

    /// The run must fail with this code, say these words, not panic and write nothing; and again
    /// where an older result lies, which must survive.
    pub fn refused(&self, code: i32, words: &[&str]) {
        self.refused_by(&|| self.run(), code, words);
    }

    /// The same with another way to run into `out`.
    pub fn refused_by(&self, run: &dyn Fn() -> Output, code: i32, words: &[&str]) {
        self.untouched(run, code, words);
        fs::create_dir(self.path("out")).unwrap();
        for (name, content) in older_result() {
            fs::write(self.path("out").join(name), content).unwrap();
        }
        self.untouched(run, code, words);
    }

    fn untouched(&self, run: &dyn Fn() -> Output, code: i32, words: &[&str]) {
        let before = files(self.folder.path());
        let output = run();
        let said = said(&output);
        assert_eq!(output.status.code(), Some(code), "{said}");
        assert!(!said.contains("panicked"), "{said}");
        for word in words {
            assert!(said.contains(word), "no \"{word}\" in:\n{said}");
        }
        let after = files(self.folder.path());
        let names = |files: &Files| files.keys().cloned().collect::<Vec<_>>();
        assert_eq!(names(&after), names(&before));
        assert!(after == before, "a file was changed");
    }
}

/// Standard error as running text, without frames and line breaks.
pub fn said(output: &Output) -> String {
    let said = String::from_utf8_lossy(&output.stderr).replace('│', " ");
    said.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The body of a role in a summary.
pub fn body<'a>(summary: &'a Value, role: &str) -> &'a Value {
    let bodies = summary["bodies"].as_array().unwrap();
    bodies.iter().find(|b| b["role"] == role).unwrap()
}

/// Everything in a folder; folders as entries without content.
fn files(folder: &Path) -> Files {
    let mut found = Files::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = PathBuf::from(path.file_name().unwrap());
        if path.is_dir() {
            found.insert(name.clone(), Vec::new());
            let inside = files(&path).into_iter();
            found.extend(inside.map(|(inner, content)| (name.join(inner), content)));
        } else {
            found.insert(name, fs::read(&path).unwrap());
        }
    }
    found
}

/// The result of [`PLATES`], computed once.
fn older_result() -> &'static Files {
    static RESULT: OnceLock<Files> = OnceLock::new();
    RESULT.get_or_init(|| {
        let bench = Bench::new(PLATES);
        bench.solved();
        files(&bench.path("out"))
    })
}
