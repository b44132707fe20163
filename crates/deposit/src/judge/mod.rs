//! The verdict on a run, in one place: is there enough metal, is it sound, can the supply do it?
//!
//! Each part has its figure `f`, its margin `m` to the threshold `t` (positive on the good side), the
//! plus-minus `e` that the cells leave and the band `[a, b]` that the bath's figures leave:
//!
//! ```text
//! good      f, f - e, f + e, a and b lie on the good side of t
//! caution   some of them do not
//! bad       f lies on the bad side of t by more than e
//! unknown   there is no figure, or nothing was asked
//! ```
//! Two parts differ, for a reason. Metal that is short by less than its plus-minus is too close to
//! call, a caution; a share of the limiting current at which trees grow is bad however wide its
//! plus-minus. A plan that goes on until the wanted thickness is reached has it for certain: there the
//! time is judged, against the longest time the plan allows.
//!
//! The worst part makes the whole. A supply whose limit is not said cannot be judged and counts for
//! nothing there: what it has to give is told.

mod metal;
mod sound;
mod supply;
#[cfg(test)]
mod tests;

pub use metal::Enough;
pub use sound::Sound;
pub use supply::Able;

use crate::outcome::{BodyOutcome, Outcome, SupplyOutcome};
use crate::spread::Spread;
use crate::state::Moment;
use crate::uncertainty::{BodyUncertainty, Uncertainty};
use ionfall_model::{Model, Role};
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

/// The verdict.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Verdict {
    /// The worst of the parts.
    pub state: Standing,
    /// Enough metal?
    pub metal: Enough,
    /// Sound metal?
    pub sound: Sound,
    /// Can the supply do it?
    pub supply: Able,
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
}

impl<'a> Answers<'a> {
    /// Of a finished run.
    pub fn of<const D: usize>(outcome: &'a Outcome<D>) -> Self {
        Self {
            bodies: &outcome.bodies,
            supplies: &outcome.supplies,
            moments: &outcome.moments,
            reached_s: outcome.wish_s,
            expected_s: outcome.wish_expected_s,
        }
    }

    /// The works, or the one of a name.
    fn works(self, on: Option<&'a str>) -> impl Iterator<Item = &'a BodyOutcome> {
        let counts = move |b: &&BodyOutcome| on.is_none_or(|name| name == b.name);
        (self.bodies.iter())
            .filter(|b| b.role == Role::Work)
            .filter(counts)
    }
}

/// What is known of how far the answers may be off.
#[derive(Clone, Copy, Debug, Default)]
pub struct Bounds<'a> {
    /// Plus-minus from coarser grids.
    pub uncertainty: Option<&'a Uncertainty>,
    /// Bands from the bath's figures.
    pub spread: Option<&'a Spread>,
}

impl<'a> Bounds<'a> {
    fn body(self, name: &str) -> Option<&'a BodyUncertainty> {
        self.uncertainty?.bodies.iter().find(|b| b.name == name)
    }
}

/// Judges the answers of a job.
pub fn judge(model: &Model, answers: Answers<'_>, bounds: Bounds<'_>) -> Verdict {
    let metal = metal::judge(model, answers, bounds);
    let sound = sound::judge(model, answers, bounds);
    let supply = supply::judge(model, answers, bounds);
    let told = match supply.state {
        Standing::Unknown => Standing::Good,
        state => state,
    };
    Verdict {
        state: metal.state.max(sound.state).max(told),
        metal,
        sound,
        supply,
    }
}
