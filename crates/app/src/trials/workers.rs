//! Several cases at once, as many as processors and memory allow.

use super::case::{Bench, Grids};
use super::options::TrialsOptions;
use super::plan::{Case, Plan};
use super::store::Store;
use crate::error::AppError;
use crate::machine::memory_limit_bytes;
use crate::progress::{Telling, tell};
use crate::run::settings;
use ionfall_deposit::Nearby;
use ionfall_field::with_threads;
use ionfall_mesh::grid::{BYTES_PER_CELL, count_cells};
use ionfall_model::Geometry;
use std::collections::HashMap;
use std::num::NonZero;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{available_parallelism, scope};

/// Cases whose grids are counted to know the memory one takes: evenly chosen, and the last.
const COUNTED: usize = 2;

/// What was computed.
#[derive(Debug, Default)]
pub(super) struct Done {
    /// Cases and seconds.
    pub computed: Vec<(usize, f64)>,
    /// Cases at once.
    pub workers: usize,
}

/// A case, or what is wrong with its job.
pub(super) type Read = Result<Case, String>;

/// Reads the jobs of cases, on all processors.
pub(super) fn read(plan: &Plan, numbers: &[usize]) -> Vec<Read> {
    let next = AtomicUsize::new(0);
    let found = Mutex::new(vec![None; numbers.len()]);
    scope(|scope| {
        for _ in 0..processors().min(numbers.len()) {
            scope.spawn(|| {
                loop {
                    let place = next.fetch_add(1, Ordering::Relaxed);
                    let Some(number) = numbers.get(place) else {
                        return;
                    };
                    let case = plan.case(*number);
                    lock(&found)[place] = Some(case);
                }
            });
        }
    });
    let found = found.into_inner().unwrap_or_else(PoisonError::into_inner);
    let unread = || Err("it was not read".to_owned());
    found
        .into_iter()
        .map(|c| c.unwrap_or_else(unread))
        .collect()
}

/// Computes the cases that are not done yet.
///
/// # Errors
/// What the machine refuses; a case that cannot be solved is noted.
pub(super) fn compute(
    plan: &Plan,
    store: &Store,
    cases: &[Read],
    options: &TrialsOptions,
    telling: &Telling,
) -> Result<Done, AppError> {
    let sound: Vec<&Case> = cases.iter().flatten().collect();
    let mut left: Vec<&Case> = sound
        .iter()
        .copied()
        .filter(|c| store.read(c.number, c.fingerprint).is_none())
        .collect();
    let (all, before) = (sound.len(), sound.len() - left.len());
    if left.is_empty() {
        return Ok(Done::default());
    }
    let threads = options.threads.max(1);
    let settings = settings(None);
    let bytes = estimate(plan, &left);
    let room = (memory_limit_bytes() / bytes.max(1)).max(1);
    let at_once = (processors() / threads).max(1);
    let workers = options
        .workers
        .unwrap_or(at_once)
        .min(usize::try_from(room).unwrap_or(1))
        .clamp(1, left.len());
    let mut users: HashMap<u64, usize> = HashMap::new();
    for case in &left {
        *users.entry(case.geometry).or_default() += 1;
    }
    let first = plan.case(1).ok();
    let (mut start, first_now) = match &first {
        Some(first) => known_start(store, first, &left),
        None => (None, false),
    };
    if let Some(first) = first
        .as_ref()
        .filter(|f| first_now && left.iter().all(|c| c.number != f.number))
    {
        *users.entry(first.geometry).or_default() += 1;
    }
    // Cases of one grid after another, so that few grids are held at a time.
    let mut first_of: HashMap<u64, usize> = HashMap::new();
    for case in &left {
        first_of.entry(case.geometry).or_insert(case.number);
    }
    left.sort_by_key(|c| (first_of[&c.geometry], c.number));
    let grids = Grids::default();
    let bench = Bench {
        store,
        grids: &grids,
        settings: &settings,
        users: &users,
        recesses: true,
        keep: options.keep,
        currents: None,
    };
    let mut done = Done {
        computed: Vec::new(),
        workers,
    };
    if let Some(first) = first.filter(|_| first_now) {
        cases_done(telling, before, all, "case 1, from which the others begin");
        let seconds = with_threads(threads * workers, || {
            bench.compute(&first, plan.model(1), None)
        })
        .map_err(AppError::Threads)??;
        done.computed.push((1, seconds));
        left.retain(|c| c.number != 1);
        start = store.read_start(first.fingerprint);
    }
    let start = start.map(Arc::new);
    let shared = Shared {
        next: AtomicUsize::new(0),
        computed: Mutex::new(done.computed),
        failed: Mutex::new(None),
    };
    scope(|scope| {
        for _ in 0..workers.min(left.len()) {
            scope.spawn(|| {
                let work =
                    || shared.work(plan, &bench, &left, start.as_ref(), [before, all], telling);
                if let Err(error) = with_threads(threads, work) {
                    lock(&shared.failed).get_or_insert(AppError::Threads(error));
                }
            });
        }
    });
    if let Some(error) = shared
        .failed
        .into_inner()
        .unwrap_or_else(PoisonError::into_inner)
    {
        return Err(error);
    }
    let computed = shared.computed.into_inner();
    done.computed = computed.unwrap_or_else(PoisonError::into_inner);
    Ok(done)
}

