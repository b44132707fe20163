//! The answer in plain words, and what is set and watched at the tank.

use super::data::Verdict;
use super::measure::{coordinates, hours, hours_off, number, percent, thick_off};
use crate::cover::islands_words;
use crate::summary::Summary;
use crate::verdict::{change, guide, head, parts, sign};
use ionfall_deposit::uncertainty::Uncertainty;
use ionfall_deposit::{BodyOutcome, Place};
use ionfall_model::Cost;
use ionfall_numerics::number::grouped;
use ionfall_numerics::number::significant;

/// The verdict: the parts with their signs, when coats are covered, what it takes.
pub(super) fn verdict(summary: &Summary) -> Verdict {
    let judged = &summary.verdict;
    let parts = parts(judged, summary.grid.axes);
    let parts = parts
        .iter()
        .map(|p| format!("{} {}: {}.", sign(p.state), p.label, p.words));
    let mut lines: Vec<String> = change(judged, "JOB")
        .map(|way| format!("Change: {way}."))
        .into_iter()
        .collect();
    lines.extend(cover(summary));
    lines.push(takes(summary));
    lines.extend(judged.sound.share.map(|_| format!("({}.)", guide())));
    Verdict {
        tone: judged.state,
        head: head(judged),
        parts: parts.collect(),
        lines,
    }
}

pub(super) fn place(summary: &Summary, place: &Place) -> String {
    coordinates(summary.grid.axes, &place.at_m)
}

/// The cathode with the smallest (`largest`: the largest) of a place, and the place.
pub(super) fn extreme<'a>(
    bodies: impl Iterator<Item = &'a BodyOutcome>,
    of: impl Fn(&BodyOutcome) -> Option<Place>,
    largest: bool,
) -> Option<(&'a BodyOutcome, Place)> {
    let sign = if largest { -1.0 } else { 1.0 };
    bodies
        .filter_map(|b| of(b).map(|p| (b, p)))
        .min_by(|a, b| (sign * a.1.value).total_cmp(&(sign * b.1.value)))
}

/// When coats were covered.
fn cover(summary: &Summary) -> Vec<String> {
    let coated = summary.works(None).filter(|b| b.coat_drop_v.is_some());
    coated
        .filter_map(|body| {
            Some(match (body.cover.after_s, body.cover.share?) {
                (Some(time), _) => format!(
                    "{} is covered after {}{}.",
                    body.name,
                    hours(time),
                    islands_words(summary, &body.name)
                ),
                (None, share) => format!(
                    "{} is never covered whole: metal lies on {} of it.",
                    body.name,
                    percent(share)
                ),
            })
        })
        .collect()
}

/// Works and thieves.
pub(super) fn cathodes(summary: &Summary) -> impl Iterator<Item = &BodyOutcome> {
    summary.bodies.iter().filter(|b| b.role.is_cathode())
}

/// Charge of all supplies, A h; needs a plan.
pub(super) fn charge_ah(summary: &Summary) -> Option<f64> {
    summary.time_s?;
    Some(summary.supplies.iter().map(|s| s.charge_c).sum::<f64>() / 3600.0)
}

/// Largest voltage and current of the main supply on the way, V and A.
pub(super) fn peak(summary: &Summary) -> [f64; 2] {
    let history = summary.history.iter();
    history.fold(
        [summary.main.voltage_v, summary.main.current_a],
        |[v, i], m| [v.max(m.voltage_v), i.max(m.current_a)],
    )
}

/// Does the rectifier keep its voltage and current all the time?
fn is_steady(summary: &Summary) -> bool {
    let [v, i] = peak(summary);
    v <= 1.01 * summary.main.voltage_v && i <= 1.01 * summary.main.current_a
}

pub(super) fn grams(summary: &Summary) -> Option<f64> {
    let kg: Option<Vec<f64>> = cathodes(summary).map(|b| b.metal_kg).collect();
    kg.map(|kg| 1e3 * kg.iter().sum::<f64>())
}

/// What it takes.
fn takes(summary: &Summary) -> String {
    let [volts, amps] = peak(summary);
    let mut line = if is_steady(summary) {
        format!("It takes {} V and {} A", number(volts), number(amps))
    } else {
        format!(
            "It takes at most {} V and {} A ({} V and {} A at the end)",
            number(volts),
            number(amps),
            number(summary.main.voltage_v),
            number(summary.main.current_a)
        )
    };
    if let (Some(time), Some(charge), Some(energy), Some(grams)) = (
        summary.time_s,
        charge_ah(summary),
        summary.energy_j,
        grams(summary),
    ) {
        line += &format!(
            " for {}: {} A h, {} kWh, {} g of {}",
            hours(time),
            number(charge),
            number(energy / 3.6e6),
            number(grams),
            summary.bath.metal.name
        );
    }
    line + "."
}

