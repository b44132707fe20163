//! `ionfall compare`: finished runs, or jobs that are run first, side by side.

use crate::error::AppError;
use crate::files::put;
use crate::progress::{Telling, part};
use crate::run::{RunOptions, run_job};
use crate::version::VERSION;
use ionfall_report::compare::{Comparison, Run, compare_html};
use ionfall_report::{SUMMARY, settle};
use std::path::{Path, PathBuf};

/// What is compared, and where the page goes.
#[derive(Clone, Debug)]
pub struct CompareOptions {
    /// Folders of results or job files, at least two.
    pub what: Vec<PathBuf>,
    /// The page.
    pub out: PathBuf,
    /// Threads of the runs, 0 for all processors.
    pub threads: usize,
}

/// Reads the results, runs the jobs, writes the page.
///
/// # Errors
/// [`AppError`]; no page is written then.
pub fn compare(options: &CompareOptions, telling: &Telling) -> Result<Comparison, AppError> {
    let mut runs: Vec<Run> = Vec::new();
    let all = options.what.len() as f64;
    for (n, path) in options.what.iter().enumerate() {
        let folder = if path.is_dir() {
            path.clone()
        } else {
            let run = RunOptions {
                threads: options.threads,
                ..RunOptions::default()
            };
            let (from, to) = (n as f64 / all, (n + 1) as f64 / all);
            let own = part(telling, from, to, format!("{}: ", path.display()));
            run_job(path, &run, &own)?.folder
        };
        settle(&folder);
        if !folder.join(SUMMARY).is_file() {
            return Err(AppError::NoResult { folder });
        }
        let name = name(path, &runs);
        runs.push(Run::read(&folder, &name)?);
    }
    let comparison = Comparison { runs };
    let computed = format!(
        "ionfall {VERSION}, from {} finished runs.",
        options.what.len()
    );
    let html = compare_html(&comparison, &computed)?;
    put(&options.out, html.as_bytes())?;
    Ok(comparison)
}

/// What a run is called: its file or folder without what is added to it; different from all others.
fn name(path: &Path, taken: &[Run]) -> String {
    let whole = path.canonicalize().unwrap_or_else(|_| path.into());
    let stem = if path.is_dir() {
        whole.file_name()
    } else {
        whole.file_stem()
    };
    let stem = stem.unwrap_or_default().to_string_lossy();
    let stem = stem.strip_suffix("-result").unwrap_or(&stem).to_owned();
    let is_taken = |name: &str| taken.iter().any(|r| r.name == name);
    let numbered = (2..).map(|n| format!("{stem} ({n})"));
    std::iter::once(stem.clone())
        .chain(numbered)
        .find(|name| !is_taken(name))
        .unwrap_or(stem)
}
