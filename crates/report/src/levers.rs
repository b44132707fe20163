//! What changes make of a run, as a practitioner says it.

use crate::story::measure::{hours, number, percent, thick};
use ionfall_bath::electrolyte::Adjustment;
use ionfall_deposit::levers::{Change, Lever, LeverAnswers, Levers};
use ionfall_numerics::number::significant;

/// Relative changes below this are none.
const SAME: f64 = 2e-3;

/// A line for each change, the most helpful first.
pub(crate) fn lines(levers: &Levers) -> Vec<String> {
    let line = |lever: &Lever| {
        let what = words(lever);
        match (&lever.answers, &lever.failure) {
            (Some(then), _) => format!("{what}: {}", effect(&levers.now, then, lever.open_share)),
            (None, Some(failure)) => format!("{what}: not possible ({failure})"),
            (None, None) => format!("{what}: not possible"),
        }
    };
    levers.levers.iter().map(line).collect()
}

/// The same for a terminal, which has no room for small changes that nobody asked for: the most helpful one, and what
/// it makes of the thinnest place.
pub(crate) fn on_a_terminal(levers: &Levers) -> Vec<String> {
    let small = levers.levers.iter().all(|lever| lever.first_order);
    let Some(first) = levers.levers.first().filter(|_| small) else {
        return lines(levers);
    };
    let thinnest = first.answers.and_then(|then| then.thinnest_m);
    let what = words(first);
    let short = what.split(" (").next().unwrap_or_default();
    let told = thinnest.map(|m| format!("{short}: thinnest {}; more in the report", thick(m)));
    told.into_iter().collect()
}

/// What is changed.
fn words(lever: &Lever) -> String {
    let more = format!("{} %", number(100.0 * (lever.factor - 1.0)));
    match &lever.change {
        Change::Current => format!(
            "{} the current for {} the time",
            times(lever.factor),
            times(1.0 / lever.factor)
        ),
        Change::Time => format!("{more} more time"),
        Change::Limit if lever.first_order => {
            format!("{more} more limiting current (stronger agitation, more metal in the bath)")
        }
        Change::Conductivity => format!("{more} more conductivity (more acid, warmer)"),
        Change::Limit => format!(
            "{} the diffusion film (stronger agitation)",
            times(1.0 / lever.factor)
        ),
        Change::Coat => format!("a coat of {} the resistance", times(lever.factor)),
        Change::Contact => format!("contacts of {} the resistance", times(lever.factor)),
        Change::Supply(name) => format!("{more} more from {name}"),
        Change::Length(length) => format!(
            "{} {} instead of {} {}",
            length.name,
            number(length.to),
            number(length.from),
            length.unit
        ),
        Change::Bath(dose) => {
            let then = format!("{} {}", number(dose.to), dose.what.unit());
            match dose.what {
                Adjustment::Temperature => {
                    format!("{} degC warmer ({then})", number(dose.to - dose.from))
                }
                what => format!("{more} more {} ({then})", what.name()),
            }
        }
    }
}

/// A factor before the thing that it multiplies.
fn times(factor: f64) -> String {
    match factor {
        0.5 => "half".into(),
        2.0 => "twice".into(),
        less if less < 1.0 => format!("{} of", percent(less)),
        more => format!("{} times", number(more)),
    }
}

/// The thinnest place where its change has a plus-minus.
fn thinnest(now: &LeverAnswers, then: &LeverAnswers, open_share: Option<f64>) -> Option<String> {
    let (before, after) = now.thinnest_m.zip(then.thinnest_m)?;
    let (change, open) = (after / before - 1.0, open_share?);
    let off = format!("+- {} %", significant(100.0 * open, 2));
    Some(match change.abs() <= open {
        true => format!("the same ({off})"),
        false => format!("{} instead of {} ({off})", thick(after), thick(before)),
    })
}

/// What has become different; of the thinnest place with its plus-minus, where there is one, and not at all below it.
fn effect(now: &LeverAnswers, then: &LeverAnswers, open_share: Option<f64>) -> String {
    let told = |values: [Option<f64>; 2], words: &dyn Fn(f64) -> String| {
        let [Some(before), Some(after)] = values else {
            return None;
        };
        // What reads the same is the same.
        let same = (after - before).abs() <= SAME * before.abs() || words(after) == words(before);
        (!same).then(|| format!("{} instead of {}", words(after), words(before)))
    };
    let volts = |volts| format!("{} V", number(volts));
    let parts = [
        thinnest(now, then, open_share)
            .or_else(|| told([now.thinnest_m, then.thinnest_m], &thick))
            .map(|t| format!("thinnest place {t}")),
        told([now.wish_s, then.wish_s], &hours).map(|t| format!("wanted thickness after {t}")),
        told([now, then].map(|a| Some(a.voltage_v)), &volts),
        told([now.limit_share, then.limit_share], &percent)
            .map(|t| format!("{t} of the limiting current")),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    if parts.is_empty() {
        "changes next to nothing".into()
    } else {
        parts.join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ionfall_deposit::levers::Length;

    #[test]
    fn changes_are_told_with_what_they_bring_and_cost() {
        let now = LeverAnswers {
            thinnest_m: Some(342e-6),
            evenness: Some(0.645),
            voltage_v: 1.13,
            limit_share: Some(0.49),
            wish_s: Some(63_360.0),
            time_s: Some(72_000.0),
        };
        let half = LeverAnswers {
            thinnest_m: Some(350e-6),
            voltage_v: 0.6,
            limit_share: Some(0.24),
            wish_s: Some(123_000.0),
            ..now
        };
        let lever = |change, factor, answers: Option<LeverAnswers>| Lever {
            change,
            factor,
            answers,
            failure: answers.is_none().then(|| "3 A cannot flow".into()),
            first_order: false,
            open_share: None,
        };
        let levers = Levers {
            now,
            levers: vec![
                lever(Change::Current, 0.5, Some(half)),
                lever(Change::Limit, 2.0, Some(now)),
                lever(Change::Current, 1.5, None),
            ],
        };
        let longer = |to: f64, thinnest_m: f64| Lever {
            open_share: Some(0.01),
            ..lever(
                Change::Length(Length {
                    name: "distance".into(),
                    from: 180.0,
                    to,
                    unit: "mm".into(),
                }),
                to / 180.0,
                Some(LeverAnswers {
                    thinnest_m: Some(thinnest_m),
                    ..now
                }),
            )
        };
        let lengths = levers
            .clone()
            .with(vec![longer(198.0, 344e-6), longer(162.0, 360e-6)]);
        let told = lines(&lengths).join("\n");
        let same = "distance 198 instead of 180 mm: thinnest place the same (+- 1 %)";
        let gain =
            "distance 162 instead of 180 mm: thinnest place 360 um instead of 342 um (+- 1 %)";
        assert!(told.contains(same) && told.contains(gain), "{told}");
        let text = lines(&levers);
        assert_eq!(
            text[0],
            "half the current for twice the time: thinnest place 350 um instead of 342 um, wanted \
             thickness after 34.2 h instead of 17.6 h, 0.6 V instead of 1.13 V, 24 % instead \
             of 49 % of the limiting current"
        );
        assert!(text[1].ends_with("changes next to nothing"), "{}", text[1]);
        assert!(
            text[2].contains("67 % of the time: not possible (3 A"),
            "{}",
            text[2]
        );
    }
}
