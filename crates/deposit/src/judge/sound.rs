//! Sound metal? The worst share of the limiting current against those from which metal roughens and
//! trees grow (`ionfall_bath::quality`).
//!
//! What the bath's figures leave open of the share `s = i / i_L` is what `--spread` found; else, where
//! the law took its limiting current from the bath, to first order the same current over the ends of
//! its band, at most 1: more than the limit does not flow.
//!
//! ```text
//! [s i_L / i_L,high,  s i_L / i_L,low]
//! ```

use super::answers::{Answers, Bounds, Standing};
use super::metal::ammeter_share;
use crate::place::EdgeFigure;
use ionfall_bath::{Kinetics, Origin, Quality};
use ionfall_model::{Model, Parts};
use serde::{Deserialize, Serialize};

/// Shares that differ by less than this are the same.
const SAME: f64 = 0.01;

/// Is the metal sound, as far as the limiting current goes?
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Sound {
    /// How it stands.
    pub state: Standing,
    /// What to expect at the worst place.
    pub quality: Option<Quality>,
    /// What to expect there at worst, with all that is left open.
    pub quality_at_worst: Option<Quality>,
    /// The cathode with the worst place.
    pub on: Option<String>,
    /// Where that is, m.
    pub at_m: Option<[f64; 3]>,
    /// Share of the limiting current there.
    pub share: Option<f64>,
    /// Is that a least value, at an edge that the cells do not resolve?
    pub at_least: bool,
    /// How far it is under the share from which metal roughens.
    pub margin_share: Option<f64>,
    /// Plus-minus of it.
    pub plus_minus_share: Option<f64>,
    /// The largest share that a place has of its own limit if the liquid in the recesses stands still, where that is
    /// more by more than the plus-minus; 1 where the current could not flow then.
    #[serde(default)]
    pub still_share: Option<f64>,
    /// What the ammeter of the main supply leaves open of it, to first order.
    #[serde(default)]
    pub ammeter_share: Option<f64>,
    /// What the bath's figures leave open of it.
    pub band_share: Option<[f64; 2]>,
    /// What has to be said so that it can be judged, where it cannot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wants: Option<String>,
}

impl Sound {
    /// Largest share that is not ruled out.
    pub(super) fn largest(&self) -> Option<f64> {
        let share = self.share?;
        let meter = self.ammeter_share.unwrap_or(0.0);
        let off = share + self.plus_minus_share.unwrap_or(0.0).max(meter);
        let still = self.still_share.unwrap_or(share);
        Some(
            off.max(still)
                .max(self.band_share.map_or(share, |[_, high]| high)),
        )
    }
}

pub(super) fn judge<const D: usize>(
    model: &Model<Parts<D>>,
    answers: Answers<'_>,
    bounds: Bounds<'_>,
) -> Sound {
    let cathodes = answers.bodies.iter().filter(|b| b.role.is_cathode());
    let places = cathodes.filter_map(|b| Some((b, b.limit_share?)));
    let Some((body, place)) = places.max_by(|a, b| a.1.value.total_cmp(&b.1.value)) else {
        // A law of a program's own may have no limit, whatever the bath knows.
        let own = || "give the law of the work a limiting current".to_owned();
        return Sound {
            wants: Some(model.bath.limit_wants().unwrap_or_else(own)),
            ..Sound::default()
        };
    };
    let share = place.value;
    let mut spread = bounds.spread.into_iter().flat_map(|s| &s.bodies);
    let found = spread.find(|b| b.name == body.name);
    let mut sound = Sound {
        quality: Some(Quality::of(share)),
        on: Some(body.name.clone()),
        at_m: Some(place.at_m),
        share: Some(share),
        at_least: place.edge.is_some_and(|e| e.figure == EdgeFigure::AtLeast),
        margin_share: Some(Quality::Rough.from_share() - share),
        plus_minus_share: bounds.body(&body.name).and_then(|o| o.limit_share),
        ammeter_share: ammeter_share(model).map(|off| off * share),
        band_share: match found.and_then(|b| b.limit_share) {
            Some(band) => Some(band),
            None => first_order(model, &body.name, share),
        },
        ..Sound::default()
    };
    let off = sound.plus_minus_share.unwrap_or(0.0).max(SAME);
    sound.still_share = still(answers).filter(|still| *still > share + off);
    sound.quality_at_worst = sound.largest().map(Quality::of);
    sound.state = match (sound.quality, sound.quality_at_worst) {
        (Some(Quality::Trees), _) => Standing::Bad,
        (Some(Quality::Sound), Some(Quality::Sound)) if !sound.at_least => Standing::Good,
        _ => Standing::Caution,
    };
    sound
}

/// The largest share if the liquid in the recesses stands still.
fn still(answers: Answers<'_>) -> Option<f64> {
    let still = answers.still?;
    let shares = still.bodies.iter().filter_map(|b| b.limit_share);
    let largest = shares.map(|place| place.value).reduce(f64::max);
    still.failure.as_ref().map_or(largest, |_| Some(1.0))
}

/// The share over the band of the limiting current, if the law of that electrode has it from the
/// bath, or the electrode has no polarisation.
fn first_order<const D: usize>(
    model: &Model<Parts<D>>,
    body: &str,
    share: f64,
) -> Option<[f64; 2]> {
    let mut electrodes = model.geometry.electrodes.iter();
    let electrode = electrodes.find(|e| e.name == body)?;
    match &electrode.kinetics {
        Kinetics::Law(law) => law
            .limit()
            .filter(|_| law.limit_from() == Origin::Bath)
            .map(drop),
        Kinetics::Primary => Some(()),
        Kinetics::Own(_) => None,
    }?;
    let limit = model.bath.limiting_current.filter(|l| l.band.is_some())?;
    let [low, high] = limit.factors();
    // Without polarisation nothing keeps the current below the limit.
    let most = match electrode.kinetics {
        Kinetics::Primary => f64::INFINITY,
        _ => share.max(1.0),
    };
    Some([share / high, (share / low).min(most)])
}
