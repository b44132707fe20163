//! The program itself, run in a fresh folder.

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

/// Runs the program with these words in a folder.
pub fn ionfall(folder: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_ionfall"))
        .args(words)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .expect("the program starts")
}

/// The summary of a job that must run.
pub fn summary(job: &str) -> Value {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("job.toml"), job).expect("written");
    let output = ionfall(folder.path(), &["run", "job.toml", "--out", "out"]);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{said}");
    let text = std::fs::read_to_string(folder.path().join("out/summary.json")).expect("a summary");
    serde_json::from_str(&text).expect("JSON")
}

/// The body of a name in a summary.
pub fn body<'a>(summary: &'a Value, name: &str) -> &'a Value {
    let mut bodies = summary["bodies"].as_array().expect("bodies").iter();
    bodies
        .find(|b| b["name"] == name)
        .expect("a body of this name")
}
