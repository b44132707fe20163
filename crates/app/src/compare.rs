//! `ionfall compare`: finished runs, or jobs that are run first, side by side.

use crate::error::AppError;
use crate::files::put;
use crate::progress::{Telling, part};
use crate::run::{RunOptions, run_job};
use crate::version::VERSION;
use ionfall_report::compare::{Comparison, Prelude, Run, compare_html};
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
    /// What the page tells first.
    pub prelude: Option<Prelude>,
}

/// What came of a comparison.
#[derive(Clone, Debug)]
pub struct Compared {
    /// Those that could be compared, and who failed.
    pub comparison: Comparison,
    /// Exit code: that of the first failure, or 0.
    pub code: u8,
}

/// Reads the results, runs the jobs, writes the page. What fails is named, and the rest is compared.
///
/// # Errors
/// [`AppError`] if fewer than two are left; no page is written then.
pub fn compare(options: &CompareOptions, telling: &Telling) -> Result<Compared, AppError> {
    let mut runs: Vec<Run> = Vec::new();
    let mut failures: Vec<(String, AppError)> = Vec::new();
    for (n, path) in options.what.iter().enumerate() {
        match finished(options, n, telling).and_then(|folder| {
            let name = name(path, &runs);
            Ok(Run::read(&folder, &name)?)
        }) {
            Ok(run) => runs.push(run),
            Err(error) => failures.push((path.display().to_string(), error)),
        }
    }
    if runs.len() < 2 {
        return Err(match failures.len() {
            1 => failures.remove(0).1,
            _ => AppError::NothingToCompare {
                code: failures.first().map_or(2, |(_, e)| e.exit_code()),
                failures: (failures.iter())
                    .map(|(name, error)| format!("{name}: {}", error.in_one_line()))
                    .collect(),
            },
        });
    }
    let code = failures.first().map_or(0, |(_, error)| error.exit_code());
    let failed = failures.into_iter();
    let comparison = Comparison {
        runs,
        failed: failed
            .map(|(name, error)| (name, error.in_one_line()))
            .collect(),
    };
    let computed = format!(
        "ionfall {VERSION}, from {} finished runs.",
        comparison.runs.len()
    );
    let html = compare_html(&comparison, options.prelude.as_ref(), &computed)?;
    put(&options.out, html.as_bytes())?;
    Ok(Compared { comparison, code })
}

/// The folder of results of one of those that are compared; a job is run first.
fn finished(options: &CompareOptions, n: usize, telling: &Telling) -> Result<PathBuf, AppError> {
    let (path, all) = (&options.what[n], options.what.len() as f64);
    let folder = if path.is_dir() {
        path.clone()
    } else {
        let run = RunOptions {
            threads: options.threads,
            ..RunOptions::default()
        };
        let (from, to) = (n as f64 / all, (n + 1) as f64 / all);
        let stem = path.file_stem().unwrap_or_default().to_string_lossy();
        let own = part(telling, from, to, format!("{stem}: "));
        run_job(path, &run, &own)?.folder
    };
    settle(&folder);
    match folder.join(SUMMARY).is_file() {
        true => Ok(folder),
        false => Err(AppError::NoResult { folder }),
    }
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