/// The potentials of case 1, if they are kept; and whether case 1 has to be computed now.
fn known_start(store: &Store, first: &Case, left: &[&Case]) -> (Option<Nearby>, bool) {
    if left.iter().all(|c| c.number == 1) {
        return (None, !left.is_empty());
    }
    match store.read(1, first.fingerprint) {
        None => (None, true),
        // Failed, or with coats: the others begin cold.
        Some(kept) if kept.failure.is_some() || first.coated => (None, false),
        Some(_) => {
            let start = store.read_start(first.fingerprint);
            let missing = start.is_none();
            (start, missing)
        }
    }
}

/// What the workers share.
struct Shared {
    next: AtomicUsize,
    computed: Mutex<Vec<(usize, f64)>>,
    failed: Mutex<Option<AppError>>,
}

impl Shared {
    /// Takes case after case until none is left, or the machine refuses.
    fn work(
        &self,
        plan: &Plan,
        bench: &Bench,
        left: &[&Case],
        start: Option<&Arc<Nearby>>,
        [before, all]: [usize; 2],
        telling: &Telling,
    ) {
        while let Some(case) = left.get(self.next.fetch_add(1, Ordering::Relaxed)) {
            if lock(&self.failed).is_some() {
                return;
            }
            let found = bench.compute(case, plan.model(case.number), start.cloned());
            match found {
                Ok(seconds) => {
                    let mut computed = lock(&self.computed);
                    computed.push((case.number, seconds));
                    let text = format!("case {}", case.number);
                    cases_done(telling, before + computed.len(), all, &text);
                }
                Err(error) => {
                    lock(&self.failed).get_or_insert(error);
                }
            }
        }
    }
}

/// Memory of a case, bytes: the most of some.
fn estimate(plan: &Plan, cases: &[&Case]) -> u64 {
    let step = cases.len().div_ceil(COUNTED).max(1);
    let some = cases.iter().step_by(step).chain(cases.last());
    let mut seen = Vec::new();
    some.filter(|c| {
        let new = !seen.contains(&c.geometry);
        seen.push(c.geometry);
        new
    })
    .filter_map(|case| {
        let model = plan.model(case.number).ok()?;
        // A grid that cannot be is told by the case itself.
        match &model.geometry {
            Geometry::Flat(parts) => count_cells(&parts.domain, u64::MAX).ok(),
            Geometry::Solid(parts) => count_cells(&parts.domain, u64::MAX).ok(),
        }
    })
    .max()
    .unwrap_or(0)
        * BYTES_PER_CELL
}

fn cases_done(telling: &Telling, done: usize, all: usize, text: &str) {
    let share = done as f64 / all as f64;
    tell(telling, share, format!("{done} of {all} cases, {text}"));
}

fn processors() -> usize {
    available_parallelism().map_or(1, NonZero::get)
}

fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
