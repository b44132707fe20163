//! `ionfall run`: from the job file to the folder of results.

use crate::VERSION;
use crate::checkpoint::Checkpoint;
use crate::error::AppError;
use crate::machine::{memory_limit_bytes, peak_memory_bytes};
use ionfall_deposit::spread::spread;
use ionfall_deposit::{Begin, Go, Outcome, Settings, State, run_from};
use ionfall_field::with_threads;
use ionfall_job::{Geometry, Model, Output, Parts};
use ionfall_report::{
    REPORT, SUMMARY, Staging, Story, Summary, html, text, write_fields, write_pictures,
};
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
    /// Go on from the progress kept in the folder, if there is any.
    pub resume: bool,
    /// Repeat the run with the bath's figures at the ends of their bands.
    pub spread: bool,
    /// Also pictures and a job sheet?
    pub pictures: bool,
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
    let checkpoint = Checkpoint::new(&folder, model.fingerprint);
    let earlier = if options.resume {
        checkpoint.read()?
    } else {
        None
    };
    let begin = earlier.map_or(Begin::Cold, |state| Begin::Resumed(Box::new(state)));
    let work = || match &model.geometry {
        Geometry::Flat(parts) => {
            Run::new(&model, parts, &settings, options, progress).solve(staging, &checkpoint, begin)
        }
        Geometry::Solid(parts) => {
            Run::new(&model, parts, &settings, options, progress).solve(staging, &checkpoint, begin)
        }
    };
    let (summary, files) = with_threads(options.threads, work).map_err(AppError::Threads)??;
    Ok(Finished {
        summary,
        folder,
        files,
    })
}

/// A run in the making.
struct Run<'a, const D: usize> {
    model: &'a Model,
    parts: &'a Parts<D>,
    settings: &'a Settings,
    options: &'a RunOptions,
    progress: &'a (dyn Fn(&str) + Sync),
}

impl<'a, const D: usize> Run<'a, D> {
    fn new(
        model: &'a Model,
        parts: &'a Parts<D>,
        settings: &'a Settings,
        options: &'a RunOptions,
        progress: &'a (dyn Fn(&str) + Sync),
    ) -> Self {
        Self {
            model,
            parts,
            settings,
            options,
            progress,
        }
    }

    /// Computes and writes everything.
    fn solve(
        &self,
        mut staging: Staging,
        checkpoint: &Checkpoint,
        begin: Begin,
    ) -> Result<(Summary, Vec<String>), AppError> {
        let Self {
            model,
            parts,
            settings,
            ..
        } = *self;
        let mut unkept = None;
        let mut keep = |state: &State| {
            if state.step < model.plan.len()
                && let Err(error) = checkpoint.write(state)
            {
                unkept = Some(error);
                return Go::Stop;
            }
            Go::On
        };
        let telling = &mut |_, text: &str| (self.progress)(text);
        let outcome = run_from(model, parts, settings, telling, begin, &mut keep);
        if let Some(error) = unkept {
            return Err(error.into());
        }
        let outcome: Outcome<D> = outcome?;
        let spread = if self.options.spread {
            Some(spread(model, parts, settings, telling, &outcome)?)
        } else {
            None
        };
        (self.progress)("writing the results");
        write_fields(&mut staging, model, parts, &outcome)?;
        let mut summary = Summary::new(model, &outcome, VERSION, peak_memory_bytes());
        summary.spread = spread;
        let report = model.save.what.contains(&Output::Report);
        if report || self.options.pictures {
            (self.progress)("drawing the report");
            let story = Story::new(model, parts, &outcome, &summary);
            if report {
                staging.write(REPORT, html(&story)?.as_bytes())?;
            }
            if self.options.pictures {
                write_pictures(&mut staging, &story)?;
            }
        }
        staging.write(SUMMARY, (json(&summary)? + "\n").as_bytes())?;
        let files = staging.publish()?;
        checkpoint.remove()?;
        Ok((summary, files))
    }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check_job;
    use std::fs;

