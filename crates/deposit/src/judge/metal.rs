//! Enough metal? The thinnest place against the thickness wanted, or the time it takes.

use super::answers::{Answers, Bounds, Standing};
use crate::outcome::BodyOutcome;
use crate::place::{Edge, EdgeFigure, Place};
use crate::state::Moment;
use ionfall_model::{Hold, Model, Step, Until, Wanted};
use serde::{Deserialize, Serialize};

/// Thicknesses that differ by less than this share are the same.
const SAME: f64 = 0.01;

/// Is there enough metal?
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Enough {
    /// How it stands.
    pub state: Standing,
    /// Thickness wanted, m.
    pub wanted_m: Option<f64>,
    /// The work that decides.
    pub on: Option<String>,
    /// The face of it that alone needs the wanted thickness.
    #[serde(default)]
    pub face: Option<String>,
    /// Where its thinnest place is, m.
    pub at_m: Option<[f64; 3]>,
    /// Thickness there, m.
    pub least_m: Option<f64>,
    /// How much more that is than wanted, m.
    pub margin_m: Option<f64>,
    /// Plus-minus of it, m.
    pub plus_minus_m: Option<f64>,
    /// What the bath's figures leave open of it, m.
    pub band_m: Option<[f64; 2]>,
    /// Thickness at the thinnest place if the liquid in the recesses stands still, m, where that is less by more
    /// than the plus-minus.
    #[serde(default)]
    pub still_m: Option<f64>,
    /// What the ammeter of the main supply leaves open of the thickness there, m: its metal goes with the current.
    #[serde(default)]
    pub ammeter_m: Option<f64>,
    /// Share of the works' area that is thinner than wanted.
    pub thinner_share: Option<f64>,
    /// When all is, or would be, as thick as wanted, s.
    pub reached_after_s: Option<f64>,
    /// Plus-minus of that time, s.
    pub plus_minus_s: Option<f64>,
    /// Does the plan go on until it is?
    pub until_reached: bool,
    /// How much longer such a plan would go on, s.
    pub margin_s: Option<f64>,
    /// Largest thickness that is allowed, m.
    #[serde(default)]
    pub at_most_m: Option<f64>,
    /// Thickness at the thickest place, m, where a largest one is allowed.
    #[serde(default)]
    pub most_m: Option<f64>,
    /// The work that has it.
    #[serde(default)]
    pub most_on: Option<String>,
    /// Plus-minus of it, m.
    #[serde(default)]
    pub most_plus_minus_m: Option<f64>,
    /// Is it a least value, at an edge?
    #[serde(default)]
    pub most_at_least: bool,
}

impl Enough {
    /// Is the decisive place on the other side of the wanted thickness within its plus-minus?
    pub fn is_too_close(&self) -> bool {
        let (Some(margin_m), Some(off_m)) = (self.margin_m, self.plus_minus_m) else {
            return false;
        };
        !self.until_reached && margin_m.abs() < off_m
    }

    /// Is the thickest place thicker than allowed?
    pub fn is_too_thick(&self) -> bool {
        let over = |(at_most_m, most_m): (f64, f64)| most_m > at_most_m;
        self.at_most_m.zip(self.most_m).is_some_and(over)
    }

    /// Is no place too thick? Good where no largest thickness is given.
    pub fn not_too_thick(&self) -> Standing {
        let Some((at_most_m, most_m)) = self.at_most_m.zip(self.most_m) else {
            return Standing::Good;
        };
        let off_m = self.most_plus_minus_m.unwrap_or(0.0);
        match most_m - at_most_m {
            over if over > off_m => Standing::Bad,
            over if over > -off_m || self.most_at_least => Standing::Caution,
            _ => Standing::Good,
        }
    }

    /// Is the thinnest place thick enough?
    pub fn thick_enough(&self) -> Standing {
        let Some((wanted_m, margin_m)) = self.wanted_m.zip(self.margin_m) else {
            return Standing::Unknown;
        };
        if self.until_reached {
            let late = |margin_s: f64| margin_s < self.plus_minus_s.unwrap_or(0.0);
            let short = self.still_m.is_some_and(|still_m| still_m < wanted_m);
            return if short || self.margin_s.is_some_and(late) {
                Standing::Caution
            } else {
                Standing::Good
            };
        }
        let by_meter = |m: f64| margin_m >= 0.0 && margin_m < m;
        let short_of_band = self.ammeter_m.is_some_and(by_meter)
            || self.band_m.is_some_and(|[low, _]| low < wanted_m)
            || self.still_m.is_some_and(|still_m| still_m < wanted_m);
        match margin_m {
            _ if self.is_too_close() => Standing::Caution,
            margin if margin < 0.0 => Standing::Bad,
            _ if short_of_band => Standing::Caution,
            _ => Standing::Good,
        }
    }
}

