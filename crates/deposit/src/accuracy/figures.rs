//! The answers that count, and how far off each is.

use crate::outcome::{BodyOutcome, Outcome};
use crate::place::EdgeFigure;
use crate::uncertainty::Uncertainty;
use ionfall_model::Role;

/// What an answer is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Of {
    /// The thinnest place of an electrode.
    Thinnest(usize),
    /// Its thickest places.
    Thickest(usize),
    /// All of a surface, or of the tank.
    Whole,
}

/// An answer.
#[derive(Clone, Debug)]
pub(super) struct Figure {
    /// What it is of.
    pub of: Of,
    /// In words.
    pub words: String,
    /// Its value.
    pub value: f64,
    /// How far it may be off, in the same unit.
    pub off: f64,
}

impl Figure {
    /// How far it may be off, over itself.
    pub fn share(&self) -> f64 {
        self.off / self.value.abs()
    }
}

/// The answers of a run that count and have a plus-minus.
pub(super) fn figures<const D: usize>(
    outcome: &Outcome<D>,
    uncertainty: &Uncertainty,
) -> Vec<Figure> {
    let mut all = Vec::new();
    let mut add = |of: Of, words: &str, value: Option<f64>, off: Option<f64>| {
        if let (Some(value), Some(off)) = (value, off) {
            all.push(Figure {
                of,
                words: words.into(),
                value,
                off,
            });
        }
    };
    let main = uncertainty.main;
    add(Of::Whole, "volts", Some(outcome.voltage_v), main.voltage_v);
    add(
        Of::Whole,
        "amperes",
        Some(outcome.current_a),
        main.current_a,
    );
    let bodies = outcome.bodies.iter().zip(&uncertainty.bodies).enumerate();
    for (e, (body, off)) in bodies.filter(|(_, (body, _))| body.role == Role::Work) {
        let of = |words: &str| format!("{words} of {}", body.name);
        let thickness = off.thickness;
        let mean = body.thickness_m.map(|t| t.mean);
        add(Of::Whole, &of("mean"), mean, thickness.mean_m);
        let thinnest = body.thinnest.map(|p| p.value);
        add(
            Of::Thinnest(e),
            &of("thinnest"),
            thinnest,
            thickness.thinnest_m,
        );
        let (words, value, off) = match settles(body) {
            true => (
                "thickest",
                body.thickest.map(|p| p.value),
                thickness.thickest_m,
            ),
            false => (
                "thickest hundredth",
                body.thickness_m.map(|t| t.p99),
                off.high_m,
            ),
        };
        add(Of::Thickest(e), &of(words), value, off);
    }
    all
}

/// Does the thickest place have a value that finer cells come nearer to?
fn settles(body: &BodyOutcome) -> bool {
    let edge = body.thickest.and_then(|place| place.edge);
    edge.is_none_or(|edge| edge.figure == EdgeFigure::Resolved)
}
