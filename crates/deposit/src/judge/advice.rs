//! What to change where the verdict is not good, or what to try so as to know: one piece of advice, by
//! proportion from the answers at hand.
//!
//! At constant currents metal grows evenly, so what is short after a plan of length `T`, with `h` at
//! the thinnest place, is there after
//!
//! ```text
//! T + (h_needed - h) T_wanted / h,     h_needed = max(h_wanted + plus-minus, h_wanted h / h_low)
//! ```
//! (`h_low` is the lower end of the band of the bath's figures). The share of the limiting current goes
//! with the current: `q = s_rough / s` of it brings the worst place to the share from which metal
//! roughens, in `1 / q` of the time. Where a run knows what less current does ([`Levers`]: the share becomes `s'`, the
//! hours to the wanted thickness `T'` at a factor `f`), the answers are taken to be powers of the current between,
//!
//! ```text
//! q = (s_rough / s)^(1/a),   a = ln(s'/s) / ln f        T_wanted q^b,   b = ln(T'/T) / ln f
//! ```
//! because a smaller current is also a more even one. Where a plan would have to last more than [`MOST`] times as long, or
//! the currents are not constant, evenness is what is missing, and a figure that the job names is to be
//! tried.

use super::answers::{Answers, Standing};
use super::{Able, Enough, Sound};
use crate::levers::{Change, Levers};
use ionfall_bath::Quality;
use ionfall_model::{Hold, Model, NamedFigure, Setting, Step, Until};
use ionfall_numerics::number::significant;
use serde::{Deserialize, Serialize};

/// A plan that would have to be longer than this many times is no advice.
const MOST: f64 = 2.0;
/// Most figures that are to be tried at once.
const FIGURES: usize = 2;

/// One piece of advice.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Advice {
    /// The last step of the plan has to last longer.
    Longer {
        /// Which, if there are several.
        step: Option<String>,
        /// Does the plan wait for the thickness, and is it the longest time that is too short?
        at_most: bool,
        /// How long it lasted, s.
        planned_s: f64,
        /// How long it should, s.
        enough_s: f64,
    },
    /// The plan has to be shorter: the thickest place grows too thick, and the thinnest has some to spare.
    Shorter {
        /// How long it lasted, s.
        planned_s: f64,
        /// How long it should, s.
        enough_s: f64,
    },
    /// Less current, for longer if a time is planned.
    Gentler {
        /// Current of the main supply, A.
        current_a: f64,
        /// What it should be, A.
        enough_a: f64,
        /// Share of the limiting current that the worst place comes to.
        share: f64,
        /// Plating time, s.
        planned_s: Option<f64>,
        /// What it should be, s.
        enough_s: Option<f64>,
        /// Is it from what the run knows of small changes, rather than by proportion?
        #[serde(default)]
        by_levers: bool,
    },
    /// Other values of keys of the job, which trials compute.
    Try {
        /// Keys, each with its values, as `trials --vary` takes them.
        vary: Vec<String>,
    },
    /// What can be moved needs names, so that trials can move it.
    NameFigures,
    /// The limiting current has to be known better.
    MeasureLimit,
    /// Cells have to be smaller at the edges of the work.
    FinerEdges,
    /// Cells have to be smaller.
    FinerCells,
}

/// What to change, if anything is to be.
pub(super) fn advise<G>(
    model: &Model<G>,
    answers: Answers<'_>,
    metal: &Enough,
    sound: &Sound,
    supply: &Able,
    levers: Option<&Levers>,
) -> Option<Advice> {
    let rough = sound.share.filter(|s| *s > Quality::Rough.from_share());
    let powers = levers.and_then(Powers::of);
    let gentler = rough.and_then(|share| gentler(model, answers, metal, share, powers));
    let short = metal.state >= Standing::Caution;
    let load = sound.state >= Standing::Caution;
    let limited = supply.state >= Standing::Caution;
    let worst = [metal.state, sound.state, supply.state].into_iter().max();
    let is = |state: Standing| Some(state) == worst;
    if short && is(metal.state) && metal.not_too_thick() > Standing::Good {
        return Some(shorter(model, answers, metal).unwrap_or_else(|| by_trial(model)));
    }
    if short && is(metal.state) {
        return gentler.or_else(|| more_metal(model, answers, metal));
    }
    if load && is(sound.state) {
        return match rough {
            Some(_) => Some(gentler.unwrap_or_else(|| by_trial(model))),
            None if sound.at_least && sound.quality_at_worst == Some(Quality::Sound) => {
                Some(Advice::FinerEdges)
            }
            None => Some(Advice::MeasureLimit),
        };
    }
    (limited && is(supply.state)).then(|| higher_limit(model, supply))
}

