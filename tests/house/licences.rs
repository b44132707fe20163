//! Everything that is built in may be passed on with this project.

use serde_json::Value;
use spdx::{Expression, Licensee, ParseMode};
use std::process::Command;

/// Licences whose terms the project keeps by naming them.
const ALLOWED: [&str; 8] = [
    "MIT",
    "Apache-2.0",
    "Unicode-3.0",
    "Zlib",
    "ISC",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "0BSD",
];

/// Packages whose licence is a file alone, and what it says (read by hand).
const READ: [(&str, &str); 1] = [("cobyla", "MIT")];

/// Does an expression leave a way to meet it?
fn is_met(expression: &str) -> bool {
    let allowed = ALLOWED.map(|name| Licensee::parse(name).unwrap());
    Expression::parse_mode(expression, ParseMode::LAX)
        .is_ok_and(|e| e.evaluate(|asked| allowed.iter().any(|l| l.satisfies(asked))))
}

#[test]
fn licences_are_read() {
    assert!(is_met("MIT/Apache-2.0") && is_met("(MIT OR GPL-3.0-only) AND Unicode-3.0"));
    assert!(!is_met("GPL-3.0-only") && !is_met("MIT AND LGPL-2.1-only") && !is_met("none"));
}

#[test]
fn every_dependency_may_be_passed_on() {
    let rustc = Command::new("rustc").arg("-vV").output().unwrap();
    let words = String::from_utf8(rustc.stdout).unwrap();
    let host = words
        .lines()
        .find_map(|l| l.strip_prefix("host: "))
        .unwrap();
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked"])
        .args(["--filter-platform", host])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{told}");
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    let packages = metadata["packages"].as_array().unwrap();
    assert!(packages.len() > 100);
    let read = |p: &Value| READ.iter().find(|(name, _)| p["name"] == *name);
    let licence = |p: &Value| match p["license"].as_str() {
        Some(licence) => Some(licence.to_owned()),
        None => read(p).map(|(_, licence)| (*licence).to_owned()),
    };
    let refused: Vec<String> = (packages.iter())
        .filter(|p| !licence(p).as_deref().is_some_and(is_met))
        .map(|p| format!("{}: {}", p["name"], p["license"]))
        .collect();
    assert!(refused.is_empty(), "{refused:#?}");
}