/// What it takes, each figure for itself.
pub(super) fn figures(summary: &Summary) -> Vec<String> {
    let [volts, amps] = peak(summary);
    let most = if is_steady(summary) { "" } else { "at most " };
    let mut all = vec![
        format!("{most}{} V", number(volts)),
        format!("{most}{} A", number(amps)),
    ];
    all.extend(summary.time_s.map(hours));
    all.extend(charge_ah(summary).map(|ah| format!("{} A h", number(ah))));
    all.extend(
        summary
            .energy_j
            .map(|j| format!("{} kWh", number(j / 3.6e6))),
    );
    let metal = summary.time_s.and_then(|_| grams(summary));
    all.extend(metal.map(|g| format!("{} g of {}", number(g), summary.bath.metal.name)));
    let cost = summary.cost.as_ref();
    all.extend(cost.map(money));
    all
}

/// All that has a price.
fn money(cost: &Cost) -> String {
    match cost.currency.as_str() {
        "" => format!("{} of money", number(cost.total)),
        currency => format!("{} {currency}", number(cost.total)),
    }
}

/// What changes make of the answers, or how to know.
pub(super) fn levers(summary: &Summary) -> Vec<String> {
    match &summary.beside.levers {
        Some(levers) => crate::levers::lines(levers),
        None => vec!["Not worked out for this run; `ionfall run --levers` does it.".into()],
    }
}

/// How far the answers may be off, if it was worked out.
pub(super) fn bands(summary: &Summary) -> Vec<String> {
    let mut lines = match &summary.beside.uncertainty {
        Some(uncertainty) => cells(uncertainty),
        None => vec![
            "The size of the cells: no plus-minus was worked out for this run; \
             `ionfall run --plus-minus always` does it."
                .into(),
        ],
    };
    let accuracy = summary.beside.accuracy.iter();
    lines.extend(accuracy.map(|a| format!("Accuracy: {}.", crate::accuracy::line(a))));
    match &summary.beside.spread {
        Some(spread) => lines.extend(crate::text::bands(spread)),
        None => lines.push(
            "The figures of the bath: not worked out for this run; `ionfall run --spread` does it."
                .into(),
        ),
    }
    lines
}

/// What the size of the cells leaves open.
fn cells(uncertainty: &Uncertainty) -> Vec<String> {
    let grids: Vec<String> = (uncertainty.grids.iter())
        .map(|g| format!("{} cells {} times as large", grouped(g.cells), g.factor))
        .collect();
    let main = [
        (
            "voltage",
            uncertainty.main.voltage_v.map(|v| volts_amps(v, "V")),
        ),
        (
            "current",
            uncertainty.main.current_a.map(|a| volts_amps(a, "A")),
        ),
        ("wanted thickness", uncertainty.wish_s.map(hours_off)),
        ("time of the plan", uncertainty.time_s.map(hours_off)),
    ];
    let mut lines = vec![format!("From runs with {}.", grids.join(" and with "))];
    lines.extend(known("", main));
    for body in &uncertainty.bodies {
        let parts = [
            ("thinnest place", body.thickness.thinnest_m.map(thick_off)),
            ("mean", body.thickness.mean_m.map(thick_off)),
            ("thickest place", body.thickness.thickest_m.map(thick_off)),
            (
                "share of the limiting current",
                body.limit_share.map(percent),
            ),
        ];
        lines.extend(known(&format!("{}: ", body.name), parts));
    }
    lines
}

fn volts_amps(off: f64, unit: &str) -> String {
    format!("{} {unit}", significant(off, 2))
}

/// A line of what has a plus-minus.
fn known<const N: usize>(of: &str, parts: [(&str, Option<String>); N]) -> Option<String> {
    let known: Vec<String> = (parts.into_iter())
        .filter_map(|(what, off)| Some(format!("{what} ± {}", off?)))
        .collect();
    (!known.is_empty()).then(|| format!("{of}{}.", known.join(", ")))
}

/// What every result of this kind takes for granted.
pub(super) fn assumptions(summary: &Summary, has_zones: bool) -> Vec<String> {
    let mut list = vec![
        "The bath is well mixed: one conductivity everywhere, no heating by the current.".into(),
        "Solid metal carries the current without loss; coats, contacts and leads lose what the job \
         says of them, nothing where it says nothing."
            .into(),
        "The shape stays as it is at the start while metal grows.".into(),
    ];
    if let Some(limit) = summary.bath.limiting_current {
        let outside = if has_zones {
            "outside the zones the job names"
        } else {
            "everywhere on the work"
        };
        list.push(format!(
            "The limiting current is the same {outside}, {} A/dm2: stagnant corners have less, \
             places in the stream more.",
            number(0.01 * limit.value)
        ));
    }
    let off = 100.0 * (1.0 - summary.bath.efficiency.value);
    if off > 0.05 && summary.bath.hydrogen.is_none() {
        list.push(format!(
            "{off:.0} % of the current on the work makes no metal, everywhere alike."
        ));
    }
    list
}
