//! Runs from the model to the answers, in one program: each of its own would be compiled with all below it.

mod anodes;
mod burning;
mod currents;
mod levers;
mod pulses;
mod repeats;
mod sensitivity;
mod supplies;
mod travel;
mod turns;
mod words;

use ionfall_deposit::{DepositError, Outcome, Settings, run};
use ionfall_model::{Geometry, Model, Parts};

/// The model of a planar job.
fn model(text: &str) -> Model<Parts<2>> {
    model_of(text)
}

/// The model of a job of so many coordinates.
fn model_of<const D: usize>(text: &str) -> Model<Parts<D>>
where
    Parts<D>: TryFrom<Geometry, Error = Geometry>,
{
    let model = ionfall_job::parse("job.toml", text, "".as_ref());
    let model = model.unwrap_or_else(|faults| panic!("{}", faults.render()));
    Model::try_from(model).expect("as many coordinates")
}

fn tried<const D: usize>(model: &Model<Parts<D>>) -> Result<Outcome<D>, DepositError> {
    run(model, &Settings::default(), &mut ())
}

fn solved<const D: usize>(model: &Model<Parts<D>>) -> Outcome<D> {
    tried(model).unwrap_or_else(|e| panic!("{e}"))
}
