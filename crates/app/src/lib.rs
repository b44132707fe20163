//! The command line of ionfall: arguments, progress, exit codes. The work is done elsewhere.
//!
//! ```text
//! args -+-> run     (job, deposit, report) --> words or JSON --> exit code
//!      +-> check   (job, mesh)
//!      +-> bath    (job, bath)
//!      +-> trials   (run, with other values)
//!      +-> improve  (run, with values it searches for)
//!      +-> compare (run, results side by side)
//!      +-> page    (live)
//!      \-> textbook
//! ```
//! [`run_job`], [`check_job`], [`run_trials`], [`improve()`] and [`compare()`] are what the commands do, for use by tests and programs.
//!
//! ```
//! let job = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/plaque/plaque.toml");
//! let understood = ionfall_app::check_job(job.as_ref())?;
//! assert!(understood.cells > 1000, "{}", understood.cells);
//! # Ok::<(), ionfall_app::AppError>(())
//! ```

mod args;
mod bath;
mod check;
mod checkpoint;
mod compare;
mod error;
mod files;
mod improve;
mod keys;
mod machine;
mod manual;
mod page;
mod progress;
mod run;
mod terminal;
mod textbook;
mod trials;
mod version;

pub use check::{Understood, check_job};
pub use compare::{CompareOptions, Compared, compare};
pub use error::{AppError, CheckpointError};
pub use improve::{Goal, ImproveError, ImproveOptions, Improved, improve};
pub use progress::{Telling, Told, silent};
pub use run::{Cells, Finished, PlusMinus, RunOptions, run_job};
pub use trials::{TrialsOptions, Tried, ValuesError, run_trials};

use args::{Args, Command};
use clap::Parser;
use ionfall_report::Look;
use progress::Bar;
use serde::Serialize;
use std::io::{self, Write};
use std::process::ExitCode;
use terminal::look;

/// Parses the arguments, runs the command, and turns its outcome into an exit code.
pub fn main() -> ExitCode {
    match obey(Args::parse()) {
        Ok(code) => code.into(),
        Err(error) => {
            let code = error.exit_code();
            // Nobody is left to be told if this fails too.
            let _ = writeln!(io::stderr(), "{:?}", miette::Report::new(error));
            code.into()
        }
    }
}

/// Runs a command; gives its exit code.
fn obey(args: Args) -> Result<u8, AppError> {
    let Some(command) = args.command else {
        return say(args::HELLO).map(|()| 0);
    };
    match command {
        Command::Check { job, json } => {
            let understood = check_job(&job)?;
            answer(json, &understood, || understood.to_string())?;
        }
        Command::Bath(asked) if asked.name.is_none() && asked.composition.is_none() => {
            let list = bath::Known::all();
            answer(asked.json, &list, || list.to_string())?;
        }
        Command::Bath(asked) => {
            let sheet = bath::show(&asked)?;
            answer(asked.json, &sheet, || sheet.to_string())?;
        }
        Command::Page(asked) => {
            say(&page::write_page(asked.job.as_deref(), &asked.out)?)?;
        }
        Command::Textbook(asked) => {
            let found = shown(|telling| textbook::answer(&asked, telling))?;
            say(&found.text)?;
            return Ok(u8::from(!found.passed));
        }
        Command::Run(asked) => {
            let finished = shown(|telling| run_job(&asked.job, &asked.options(), telling))?;
            let job = asked.job.display().to_string();
            let look = Look {
                safety: asked.safety,
                job: &job,
                ..look()
            };
            answer(asked.json, &finished.summary, || finished.text(look))?;
            return Ok(u8::from(asked.strict && finished.wish_met() == Some(false)));
        }
        Command::Trials(asked) => {
            let options = asked.options();
            let tried = shown(|telling| run_trials(&asked.job, &options, telling))?;
            let words = || tried.text(&options, look());
            answer(asked.json, &tried.trials.json(), words)?;
            return Ok(tried.exit_code());
        }
        Command::Improve(asked) => {
            let options = asked.options();
            let improved = shown(|telling| improve(&asked.job, &options, telling))?;
            answer(asked.json, &improved.json(), || improved.text(look()))?;
            return Ok(improved.exit_code());
        }
        Command::Compare(asked) => {
            let options = asked.options();
            let Compared { comparison, code } = shown(|telling| compare(&options, telling))?;
            let page = options.out.display();
            let text = || format!("{}\nPage: {page}\n", comparison.text(look()));
            answer(asked.json, &comparison.json(), text)?;
            return Ok(code);
        }
        Command::Keys { word, json } => {
            let found = keys::found(word.as_deref());
            answer(json, &found, || keys::text(&found, word.as_deref()))?;
        }
        Command::Schema => say(&(files::json(&ionfall_job::schema())? + "\n"))?,
        Command::Completions { shell } => say(&manual::completions(shell))?,
        Command::Man { out: Some(folder) } => say(&manual::write_pages(&folder)?)?,
        Command::Man { out: None } => say(&manual::page()?)?,
    }
    Ok(0)
}

/// Does work under a bar, which is gone before anything is printed.
fn shown<T>(work: impl FnOnce(&Telling) -> Result<T, AppError>) -> Result<T, AppError> {
    let bar = Bar::new();
    work(&bar.telling())
}

/// Prints a value as one JSON document, or in words.
fn answer(
    json: bool,
    value: &impl Serialize,
    words: impl FnOnce() -> String,
) -> Result<(), AppError> {
    say(&if json {
        files::json(value)? + "\n"
    } else {
        words()
    })
}

/// Prints; a reader that has gone away is no error.
fn say(text: &str) -> Result<(), AppError> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(AppError::Output(error)),
        _ => Ok(()),
    }
}
