//! The verdict in words and signs: the one place from which terminal, report, job sheet, comparison
//! and trials draw them. What is judged, and how, is `ionfall_deposit::judge`.

use crate::story::measure::{coordinates, hours, hours_off, number, percent, thick, thick_off};
use ionfall_bath::Quality;
use ionfall_deposit::judge::{Able, Advice, Enough, Sound, Standing, Verdict};
use ionfall_numerics::number::significant;

/// A part of the verdict, in words.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Part {
    /// What is judged.
    pub label: &'static str,
    /// How it stands.
    pub state: Standing,
    /// Figure, plus-minus, band and what they mean.
    pub words: String,
}

/// Sign of a part; it says without colour how it stands.
pub(crate) const fn sign(state: Standing) -> char {
    match state {
        Standing::Good => '\u{2713}',
        Standing::Unknown => '?',
        Standing::Caution => '!',
        Standing::Bad => '\u{2717}',
    }
}

/// Class of a part in pages, which gives it its colour.
#[cfg(feature = "pages")]
pub(crate) const fn class(state: Standing) -> &'static str {
    state.word()
}

/// The whole in a few words: the metal first, then what else is not as it should be.
pub(crate) fn head(verdict: &Verdict) -> String {
    let metal = metal_head(&verdict.metal);
    let others: Vec<&str> = [sound_head(&verdict.sound), supply_head(&verdict.supply)]
        .into_iter()
        .flatten()
        .collect();
    let joint = match verdict.metal.state {
        Standing::Good => ", but ",
        _ => "; ",
    };
    match others.is_empty() {
        true => format!("{metal}."),
        false => format!("{metal}{joint}{}.", others.join(" and ")),
    }
}

/// The whole in a line: sign, word, and a few words; its colour says the same once more.
pub(crate) fn in_a_line(verdict: &Verdict, coloured: bool) -> String {
    let state = verdict.state;
    let told = format!("{} {}", sign(state), state.word());
    let told = match coloured {
        true => {
            let colour = match state {
                Standing::Good => 32,
                Standing::Unknown => 36,
                Standing::Caution => 33,
                Standing::Bad => 31,
            };
            format!("\u{1b}[1;{colour}m{told}\u{1b}[0m")
        }
        false => told,
    };
    format!("{told}: {}", head(verdict))
}

/// The parts, each in words; places by the names of their coordinates, without any no places.
pub(crate) fn parts(verdict: &Verdict, axes: &[&str]) -> [Part; 3] {
    let Verdict {
        metal,
        sound,
        supply,
        ..
    } = verdict;
    let part = |label, state, words| Part {
        label,
        state,
        words,
    };
    [
        part("metal", metal.state, metal_words(metal, axes)),
        part("sound", sound.state, sound_words(sound, axes)),
        part("supply", supply.state, supply_words(supply)),
    ]
}

/// What to change or to try, if anything is to be: one sentence. `job` is what the job is called in a
/// command.
pub(crate) fn change(verdict: &Verdict, job: &str) -> Option<String> {
    Some(match verdict.change.as_ref()? {
        Advice::Longer {
            step,
            at_most,
            planned_s,
            enough_s,
        } => {
            let what = if *at_most { "at_most of " } else { "" };
            let within = step
                .as_ref()
                .map_or(String::new(), |s| format!(" in step `{s}`"));
            let [planned, enough] = [hours(*planned_s), hours_up(*enough_s)];
            format!("{what}{enough} instead of {planned}{within} would do, by proportion")
        }
        Advice::Shorter {
            planned_s,
            enough_s,
        } => format!(
            "{} instead of {} would be enough and not too much, by proportion",
            hours(*enough_s),
            hours(*planned_s)
        ),
        Advice::Gentler {
            current_a,
            enough_a,
            share,
            planned_s,
            enough_s,
            by_levers,
        } => {
            let [current, enough] = [number(*current_a), down(*enough_a)];
            let times = planned_s.zip(*enough_s);
            let metal = times.map_or("", |_| "give the metal and ");
            let long = times.map_or(String::new(), |(planned_s, enough_s)| {
                let [planned, enough] = [hours(planned_s), hours_up(enough_s)];
                match planned == enough {
                    true => format!(" for the same {planned}"),
                    false => format!(" for {enough} instead of {planned}"),
                }
            });
            format!(
                "{enough} A instead of {current} A{long} would {metal}bring the worst place to {} of \
                 the limiting current{}",
                percent(*share),
                match by_levers {
                    true => "",
                    false => ", by proportion",
                }
            )
        }
        Advice::Try { vary } => {
            let vary: Vec<String> = vary.iter().map(|v| format!("--vary \"{v}\"")).collect();
            format!("`ionfall trials {job} {}` tells what helps", vary.join(" "))
        }
        Advice::NameFigures => format!(
            "give what can be moved (a distance, a window) a name under [figures] in the job; then \
             `ionfall trials {job} --vary \"NAME=FROM..TO/5 mm\"` tells what helps"
        ),
        Advice::MeasureLimit => "measure the limiting current in your tank and give it as \
                                 limiting_current_density in [bath]: here it is known too roughly \
                                 to tell"
            .into(),
        Advice::FinerEdges => "a smaller `edge` in [grid] tells how much it is at the edge".into(),
        Advice::FinerCells => "a smaller `finest` in [grid] tells".into(),
    })
}

