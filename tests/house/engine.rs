//! The engine of the live page is committed as it was built: a hash beside it says from which sources.

use crate::root;
use sha2::{Digest, Sha256};
use std::fmt::Write;
use std::fs;
use std::path::Path;

/// Crates in the module.
const CRATES: [&str; 11] = [
    "numerics", "bath", "mesh", "field", "model", "job", "network", "deposit", "report",
    "textbook", "live",
];

fn files_in(folder: &Path, all: &mut Vec<String>) {
    for entry in fs::read_dir(folder).unwrap().flatten() {
        let path = entry.path();
        if path.is_dir() {
            files_in(&path, all);
        } else {
            let path = path.strip_prefix(root()).unwrap();
            all.push(path.to_string_lossy().replace('\\', "/"));
        }
    }
}

/// The hash that `.ci/engine hash` prints: of a line for each file, its hash and its path.
fn sources_hash() -> String {
    let mut all = vec!["Cargo.lock".to_owned()];
    for name in CRATES {
        all.push(format!("crates/{name}/Cargo.toml"));
        files_in(&root().join("crates").join(name).join("src"), &mut all);
    }
    all.retain(|path| path != "crates/live/src/page.rs");
    files_in(&root().join("examples/textbook"), &mut all);
    all.retain(|path| !path.starts_with("examples/") || path.ends_with(".toml"));
    all.sort();
    let mut list = String::new();
    for path in all {
        let content = fs::read(root().join(&path)).unwrap();
        writeln!(list, "{}  {path}", hex(&Sha256::digest(content))).unwrap();
    }
    hex(&Sha256::digest(list))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[test]
fn the_engine_of_the_page_is_made_from_these_sources() {
    let written = fs::read_to_string(root().join("crates/live/engine.sha")).unwrap();
    assert!(
        written.trim() == sources_hash(),
        "crates/live/engine.wasm.gz is older than its sources: build it with .ci/engine"
    );
}

/// A page carries it, over slow lines too.
#[test]
fn the_engine_is_small() {
    let bytes = fs::metadata(root().join("crates/live/engine.wasm.gz"))
        .unwrap()
        .len();
    assert!(bytes < 1_200_000, "{bytes} bytes");
}
