//! `ionfall run`: from the job file to the folder of results.
//!
//! ```text
//! read   the job, and where its results go
//! solve  grid, field, time steps, keeping its progress
//! write  fields, summary, report, pictures: whole or not at all
//! again  on coarser grids; the plus-minus goes into summary, report and pictures
//! ```

mod accuracy;
mod course;
mod date;
mod lengths;
mod options;
mod solve;
mod write;

pub use options::{Cells, PlusMinus, RunOptions};
pub(crate) use write::{Extras, Solved, write};

use crate::checkpoint::Checkpoint;
use crate::error::AppError;
use crate::machine::memory_limit_bytes;
use crate::progress::{Telling, tell};
use ionfall_deposit::{Begin, Settings};
use ionfall_field::with_threads;
use ionfall_model::{Known, Model, Outputs};
use ionfall_report::story::JobText;
use ionfall_report::{Look, Staging, Summary, text};
use solve::Solver;
use std::path::{Component, Path, PathBuf};

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
    pub fn text(&self, look: Look<'_>) -> String {
        text(&self.summary, &self.folder, &self.files, look)
    }

    /// Was the wanted thickness met? Nothing if none was asked for; a thickness asked for without
    /// a plating time is not met.
    pub fn wish_met(&self) -> Option<bool> {
        self.summary
            .wanted
            .as_ref()
            .map(|w| w.came.met.unwrap_or(false))
    }
}

/// Computes a job and writes its results. `telling` is told how far it has come.
///
/// # Errors
/// [`AppError`]; nothing is written then, and an older result is still there, unless only the
/// plus-minus could not be written: then the result is there without it.
pub fn run_job(path: &Path, options: &RunOptions, telling: &Telling) -> Result<Finished, AppError> {
    tell(telling, 0.0, "reading the job");
    let mut model = ionfall_job::read(path)?;
    if options.all_files {
        model.save.what = Outputs::all();
    }
    let folder = match &options.out {
        Some(out) => out.clone(),
        None => result_folder(path, &model, options.outside)?,
    };
    // A folder that cannot be written to is found out before the long work, not after it.
    let staging = Staging::open(&folder)?;
    let settings = settings(options.memory_bytes);
    let checkpoint = Checkpoint::new(&folder, model.fingerprint);
    let earlier = if options.resume {
        checkpoint.read()?
    } else {
        None
    };
    let begin = earlier.map_or(Begin::Cold, |state| Begin::Resumed(Box::new(state)));
    let job = job_text(path, &model);
    let beside = path.parent().unwrap_or(Path::new(""));
    let work = || match model.known() {
        Known::Flat(model) => {
            let solver = Solver::new(&model, &settings, telling, job, beside);
            solver.answer(options, staging, &checkpoint, begin)
        }
        Known::Solid(model) => {
            let solver = Solver::new(&model, &settings, telling, job, beside);
            solver.answer(options, staging, &checkpoint, begin)
        }
    };
    let (summary, files) = with_threads(options.threads, work).map_err(AppError::Threads)??;
    Ok(Finished {
        summary,
        folder,
        files,
    })
}

/// The job as it was written, for the report; without it where it cannot be read once more.
fn job_text(path: &Path, model: &Model) -> Option<JobText> {
    let text = std::fs::read_to_string(path).ok()?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    Some(JobText {
        name: name.into_owned(),
        text,
        fingerprint: model.fingerprint,
        date: date::now(),
    })
}

/// Settings of the solver with a limit of memory, else most of what is free.
pub(crate) fn settings(memory_bytes: Option<u64>) -> Settings {
    Settings {
        memory_bytes: memory_bytes.unwrap_or_else(memory_limit_bytes),
        ..Settings::default()
    }
}

/// Where the results of a job go if nothing else is said: inside the folder of the job, unless the
/// user allows more. (A job may come from anybody.)
fn result_folder(path: &Path, model: &Model, outside: bool) -> Result<PathBuf, AppError> {
    let Some(folder) = &model.save.folder else {
        return Ok(beside(path, "result"));
    };
    let inside = |part| matches!(part, Component::Normal(_) | Component::CurDir);
    if outside || folder.components().all(inside) {
        Ok(path.parent().unwrap_or(Path::new("")).join(folder))
    } else {
        Err(AppError::Outside {
            folder: folder.clone(),
        })
    }
}

