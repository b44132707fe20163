//! The shipped jobs, for tests.

use crate::files::Files;
use std::path::{Path, PathBuf};

/// Each job of the examples (but those of the textbook): its name, its text, its files.
pub(crate) fn examples() -> Vec<(String, String, Files)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let folders = std::fs::read_dir(root).unwrap().flatten().map(|e| e.path());
    let mut folders: Vec<PathBuf> = folders
        .filter(|f| f.is_dir() && !f.ends_with("textbook"))
        .collect();
    folders.sort();
    folders.iter().flat_map(|folder| jobs(folder)).collect()
}

fn jobs(folder: &Path) -> Vec<(String, String, Files)> {
    let inside = std::fs::read_dir(folder)
        .unwrap()
        .flatten()
        .map(|e| e.path());
    let mut inside: Vec<PathBuf> = inside.filter(|f| f.is_file()).collect();
    inside.sort();
    let is_job = |f: &&PathBuf| f.extension().is_some_and(|e| e == "toml");
    let job = |path: &PathBuf| {
        let mut files = Files::default();
        for file in inside.iter().filter(|f| !is_job(f)) {
            let name = file.file_name().unwrap().to_string_lossy().into_owned();
            files.put(name, std::fs::read(file).unwrap());
        }
        (
            path.display().to_string(),
            std::fs::read_to_string(path).unwrap(),
            files,
        )
    };
    inside.iter().filter(is_job).map(job).collect()
}