/// More metal at the thinnest place.
fn more_metal<G>(model: &Model<G>, answers: Answers<'_>, metal: &Enough) -> Option<Advice> {
    let longer = longer(model, answers, metal).filter(|l| !grows_too_thick(metal, l));
    let usual = longer.as_ref().is_some_and(|l| match l {
        Advice::Longer {
            planned_s,
            enough_s,
            ..
        } => *enough_s <= MOST * planned_s,
        _ => false,
    });
    if usual {
        return longer;
    }
    if metal.is_too_close() {
        return Some(Advice::FinerCells);
    }
    match by_trial(model) {
        Advice::NameFigures => longer.or(Some(Advice::NameFigures)),
        trial => Some(trial),
    }
}

/// Would the thickest place be thicker than allowed after a longer plan?
fn grows_too_thick(metal: &Enough, longer: &Advice) -> bool {
    let Advice::Longer {
        planned_s,
        enough_s,
        ..
    } = longer
    else {
        return false;
    };
    let allowed = metal.at_most_m.zip(metal.most_m);
    allowed.is_some_and(|(at_most_m, most_m)| most_m * enough_s > at_most_m * planned_s)
}

/// Thickness that is surely enough with what is left open, m.
fn needed_m(metal: &Enough) -> Option<f64> {
    let (wanted_m, least_m) = metal.wanted_m.zip(metal.least_m)?;
    let with_off = wanted_m + metal.plus_minus_m.unwrap_or(0.0);
    let low_m = metal.band_m.map_or(least_m, |[low, _]| low);
    let with_band = wanted_m * least_m / low_m;
    Some(with_off.max(with_band)).filter(|x| x.is_finite())
}

/// How long the whole plan should last at the rates of its end, s; with how long it lasted.
fn enough_s(answers: Answers<'_>, metal: &Enough, one_step: bool) -> Option<[f64; 2]> {
    let (wanted_m, least_m) = metal.wanted_m.zip(metal.least_m)?;
    let end_s = answers.moments.last()?.time_s;
    let needed_m = needed_m(metal)?;
    // Of several steps the last one counts: between the end and the moment of the wanted thickness.
    let rate = match one_step {
        true => least_m / end_s,
        false => (least_m - wanted_m) / (end_s - metal.reached_after_s?),
    };
    let whole_s = end_s + (needed_m - least_m) / rate;
    // What the row of the metal says, and then what is left open.
    let told_s = metal.reached_after_s.filter(|_| least_m < wanted_m);
    let told_s = told_s.map_or(0.0, |s| s * needed_m / wanted_m);
    (whole_s.is_finite() && rate > 0.0).then_some([end_s, whole_s.max(told_s)])
}

/// A longer last step.
fn longer<G>(model: &Model<G>, answers: Answers<'_>, metal: &Enough) -> Option<Advice> {
    let last = model.plan.last()?;
    let begin_s = super::metal::begin_s(answers.moments, model.plan.len() - 1);
    let step = (model.plan.len() > 1).then(|| last.name.clone());
    if metal.until_reached {
        // There, but hardly in the time allowed.
        let more_s = metal.plus_minus_s? - metal.margin_s?;
        return Some(Advice::Longer {
            step,
            at_most: true,
            planned_s: last.at_most_s,
            enough_s: last.at_most_s + more_s,
        });
    }
    let is_constant = matches!(last.setting, Setting::Hold(_));
    let at_most = match last.until {
        Until::Time(_) => false,
        Until::LeastThickness(..) => true,
        Until::Charge(_) | Until::MeanThickness(..) => return None,
    };
    let [end_s, whole_s] = enough_s(answers, metal, step.is_none())?;
    let is_more = is_constant && whole_s > end_s;
    is_more.then_some(Advice::Longer {
        step,
        at_most,
        planned_s: end_s - begin_s,
        enough_s: whole_s - begin_s,
    })
}

/// A shorter plan of one step, halfway between enough at the thinnest place and too much at the thickest.
fn shorter<G>(model: &Model<G>, answers: Answers<'_>, metal: &Enough) -> Option<Advice> {
    let [
        Step {
            setting: Setting::Hold(_),
            until: Until::Time(_),
            ..
        },
    ] = model.plan.as_slice()
    else {
        return None;
    };
    let (at_most_m, most_m) = metal.at_most_m.zip(metal.most_m)?;
    let end_s = answers.moments.last()?.time_s;
    let (needed_m, least_m) = needed_m(metal).zip(metal.least_m)?;
    let least_s = end_s * needed_m / least_m;
    let off_m = metal.most_plus_minus_m.unwrap_or(0.0);
    let most_s = end_s * at_most_m / (most_m + off_m);
    (least_s < most_s && most_s < end_s).then_some(Advice::Shorter {
        planned_s: end_s,
        enough_s: 0.5 * (least_s + most_s),
    })
}

