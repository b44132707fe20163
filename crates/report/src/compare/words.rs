//! What a change bought and what it cost.
//!
//! A figure counts as changed from [`WORTH`] of itself on (a share of the limiting current from
//! [`WORTH_POINTS`] percent points on): smaller differences are within what the grid leaves open.
//! More metal at the thinnest place, less time to the wanted thickness, a more even deposit, less
//! of the limiting current, fewer volts and less energy are gains. More metal in all is a cost
//! where the thinnest place gains nothing by it.

use super::read::Run;
use crate::digest::KeyFigure;
use crate::story::measure::number;
use crate::unit::Unit;
use ionfall_bath::Quality;

/// Least change that is named, as a share of the figure.
const WORTH: f64 = 0.01;
/// Least change of a share of the limiting current that is named, percent points.
const WORTH_POINTS: f64 = 1.0;

/// A figure that is better large or small, and its words.
struct Judged {
    figure: KeyFigure,
    larger_is_better: bool,
    words: &'static str,
}

const JUDGED: [Judged; 9] = [
    Judged {
        figure: KeyFigure::Thinnest,
        larger_is_better: true,
        words: "at the thinnest place",
    },
    Judged {
        figure: KeyFigure::WantedAfter,
        larger_is_better: false,
        words: "to the wanted thickness everywhere",
    },
    Judged {
        figure: KeyFigure::Evenness,
        larger_is_better: true,
        words: "of the mean at the thinnest place",
    },
    Judged {
        figure: KeyFigure::LimitShare,
        larger_is_better: false,
        words: "of the limiting current at the worst place",
    },
    Judged {
        figure: KeyFigure::Voltage,
        larger_is_better: false,
        words: "at the rectifier",
    },
    Judged {
        figure: KeyFigure::CoveredAfter,
        larger_is_better: false,
        words: "until metal covers all of the coat",
    },
    Judged {
        figure: KeyFigure::Energy,
        larger_is_better: false,
        words: "of energy",
    },
    Judged {
        figure: KeyFigure::Cost,
        larger_is_better: false,
        words: "of money by the prices of the job",
    },
    Judged {
        figure: KeyFigure::Apart,
        larger_is_better: false,
        words: "of the mean from the part that gets least to the one that gets most",
    },
];

/// The sentence about the change from one run to another.
pub(super) fn sentence(from: &Run, to: &Run) -> String {
    let (mut bought, mut cost) = (Vec::new(), Vec::new());
    for judged in &JUDGED {
        let figure = judged.figure;
        if figure == KeyFigure::Cost && from.digest.currency() != to.digest.currency() {
            continue;
        }
        let (Some(old), Some(new)) = (figure.of(&from.digest), figure.of(&to.digest)) else {
            continue;
        };
        if !is_change(figure, old, new) {
            continue;
        }
        let mut words = format!("{} {}", pair(figure, old, new), judged.words);
        if figure == KeyFigure::LimitShare {
            words += &quality(0.01 * old, 0.01 * new);
        }
        if (new > old) == judged.larger_is_better {
            bought.push(words);
        } else {
            cost.push(words);
        }
    }
    let (metal, thinnest) = (KeyFigure::Metal, KeyFigure::Thinnest);
    let of = |figure: KeyFigure| Some((figure.of(&from.digest)?, figure.of(&to.digest)?));
    if let Some((old, new)) = of(metal).filter(|(old, new)| is_change(metal, *old, *new)) {
        let words = format!("{} of metal", pair(metal, old, new));
        let gains = of(thinnest).is_some_and(|(a, b)| b > a && is_change(thinnest, a, b));
        if new < old {
            bought.push(words);
        } else if !gains {
            cost.push(words);
        }
    }
    let change = format!("{} instead of {}", to.name, from.name);
    match (bought.is_empty(), cost.is_empty()) {
        (true, true) => format!(
            "{change}: no difference worth naming (all key figures within {} %).",
            number(100.0 * WORTH)
        ),
        (false, true) => format!(
            "{change} bought {}; it cost nothing of note.",
            list(&bought)
        ),
        (true, false) => format!("{change} bought nothing of note; it cost {}.", list(&cost)),
        (false, false) => format!(
            "{change} bought {}; it cost {}.",
            list(&bought),
            list(&cost)
        ),
    }
}

fn is_change(figure: KeyFigure, old: f64, new: f64) -> bool {
    let least = if figure == KeyFigure::LimitShare {
        WORTH_POINTS
    } else {
        WORTH * old.abs()
    };
    (new - old).abs() >= least
}

fn pair(figure: KeyFigure, old: f64, new: f64) -> String {
    // Shares of the mean are easier in percent.
    let (factor, unit) = match figure.unit() {
        Unit::One => (100.0, Unit::Percent),
        unit => (1.0, unit),
    };
    let (old, new) = (number(factor * old), number(factor * new));
    format!("{new} instead of {old} {unit}").trim_end().into()
}

/// What the metal looks like, if that changes with the share of the limiting current.
fn quality(old: f64, new: f64) -> String {
    let [old, new] = [old, new].map(|share| Quality::of(share).metal());
    if old == new {
        String::new()
    } else {
        format!(" ({new} instead of {old} to be expected there)")
    }
}

fn list(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [all @ .., last] => format!("{} and {last}", all.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::run;
    use super::*;

    #[test]
    fn gains_and_costs_are_told_apart() {
        let (a, mut b) = (run("a"), run("b"));
        assert!(sentence(&a, &b).contains("no difference worth naming"));
        b.digest.main.voltage_v *= 2.0;
        assert_eq!(
            sentence(&a, &b),
            "b instead of a bought nothing of note; it cost 2 instead of 1 V at the rectifier."
        );
        let place = b.digest.bodies[0].places.thinnest_m.as_mut().unwrap();
        place.value *= 1.5;
        b.digest.bodies[0]
            .places
            .limit_share
            .as_mut()
            .unwrap()
            .value = 0.75;
        let said = sentence(&a, &b);
        let (bought, cost) = said.split_once(';').unwrap();
        assert!(
            bought.contains("150 instead of 100 um at the thinnest place"),
            "{said}"
        );
        assert!(
            cost.contains("75 instead of 30 % of the limiting"),
            "{said}"
        );
        assert!(
            cost.contains("trees and burning instead of smooth"),
            "{said}"
        );
    }
}
