//! One case on three grids.
//!
//! The finest grid is that of the job as it stands; on the other two every cell size the job asks
//! for is twice and four times as large.

use crate::case::{Case, Variant};
use crate::compare::{Report, compare};
use crate::error::TextbookError;
use crate::solved::{Answer, FACTORS, Solved};
use ionfall_deposit::uncertainty::scaled;
use ionfall_deposit::{Outcome, Settings};
use ionfall_model::{Known, Model, Parts};
use ionfall_numerics::clock::Stopwatch;
use rayon::prelude::*;
use std::path::Path;

/// The job of a variant.
///
/// # Errors
/// [`TextbookError::Job`].
pub fn model(case: &Case, variant: &Variant) -> Result<Model, TextbookError> {
    let mut text = case.job.to_owned();
    for (from, to) in &variant.changes {
        if !text.contains(from) {
            return Err(TextbookError::Reading {
                case: case.name.into(),
                what: format!("\"{from}\", which is to be changed,"),
            });
        }
        text = text.replace(from, to);
    }
    parse(case, &text)
}

fn parse(case: &Case, text: &str) -> Result<Model, TextbookError> {
    let name = format!("{}.toml", case.name);
    ionfall_job::parse(&name, text, Path::new("")).map_err(|faults| TextbookError::Job {
        case: case.name.into(),
        faults: Box::new(faults),
    })
}

fn solve<const D: usize>(
    case: &Case,
    model: &Model<Parts<D>>,
    factor: f64,
) -> Result<Outcome<D>, TextbookError> {
    let model = scaled(model, factor);
    ionfall_deposit::run(&model, &Settings::default(), &mut ()).map_err(|source| {
        TextbookError::Run {
            case: case.name.into(),
            factor,
            source: Box::new(source),
        }
    })
}

/// A job from its text, on its own grid.
///
/// # Errors
/// [`TextbookError::Job`], [`TextbookError::Run`].
pub fn solve_text(name: &'static str, text: &str) -> Result<Solved, TextbookError> {
    let case = Case::new((name, ""));
    let model = parse(&case, text)?;
    solved(&case, model, 1.0)
}

/// A model on cells `factor` times as large.
fn solved(case: &Case, model: Model, factor: f64) -> Result<Solved, TextbookError> {
    let names = model
        .geometry
        .electrodes()
        .iter()
        .map(|e| (e.name.clone(), e.body));
    Ok(Solved {
        bath: model.bath.clone(),
        names: names.collect(),
        answer: match model.known() {
            Known::Flat(model) => Answer::Flat(Box::new(solve(case, &model, factor)?)),
            Known::Solid(model) => Answer::Solid(Box::new(solve(case, &model, factor)?)),
        },
    })
}

/// Runs a case and compares it.
///
/// # Errors
/// [`TextbookError`].
pub fn run(case: &Case) -> Result<Report, TextbookError> {
    let clock = Stopwatch::start();
    let mut report = Report::new(case);
    for variant in &case.variants {
        add(&mut report, case, variant)?;
    }
    report.seconds = clock.seconds();
    Ok(report)
}

/// Runs one variant of a case and compares it.
///
/// # Errors
/// [`TextbookError`].
pub fn run_variant(case: &Case, variant: &Variant) -> Result<Report, TextbookError> {
    let clock = Stopwatch::start();
    let mut report = Report::new(case);
    add(&mut report, case, variant)?;
    report.seconds = clock.seconds();
    Ok(report)
}

fn add(report: &mut Report, case: &Case, variant: &Variant) -> Result<(), TextbookError> {
    let model = model(case, variant)?;
    let mut grids = Vec::with_capacity(FACTORS.len());
    for factor in FACTORS {
        grids.push(solved(case, model.clone(), factor)?);
    }
    report.add(compare(case, variant, &grids)?);
    Ok(())
}

/// Runs several cases side by side; the reports come in the order of the cases. `done` is told the
/// name of each case that is done.
///
/// # Errors
/// The first [`TextbookError`].
pub fn run_all(
    cases: &[&Case],
    done: &(dyn Fn(&str) + Sync),
) -> Result<Vec<Report>, TextbookError> {
    let one = |case: &&Case| {
        let report = run(case);
        done(case.name);
        report
    };
    cases.par_iter().with_max_len(1).map(one).collect()
}
