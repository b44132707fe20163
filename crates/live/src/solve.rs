//! The answers of a job, as the report tells them: quickly on cells that are as coarse as is asked for, or all of it.

use crate::coarse::coarse;
use crate::files::Files;
use crate::refusal::Refusal;
use crate::reply::{Told, written};
use ionfall_deposit::cover::covering;
use ionfall_deposit::small::{causes, small_changes};
use ionfall_deposit::still::recesses;
use ionfall_deposit::uncertainty::{Uncertainty, cost, uncertainty, worth_it};
use ionfall_deposit::{Begin, Observer, Outcome, Settings, Stage, run_on_grid};
use ionfall_job::{NamedFiles, parse_with};
use ionfall_mesh::grid::build;
use ionfall_model::{Known, Model, Parts};
use ionfall_numerics::clock::Stopwatch;
use ionfall_report::story::JobText;
use ionfall_report::{Beside, ReportError, Story, Summary, facets, html, shown, small_picture};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

/// How much is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Wish {
    /// The answers of one solve.
    Quick,
    /// All that a run tells.
    Full,
}

/// Memory a solve may take, bytes: what a module can address, less what it holds itself.
const MEMORY_BYTES: u64 = 3 << 30;
/// Name of the job in the report.
const JOB: &str = "job.toml";

/// What the page gets.
#[derive(Serialize)]
struct Answer<'a> {
    story: Box<RawValue>,
    html: Option<String>,
    summary: &'a Summary,
    csv: Option<String>,
    cells: usize,
    seconds: f64,
    picture: String,
}

/// Solves a job on about so many cells at most, or on its own grid.
///
/// # Errors
/// Faults of the text; a job that cannot be solved.
pub(crate) fn solve(
    text: &str,
    files: &Files,
    cells: Option<u64>,
    wish: Wish,
    told: Told,
) -> Result<String, Refusal> {
    let light = files.light();
    let files: &dyn NamedFiles = match wish {
        Wish::Quick => &light,
        Wish::Full => files,
    };
    let model = parse_with(JOB, text, files)?;
    let job = JobText {
        name: JOB.into(),
        text: text.to_owned(),
        fingerprint: model.fingerprint,
        date: String::new(),
    };
    match model.known() {
        Known::Flat(model) => solved(&model, job, cells, wish, told),
        Known::Solid(model) => solved(&model, job, cells, wish, told),
    }
}

/// Told the stages of a solve that takes from one share of the answer to another.
struct Onlooker<'a> {
    told: Told<'a>,
    from: f64,
    to: f64,
}

/// Share of a solve that is the grid's.
const GRID: f64 = 0.4;
/// Power of ten of the solver's tolerance.
const TOLERANCE_POWER: f64 = -10.0;

impl Onlooker<'_> {
    fn tell(&mut self, share: f64, words: &str) {
        (self.told)(self.from + share * (self.to - self.from), words);
    }
}

impl Observer for Onlooker<'_> {
    fn begins(&mut self, stage: Stage, what: &str) {
        let share = match stage {
            Stage::Grid => 0.0,
            Stage::Field => GRID,
            Stage::Time(done) => GRID + done * (1.0 - GRID),
        };
        self.tell(share, what);
    }

    fn imbalance(&mut self, imbalance: f64) {
        let done = (imbalance.log10() / TOLERANCE_POWER).clamp(0.0, 1.0);
        self.tell(GRID + done * (1.0 - GRID), "solving");
    }
}

/// Where the stages of a full answer end, as shares of it: its own solve, recesses and coats, the coarser grids.
const ENDS: [f64; 3] = [0.5, 0.65, 0.9];

