//! `ionfall improve`: what to change in a job, found by the program.
//!
//! ```text
//! free     --free KEY=FROM..TO to ranges      goal, limit   what for, and what must not be exceeded
//! search   which cases are asked for          tell          improve.csv, improve.json, words
//! ```
//! Case 1 is the job as it stands; all others begin from its potentials, as in trials, and are kept in
//! the same kind of files. In the end each free key of the best case is put back to what it was, one at a
//! time: what is lost by that is what the key is worth. Start and best are then run as `ionfall run` does
//! it, with their plus-minus; a gain below it is called none. The answer is a job.

mod error;
mod free;
mod goal;
mod limit;
mod options;
mod search;
mod tell;

pub use error::ImproveError;
pub use goal::Goal;
pub use options::ImproveOptions;
pub use tell::Improved;

use crate::compare::{CompareOptions, compare};
use crate::error::AppError;
use crate::files::put;
use crate::progress::{Telling, part, tell};
use crate::run::{PlusMinus, RunOptions, beside, run_job, settings};
use crate::trials::{Bench, Case, Grids, Store, model_of};
use crate::version::VERSION;
use free::Free;
use ionfall_deposit::{Nearby, Settings};
use ionfall_field::with_threads;
use ionfall_job::{JobError, value_of, with_values};
use ionfall_report::Digest;
use limit::Limit;
use search::Search;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use tell::{Worth, write};

/// Most free keys: with more, the search needs more cases than anybody waits for.
const MOST_FREE: usize = 6;
/// Share of the whole time that the search takes in the progress that is shown.
const SEARCHING: f64 = 0.7;

/// The job that is improved, and where its cases are kept.
struct Bed {
    job: PathBuf,
    text: String,
    folder: PathBuf,
    keys: Vec<String>,
    store: Store,
    settings: Settings,
    grids: Grids,
    users: HashMap<u64, usize>,
    /// Fingerprint of the job as it stands, and of its case.
    first: u64,
    first_case: u64,
    /// The potentials of case 1, once they are asked for: nothing if it has left none.
    start: OnceLock<Option<Arc<Nearby>>>,
}

impl Bed {
    fn text_with(&self, values: &[String]) -> Result<String, AppError> {
        let pairs: Vec<_> = (self.keys.iter().cloned())
            .zip(values.iter().cloned())
            .collect();
        Ok(with_values(&self.text, &pairs)?)
    }

    /// The figures of a case, from its file or computed now.
    fn case(&self, number: usize, values: &[String]) -> Result<Result<Digest, String>, AppError> {
        let text = self.text_with(values);
        let model = match text.and_then(|text| model_of(&self.job, number, &text)) {
            Ok(model) => model,
            Err(error) => return Ok(Err(error.in_one_line())),
        };
        let case = Case::new(number, &model, self.first);
        let kept = self.store.read(number, case.fingerprint);
        let kept = match kept {
            Some(kept) => Some(kept),
            None => {
                let bench = Bench {
                    store: &self.store,
                    grids: &self.grids,
                    settings: &self.settings,
                    users: &self.users,
                    keep: false,
                };
                let start = match number {
                    1 => None,
                    _ => self.start(),
                };
                bench.compute(&case, Ok(model), start)?;
                self.store.read(number, case.fingerprint)
            }
        };
        let lost = || Err("its file cannot be read".to_owned());
        Ok(kept.map_or_else(lost, |kept| match kept.digest {
            Some(digest) => Ok(digest),
            None => Err(kept.failure.unwrap_or_default()),
        }))
    }

    /// The line that the improved job begins with.
    fn mark(&self) -> String {
        let name = self.job.file_name().unwrap_or_default().to_string_lossy();
        format!("# Improved by ionfall from {name}: ")
    }

    /// Where the improved job goes: beside the job, since there the files lie that it names. A file
    /// of that name that somebody else wrote stays.
    fn target(&self) -> Result<PathBuf, ImproveError> {
        let stem = self.job.file_stem().unwrap_or_default().to_string_lossy();
        let path = self.job.with_file_name(format!("{stem}-improved.toml"));
        let free = match std::fs::read_to_string(&path) {
            Ok(text) => text.starts_with(&self.mark()),
            Err(error) => error.kind() == std::io::ErrorKind::NotFound,
        };
        match free {
            true => Ok(path),
            false => Err(ImproveError::SomebodysFile { path }),
        }
    }

    /// The improved job.
    fn improved(&self, values: &[String]) -> Result<String, AppError> {
        let changes = self.keys.iter().zip(values);
        let changes: Vec<String> = changes.map(|(key, v)| format!("{key} = {v}")).collect();
        let text = self.text_with(values)?;
        Ok(format!("{}{}.\n{text}", self.mark(), changes.join(", ")))
    }

