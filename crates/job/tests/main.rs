//! Jobs from their text to the model, in one program.

mod bad;
mod bath;
mod good;
mod insoluble;
mod plan;
mod repeats;
mod wanted;
mod words;

use ionfall_job::{Faults, describe, parse};
use ionfall_model::{Geometry, Model, Parts};
use std::path::Path;

/// The model of a job that is right.
fn good(text: &str) -> Model {
    parse("job.toml", text, Path::new("")).unwrap_or_else(|faults| panic!("{}", faults.render()))
}

/// What has a place in a tank.
fn parts(model: &Model) -> &Parts<3> {
    match &model.geometry {
        Geometry::Solid(parts) => parts,
        Geometry::Flat(_) => panic!("a tank"),
    }
}

/// The description, with the areas of the job's grid.
fn told(model: &Model) -> String {
    let survey = model.geometry.survey(8 << 30).expect("a grid");
    describe(model, &survey.areas_m2)
}

/// What is wrong with a job.
#[track_caller]
fn faults(text: &str) -> Faults {
    match parse("job.toml", text, Path::new("")) {
        Ok(_) => panic!("this job is wrong but was taken:\n{text}"),
        Err(faults) => faults,
    }
}

/// A job has exactly one fault, which says this and this way out: its line and column, and all as it is shown.
#[track_caller]
fn the_fault(text: &str, message: &str, help: &str) -> ((usize, usize), String) {
    let faults = faults(text);
    let shown = faults.render();
    assert_eq!(faults.list().len(), 1, "{shown}");
    let fault = &faults.list()[0];
    assert!(fault.message.contains(message), "{shown}");
    let found = fault.help.as_deref().unwrap_or_default();
    assert!(found.contains(help), "{shown}");
    (faults.line_column(fault), shown)
}
