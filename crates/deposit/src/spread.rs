//! How far the answers may be off because the bath is not known better.
//!
//! The run is repeated on the same grid with one uncertain figure of the bath at a time at either
//! end of its band (`ionfall_bath::spread`), each solve beginning from the potentials of the run in
//! the middle. Effects of different figures are combined as root of the sum of squares.

use crate::error::DepositError;
use crate::observer::{Observer, Stage};
use crate::outcome::{BodyOutcome, Outcome};
use crate::run::{Begin, run_on_grid};
use crate::settings::Settings;
use ionfall_bath::spread::{End, Input, Variation, combined};
use ionfall_model::{Model, Parts, Role};
use serde::Serialize;

/// Lowest and highest value.
pub type Band = [f64; 2];

/// Bands of one cathode.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BodySpread {
    /// Name.
    pub name: String,
    /// Thickness at its thinnest place, m.
    pub thinnest_m: Band,
    /// Mean thickness, m.
    pub mean_m: Band,
    /// Thickness at its thickest place, m.
    pub thickest_m: Band,
    /// Largest share of the limiting current, where there is a limit.
    pub limit_share: Option<Band>,
}

/// What one figure at one end of its band does.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Influence {
    /// The figure.
    pub input: Input,
    /// Which end.
    pub end: End,
    /// Its value over the one in the middle.
    pub factor: f64,
    /// Thickness at the thinnest place of the works, m; nothing if the run failed.
    pub thinnest_m: Option<f64>,
    /// Voltage of the main supply at the end, V.
    pub voltage_v: Option<f64>,
    /// Why the run failed, if it did; the bands do not know of it.
    pub failure: Option<String>,
}

/// Bands of all answers.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Spread {
    /// Works and thieves.
    pub bodies: Vec<BodySpread>,
    /// Voltage of the main supply at the end, V.
    pub voltage_v: Band,
    /// What each figure does.
    pub influences: Vec<Influence>,
}

/// The figures of a run that get a band.
struct Answers {
    voltage_v: f64,
    least_m: f64,
    bodies: Vec<[f64; 4]>,
}

impl Answers {
    fn of<const D: usize>(outcome: &Outcome<D>) -> Self {
        let value = |place: Option<crate::Place>| place.map_or(f64::NAN, |p| p.value);
        let figures = |b: &BodyOutcome| {
            [
                value(b.thinnest),
                b.thickness_m.map_or(f64::NAN, |t| t.mean),
                value(b.thickest),
                value(b.limit_share),
            ]
        };
        let works = outcome.bodies.iter().filter(|b| b.role == Role::Work);
        Self {
            voltage_v: outcome.voltage_v,
            least_m: works
                .map(|b| value(b.thinnest))
                .fold(f64::INFINITY, f64::min),
            bodies: cathodes(outcome).map(figures).collect(),
        }
    }
}

fn cathodes<const D: usize>(outcome: &Outcome<D>) -> impl Iterator<Item = &BodyOutcome> {
    outcome.bodies.iter().filter(|b| b.role.is_cathode())
}

/// Runs the variations around a finished run.
///
/// # Errors
/// Failures of single variations are part of the answer; anything else is an error.
pub fn spread<const D: usize>(
    model: &Model<Parts<D>>,
    settings: &Settings,
    observer: &mut dyn Observer,
    middle: &Outcome<D>,
) -> Result<Spread, DepositError> {
    let base = Answers::of(middle);
    let variations = Variation::set(&model.bath);
    let mut influences = Vec::new();
    let mut found: Vec<(Input, Answers)> = Vec::new();
    for (n, variation) in variations.iter().enumerate() {
        let text = format!(
            "{} times {:.2}: run {} of {}",
            variation.input.text(),
            variation.factor,
            n + 1,
            variations.len()
        );
        observer.begins(Stage::Field, &text);
        let mut varied = model.clone();
        varied.bath = variation.bath(&model.bath);
        for e in &mut varied.geometry.electrodes {
            e.kinetics = variation.kinetics(&e.kinetics);
        }
        let begin = Begin::Warm(middle.solution.potential_v.clone());
        // A failed run would take the grid with it.
        let grid = middle.grid.clone();
        let run = run_on_grid(&varied, grid, settings, begin, &mut ());
        let mut influence = Influence {
            input: variation.input,
            end: variation.end,
            factor: variation.factor,
            thinnest_m: None,
            voltage_v: None,
            failure: None,
        };
        match run {
            Ok(outcome) => {
                let answers = Answers::of(&outcome);
                influence.thinnest_m = Some(answers.least_m).filter(|m| m.is_finite());
                influence.voltage_v = Some(answers.voltage_v);
                found.push((variation.input, answers));
            }
            Err(DepositError::Field(error)) => influence.failure = Some(error.to_string()),
            Err(other) => return Err(other),
        }
        influences.push(influence);
    }
    let band = |middle: f64, of: &dyn Fn(&Answers) -> f64| {
        let ends: Vec<Band> = Input::ALL
            .iter()
            .filter_map(|input| {
                let values = found.iter().filter(|(i, _)| i == input).map(|(_, a)| of(a));
                let (low, high) =
                    values.fold((middle, middle), |(low, high), v| (low.min(v), high.max(v)));
                (low < high).then_some([low, high])
            })
            .collect();
        combined(middle, &ends)
    };
    let bodies = cathodes(middle)
        .enumerate()
        .map(|(n, body)| {
            let figure = |k: usize| band(base.bodies[n][k], &|a: &Answers| a.bodies[n][k]);
            BodySpread {
                name: body.name.clone(),
                thinnest_m: figure(0),
                mean_m: figure(1),
                thickest_m: figure(2),
                limit_share: body.limit_share.map(|_| figure(3)),
            }
        })
        .collect();
    let voltage_v = band(base.voltage_v, &|a| a.voltage_v);
    Ok(Spread {
        bodies,
        voltage_v,
        influences,
    })
}
