//! `ionfall textbook`: classic cases, computed against reference values.

use crate::args::TextbookArgs;
use crate::error::AppError;
use crate::files::json;
use crate::progress::{Telling, tell};
use ionfall_field::with_threads;
use ionfall_report::{SUMMARY, Staging};
use ionfall_textbook::{Case, Report, course, draw, list, run_all, shelf, text};
use std::fmt::Write as _;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};

/// What is printed, and whether all quantities are within what is allowed.
pub(crate) struct Answer {
    pub text: String,
    pub passed: bool,
}

/// Lists cases, shows a job, or runs cases.
///
/// # Errors
/// [`AppError`]; nothing is written then.
pub(crate) fn answer(asked: &TextbookArgs, telling: &Telling) -> Result<Answer, AppError> {
    if asked.names == ["course"] {
        return course(asked);
    }
    let cases = shelf::all();
    let chosen: Vec<&Case> = if asked.all {
        cases.iter().collect()
    } else {
        let find = |name: &String| shelf::find(&cases, name);
        asked.names.iter().map(find).collect::<Result<_, _>>()?
    };
    let told = |text: String| Answer { text, passed: true };
    if chosen.is_empty() {
        return Ok(told(if asked.json {
            let names: Vec<_> = cases.iter().map(|c| (c.name, c.told())).collect();
            json(&names)? + "\n"
        } else {
            list(&cases)
        }));
    }
    if asked.job {
        return Ok(told(chosen.iter().map(|c| c.job).collect()));
    }
    // A folder that cannot be written to is found out before the work, not after it.
    let staging = asked.out.as_deref().map(Staging::open).transpose()?;
    tell(telling, 0.0, "running the cases");
    let done = AtomicUsize::new(0);
    let work = || {
        run_all(&chosen, &|name| {
            let done = done.fetch_add(1, Ordering::Relaxed) + 1;
            let share = done as f64 / chosen.len() as f64;
            tell(telling, share, format!("done: {name}"));
        })
    };
    let reports = with_threads(asked.threads.unwrap_or(0), work).map_err(AppError::Threads)??;
    let mut words = if asked.json {
        json(&reports)? + "\n"
    } else {
        text(&reports)
    };
    if let (Some(staging), Some(folder)) = (staging, &asked.out) {
        let files = publish(staging, &chosen, &reports)?;
        if !asked.json {
            let _ = writeln!(words, "{}", written(folder, &files));
        }
    } else if !asked.json {
        words.push_str("The profiles against the exact curves are drawn with --out FOLDER.\n");
    }
    Ok(Answer {
        text: words,
        passed: reports.iter().all(Report::passed),
    })
}

/// The course: answers of its exercises, and its figure.
fn course(asked: &TextbookArgs) -> Result<Answer, AppError> {
    let mut text = if asked.job {
        course::JOBS.iter().map(|(_, job)| *job).collect()
    } else {
        course::words()?
    };
    if let Some(folder) = &asked.out {
        let mut staging = Staging::open(folder)?;
        staging.write("picture-course.svg", course::figure()?.as_bytes())?;
        let _ = writeln!(
            text,
            "Written: {}",
            folder.join(&staging.publish()?[0]).display()
        );
    }
    Ok(Answer { text, passed: true })
}

/// Pictures and rows, all or nothing.
fn publish(
    mut staging: Staging,
    cases: &[&Case],
    reports: &[Report],
) -> Result<Vec<String>, AppError> {
    for (case, report) in cases.iter().zip(reports) {
        for (n, (_, svg)) in draw(case, report).iter().enumerate() {
            let name = if n == 0 {
                format!("picture-{}.svg", case.name)
            } else {
                format!("picture-{}-{}.svg", case.name, n + 1)
            };
            staging.write(&name, svg.as_bytes())?;
        }
    }
    staging.write(SUMMARY, json(&reports)?.as_bytes())?;
    Ok(staging.publish()?)
}

fn written(folder: &Path, files: &[String]) -> String {
    let pictures = files.iter().filter(|f| f.ends_with(".svg")).count();
    format!(
        "Written to {}: {pictures} pictures of the profiles, and the rows in {SUMMARY}.",
        folder.display()
    )
}