/// A time rounded up to what is set on a clock: half hours from ten hours on, tenths of an hour from one
/// on, minutes below.
fn hours_up(seconds: f64) -> String {
    let step_s = match seconds {
        36e3.. => 1800.0,
        3600.0.. => 360.0,
        _ => 60.0,
    };
    hours((seconds / step_s - 1e-6).ceil() * step_s)
}

/// A number rounded down to three digits.
fn down(value: f64) -> String {
    let unit = 10f64.powf(value.abs().max(1e-12).log10().floor() - 2.0);
    number((value / unit + 1e-6).floor() * unit)
}

/// What the shares of the limiting current are worth.
pub(crate) fn guide() -> String {
    format!(
        "{} from about {:.0} %, {} from about {:.0} % of the limiting current: a guide, no promise",
        Quality::Rough.metal(),
        100.0 * Quality::Rough.from_share(),
        Quality::Trees.metal(),
        100.0 * Quality::Trees.from_share()
    )
}

fn metal_head(metal: &Enough) -> &'static str {
    let too_thick = metal.not_too_thick();
    let enough = match metal.at_most_m {
        Some(_) => metal.thick_enough(),
        None => metal.state,
    };
    match enough {
        Standing::Bad if too_thick == Standing::Bad => "Not thick enough here, too thick there",
        Standing::Good | Standing::Caution if too_thick == Standing::Bad => "Too thick",
        Standing::Good if too_thick == Standing::Caution => "Thick enough, perhaps too thick",
        Standing::Good => "Thick enough",
        Standing::Bad => "Not thick enough",
        Standing::Unknown if metal.wanted_m.is_none() => "No thickness was asked for",
        Standing::Unknown => "No plating time is given",
        Standing::Caution if metal.is_too_close() => "Too close to call",
        Standing::Caution if metal.until_reached => "Thick enough, perhaps not in the time allowed",
        Standing::Caution => "Thick enough only if the bath is as assumed",
    }
}

fn sound_head(sound: &Sound) -> Option<&'static str> {
    match (sound.state, sound.quality) {
        (Standing::Good, _) => None,
        (_, None) => Some("whether it is sound cannot be said"),
        (_, Some(Quality::Trees)) => Some("trees and burning likely"),
        (_, Some(Quality::Rough)) => Some("roughness likely"),
        (_, Some(Quality::Sound)) => Some(match sound.quality_at_worst {
            Some(Quality::Trees) => "trees and burning not ruled out",
            _ => "roughness not ruled out",
        }),
    }
}

fn supply_head(supply: &Able) -> Option<&'static str> {
    match supply.state {
        Standing::Good | Standing::Unknown => None,
        Standing::Caution => Some("the supply comes to its voltage limit"),
        Standing::Bad => Some("the supply does not give what it is set to"),
    }
}

