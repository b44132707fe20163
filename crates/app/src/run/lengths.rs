//! Lengths that the job names, as levers: the job again with each of them a tenth longer and a tenth shorter.
//!
//! Where a shape moves, facets are born and buried, so that the thinnest place jumps by some tenths of a per cent
//! though nothing has changed. Most of what a grid gets wrong it gets wrong in both jobs; how much is left shows on
//! cells [`COARSER`] times as large: of the quotient of both thinnest places the plus-minus is told, from the
//! quotients on both cells, and a change below it is called none.

use crate::error::AppError;
use ionfall_deposit::levers::{Change, Length, Lever, LeverAnswers};
use ionfall_deposit::uncertainty::{COARSER, Figure, plus_minus, scaled};
use ionfall_deposit::{Begin, Nearby, Observer, Outcome, Settings, Stage, run, run_on_grid};
use ionfall_job::unit::Dimension;
use ionfall_job::{JobError, with_values};
use ionfall_mesh::grid::build;
use ionfall_model::{Geometry, Model, NamedFigure, Parts};
use ionfall_numerics::number::significant;
use std::path::Path;
use std::sync::Arc;

/// What lengths are multiplied by.
const FACTORS: [f64; 2] = [1.1, 0.9];
/// Digits of a changed length.
const DIGITS: i32 = 4;

/// A job and its text, and where the files lie that it names.
pub(super) struct Lengths<'a, const D: usize> {
    pub model: &'a Model<Parts<D>>,
    pub settings: &'a Settings,
    pub text: &'a str,
    pub folder: &'a Path,
}

/// The lengths that a job names.
fn lengths<G>(model: &Model<G>) -> impl Iterator<Item = &NamedFigure> {
    let is_length = |f: &&NamedFigure| {
        f.value != 0.0 && Dimension::Length.parse(&format!("1 {}", f.unit)).is_ok()
    };
    model.figures.iter().filter(is_length)
}

/// How many runs they take.
pub(super) fn count<G>(model: &Model<G>) -> usize {
    FACTORS.len() * lengths(model).count()
}

impl<const D: usize> Lengths<'_, D>
where
    Parts<D>: TryFrom<Geometry, Error = Geometry>,
{
    /// Runs the job with each length changed. The observer is told what is changed.
    ///
    /// # Errors
    /// What the machine refuses; a case that cannot be is part of the answer.
    pub fn levers(
        &self,
        outcome: &Outcome<D>,
        observer: &mut dyn Observer,
    ) -> Result<Vec<Lever>, AppError> {
        let all: Vec<Length> = lengths(self.model).flat_map(changed).collect();
        if all.is_empty() {
            return Ok(Vec::new());
        }
        let coated = !self.model.geometry.coats.is_empty();
        let start = (!coated).then(|| Arc::new(Nearby::new(outcome)));
        let now = LeverAnswers::of(outcome);
        let coarse_now = self.on_coarser_cells(self.model);
        let mut levers = Vec::new();
        for length in all {
            observer.begins(Stage::Field, &format!("{} {}", length.name, length.to));
            let begin = start.clone().map_or(Begin::Cold, Begin::Nearby);
            let found = self.with(&length).and_then(|model| {
                let grid = build(&model.geometry.domain, self.settings.memory_bytes)
                    .map_err(AppError::Grid)?;
                let outcome = run_on_grid(&model, grid, self.settings, begin, &mut ())?;
                Ok((LeverAnswers::of(&outcome), self.on_coarser_cells(&model)))
            });
            let (answers, coarse, failure) = match found {
                Ok((answers, coarse)) => (Some(answers), coarse, None),
                Err(error) if error.exit_code() == 4 => return Err(error),
                Err(error) => (None, None, Some(error.in_one_line())),
            };
            let quotient = |from: Option<LeverAnswers>, to: Option<LeverAnswers>| {
                Some(to?.thinnest_m? / from?.thinnest_m?)
            };
            let both = quotient(Some(now), answers).zip(quotient(coarse_now, coarse));
            levers.push(Lever {
                factor: length.to / length.from,
                change: Change::Length(length),
                answers,
                failure,
                first_order: false,
                open_share: both.and_then(|(fine, coarse)| {
                    plus_minus(Figure::Least, fine, &[(COARSER, coarse)])
                }),
            });
        }
        Ok(levers)
    }

    /// The job with a length changed.
    fn with(&self, length: &Length) -> Result<Model<Parts<D>>, AppError> {
        let value = format!("{} {}", length.to, length.unit);
        let text = with_values(self.text, &[(length.name.clone(), value)])?;
        let model = ionfall_job::parse(&length.name, &text, self.folder)
            .map_err(|faults| AppError::Job(JobError::Faults(Box::new(faults))))?;
        // A length does not change how many coordinates a job has.
        Ok(Model::try_from(model).unwrap_or_else(|_| self.model.clone()))
    }

    /// The answers on coarser cells, where those stand the bodies.
    fn on_coarser_cells(&self, model: &Model<Parts<D>>) -> Option<LeverAnswers> {
        let coarse = run(&scaled(model, COARSER), self.settings, &mut ());
        coarse.ok().map(|outcome| LeverAnswers::of(&outcome))
    }
}

fn changed(figure: &NamedFigure) -> impl Iterator<Item = Length> {
    let (name, from, unit) = (figure.name.clone(), figure.value, figure.unit.clone());
    FACTORS.into_iter().map(move |factor| Length {
        name: name.clone(),
        from,
        to: significant(factor * from, DIGITS)
            .parse()
            .unwrap_or(factor * from),
        unit: unit.clone(),
    })
}