fn solved<const D: usize>(
    model: &Model<Parts<D>>,
    job: JobText,
    cells: Option<u64>,
    wish: Wish,
    told: Told,
) -> Result<String, Refusal> {
    let clock = Stopwatch::start();
    let coarse = cells.map(|most| coarse(model, most));
    let model = coarse.as_ref().unwrap_or(model);
    let is_full = wish == Wish::Full;
    let settings = Settings {
        memory_bytes: MEMORY_BYTES,
        causes: match model.wanted {
            Some(_) if is_full => causes(model),
            _ => Vec::new(),
        },
        ..Settings::default()
    };
    let end = if is_full { ENDS[0] } else { 0.95 };
    let mut outcome = own(
        model,
        &settings,
        &mut Onlooker {
            told,
            from: 0.0,
            to: end,
        },
    )?;
    let plus_minus = match is_full {
        true => again(model, &settings, &mut outcome, told)?,
        false => None,
    };
    let seconds = clock.seconds();
    told(if is_full { ENDS[2] } else { 0.95 }, "drawing");
    let (summary, story) = tell(model, &outcome, plus_minus, is_full.then_some(job));
    let drawn = |drawn: Result<String, ReportError>| drawn.map_err(|error| Refusal::of(&error));
    let shown = drawn(shown(&story))?;
    let shown = RawValue::from_string(shown).map_err(|error| Refusal::of(&error))?;
    let (html, csv) = match is_full {
        true => (Some(drawn(html(&story))?), Some(table(model, &outcome)?)),
        false => (None, None),
    };
    written(&Answer {
        story: shown,
        html,
        summary: &summary,
        csv,
        cells: outcome.grid.len(),
        seconds,
        picture: drawn(small_picture(&story))?,
    })
}

fn own<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    onlooker: &mut Onlooker,
) -> Result<Outcome<D>, Refusal> {
    onlooker.begins(Stage::Grid, "laying cells");
    let clock = Stopwatch::start();
    let grid = build(&model.geometry.domain, settings.memory_bytes);
    let grid = grid.map_err(|error| Refusal::of(&error))?;
    let grid_s = clock.seconds();
    onlooker.begins(Stage::Field, &format!("solving {} cells", grid.len()));
    let outcome = run_on_grid(model, grid, settings, Begin::Cold, onlooker);
    let mut outcome = outcome.map_err(|error| Refusal::of(&error))?;
    outcome.grid_s = grid_s;
    Ok(outcome)
}

/// What a run does after its own solve: sheltered places, covers of powder, the plus-minus where it is worth it, or why
/// there is none.
fn again<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    outcome: &mut Outcome<D>,
    told: Told,
) -> Result<Option<Result<Uncertainty, String>>, Refusal> {
    let [from, to, end] = ENDS;
    let onlooker = &mut Onlooker { told, from, to };
    outcome.recesses =
        recesses(model, settings, onlooker, outcome).map_err(|error| Refusal::of(&error))?;
    outcome.covering =
        covering(model, settings, onlooker, outcome).map_err(|error| Refusal::of(&error))?;
    let cells = outcome.grid.len();
    let cost = cost(model, settings, cells).map_err(|error| Refusal::of(&error))?;
    if !worth_it(&cost, cells) {
        return Ok(None);
    }
    let onlooker = &mut Onlooker {
        told: onlooker.told,
        from: to,
        to: end,
    };
    let found = uncertainty(model, settings, outcome, onlooker);
    Ok(Some(
        found.map_err(|reason| format!("no plus-minus: {reason}")),
    ))
}

/// The words of it, as those of a run.
fn tell<const D: usize>(
    model: &Model<Parts<D>>,
    outcome: &Outcome<D>,
    plus_minus: Option<Result<Uncertainty, String>>,
    job: Option<JobText>,
) -> (Summary, Story) {
    let known = plus_minus.as_ref().and_then(|found| found.as_ref().ok());
    let summary = Summary::new(model, outcome, env!("CARGO_PKG_VERSION"), None);
    let asked = job.is_some() && model.wanted.is_some();
    let beside = Beside {
        levers: asked.then(|| small_changes(model, outcome)).flatten(),
        uncertainty: known.cloned(),
        ..Beside::default()
    };
    let mut summary = summary.bounded(model, outcome, beside);
    match &plus_minus {
        Some(Ok(found)) => summary
            .notes
            .extend((found.left_out.iter()).map(|why| format!("plus-minus without a grid: {why}"))),
        Some(Err(reason)) => summary.notes.push(reason.clone()),
        None => {}
    }
    let story = match job {
        Some(_) => Story::new(model, outcome, &summary),
        None => Story::first_screen(model, outcome, &summary),
    };
    (summary, Story { job, ..story })
}

/// The facets as a table.
fn table<const D: usize>(model: &Model<Parts<D>>, outcome: &Outcome<D>) -> Result<String, Refusal> {
    let mut bytes = Vec::new();
    facets(&model.geometry.electrodes, outcome, &mut bytes).map_err(|error| Refusal::of(&error))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