fn metal_words(metal: &Enough, axes: &[&str]) -> String {
    let Some(wanted_m) = metal.wanted_m else {
        return "no thickness was asked for".into();
    };
    let wanted = thick(wanted_m);
    let Some(least_m) = metal.least_m else {
        return format!(
            "{wanted} are wanted, but no plating time is given: add [plan] time = \"8 h\""
        );
    };
    let off = metal.plus_minus_s.map(hours_off);
    let after = metal.reached_after_s.map(|s| hours(s) + &plus_minus(off));
    if metal.until_reached {
        let room = metal
            .margin_s
            .filter(|_| metal.thick_enough() != Standing::Good);
        let room = room.map_or(String::new(), |s| {
            format!("; the plan allows {} more", hours(s))
        });
        let after = after.unwrap_or_default();
        let still = still_words(metal.still_m.map(thick));
        let most = most_words(metal);
        return format!(
            "{wanted} everywhere after {after}, which the plan waits for{room}{still}{most}"
        );
    }
    let off = plus_minus(metal.plus_minus_m.map(thick_off));
    let band = metal.band_m.map_or(String::new(), |[low, high]| {
        format!(" ({} to {} by the bath's figures)", thick(low), thick(high))
    });
    let meter = metal.ammeter_m.map_or(String::new(), |m| {
        format!(", within {} by the ammeter", thick_off(m))
    });
    let on = metal.on.as_deref().unwrap_or_default();
    let at = place(axes, ", ", metal.at_m);
    let mut words = format!(
        "{}{off}{band}{meter} at the thinnest place of {}{on}{at}{}; {wanted} wanted",
        thick(least_m),
        face_words(metal),
        still_words(metal.still_m.map(thick)),
    );
    words += &match (after, least_m >= wanted_m) {
        (Some(after), true) => format!(", reached everywhere after {after}"),
        (None, true) => String::new(),
        (after, false) => {
            let thinner = percent(metal.thinner_share.unwrap_or(f64::NAN));
            let rest = after.map_or("the thinnest place gets no metal at all".into(), |after| {
                format!("at this current it takes {after} to reach it everywhere")
            });
            format!("; {thinner} of the area is thinner, {rest}")
        }
    };
    if metal.is_too_close() {
        words += "; make [grid] finest smaller to tell";
    }
    words + &most_words(metal)
}

/// The face that a wish is about, before the name of the work.
pub(crate) fn face_words(metal: &Enough) -> String {
    let face = metal.face.as_ref();
    face.map_or(String::new(), |face| format!("{face} of "))
}

/// The thickest place, where a largest thickness is allowed.
pub(crate) fn most_words(metal: &Enough) -> String {
    let Some((at_most_m, most_m)) = metal.at_most_m.zip(metal.most_m) else {
        return String::new();
    };
    let least = if metal.most_at_least { "at least " } else { "" };
    format!(
        "; {least}{}{} at the thickest place of {}, and {} are allowed",
        thick(most_m),
        plus_minus(metal.most_plus_minus_m.map(thick_off)),
        metal.most_on.as_deref().unwrap_or_default(),
        thick(at_most_m)
    )
}

/// What has to be said so that burning can be judged; results of older versions do not tell.
pub(crate) fn wants(sound: &Sound) -> &str {
    sound
        .wants
        .as_deref()
        .unwrap_or("say how the bath is agitated")
}

fn sound_words(sound: &Sound, axes: &[&str]) -> String {
    let (Some(share), Some(quality)) = (sound.share, sound.quality) else {
        let wants = wants(sound);
        return format!("no limiting current is known, so burning cannot be judged: {wants}");
    };
    let least = if sound.at_least { "at least " } else { "" };
    let off = plus_minus(sound.plus_minus_share.map(percent));
    let band = sound.band_share.map_or(String::new(), bath_band);
    let on = sound.on.as_deref().unwrap_or_default();
    let at = place(axes, " at ", sound.at_m);
    let worse = sound.quality_at_worst.filter(|worst| *worst > quality);
    let worse = worse.map_or(String::new(), |q| format!(", {} not ruled out", q.metal()));
    let still = sound
        .still_share
        .map(|s| percent(s) + " of what is left of it");
    format!(
        "{least}{}{off}{band} of the limiting current at the worst place, on {on}{at}{}: expect \
         {}{worse}",
        percent(share),
        still_words(still),
        quality.metal()
    )
}

/// What an answer is if the liquid in the recesses stands still, where that is another one.
pub(crate) fn still_words(answer: Option<String>) -> String {
    answer.map_or(String::new(), |answer| {
        format!("; {answer} if the liquid in the recesses stands still")
    })
}

