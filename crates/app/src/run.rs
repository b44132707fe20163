//! `ionfall run`: from the job file to the folder of results.

use crate::VERSION;
use crate::error::AppError;
use crate::machine::{memory_limit_bytes, peak_memory_bytes};
use ionfall_deposit::{Outcome, Settings, run};
use ionfall_field::with_threads;
use ionfall_job::{Geometry, Model, Parts};
use ionfall_report::{SUMMARY, Staging, Summary, text, write_fields};
use serde::Serialize;
use std::io;
use std::path::{Path, PathBuf};

/// How to run.
#[derive(Clone, Debug, Default)]
pub struct RunOptions {
    /// Folder of results; else the job's own, else one beside the job.
    pub out: Option<PathBuf>,
    /// Number of threads, 0 for all processors.
    pub threads: usize,
    /// Memory the run may take, bytes; else most of what is free.
    pub memory_bytes: Option<u64>,
}

/// A run whose results are written.
#[derive(Clone, Debug)]
pub struct Finished {
    /// The answers.
    pub summary: Summary,
    /// Where the results lie.
    pub folder: PathBuf,
    /// Names of the files in it.
    pub files: Vec<String>,
}

impl Finished {
    /// The answers in plain words.
    pub fn text(&self) -> String {
        text(&self.summary, &self.folder, &self.files)
    }

    /// Was the wanted thickness met? Nothing if none was asked for; a thickness asked for without
    /// a plating time is not met.
    pub fn wish_met(&self) -> Option<bool> {
        self.summary.wanted.as_ref().map(|w| w.met.unwrap_or(false))
    }
}

/// Computes a job and writes its results. `progress` is told what is being done.
///
/// # Errors
/// [`AppError`]; nothing is written then, and an older result is still there.
pub fn run_job(
    path: &Path,
    options: &RunOptions,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<Finished, AppError> {
    progress("reading the job");
    let model = ionfall_job::read(path)?;
    let folder = folder(path, options, &model);
    // A folder that cannot be written to is found out before the long work, not after it.
    let staging = Staging::open(&folder)?;
    let settings = Settings {
        memory_bytes: options.memory_bytes.unwrap_or_else(memory_limit_bytes),
        ..Settings::default()
    };
    let work = || match &model.geometry {
        Geometry::Flat(parts) => solve(&model, parts, &settings, staging, progress),
        Geometry::Solid(parts) => solve(&model, parts, &settings, staging, progress),
    };
    let (summary, files) = with_threads(options.threads, work).map_err(AppError::Threads)??;
    Ok(Finished {
        summary,
        folder,
        files,
    })
}

fn solve<const D: usize>(
    model: &Model,
    parts: &Parts<D>,
    settings: &Settings,
    mut staging: Staging,
    progress: &(dyn Fn(&str) + Sync),
) -> Result<(Summary, Vec<String>), AppError> {
    let outcome: Outcome<D> = run(model, parts, settings, &mut |_, text| progress(text))?;
    progress("writing the results");
    write_fields(&mut staging, model, parts, &outcome)?;
    let summary = Summary::new(model, &outcome, VERSION, peak_memory_bytes());
    staging.write(SUMMARY, (json(&summary)? + "\n").as_bytes())?;
    let files = staging.publish()?;
    Ok((summary, files))
}

/// As an indented JSON document.
pub(crate) fn json(value: &impl Serialize) -> Result<String, AppError> {
    serde_json::to_string_pretty(value).map_err(|e| AppError::Output(io::Error::other(e)))
}

fn folder(path: &Path, options: &RunOptions, model: &Model) -> PathBuf {
    if let Some(out) = &options.out {
        return out.clone();
    }
    let beside = path.parent().unwrap_or(Path::new(""));
    match &model.save.folder {
        Some(folder) => beside.join(folder),
        None => {
            let stem = path.file_stem().unwrap_or_default().to_string_lossy();
            beside.join(format!("{stem}-result"))
        }
    }
}
