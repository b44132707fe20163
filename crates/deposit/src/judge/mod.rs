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
//! nothing there: what it has to give is told. Where not all is good, [`Advice`] is the way out.

mod advice;
mod answers;
mod metal;
mod sound;
mod supply;
#[cfg(test)]
mod tests;

pub use advice::Advice;
pub use answers::{Answers, Bounds, Standing};
pub use metal::Enough;
pub use sound::Sound;
pub use supply::Able;

use ionfall_model::{Model, Parts};
use serde::{Deserialize, Serialize};

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
    /// What to change, or to try, where it is not good; results of older versions have none.
    #[serde(default)]
    pub change: Option<Advice>,
}

/// Judges the answers of a job.
pub fn judge<const D: usize>(
    model: &Model<Parts<D>>,
    answers: Answers<'_>,
    bounds: Bounds<'_>,
) -> Verdict {
    let metal = metal::judge(model, answers, bounds);
    let sound = sound::judge(model, answers, bounds);
    let supply = supply::judge(model, answers, bounds);
    let told = match supply.state {
        Standing::Unknown => Standing::Good,
        state => state,
    };
    let change = advice::advise(model, answers, &metal, &sound, &supply, bounds.levers);
    Verdict {
        state: metal.state.max(sound.state).max(told),
        metal,
        sound,
        supply,
        change,
    }
}