fn supply_words(supply: &Able) -> String {
    let off = plus_minus(supply.plus_minus_v.map(|v| significant(v, 2)));
    let band = supply.band_v.map_or(String::new(), |[low, high]| {
        format!(
            " ({} to {} by the bath's figures)",
            number(low),
            number(high)
        )
    });
    let needs = format!(
        "at most {}{off}{band} V and {} A",
        number(supply.voltage_v),
        number(supply.current_a)
    );
    let limits = [(supply.limit_v, "V"), (supply.limit_a, "A")];
    let told = limits
        .into_iter()
        .filter_map(|(limit, unit)| Some(format!("{} {unit}", number(limit?))));
    let told: Vec<String> = told.collect();
    if told.is_empty() {
        return format!("{needs}; the job says no voltage limit to judge it by");
    }
    let less = match supply.limit_a {
        None => "passes less current",
        Some(_) if supply.limit_v.is_none() => "gives fewer volts",
        Some(_) => "gives less",
    };
    let limit = format!(
        "{needs} from {}, which can give {}",
        supply.name,
        told.join(" and ")
    );
    match supply.limited_s {
        Some([from, to]) => format!(
            "{limit}; it is at that limit from {} to {} after the start and {less} there than it is set to",
            hours(from),
            hours(to)
        ),
        None if supply.limited_at_end => {
            format!("{limit}; it is at that limit and {less} than it is set to")
        }
        None => limit,
    }
}

/// What the bath's figures make of a share.
pub(crate) fn bath_band([low, high]: [f64; 2]) -> String {
    format!(
        " ({} to {} by the bath's figures)",
        percent(low),
        percent(high)
    )
}

fn place(axes: &[&str], before: &str, at_m: Option<[f64; 3]>) -> String {
    let at_m = at_m.filter(|_| !axes.is_empty());
    at_m.map_or(String::new(), |at| {
        before.to_owned() + &coordinates(axes, &at)
    })
}

