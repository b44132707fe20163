//! From an older result to a newer one at one stroke.
//!
//! The new files and their list are made in a hidden folder. Renaming that folder is the stroke:
//! before it the older result counts, after it the newer one, whatever happens. What is then left
//! to do (removing what only the older list names, moving the new files to their places, the
//! summary last) can be done again from the beginning by whoever comes next, and is.

use super::manifest::{MANIFEST, Manifest, Stamp, is_there};
use super::names::SUMMARY;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// New files in the making.
const UNFINISHED: &str = ".ionfall-unfinished";
/// New files that count.
const FINISHED: &str = ".ionfall-finished";

pub(super) fn unfinished(folder: &Path) -> PathBuf {
    folder.join(UNFINISHED)
}

/// The stroke, and all that follows from it.
pub(super) fn switch(folder: &Path) -> io::Result<()> {
    fs::rename(unfinished(folder), folder.join(FINISHED))?;
    go_on(folder)
}

/// Finishes a switch that was broken off, and removes what was never finished.
pub(super) fn settle(folder: &Path) -> io::Result<()> {
    go_on(folder)?;
    let unfinished = unfinished(folder);
    if is_there(&unfinished) {
        remove(&unfinished)?;
    }
    Ok(())
}

fn go_on(folder: &Path) -> io::Result<()> {
    let finished = folder.join(FINISHED);
    if !fs::symlink_metadata(&finished).is_ok_and(|m| m.is_dir()) {
        return Ok(());
    }
    // Without its list the switch has moved everything else already.
    if is_there(&finished.join(MANIFEST)) {
        let (old, new) = (Manifest::read(folder), Manifest::read(&finished));
        for (name, stamp) in old.files {
            let path = folder.join(&name);
            // The summary goes first, while a new one still waits: a folder that has one is whole.
            let waits = name == SUMMARY && is_there(&finished.join(&name));
            let goes = waits || !new.files.contains_key(&name);
            if goes && is_there(&path) && Stamp::of(&path)? == Some(stamp) {
                fs::remove_file(&path)?;
            }
        }
        let names = new.files.keys().filter(|name| *name != SUMMARY);
        for name in names.map(String::as_str).chain([SUMMARY, MANIFEST]) {
            let from = finished.join(name);
            if is_there(&from) {
                fs::rename(from, folder.join(name))?;
            }
        }
    }
    remove(&finished)
}

fn remove(path: &Path) -> io::Result<()> {
    if fs::symlink_metadata(path)?.is_dir() {
        fs::remove_dir_all(path)
    } else {
        fs::remove_file(path)
    }
}