/// How answers go with the current: as which power of it.
#[derive(Clone, Copy, Debug)]
struct Powers {
    share: f64,
    hours: f64,
}

impl Powers {
    /// From the change to less current, the nearest if there are several.
    fn of(levers: &Levers) -> Option<Self> {
        let gentler = levers.levers.iter().filter(|lever| {
            let less = lever.factor < 1.0 && lever.change == Change::Current;
            less && lever.answers.is_some()
        });
        let lever = gentler.max_by(|a, b| a.factor.total_cmp(&b.factor))?;
        let (now, then) = (levers.now, lever.answers?);
        let power = |now: Option<f64>, then: Option<f64>| {
            let power = (then? / now?).ln() / lever.factor.ln();
            Some(power).filter(|power| power.is_finite())
        };
        // Without a wish the metal stays as it is: the time goes the other way round.
        Some(Self {
            share: power(now.limit_share, then.limit_share).filter(|power| *power > 0.0)?,
            hours: power(now.wish_s, then.wish_s).unwrap_or(-1.0),
        })
    }
}

/// Less current, so that the worst share comes to where metal is still smooth.
fn gentler<G>(
    model: &Model<G>,
    answers: Answers<'_>,
    metal: &Enough,
    share: f64,
    powers: Option<Powers>,
) -> Option<Advice> {
    let constant = |hold: Hold| matches!(hold, Hold::Current(_) | Hold::MeanCurrentDensity(_));
    let (hold, timed) = match model.plan.as_slice() {
        [] => (model.supplies.first()?.hold, false),
        [
            Step {
                setting: Setting::Hold(hold),
                until: Until::Time(_),
                ..
            },
        ] => (*hold, true),
        _ => return None,
    };
    let current_a = answers.supplies.first()?.current_a;
    if !constant(hold) || answers.supplies.len() > 1 || current_a <= 0.0 {
        return None;
    }
    let by = powers.unwrap_or(Powers {
        share: 1.0,
        hours: -1.0,
    });
    let share_of_it = (Quality::Rough.from_share() / share).powf(1.0 / by.share);
    let planned_s = timed
        .then(|| answers.moments.last().map(|m| m.time_s))
        .flatten();
    let same_metal = planned_s.map(|s| [s, s]);
    let asked = metal.wanted_m.is_some();
    let enough = if asked {
        enough_s(answers, metal, true)
    } else {
        same_metal
    };
    let longer = share_of_it.powf(by.hours);
    let enough_s = enough.map(|[_, s]| s * longer).filter(|_| timed);
    let in_reason = match (planned_s, enough_s) {
        (Some(planned), Some(enough)) => enough <= MOST * planned,
        (None, _) => true,
        (Some(_), None) => false,
    };
    in_reason.then(|| Advice::Gentler {
        current_a,
        enough_a: share_of_it * current_a,
        share: Quality::Rough.from_share(),
        planned_s,
        // Never shorter than planned: that would be another piece of advice.
        enough_s: enough_s
            .zip(planned_s)
            .map(|(enough, planned)| enough.max(planned)),
        by_levers: powers.is_some(),
    })
}

/// A higher limit of the supply's voltage, or of its current.
fn higher_limit<G>(model: &Model<G>, supply: &Able) -> Advice {
    let (limit, key, unit) = match (supply.limit_v, supply.limit_a) {
        (Some(volts), None) => (volts, "voltage_limit", "V"),
        (None, Some(amperes)) => (amperes, "current_limit", "A"),
        _ => return by_trial(model),
    };
    let key = match model.supplies.as_slice() {
        [_] => format!("supply.{key}"),
        _ => format!("supply.{}.{key}", supply.name),
    };
    let [from, to] = [limit, 2.0 * limit].map(|v| significant(v, 3));
    Advice::Try {
        vary: vec![format!("{key}={from}..{to}/5 {unit}")],
    }
}

/// Trials of figures that the job names.
fn by_trial<G>(model: &Model<G>) -> Advice {
    let usable: Vec<&NamedFigure> = model.figures.iter().filter(|f| f.value != 0.0).collect();
    let count = if usable.len() > 1 { 3 } else { 5 };
    let vary = |f: &&NamedFigure| {
        // A share is at most all.
        let most = if f.unit == "%" && f.value <= 100.0 {
            100.0
        } else {
            f64::INFINITY
        };
        let ends = [0.8, 1.2].map(|factor| (factor * f.value).min(most));
        let [from, to] = ends.map(|end| significant(end, 3));
        format!("{}={from}..{to}/{count} {}", f.name, f.unit)
            .trim()
            .to_owned()
    };
    match usable.as_slice() {
        [] => Advice::NameFigures,
        some => Advice::Try {
            vary: some.iter().take(FIGURES).map(vary).collect(),
        },
    }
}