    const JOB: &str = r#"
title = "strip"
space = "planar"
depth = "100 mm"
[tank]
size = "60 x 40 mm"
[bath]
kind = "acid copper"
agitation = "air"
[[anode]]
shape.rectangle = { from = "4 x 5 mm", to = "8 x 35 mm" }
[[work]]
shape.rectangle = { from = "45 x 10 mm", to = "50 x 30 mm" }
[supply]
mean_current_density = "2 A/dm2"
[plan]
time = "1 h"
[wanted]
thickness = "10 um"
[grid]
finest = "1 mm"
"#;

    fn room(job: &str) -> (tempfile::TempDir, PathBuf) {
        let room = tempfile::tempdir().unwrap();
        let path = room.path().join("strip.toml");
        fs::write(&path, job).unwrap();
        (room, path)
    }

    fn options(out: &Path, threads: usize) -> RunOptions {
        RunOptions {
            out: Some(out.into()),
            threads,
            memory_bytes: None,
            resume: false,
            spread: false,
            pictures: false,
        }
    }

    #[test]
    fn results_do_not_depend_on_the_threads() {
        let (room, path) = room(JOB);
        let tables: Vec<_> = [1, 2]
            .into_iter()
            .map(|threads| {
                let out = room.path().join(threads.to_string());
                let finished = run_job(&path, &options(&out, threads), &|_| ()).unwrap();
                assert_eq!(finished.wish_met(), Some(true));
                assert!(
                    finished.text().contains("10 um wanted"),
                    "{}",
                    finished.text()
                );
                for name in &finished.files {
                    assert!(out.join(name).is_file(), "{name}");
                }
                fs::read(out.join("facets.csv")).unwrap()
            })
            .collect();
        assert!(tables[0] == tables[1]);
    }

    #[test]
    fn the_folder_lies_beside_the_job() {
        let (room, path) = room(JOB);
        let finished = run_job(&path, &RunOptions::default(), &|_| ()).unwrap();
        assert_eq!(finished.folder, room.path().join("strip-result"));
        let summary = fs::read_to_string(finished.folder.join(SUMMARY)).unwrap();
        let summary: serde_json::Value = serde_json::from_str(&summary).unwrap();
        assert_eq!(summary["title"], "strip");
    }

    /// Too much current, too little memory, a folder that cannot be: each with its code, and an
    /// older result survives.
    #[test]
    fn failures_keep_older_results() {
        let (room, path) = room(JOB);
        let out = room.path().join("out");
        run_job(&path, &options(&out, 1), &|_| ()).unwrap();
        let before = fs::read(out.join(SUMMARY)).unwrap();
        let little = RunOptions {
            memory_bytes: Some(1),
            ..options(&out, 1)
        };
        assert_eq!(run_job(&path, &little, &|_| ()).unwrap_err().exit_code(), 4);
        fs::write(&path, JOB.replace("2 A/dm2", "200 A/dm2")).unwrap();
        let error = run_job(&path, &options(&out, 1), &|_| ()).unwrap_err();
        assert_eq!(error.exit_code(), 3);
        assert!(error.to_string().contains("can flow"), "{error}");
        fs::write(&path, JOB.replace("1 h", "1")).unwrap();
        assert_eq!(
            run_job(&path, &options(&out, 1), &|_| ())
                .unwrap_err()
                .exit_code(),
            2
        );
        assert_eq!(fs::read(out.join(SUMMARY)).unwrap(), before);
        fs::write(&path, JOB).unwrap();
        let error = run_job(&path, &options(&path, 1), &|_| ()).unwrap_err();
        assert_eq!(error.exit_code(), 4);
    }

    #[test]
    fn a_check_foretells_the_size() {
        let (room, path) = room(JOB);
        let understood = check_job(&path).unwrap();
        let out = room.path().join("out");
        let cells = run_job(&path, &options(&out, 1), &|_| ())
            .unwrap()
            .summary
            .grid
            .cells as f64;
        // Cells inside the bodies are counted too.
        assert!(
            (0.7..=1.0).contains(&(cells / understood.cells as f64)),
            "{cells} {understood}"
        );
        assert!(understood.to_string().contains("planar, depth 100 mm"));
    }
}
