//! Writing the results of a solved job.

use crate::error::AppError;
use crate::files::json;
use crate::machine::peak_memory_bytes;
use crate::progress::{Telling, tell};
use crate::version::VERSION;
use ionfall_deposit::Outcome;
use ionfall_deposit::accuracy::AccuracyReached;
use ionfall_deposit::levers::Levers;
use ionfall_deposit::spread::Spread;
use ionfall_deposit::uncertainty::Uncertainty;
use ionfall_model::{Model, Output, Parts};
use ionfall_report::story::JobText;
use ionfall_report::{
    Beside, REPORT, ReportError, SUMMARY, Staging, Story, Summary, html, write_fields,
    write_pictures,
};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// What goes with the results beyond what the job asks for.
#[derive(Default)]
pub(crate) struct Extras {
    /// Bands of the answers.
    pub spread: Option<Spread>,
    /// What changes make of the answers.
    pub levers: Option<Levers>,
    /// Plus-minus of the answers, or why there is none; nothing if it was not asked for.
    pub uncertainty: Option<Result<Uncertainty, String>>,
    /// What came of an accuracy that was asked for.
    pub accuracy: Option<AccuracyReached>,
    /// Pictures and a job sheet?
    pub pictures: bool,
    /// The job as it was written.
    pub job: Option<JobText>,
}

/// A job that is solved.
#[derive(Clone, Copy)]
pub(crate) struct Solved<'a, const D: usize> {
    pub model: &'a Model<Parts<D>>,
    pub outcome: &'a Outcome<D>,
}

/// Writes everything, or nothing; gives the summary and the names of the files.
pub(crate) fn write<const D: usize>(
    staging: &mut Staging,
    solved: Solved<'_, D>,
    extras: &Extras,
    telling: &Telling,
) -> Result<(Summary, Vec<String>), AppError> {
    tell(telling, 0.0, "writing the results");
    let (fields, mut summary) = rayon::join(
        || write_fields(staging, solved.model, solved.outcome),
        || write_words(staging, solved, extras),
    );
    fields?;
    write_summary(staging, &mut summary)?;
    Ok((summary, staging.publish()?))
}

/// Writes what says more now than when all was written; the other files stay.
pub(crate) fn rewrite<const D: usize>(
    staging: &mut Staging,
    solved: Solved<'_, D>,
    extras: &Extras,
) -> Result<Summary, AppError> {
    let mut summary = write_words(staging, solved, extras);
    write_summary(staging, &mut summary)?;
    staging.update()?;
    Ok(summary)
}

/// The summary, with the memory that it has taken to get there.
fn write_summary(staging: &Staging, summary: &mut Summary) -> Result<(), AppError> {
    summary.effort.peak_memory_bytes = peak_memory_bytes();
    Ok(staging.write(SUMMARY, (json(summary)? + "\n").as_bytes())?)
}

/// Report and pictures, and the summary that goes with them.
fn write_words<const D: usize>(
    staging: &Staging,
    solved: Solved<'_, D>,
    extras: &Extras,
) -> Summary {
    let (model, outcome) = (solved.model, solved.outcome);
    let uncertainty = extras.uncertainty.as_ref().and_then(|u| u.as_ref().ok());
    let mut summary = Summary::new(model, outcome, VERSION, None).bounded(
        model,
        outcome,
        Beside {
            spread: extras.spread.clone(),
            levers: extras.levers.clone(),
            uncertainty: uncertainty.cloned(),
            accuracy: extras.accuracy.clone(),
        },
    );
    match &extras.uncertainty {
        Some(Ok(uncertainty)) => {
            // A grid that was left out makes the plus-minus a rougher one.
            summary.notes.extend(
                (uncertainty.left_out.iter())
                    .map(|why| format!("plus-minus without a grid: {why}")),
            );
        }
        Some(Err(reason)) => summary.notes.push(reason.clone()),
        None => {}
    }
    if let Err(reason) = draw(staging, solved, extras, &summary) {
        summary.notes.push(reason);
    }
    summary
}

/// Report and pictures. If they cannot be drawn the numbers are still worth their hours: then the
/// reason comes back, and what could be drawn is there.
fn draw<const D: usize>(
    staging: &Staging,
    solved: Solved<'_, D>,
    extras: &Extras,
    summary: &Summary,
) -> Result<(), String> {
    let what = &solved.model.save.what;
    let report = what.hold(Output::Report, solved.outcome.grid.len());
    if !report && !extras.pictures {
        return Ok(());
    }
    let drawing = AssertUnwindSafe(|| -> Result<(), ReportError> {
        let mut story = Story::new(solved.model, solved.outcome, summary);
        story.job.clone_from(&extras.job);
        if report {
            staging.write(REPORT, html(&story)?.as_bytes())?;
        }
        if extras.pictures {
            write_pictures(staging, &story)?;
        }
        Ok(())
    });
    match catch_unwind(drawing) {
        Ok(drawn) => drawn.map_err(|e| format!("not all could be drawn: {e}")),
        Err(_) => Err(
            "not all could be drawn, for a fault in the program: please report the job \
                       with which it happened"
                .into(),
        ),
    }
}