pub(super) fn judge<G>(model: &Model<G>, answers: Answers<'_>, bounds: Bounds<'_>) -> Enough {
    let Some(wanted) = &model.wanted else {
        return Enough::default();
    };
    let off = |b: &BodyOutcome| bounds.body(&b.name).and_then(|o| o.thickness.thinnest_m);
    let places = answers
        .works(wanted.on.as_deref())
        .filter_map(|b| Some((b, b.thinnest?)));
    // Where all are thick enough, the one decides that may be thinnest.
    let least = |(b, at): &(&BodyOutcome, Place)| match at.value {
        value if value < wanted.thickness_m => value - wanted.thickness_m,
        value => (value - off(b).unwrap_or(0.0) - wanted.thickness_m).max(0.0),
    };
    let thinnest = places.min_by(|a, b| {
        let by_value = || a.1.value.total_cmp(&b.1.value);
        least(a).total_cmp(&least(b)).then_with(by_value)
    });
    let mut enough = Enough {
        wanted_m: Some(wanted.thickness_m),
        ..Enough::default()
    };
    let Some((body, at)) = thinnest else {
        return enough;
    };
    let least_m = at.value;
    let spread = bounds.spread.map(|s| s.bodies.iter());
    let band = spread.and_then(|mut all| all.find(|b| b.name == body.name));
    let step = waiting(&model.plan, wanted).filter(|_| least_m >= wanted.thickness_m);
    enough = Enough {
        on: Some(body.name.clone()),
        face: wanted.face.as_ref().map(|face| face.name.clone()),
        at_m: Some(at.at_m),
        least_m: Some(least_m),
        margin_m: Some(least_m - wanted.thickness_m),
        plus_minus_m: off(body),
        band_m: band.map(|b| b.thickness.thinnest_m),
        still_m: still(answers, wanted, least_m, off(body)),
        ammeter_m: ammeter_share(model).map(|share| share * least_m),
        thinner_share: thinner(answers, wanted),
        reached_after_s: answers.reached_s.or(answers.expected_s),
        plus_minus_s: bounds.uncertainty.and_then(|u| u.wish_s),
        until_reached: step.is_some() && answers.reached_s.is_some(),
        ..enough
    };
    if let (Some(n), Some(reached_s)) = (step, answers.reached_s) {
        let end_s = begin_s(answers.moments, n) + model.plan[n].at_most_s;
        enough.margin_s = Some(end_s - reached_s);
    }
    if let (Some(at_most_m), Some((body, at))) = (wanted.at_most_m, thickest(answers, wanted)) {
        // Without kinetics a sharp edge has no finite value.
        let resolved = |edge: &Edge| edge.figure == EdgeFigure::Resolved;
        enough.at_most_m = Some(at_most_m);
        enough.most_m = Some(at.value);
        enough.most_on = Some(body.name.clone());
        enough.most_plus_minus_m = bounds.body(&body.name).and_then(|o| o.thickness.thickest_m);
        enough.most_at_least = at.edge.as_ref().is_some_and(|edge| !resolved(edge));
    }
    enough.state = enough.thick_enough().max(enough.not_too_thick());
    enough
}

/// By what share the current that the main supply holds may be off; nothing where it holds a voltage.
pub(super) fn ammeter_share<G>(model: &Model<G>) -> Option<f64> {
    let main = model.supplies.first()?;
    let holds_current = !matches!(main.hold, Hold::Voltage(_));
    main.ammeter_share.filter(|_| holds_current)
}

/// The thickest place of the works of a wish.
fn thickest<'a>(answers: Answers<'a>, wanted: &'a Wanted) -> Option<(&'a BodyOutcome, Place)> {
    let works = answers.works(wanted.on.as_deref());
    let places = works.filter_map(|b| Some((b, b.thickest?)));
    places.max_by(|a, b| a.1.value.total_cmp(&b.1.value))
}

/// Thickness at the thinnest place if the liquid in the recesses stands still, where that is another answer.
fn still(answers: Answers<'_>, wanted: &Wanted, least_m: f64, off_m: Option<f64>) -> Option<f64> {
    let works = answers.works(wanted.on.as_deref());
    let bodies = works.filter_map(|b| answers.still?.body(&b.name)?.thinnest);
    let still_m = bodies.map(|place| place.value).reduce(f64::min)?;
    let off_m = off_m.unwrap_or(0.0).max(SAME * least_m);
    (still_m < least_m - off_m).then_some(still_m)
}

/// The step that goes on until the wish is met, if there is one.
fn waiting(plan: &[Step], wanted: &Wanted) -> Option<usize> {
    plan.iter().position(|step| match &step.until {
        Until::LeastThickness(goal_m, on) => {
            *goal_m >= wanted.thickness_m && (on.is_none() || *on == wanted.on)
        }
        Until::Time(_) | Until::Charge(_) | Until::MeanThickness(..) => false,
    })
}

/// When a step began, s.
pub(super) fn begin_s(moments: &[Moment], step: usize) -> f64 {
    let before = moments.iter().rfind(|m| m.step < step);
    before.map_or(0.0, |m| m.time_s)
}

fn thinner(answers: Answers<'_>, wanted: &Wanted) -> Option<f64> {
    let (mut below, mut area) = (0.0, 0.0);
    for body in answers.works(wanted.on.as_deref()) {
        below += body.share_below_wanted? * body.area_m2;
        area += body.area_m2;
    }
    (area > 0.0).then(|| below / area)
}