fn plus_minus(off: Option<String>) -> String {
    off.map_or(String::new(), |off| format!(" +- {off}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    const AXES: [&str; 3] = ["x", "y", "z"];

    fn verdict() -> Verdict {
        Verdict {
            state: Standing::Good,
            metal: Enough {
                state: Standing::Good,
                wanted_m: Some(300e-6),
                on: Some("mould".into()),
                at_m: Some([0.01, 0.02, 0.03]),
                least_m: Some(342e-6),
                margin_m: Some(42e-6),
                plus_minus_m: Some(16e-6),
                reached_after_s: Some(17.6 * 3600.0),
                plus_minus_s: Some(2800.0),
                ..Enough::default()
            },
            sound: Sound {
                state: Standing::Good,
                quality: Some(Quality::Sound),
                quality_at_worst: Some(Quality::Sound),
                on: Some("mould".into()),
                at_m: Some([0.0; 3]),
                share: Some(0.2),
                plus_minus_share: Some(0.05),
                band_share: Some([0.15, 0.3]),
                ..Sound::default()
            },
            supply: Able {
                name: "main".into(),
                voltage_v: 2.0,
                current_a: 3.0,
                ..Able::default()
            },
            change: None,
        }
    }

    /// A largest thickness and a face stand in the words of the metal; too thick is bad whatever the thinnest place is.
    #[test]
    fn too_thick_is_said() {
        let mut all = verdict();
        all.metal.face = Some("front".into());
        all.metal.at_most_m = Some(400e-6);
        all.metal.most_m = Some(380e-6);
        all.metal.most_on = Some("mould 2".into());
        all.metal.most_plus_minus_m = Some(10e-6);
        let [metal, ..] = parts(&all, &AXES).map(|p| p.words);
        assert!(
            metal.contains("342 um +- 16 um at the thinnest place of front of mould, x"),
            "{metal}"
        );
        let most = "; 380 um +- 10 um at the thickest place of mould 2, and 400 um are allowed";
        assert!(metal.ends_with(most), "{metal}");
        assert_eq!(head(&all), "Thick enough.");
        let mut said = |most_um: f64, least: bool, margin_m: f64| {
            all.metal.most_m = Some(1e-6 * most_um);
            all.metal.most_at_least = least;
            all.metal.margin_m = Some(margin_m);
            all.metal.state = all.metal.thick_enough().max(all.metal.not_too_thick());
            (head(&all), all.metal.state)
        };
        let perhaps = (
            "Thick enough, perhaps too thick.".to_owned(),
            Standing::Caution,
        );
        assert_eq!(said(395.0, false, 42e-6), perhaps);
        assert_eq!(said(380.0, true, 42e-6), perhaps);
        assert_eq!(
            said(420.0, false, 42e-6),
            ("Too thick.".into(), Standing::Bad)
        );
        let both = "Not thick enough here, too thick there.";
        assert_eq!(said(420.0, false, -42e-6), (both.into(), Standing::Bad));
        all.change = Some(Advice::Shorter {
            planned_s: 3600.0,
            enough_s: 3000.0,
        });
        let way = change(&all, "JOB").unwrap();
        assert!(
            way.starts_with("50 min instead of 1 h would be enough"),
            "{way}"
        );
    }

    #[test]
    fn good_is_said_in_two_words_and_its_figures_beside() {
        let verdict = verdict();
        assert_eq!(head(&verdict), "Thick enough.");
        let [metal, sound, supply] = parts(&verdict, &AXES).map(|p| p.words);
        assert_eq!(
            metal,
            "342 um +- 16 um at the thinnest place of mould, x 10.0, y 20.0, z 30.0 mm; 300 um \
             wanted, reached everywhere after 17.6 h +- 46.7 min"
        );
        assert!(
            sound.starts_with("20 % +- 5 % (15 % to 30 % by the bath's figures) of the limiting")
                && sound.ends_with("expect smooth metal"),
            "{sound}"
        );
        assert!(
            supply.contains("at most 2 V and 3 A; the job says no voltage limit"),
            "{supply}"
        );
    }

    /// No part that is not good hides behind one that is.
    #[test]
    fn the_head_names_what_is_not_good() {
        let mut all = verdict();
        all.sound.state = Standing::Bad;
        all.sound.quality = Some(Quality::Trees);
        assert_eq!(head(&all), "Thick enough, but trees and burning likely.");
        all.supply.state = Standing::Bad;
        assert_eq!(
            head(&all),
            "Thick enough, but trees and burning likely and the supply does not give what it is set \
             to."
        );
        all.metal.state = Standing::Caution;
        all.metal.margin_m = Some(10e-6);
        assert!(
            head(&all).starts_with("Too close to call; trees"),
            "{}",
            head(&all)
        );
        all.metal = Enough::default();
        all.sound = Sound::default();
        all.supply = Able::default();
        assert_eq!(
            head(&all),
            "No thickness was asked for; whether it is sound cannot be said."
        );
    }

    #[test]
    fn a_plan_that_waits_speaks_of_hours() {
        let mut all = verdict();
        all.metal.until_reached = true;
        all.metal.least_m = Some(300e-6);
        all.metal.margin_m = Some(0.0);
        all.metal.margin_s = Some(1800.0);
        let words = |v: &Verdict| parts(v, &AXES)[0].words.clone();
        assert!(words(&all).starts_with("300 um everywhere after 17.6 h +- 46.7 min"));
        all.metal.state = Standing::Caution;
        assert!(
            words(&all).ends_with("the plan allows 30 min more"),
            "{}",
            words(&all)
        );
        assert!(!head(&all).contains("Too close"), "{}", head(&all));
    }

    /// Times are rounded up, currents down: what is set is never less safe than what was computed.
    #[test]
    fn the_way_out_is_one_sentence() {
        let mut all = verdict();
        assert_eq!(change(&all, "JOB"), None);
        let mut said = |found: Advice| {
            all.change = Some(found);
            change(&all, "plaque.toml").unwrap()
        };
        let longer = |step: Option<&str>, at_most| Advice::Longer {
            step: step.map(str::to_owned),
            at_most,
            planned_s: 72e3,
            enough_s: 25.6 * 3600.0,
        };
        assert_eq!(
            said(longer(None, false)),
            "26 h instead of 20 h would do, by proportion"
        );
        assert_eq!(
            said(longer(Some("build"), true)),
            "at_most of 26 h instead of 20 h in step `build` would do, by proportion"
        );
        let gentler = Advice::Gentler {
            current_a: 2.34,
            enough_a: 1.9187,
            share: 0.4,
            planned_s: Some(72e3),
            enough_s: Some(21.4 * 3600.0),
            by_levers: false,
        };
        assert_eq!(
            said(gentler),
            "1.91 A instead of 2.34 A for 21.5 h instead of 20 h would give the metal and bring the \
             worst place to 40 % of the limiting current, by proportion"
        );
        let vary = vec!["distance=144..216/3 mm".into(), "rim=8..12/3 mm".into()];
        assert_eq!(
            said(Advice::Try { vary }),
            "`ionfall trials plaque.toml --vary \"distance=144..216/3 mm\" --vary \"rim=8..12/3 mm\"` \
             tells what helps"
        );
        for (seconds, words) in [(90.0, "2 min"), (3700.0, "1.1 h"), (36e3, "10 h")] {
            assert_eq!(hours_up(seconds), words);
        }
    }
}
