//! The parts of the verdict as rules: a scale from nothing on, with what is wanted and what came of it.
//!
//! No figure is told twice on the first screen: what the sentence about a change says, or a rule above, is
//! left out further down.

use super::data::{Marker, Rule, Scale};
use super::measure::{hours, hours_off, number, percent, thick, thick_off};
use super::words::figures;
use crate::summary::Summary;
use crate::verdict::{face_words, most_words, still_words, wants};
use ionfall_bath::Quality;
use ionfall_deposit::judge::{Able, Enough, Sound, Standing, Verdict};
use ionfall_numerics::number::significant;

/// The rules, what it takes beyond them, and the markers without the figures that stand in the rules.
pub(super) fn rules(
    summary: &Summary,
    change: Option<&str>,
    markers: &mut [Marker],
) -> (Vec<Rule>, Vec<String>) {
    let mut said = change.unwrap_or_default().to_owned();
    let parts = of(&summary.verdict, &said);
    for rule in &parts {
        let ticks = rule.scale.iter().flat_map(|s| &s.ticks);
        for text in [&rule.answer, &rule.what]
            .into_iter()
            .chain(ticks.map(|t| &t.1))
        {
            said += &format!("; {text}");
        }
    }
    let takes = figures(summary).into_iter().filter(|f| !says(&said, f));
    let takes: Vec<String> = takes.collect();
    said += &takes.join("; ");
    for marker in markers {
        marker.figures.retain(|f| !says(&said, f));
    }
    (parts.to_vec(), takes)
}

/// The rules of a verdict; `said` is told already.
pub(crate) fn of(judged: &Verdict, said: &str) -> [Rule; 3] {
    [
        metal(&judged.metal),
        sound(&judged.sound, said),
        supply(&judged.supply),
    ]
}

/// Is a figure in a text, not as the end or the beginning of another one?
pub(super) fn says(text: &str, figure: &str) -> bool {
    let figure = figure.trim_start_matches(|c: char| !c.is_ascii_digit());
    let goes_on = |c: char| c.is_ascii_alphanumeric() || c == '.';
    text.match_indices(figure).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        let after = text[at + figure.len()..].chars().next();
        // `1.2 A` is not in `1.2 A h`.
        let longer = figure.ends_with(" A") && text[at + figure.len()..].starts_with(" h");
        !before.is_some_and(goes_on) && !after.is_some_and(|c| c.is_ascii_alphanumeric()) && !longer
    })
}

fn plus_minus(off: Option<String>) -> String {
    off.map_or(String::new(), |off| format!(" +- {off}"))
}

fn by_the_bath(band: Option<[String; 2]>) -> String {
    band.map_or(String::new(), |[low, high]| {
        format!(" ({low} to {high} by the bath's figures)")
    })
}

fn metal(metal: &Enough) -> Rule {
    let rule = |answer, what, scale| Rule {
        label: "metal",
        state: metal.state,
        answer,
        what,
        scale,
    };
    let Some(wanted_m) = metal.wanted_m else {
        return rule(String::new(), "no thickness was asked for".into(), None);
    };
    let wanted = format!("wanted {}", thick(wanted_m));
    let Some(least_m) = metal.least_m else {
        let what = format!("{wanted}, but no plating time is given");
        return rule(String::new(), what, None);
    };
    let off = plus_minus(metal.plus_minus_s.map(hours_off));
    let after = metal.reached_after_s.map(|s| hours(s) + &off);
    let still = still_words(metal.still_m.map(thick));
    if let Some((s, after)) = metal.reached_after_s.zip(after.clone())
        && metal.until_reached
    {
        let limit = metal.margin_s.map(|margin| s + margin);
        let tick = limit.map(|s| (s / 3600.0, format!("at most {}", hours(s))));
        let scale = Scale {
            ticks: tick.into_iter().collect(),
            dot: s / 3600.0,
            off: metal.plus_minus_s.map(|s| s / 3600.0),
            band: None,
        };
        let most = most_words(metal);
        let what = format!(
            "until {} are reached everywhere{still}{most}",
            thick(wanted_m)
        );
        return rule(after, what, Some(scale));
    }
    let off = plus_minus(metal.plus_minus_m.map(thick_off));
    let band = by_the_bath(metal.band_m.map(|ends| ends.map(thick)));
    let on = metal.on.as_deref().unwrap_or_default();
    let face = face_words(metal);
    let mut what = format!("at the thinnest place of {face}{on}{still}");
    what += &match (after, least_m >= wanted_m) {
        (Some(after), true) => format!("; reached everywhere after {after}"),
        (None, true) => String::new(),
        (after, false) => {
            let thinner = percent(metal.thinner_share.unwrap_or(f64::NAN));
            let after = after.map(|after| format!(", reached everywhere after {after}"));
            format!(
                "; {thinner} of the area is thinner than wanted{}",
                after.unwrap_or_default()
            )
        }
    };
    what += &most_words(metal);
    let scale = Scale {
        ticks: vec![(1e6 * wanted_m, wanted)],
        dot: 1e6 * least_m,
        off: metal.plus_minus_m.map(|m| 1e6 * m),
        band: metal.band_m.map(|ends| ends.map(|m| 1e6 * m)),
    };
    rule(format!("{}{off}{band}", thick(least_m)), what, Some(scale))
}

