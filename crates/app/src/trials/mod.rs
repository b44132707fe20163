//! `ionfall trials`: one job with other values of some keys.
//!
//! ```text
//! vary   --vary KEY=VALUES to axes              plan   all cases, what is done already
//! case   one case: grid, warm start, figures    store  one small file for each finished case
//! workers   several cases at once within memory    tell   trials.csv, trials.json, trials.html
//! ```
//! **Where cases begin.** Every case begins from the potentials of case 1, whichever others are
//! finished, and case 1 begins cold. Its potentials are kept beside the cases. So the figures of a
//! case are the same to the last bit however the trials are cut up, stopped or spread over machines;
//! the files written in the end hold five digits of them.

mod case;
mod options;
mod plan;
mod store;
mod tell;
mod vary;
mod workers;

pub(crate) use case::{Bench, Grids};
pub use options::TrialsOptions;
pub(crate) use plan::{Case, model_of};
pub(crate) use store::Store;
pub use tell::Tried;
pub use vary::ValuesError;
pub(crate) use vary::quantity;

use crate::error::AppError;
use crate::progress::{Telling, tell};
use crate::run::beside;
use plan::Plan;
use std::path::Path;
use workers::Done;

/// Runs, goes on with, or gathers trials.
///
/// # Errors
/// [`AppError`]; a case that fails is part of the answer.
pub fn run_trials(
    job: &Path,
    options: &TrialsOptions,
    telling: &Telling,
) -> Result<Tried, AppError> {
    let clock = std::time::Instant::now();
    let folder = options.out.clone().unwrap_or_else(|| beside(job, "trials"));
    tell(telling, 0.0, "reading the cases");
    let plan = Plan::new(job, &options.vary)?;
    if let Some(case) = options.case
        && !(1..=plan.cases()).contains(&case)
    {
        return Err(AppError::NoCase {
            case,
            cases: plan.cases(),
        });
    }
    let store = Store::open(&folder)?;
    let shown: Vec<usize> = match options.case {
        Some(case) => vec![case],
        None => (1..=plan.cases()).collect(),
    };
    let cases = workers::read(&plan, &shown);
    let done = if options.merge {
        Done::default()
    } else {
        workers::compute(&plan, &store, &cases, options, telling)?
    };
    let trials = tell::gather(&plan, &store, &shown, &cases);
    let files = match options.case {
        Some(_) => Vec::new(),
        None => tell::write(&trials, &folder)?,
    };
    Ok(Tried {
        folder,
        trials,
        computed: done.computed,
        workers: done.workers,
        seconds: clock.elapsed().as_secs_f64(),
        files,
    })
}
