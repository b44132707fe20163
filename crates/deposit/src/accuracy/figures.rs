//! The answers that count, and how far off each is.

use crate::outcome::{BodyOutcome, Outcome};
use crate::uncertainty::{self, COARSER, Uncertainty, plus_minus};
use ionfall_model::Role;

/// What an answer is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Of {
    /// The volts of the main supply.
    Volts,
    /// Its amperes.
    Amperes,
    /// The mean thickness of an electrode.
    Mean(usize),
    /// Its thinnest place.
    Thinnest(usize),
    /// Its thickest place.
    Thickest(usize),
    /// The thickness that a twentieth of its area exceeds, where the thickest place has no value.
    High(usize),
}

impl Of {
    /// Is it a figure of the whole, which has no place?
    pub fn is_whole(self) -> bool {
        matches!(self, Self::Volts | Self::Amperes | Self::Mean(_))
    }

    /// How such figures converge.
    fn kind(self) -> uncertainty::Figure {
        match self {
            Self::Volts | Self::Amperes | Self::Mean(_) => uncertainty::Figure::Whole,
            Self::Thinnest(_) => uncertainty::Figure::Least,
            Self::Thickest(_) | Self::High(_) => uncertainty::Figure::Most,
        }
    }

    /// Where its plus-minus stands, if it has one.
    fn off(self, found: &mut Uncertainty) -> Option<&mut f64> {
        let bodies = &mut found.bodies;
        match self {
            Self::Volts => found.main.voltage_v.as_mut(),
            Self::Amperes => found.main.current_a.as_mut(),
            Self::Mean(e) => bodies.get_mut(e)?.thickness.mean_m.as_mut(),
            Self::Thinnest(e) => bodies.get_mut(e)?.thickness.thinnest_m.as_mut(),
            Self::Thickest(e) => bodies.get_mut(e)?.thickness.thickest_m.as_mut(),
            Self::High(e) => bodies.get_mut(e)?.high_m.as_mut(),
        }
    }
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
    /// Does it count? Of the thickest place and of what a twentieth exceeds one does.
    pub counts: bool,
}

/// Extremes of a first grid, of which nothing is known, are taken to be off by this share.
const PRESUMED: f64 = 0.3;

impl Figure {
    /// How far it may be off, over itself.
    pub fn share(&self) -> f64 {
        self.off / self.value.abs()
    }

    /// The same with what grids before it, last one first, tell of how far it is off.
    pub fn estimated(self, before: &[Vec<Self>]) -> Self {
        let value = |grid: &Vec<Self>| Some(grid.iter().find(|f| f.of == self.of)?.value);
        let factors = std::iter::successors(Some(COARSER), |factor| Some(factor * COARSER));
        let others: Vec<_> = (factors.zip(before.iter().take(2).map_while(value))).collect();
        let presumed = if self.of.is_whole() { 0.0 } else { PRESUMED };
        Self {
            off: plus_minus(self.of.kind(), self.value, &others)
                .unwrap_or(presumed * self.value.abs()),
            ..self
        }
    }

    /// The same with its plus-minus, and that with what was known of it where that is more: to end at the first grid that
    /// looks sharp would be to believe in luck. It does not count where it has none.
    pub fn proven(self, known: f64, found: &mut Uncertainty) -> Self {
        let Some(off) = self.of.off(found) else {
            return Self {
                counts: false,
                ..self
            };
        };
        *off = off.max(known);
        Self { off: *off, ..self }
    }
}

/// The answers of a run that count.
pub(super) fn figures<const D: usize>(outcome: &Outcome<D>) -> Vec<Figure> {
    let mut all = Vec::new();
    let mut add = |of: Of, words: String, value: Option<f64>, counts: bool| {
        all.extend(value.map(|value| Figure {
            of,
            words,
            value,
            off: 0.0,
            counts,
        }));
    };
    add(Of::Volts, "volts".into(), Some(outcome.voltage_v), true);
    add(Of::Amperes, "amperes".into(), Some(outcome.current_a), true);
    let works = outcome.bodies.iter().enumerate();
    for (e, body) in works.filter(|(_, body)| body.role == Role::Work) {
        let words = |words: &str| format!("{words} of {}", body.name);
        let spread = body.thickness_m;
        add(Of::Mean(e), words("mean"), spread.map(|t| t.mean), true);
        add(
            Of::Thinnest(e),
            words("thinnest"),
            body.thinnest.map(|p| p.value),
            true,
        );
        let settles = settles(body);
        let thickest = body.thickest.map(|p| p.value);
        add(Of::Thickest(e), words("thickest"), thickest, settles);
        let high = spread.map(|t| t.p95);
        add(Of::High(e), words("thickest twentieth"), high, !settles);
    }
    all
}

/// Has the thickest place a value that finer cells come nearer to soon? At an edge it may have none, or one that only
/// cells much smaller than the rest show.
fn settles(body: &BodyOutcome) -> bool {
    body.thickest.is_some_and(|place| place.edge.is_none())
}
