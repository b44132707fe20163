//! The command line of ionfall: arguments, progress, exit codes. The work is done elsewhere.
//!
//! ```text
//! args -+-> run     (job, deposit, report) --> words or JSON --> exit code
//!      +-> check   (job, mesh)
//!      +-> bath    (job, bath)
//!      +-> study   (run, with other values)
//!      +-> compare (run, results side by side)
//!      \-> textbook
//! ```
//! [`run_job`], [`check_job`], [`run_study`] and [`compare()`] are what the commands do, for use by tests and programs.
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
mod machine;
mod manual;
mod progress;
mod run;
mod study;
mod textbook;

pub use check::{Understood, check_job};
pub use checkpoint::CheckpointError;
pub use compare::{CompareOptions, compare};
pub use error::AppError;
pub use progress::{Telling, Told, silent};
pub use run::{Finished, PlusMinus, RunOptions, run_job};
pub use study::{Studied, StudyOptions, ValuesError, run_study};

use args::{Args, Command};
use clap::Parser;
use progress::Bar;
use serde::Serialize;
use std::io::{self, Write};
use std::process::ExitCode;

/// Version of the program.
pub(crate) const VERSION: &str = env!("CARGO_PKG_VERSION");

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
    match args.command {
        None => say(args::HELLO).map(|()| 0),
        Some(Command::Check { job, json }) => {
            let understood = check_job(&job)?;
            if json {
                say_json(&understood)?;
            } else {
                say(&understood.to_string())?;
            }
            Ok(0)
        }
        Some(Command::Bath(asked)) => {
            if asked.name.is_none() && asked.composition.is_none() {
                let list = bath::Known::all();
                if asked.json {
                    say_json(&list)?;
                } else {
                    say(&list.to_string())?;
                }
                return Ok(0);
            }
            let sheet = bath::show(&asked)?;
            if asked.json {
                say_json(&sheet)?;
            } else {
                say(&sheet.to_string())?;
            }
            Ok(0)
        }
        Some(Command::Textbook(asked)) => {
            let bar = Bar::new();
            let answer = textbook::answer(&asked, &bar.telling())?;
            drop(bar);
            say(&answer.text)?;
            Ok(u8::from(!answer.passed))
        }
        Some(Command::Run {
            job,
            out,
            json,
            strict,
            threads,
            resume,
            outside,
            spread,
            pictures,
            plus_minus,
        }) => {
            let bar = Bar::new();
            let options = RunOptions {
                out,
                threads: threads.unwrap_or(0),
                outside,
                memory_bytes: None,
                resume,
                spread,
                pictures,
                plus_minus,
            };
            let finished = run_job(&job, &options, &bar.telling())?;
            drop(bar);
            if json {
                say_json(&finished.summary)?;
            } else {
                say(&finished.text())?;
            }
            Ok(u8::from(strict && finished.wish_met() == Some(false)))
        }
        Some(Command::Study(asked)) => {
            let options = asked.options();
            let bar = Bar::new();
            let studied = run_study(&asked.job, &options, &bar.telling())?;
            drop(bar);
            if asked.json {
                say_json(&studied.study.json())?;
            } else {
                say(&studied.text(&options))?;
            }
            Ok(0)
        }
        Some(Command::Compare {
            what,
            out,
            threads,
            json,
        }) => {
            let options = CompareOptions {
                what,
                out: out.unwrap_or_else(|| "compare.html".into()),
                threads: threads.unwrap_or(0),
            };
            let bar = Bar::new();
            let comparison = compare(&options, &bar.telling())?;
            drop(bar);
            if json {
                say_json(&comparison.json())?;
            } else {
                let page = options.out.display();
                say(&format!("{}\nPage: {page}\n", comparison.text()))?;
            }
            Ok(0)
        }
        Some(Command::Completions { shell }) => say(&manual::completions(shell)).map(|()| 0),
        Some(Command::Man { out }) => {
            match out {
                Some(folder) => say(&manual::write_pages(&folder)?)?,
                None => say(&manual::page()?)?,
            }
            Ok(0)
        }
    }
}

/// Prints; a reader that has gone away is no error.
fn say(text: &str) -> Result<(), AppError> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(AppError::Output(error)),
        _ => Ok(()),
    }
}

fn say_json(value: &impl Serialize) -> Result<(), AppError> {
    say(&(run::json(value)? + "\n"))
}