/// A folder beside a job, named after it.
pub(crate) fn beside(path: &Path, word: &str) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let folder = path.parent().unwrap_or(Path::new(""));
    folder.join(format!("{stem}-{word}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check_job;
    use crate::progress::silent;
    use ionfall_report::SUMMARY;
    use std::fs;

    const JOB: &str = include_str!("jobs/strip.toml");

    fn room(job: &str) -> (tempfile::TempDir, PathBuf) {
        let room = tempfile::tempdir().unwrap();
        let path = room.path().join("strip.toml");
        fs::write(&path, job).unwrap();
        (room, path)
    }

    fn options(out: &Path, threads: usize) -> RunOptions {
        RunOptions {
            out: Some(out.into()),
            outside: false,
            threads,
            memory_bytes: None,
            resume: false,
            spread: false,
            levers: false,
            all_files: false,
            pictures: false,
            plus_minus: PlusMinus::Never,
            cells: Cells::OfJob,
        }
    }

    #[test]
    fn results_do_not_depend_on_the_threads() {
        let (room, path) = room(JOB);
        let tables: Vec<_> = [1, 2]
            .into_iter()
            .map(|threads| {
                let out = room.path().join(threads.to_string());
                let finished = run_job(&path, &options(&out, threads), &silent()).unwrap();
                assert_eq!(finished.wish_met(), Some(true));
                assert!(
                    finished.text(Look::default()).contains("10 um wanted"),
                    "{}",
                    finished.text(Look::default())
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
        let finished = run_job(&path, &RunOptions::default(), &silent()).unwrap();
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
        run_job(&path, &options(&out, 1), &silent()).unwrap();
        let before = fs::read(out.join(SUMMARY)).unwrap();
        let little = RunOptions {
            memory_bytes: Some(1),
            ..options(&out, 1)
        };
        assert_eq!(
            run_job(&path, &little, &silent()).unwrap_err().exit_code(),
            4
        );
        fs::write(&path, JOB.replace("2 A/dm2", "200 A/dm2")).unwrap();
        let error = run_job(&path, &options(&out, 1), &silent()).unwrap_err();
        assert_eq!(error.exit_code(), 3);
        assert!(error.to_string().contains("can flow"), "{error}");
        fs::write(&path, JOB.replace("1 h", "1")).unwrap();
        assert_eq!(
            run_job(&path, &options(&out, 1), &silent())
                .unwrap_err()
                .exit_code(),
            2
        );
        assert_eq!(fs::read(out.join(SUMMARY)).unwrap(), before);
        fs::write(&path, JOB).unwrap();
        let error = run_job(&path, &options(&path, 1), &silent()).unwrap_err();
        assert_eq!(error.exit_code(), 4);
    }

    /// An accuracy that the memory does not reach ends with the grid that fits, and says so.
    #[test]
    fn an_accuracy_ends_where_the_memory_does() {
        let (room, path) = room(&JOB.replace("finest", "coarsest"));
        let little = RunOptions {
            memory_bytes: Some(30_000 * ionfall_mesh::grid::BYTES_PER_CELL),
            cells: Cells::Within(1e-5),
            ..options(&room.path().join("out"), 1)
        };
        let finished = run_job(&path, &little, &silent()).unwrap();
        let accuracy = finished.summary.beside.accuracy.as_ref().unwrap();
        assert_eq!(accuracy.ending, ionfall_deposit::accuracy::Ending::Memory);
        assert!(accuracy.share().unwrap() > 1e-5);
        assert_eq!(
            accuracy.grids.last().unwrap().cells,
            finished.summary.grid.cells
        );
        let text = finished.text(Look::default());
        assert!(text.contains("the memory is spent"), "{text}");
    }

    /// Tables at times on the way, before any metal too, without surfaces for viewers.
    #[test]
    fn tables_are_saved_on_the_way() {
        let save = "\n[save]\nwhat = [\"facets\"]\nat = [\"0 s\", \"30 min\"]\n";
        let (room, path) = room(&(JOB.to_owned() + save));
        let out = room.path().join("out");
        let finished = run_job(&path, &options(&out, 1), &silent()).unwrap();
        let thickness = |name: &str| -> Vec<f64> {
            assert!(
                finished.files.iter().any(|f| f == name),
                "{:?}",
                finished.files
            );
            let text = fs::read_to_string(out.join(name)).unwrap();
            let head = text.lines().next().unwrap();
            let column = head.split(',').position(|c| c == "thickness_m").unwrap();
            let value = |line: &str| line.split(',').nth(column).unwrap().parse().unwrap();
            text.lines().skip(1).map(value).collect()
        };
        let [none, half, whole] =
            ["facets-0001.csv", "facets-0002.csv", "facets.csv"].map(thickness);
        assert!(none.iter().all(|m| *m == 0.0));
        assert!(whole.iter().any(|m| *m > 0.0));
        // Without coats the rates are constant: half the time, half the metal.
        for (half, whole) in half.iter().zip(&whole) {
            assert!((half - 0.5 * whole).abs() <= 1e-8 * whole.abs());
        }
    }

    /// Without a plan nothing has flowed, not even for a second.
    #[test]
    fn without_a_plan_no_charge_flows() {
        let job = JOB.split_once("[plan]").unwrap();
        let rest = job
            .1
            .split_once("\n[")
            .map_or(String::new(), |(_, rest)| format!("[{rest}"));
        let (room, path) = room(&format!("{}{rest}", job.0));
        let out = room.path().join("out");
        let finished = run_job(&path, &options(&out, 1), &silent()).unwrap();
        let supply = &finished.summary.supplies[0];
        assert!(supply.current_a > 0.0);
        assert_eq!((supply.charge_c, supply.energy_j), (0.0, 0.0));
        let text = finished.text(Look::default());
        assert!(!text.contains("A h"), "{text}");
    }

    #[test]
    fn a_check_foretells_the_size() {
        let (room, path) = room(JOB);
        let understood = check_job(&path).unwrap();
        let out = room.path().join("out");
        let cells = run_job(&path, &options(&out, 1), &silent())
            .unwrap()
            .summary
            .grid
            .cells as f64;
        assert_eq!(cells, understood.cells as f64, "{understood}");
        assert!(understood.to_string().contains("planar, depth 100 mm"));
    }
}
