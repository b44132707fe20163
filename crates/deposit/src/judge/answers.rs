//! What is judged, how far it may be off, and how a part of it stands.

use crate::levers::Levers;
use crate::outcome::{BodyOutcome, Outcome, SupplyOutcome};
use crate::recess::Still;
use crate::spread::Spread;
use crate::state::Moment;
use crate::uncertainty::{BodyUncertainty, Uncertainty};
use ionfall_model::Role;
use serde::{Deserialize, Serialize};

/// How a part of the verdict stands; the worst is the greatest.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// As wanted, whatever the cells and the bath's figures leave open.
    Good,
    /// It cannot be said.
    #[default]
    Unknown,
    /// As wanted, but not for certain, or not quite as wanted.
    Caution,
    /// Not as wanted.
    Bad,
}

impl Standing {
    /// All, from good to bad.
    pub const ALL: [Self; 4] = [Self::Good, Self::Unknown, Self::Caution, Self::Bad];

    /// In a word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Unknown => "unknown",
            Self::Caution => "caution",
            Self::Bad => "bad",
        }
    }
}

/// What is judged: the answers of a run.
#[derive(Clone, Copy, Debug)]
pub struct Answers<'a> {
    /// The electrodes.
    pub bodies: &'a [BodyOutcome],
    /// The supplies, the main one first.
    pub supplies: &'a [SupplyOutcome],
    /// History of the plan.
    pub moments: &'a [Moment],
    /// When the wanted thickness was reached everywhere, s.
    pub reached_s: Option<f64>,
    /// When it would be at the rates of the end, s, if it was not.
    pub expected_s: Option<f64>,
    /// The answers if the liquid in the recesses stands still, where they differ.
    pub still: Option<&'a Still>,
}

impl<'a> Answers<'a> {
    /// Of a finished run.
    pub fn of<const D: usize>(outcome: &'a Outcome<D>) -> Self {
        Self {
            bodies: &outcome.bodies,
            supplies: &outcome.supplies,
            moments: &outcome.history.moments,
            reached_s: outcome.wish.reached_s,
            expected_s: outcome.wish.expected_s,
            still: outcome.recesses.as_ref().and_then(|r| r.still.as_ref()),
        }
    }

    /// The works, or those of a name.
    pub(super) fn works(self, on: Option<&'a str>) -> impl Iterator<Item = &'a BodyOutcome> {
        let counts = move |b: &&BodyOutcome| on.is_none_or(|name| b.answers_to(name));
        (self.bodies.iter())
            .filter(|b| b.role == Role::Work)
            .filter(counts)
    }
}

/// What is known of how far the answers may be off, and of what changes would make of them.
#[derive(Clone, Copy, Debug, Default)]
pub struct Bounds<'a> {
    /// Plus-minus from coarser grids.
    pub uncertainty: Option<&'a Uncertainty>,
    /// Bands from the bath's figures.
    pub spread: Option<&'a Spread>,
    /// What changes make of the run.
    pub levers: Option<&'a Levers>,
}

impl<'a> Bounds<'a> {
    pub(super) fn body(self, name: &str) -> Option<&'a BodyUncertainty> {
        self.uncertainty?.bodies.iter().find(|b| b.name == name)
    }
}
