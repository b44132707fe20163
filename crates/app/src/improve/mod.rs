//! `ionfall improve`: what to change in a job, found by the program.
//!
//! ```text
//! asked    --free to ranges (free), choices, currents     goal, limit   what for, and what must not be exceeded
//! search   which cases are asked for                      tell          improve.csv, improve.json, words
//! ```
//! Case 1 is the job as it stands; all others begin from its potentials, as in trials, and are kept in
//! the same kind of files. In the end each free key of the best case is put back to what it was, one at a
//! time: what is lost by that is what the key is worth. Start and best are then run as `ionfall run` does
//! it, with their plus-minus; a gain below it is called none. The answer is a job.

mod asked;
mod choice;
mod error;
mod free;
mod front;
mod gain;
mod goal;
mod limit;
mod options;
mod path;
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
use crate::run::{Cells, PlusMinus, RunOptions, beside, run_job, settings};
use crate::trials::{Bench, Case, Grids, Store, model_of};
use crate::version::VERSION;
use asked::{Asked, Item};
use ionfall_deposit::{Nearby, Settings};
use ionfall_field::with_threads;
use ionfall_job::{JobError, touching, with_values};
use limit::Limit;
use search::{Found, Search};
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use tell::{Worth, write};

/// Share of the whole time that the search takes in the progress that is shown.
const SEARCHING: f64 = 0.7;

/// The job that is improved, and where its cases are kept.
struct Bed<'a> {
    asked: &'a Asked,
    job: PathBuf,
    text: String,
    folder: PathBuf,
    store: Store,
    settings: Settings,
    grids: Grids,
    users: HashMap<u64, usize>,
    /// Fingerprint of the job as it stands, and of its case.
    first: u64,
    first_case: u64,
    /// The potentials of case 1, once they are asked for: nothing if it has left none.
    start: OnceLock<Option<Arc<Nearby>>>,
    /// Bodies that have room in common in the job as it stands.
    touching: Vec<[String; 2]>,
}

impl Bed<'_> {
    fn text_with(&self, values: &[String]) -> Result<String, AppError> {
        let keys = self.asked.items.iter().map(|item| item.key().to_owned());
        let pairs: Vec<_> = keys.zip(values.iter().cloned()).collect();
        Ok(with_values(&self.text, &pairs)?)
    }

    /// The figures of a case, from its file or computed now.
    fn case(&self, number: usize, values: &[String], currents: bool) -> Result<Found, AppError> {
        let text = self.text_with(values);
        let model = match text.and_then(|text| model_of(&self.job, number, &text)) {
            Ok(model) => model,
            Err(error) => return Ok(Err(error.in_one_line())),
        };
        let mut pairs = touching(&model).into_iter();
        if let Some([a, b]) = pairs.find(|pair| !self.touching.contains(pair)) {
            return Ok(Err(format!("`{a}` and `{b}` are in each other's way")));
        }
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
                    recesses: false,
                    keep: false,
                    currents: self.asked.task.as_ref().filter(|_| currents),
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
            Some(digest) => Ok((digest, kept.currents_a)),
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
        let changes = self.asked.items.iter().zip(values);
        let changes = changes.map(|(item, v)| format!("{} = {v}", item.key()));
        let changes: Vec<String> = changes.collect();
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
    let first = Case::new(1, &base, base.fingerprint);
    for goal in std::iter::once(options.goal).chain(options.against) {
        if goal.wants_a_thickness() && base.wanted.is_none() {
            return Err(ImproveError::NothingWanted.into());
        }
        if goal.wants_a_coat() && !first.coated {
            return Err(ImproveError::NoCoat.into());
        }
        if goal.wants_prices() && base.prices.is_none() {
            return Err(ImproveError::NoPrices.into());
        }
    }
    if options.against == Some(options.goal) {
        return Err(ImproveError::SameGoal.into());
    }
    let text = std::fs::read_to_string(job).map_err(|source| JobError::Read {
        path: job.into(),
        source,
    })?;
    let folder = options
        .out
        .clone()
        .unwrap_or_else(|| beside(job, "improve"));
    let asked = Asked::new(options, &base, &text)?;
    let bed = Bed {
        asked: &asked,
        job: job.into(),
        text,
        store: Store::open(&folder)?,
        folder,
        settings: settings(None),
        grids: Grids::default(),
        // The grid of the job as it stands serves all cases of the same geometry.
        users: HashMap::from([(first.geometry, usize::MAX)]),
        first: base.fingerprint,
        first_case: first.fingerprint,
        start: OnceLock::new(),
        touching: touching(&base),
    };
    let limits = Limit::all(options);
    // What must fail in the end fails before the long work.
    bed.target()?;
    let work = || find(&bed, &limits, options, telling);
    let (search, worth) = with_threads(options.threads, work).map_err(AppError::Threads)??;
    answer(&bed, search, worth, options, telling)
}

/// The search, and what each key of the best case is worth.
fn find<'a>(
    bed: &'a Bed<'_>,
    limits: &'a [Limit],
    options: &ImproveOptions,
    telling: &'a Telling,
) -> Result<(Search<'a>, Vec<Worth>), AppError> {
    let all = options.solves + bed.asked.items.len();
    let ask = move |number: usize, values: &[String], currents: bool| {
        let share = SEARCHING * ((number - 1) as f64 / all as f64).min(1.0);
        tell(
            telling,
            share,
            format!("case {number}: {}", values.join(", ")),
        );
        bed.case(number, values, currents)
    };
    let search = Search::new(bed.asked, options.goal, limits, Box::new(ask));
    let mut search = search.run(options.solves, options.against)?;
    let mut worth = Vec::new();
    if let Some(best) = search.best() {
        let start = search.start();
        let (mut range, mut choice) = (0, 0);
        for (n, item) in bed.asked.items.iter().enumerate() {
            let mut put_back = search.cases[best].spot.clone();
            match item {
                Item::Range(_) => {
                    put_back.shares[range] = start.shares[range];
                    range += 1;
                }
                Item::Choice(_) => {
                    put_back.choices[choice].clone_from(&start.choices[choice]);
                    choice += 1;
                }
                Item::Current(..) => put_back.currents = false,
            }
            let case = search.at(put_back)?;
            let value = |case: usize| &search.cases[case].values[n];
            worth.push(Worth {
                case,
                moved: value(case) != value(best),
            });
        }
    }
    Ok((search, worth))
}

/// Runs start and best in full, and writes what there is to be written.
fn answer(
    bed: &Bed<'_>,
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
                // Both on the same cells.
                cells: Cells::AsWritten,
                ..RunOptions::default()
            };
            results.push(run_job(job, &run, &own)?);
        }
        improved.judge(&results)?;
        let page = CompareOptions {
            what: runs.map(|(_, name)| bed.folder.join(name)).to_vec(),
            out: bed.folder.join("improve.html"),
            threads: options.threads,
            prelude: improved.prelude(),
        };
        compare(&page, telling)?;
        improved.job = Some(path);
    }
    write(&improved, &bed.folder, VERSION)?;
    Ok(improved)
}