    /// The potentials of case 1, if it has left any.
    fn start(&self) -> Option<Arc<Nearby>> {
        let read = || self.store.read_start(self.first_case).map(Arc::new);
        self.start.get_or_init(read).clone()
    }
}

/// Searches, runs start and best in full, and writes the improved job.
///
/// # Errors
/// [`AppError`]; a case that fails is part of the search, a start that fails is not.
pub fn improve(
    job: &Path,
    options: &ImproveOptions,
    telling: &Telling,
) -> Result<Improved, AppError> {
    tell(telling, 0.0, "reading the job");
    let base = ionfall_job::read(job)?;
    if options.goal.wants_a_thickness() && base.wanted.is_none() {
        return Err(ImproveError::NothingWanted.into());
    }
    if options.goal.wants_prices() && base.prices.is_none() {
        return Err(ImproveError::NoPrices.into());
    }
    let text = std::fs::read_to_string(job).map_err(|source| JobError::Read {
        path: job.into(),
        source,
    })?;
    let folder = options
        .out
        .clone()
        .unwrap_or_else(|| beside(job, "improve"));
    let frees = Free::all(&options.free, |key| value_of(&text, key))?;
    if !(1..=MOST_FREE).contains(&frees.len()) {
        return Err(ImproveError::TooMany { most: MOST_FREE }.into());
    }
    let first = Case::new(1, &base, base.fingerprint);
    let bed = Bed {
        job: job.into(),
        text,
        keys: frees.iter().map(|free| free.key.clone()).collect(),
        store: Store::open(&folder)?,
        folder,
        settings: settings(None),
        grids: Grids::default(),
        // The grid of the job as it stands serves all cases of the same geometry.
        users: HashMap::from([(first.geometry, usize::MAX)]),
        first: base.fingerprint,
        first_case: first.fingerprint,
        start: OnceLock::new(),
    };
    let limits = Limit::all(options);
    // What must fail in the end fails before the long work.
    bed.target()?;
    let work = || find(&bed, &frees, &limits, options, telling);
    let (search, worth) = with_threads(options.threads, work).map_err(AppError::Threads)??;
    answer(&bed, search, worth, options, telling)
}

/// The search, and what each key of the best case is worth.
fn find<'a>(
    bed: &'a Bed,
    frees: &'a [Free],
    limits: &'a [Limit],
    options: &ImproveOptions,
    telling: &'a Telling,
) -> Result<(Search<'a>, Vec<Worth>), AppError> {
    let all = options.solves + frees.len();
    let ask = move |number: usize, values: &[String]| {
        let share = SEARCHING * (number - 1) as f64 / all as f64;
        tell(
            telling,
            share,
            format!("case {number}: {}", values.join(", ")),
        );
        bed.case(number, values)
    };
    let start: Vec<f64> = frees.iter().map(Free::start).collect();
    let search = Search::new(frees, options.goal, limits, Box::new(ask));
    let mut search = search.run(&start, options.solves)?;
    let mut worth = Vec::new();
    if let Some(best) = search.best() {
        let shares = search.cases[best].shares.clone();
        for (n, share) in start.iter().enumerate() {
            let mut put_back = shares.clone();
            put_back[n] = *share;
            let case = search.at(&put_back)?;
            worth.push(Worth {
                case,
                moved: search.cases[case].values != search.cases[best].values,
            });
        }
    }
    Ok((search, worth))
}

/// Runs start and best in full, and writes what there is to be written.
fn answer(
    bed: &Bed,
    search: Search<'_>,
    worth: Vec<Worth>,
    options: &ImproveOptions,
    telling: &Telling,
) -> Result<Improved, AppError> {
    let mut improved = Improved::new(options, search, worth, bed.folder.clone());
    if let Some(best) = improved.best.filter(|best| *best > 0) {
        let path = bed.target()?;
        put(
            &path,
            bed.improved(&improved.cases[best].values)?.as_bytes(),
        )?;
        let runs = [(&bed.job, "before"), (&path, "after")];
        let mut results = Vec::new();
        for (n, (job, name)) in runs.into_iter().enumerate() {
            let from = SEARCHING + (1.0 - SEARCHING) * 0.5 * n as f64;
            let own = part(
                telling,
                from,
                from + 0.5 * (1.0 - SEARCHING),
                format!("{name}: "),
            );
            let run = RunOptions {
                out: Some(bed.folder.join(name)),
                threads: options.threads,
                plus_minus: PlusMinus::Always,
                ..RunOptions::default()
            };
            results.push(run_job(job, &run, &own)?);
        }
        improved.judge(&results)?;
        let page = CompareOptions {
            what: runs.map(|(_, name)| bed.folder.join(name)).to_vec(),
            out: bed.folder.join("improve.html"),
            threads: options.threads,
        };
        compare(&page, telling)?;
        improved.job = Some(path);
    }
    write(&improved, &bed.folder, VERSION)?;
    Ok(improved)
}