fn sound(sound: &Sound, said: &str) -> Rule {
    let rule = |answer, what, scale| Rule {
        label: "sound",
        state: sound.state,
        answer,
        what,
        scale,
    };
    let Some((share, quality)) = sound.share.zip(sound.quality) else {
        let what = format!("no limiting current is known: {}", wants(sound));
        return rule(String::new(), what, None);
    };
    let least = if sound.at_least { "at least " } else { "" };
    let off = plus_minus(sound.plus_minus_share.map(percent));
    let band = by_the_bath(sound.band_share.map(|ends| ends.map(percent)));
    let worse = sound.quality_at_worst.filter(|worst| *worst > quality);
    let worse = worse.map_or(String::new(), |q| format!(", {} not ruled out", q.metal()));
    let still = still_words(sound.still_share.map(percent));
    let tick = |quality: Quality, word: &str| {
        let from = percent(quality.from_share());
        let label = if says(said, &from) {
            word.to_owned()
        } else {
            format!("{word} from {from}")
        };
        (100.0 * quality.from_share(), label)
    };
    let scale = Scale {
        ticks: vec![tick(Quality::Rough, "rough"), tick(Quality::Trees, "trees")],
        dot: 100.0 * share,
        off: sound.plus_minus_share.map(|s| 100.0 * s),
        band: sound.band_share.map(|ends| ends.map(|s| 100.0 * s)),
    };
    let what = format!(
        "of the limiting current at the worst place{still}: expect {}{worse}",
        quality.metal()
    );
    rule(
        format!("{least}{}{off}{band}", percent(share)),
        what,
        Some(scale),
    )
}

fn supply(supply: &Able) -> Rule {
    let off = plus_minus(
        supply
            .plus_minus_v
            .map(|v| format!("{} V", significant(v, 2))),
    );
    let band = by_the_bath(
        supply
            .band_v
            .map(|ends| ends.map(|v| format!("{} V", number(v)))),
    );
    let limit = supply
        .limit_v
        .map(|v| (v, format!("limit {} V", number(v))));
    let what = match (&limit, supply.state) {
        (None, _) => "at most; the job says no voltage limit to judge it by".to_owned(),
        (_, Standing::Bad) => format!("from {}: at its limit, less current than set", supply.name),
        (_, Standing::Caution) => {
            format!("from {}: at its limit for a while, or near it", supply.name)
        }
        _ => format!("at most, from {}", supply.name),
    };
    Rule {
        label: "supply",
        state: supply.state,
        answer: format!("{} V{off}{band}", number(supply.voltage_v)),
        what,
        scale: Some(Scale {
            ticks: limit.into_iter().collect(),
            dot: supply.voltage_v,
            off: supply.plus_minus_v,
            band: supply.band_v,
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_is_found_as_a_whole() {
        assert!(says("1.92 A instead of 2.34 A.", "2.34 A"));
        assert!(says("to 40 % of it", "40 %"));
        assert!(!says("to 140 % of it", "40 %") && !says("0.40 %", "40 %"));
        assert!(!says("46.8 A h", "46.8 A") && says("for 20 h;", "at most 20 h"));
    }
}
