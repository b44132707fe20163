//! What the job sheet says: what to set, where things hang, when to look, when to stop.

use super::data::{Setting, Wire};
use super::measure::{hours, number, pulse_times, thick};
use super::window::window;
use super::words::{charge_ah, extreme, grams, peak, place};
use crate::repeats::{Together, copies_by_name, together};
use crate::summary::{Summary, SupplySummary};
use ionfall_deposit::Moment;
use ionfall_mesh::grid::StopOff;
use ionfall_mesh::solid::Point;
use ionfall_model::{Hold, Model, Parts, Role, Setting as JobSetting, Step, Until};

/// Room a voltage limit is set above what is expected, share (common practice, no source).
const VOLTAGE_ROOM: f64 = 0.25;

/// Times that differ by a smaller share are one.
const SAME_TIME: f64 = 1e-3;

/// What the job sheet says of rectifier, places, looks and stop.
pub(super) fn setting<const D: usize>(
    model: &Model<Parts<D>>,
    summary: &Summary,
    wires: &[Wire],
    cathodes: &[Wire],
) -> Setting {
    let axes = summary.grid.axes;
    let (tank, others) = wires.split_at(wires.len().min(1));
    let bodies: Vec<&Wire> = tank.iter().chain(cathodes).chain(others).collect();
    let lacquered = lacquered(&model.geometry, axes);
    let mut places: Vec<_> = bodies.iter().map(|wire| hung(axes, wire)).collect();
    let mut hangs = hung_together(summary, &bodies);
    places.extend(lacquered.iter().cloned());
    hangs.extend(lacquered);
    Setting {
        rectifier: rectifier(model, summary),
        bath: bath(summary),
        places,
        hangs,
        looks: looks(summary),
        stop: stop(summary),
        cautions: summary.cautions_beside_verdict().to_vec(),
    }
}

/// The volts to be expected; where the law of an electrode is not known no more than that they are higher.
fn volts_words<const D: usize>(model: &Model<Parts<D>>, volts: f64) -> String {
    let lacking = model.geometry.without_polarisation();
    if lacking.is_empty() {
        return format!(
            "at most {} V (voltage limit a little above, say {} V)",
            number(volts),
            number((1.0 + VOLTAGE_ROOM) * volts)
        );
    }
    format!(
        "more than {} V: no law of {} is known, so what it takes is not counted; set the voltage limit by the meter",
        number(volts),
        lacking.join(" and ")
    )
}

fn rectifier<const D: usize>(model: &Model<Parts<D>>, summary: &Summary) -> Vec<[String; 2]> {
    let plan = &model.plan;
    let [volts, amps] = peak(summary).map(f64::abs);
    let row = |what: &str, value: String| [what.into(), value];
    let mut rows = match summary.supply {
        SupplySummary::VoltageV(held_v) => vec![
            row(
                "hold",
                match summary.verdict.supply.limit_a {
                    Some(limit_a) => format!(
                        "constant voltage, {} V, current limit {} A",
                        number(held_v),
                        number(limit_a)
                    ),
                    None => format!("constant voltage, {} V", number(volts)),
                },
            ),
            row("expect", format!("at most {} A", number(amps))),
        ],
        _ => vec![
            row("hold", format!("constant current, {} A", number(amps))),
            row("expect", volts_words(model, volts)),
        ],
    };
    if plan.len() > 1 || plan.iter().any(|s| s.pulse.is_some()) {
        rows.truncate(0);
        let work_area_m2 = summary.works(None).map(|b| b.area_m2).sum();
        for (n, step) in plan.iter().enumerate() {
            let off = step.off.iter().filter_map(|n| summary.supplies.get(*n));
            let off = off.fold(String::new(), |words, s| {
                words + &format!(", {} off", s.name)
            });
            let words = step_words(step, work_area_m2) + &off;
            rows.push([format!("{}. {}", n + 1, step.name), words]);
        }
        rows.push(row(
            "expect",
            match model.geometry.without_polarisation().is_empty() {
                true => format!("at most {} V and {} A", number(volts), number(amps)),
                false => format!("at most {} A, {}", number(amps), volts_words(model, volts)),
            },
        ));
    }
    rows.extend(others(model, summary));
    rows.push(row("plus pole", plus_pole(summary)));
    rows.push(row("minus pole", minus_pole(summary)));
    for contact in &summary.contacts {
        rows.push(row(
            &contact.name,
            format!(
                "clamp on {}, at most {} A",
                contact.on,
                number(contact.peak_a)
            ),
        ));
    }
    if let Some(time) = summary.time_s {
        let charge = charge_ah(summary);
        let charge = charge.map_or(String::new(), |ah| format!(", {} A h", number(ah)));
        rows.push(row("for", hours(time) + &charge));
    }
    rows
}

/// The supplies beside the main one: what they give, and between what.
fn others<const D: usize>(model: &Model<Parts<D>>, summary: &Summary) -> Vec<[String; 2]> {
    let names = |list: &[usize]| {
        let electrodes = &model.geometry.electrodes;
        let names = list.iter().filter_map(|n| electrodes.get(*n));
        names
            .map(|e| e.name.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    };
    let rest = model.supplies.iter().zip(&summary.supplies).skip(1);
    rest.map(|(supply, given)| {
        let hold = match supply.hold {
            Hold::Voltage(_) => "constant voltage",
            _ => "constant current",
        };
        let mut words = format!(
            "{hold}, {} A at {} V",
            number(given.current_a),
            number(given.voltage_v)
        );
        for (pole, list) in [("plus", &supply.anodes), ("minus", &supply.thieves)] {
            if !list.is_empty() {
                words += &format!("; {pole} on {}", names(list));
            }
        }
        [supply.name.clone(), words]
    })
    .collect()
}

/// The anodes with their amperes.
fn plus_pole(summary: &Summary) -> String {
    let anodes = together(summary, |role| role == Role::Anode);
    let anodes = anodes
        .iter()
        .map(|b| format!("{} {} A", b.name, number(b.current_a)));
    anodes.collect::<Vec<_>>().join(", ")
}

/// The work and the thieves with their amperes, areas and mean current densities.
fn minus_pole(summary: &Summary) -> String {
    let words = |body: &Together| {
        format!(
            "{} {} A over {} dm2, {} A/dm2 on average",
            body.name,
            number(body.current_a),
            number(100.0 * body.area_m2),
            number(0.01 * body.current_a / body.area_m2)
        )
    };
    let cathodes = together(summary, Role::is_cathode);
    cathodes.iter().map(words).collect::<Vec<_>>().join("; ")
}

/// What the bath has to be for all this to hold.
fn bath(summary: &Summary) -> Vec<[String; 2]> {
    let bath = &summary.bath;
    let row = |what: &str, value: String| [what.into(), value];
    let degrees = format!("{:.0} degC", bath.temperature_k - 273.15);
    let mut rows = vec![row("kind", bath.name.clone()), row("temperature", degrees)];
    // The other ways to say the same amount are for the bench, not for the tank.
    let amounts = bath.composition.iter();
    let amounts: Vec<String> = amounts
        .filter(|(what, _)| !what.starts_with('='))
        .map(|(what, amount)| format!("{what} {} {}", number(amount.value), amount.unit))
        .collect();
    if !amounts.is_empty() {
        rows.push(row("composition", amounts.join(", ")));
    }
    let conductivity = &bath.conductivity;
    rows.push(row(
        "conductivity",
        format!("{} {}", number(conductivity.value), conductivity.unit),
    ));
    if let Some(film) = bath.film {
        let thickness = thick(film.value);
        let how = film.source;
        rows.push(row(
            "stirring",
            format!("{how}, so that the film on the work is {thickness}"),
        ));
    }
    rows
}

/// What is set; current densities as the amperes that the meter shows, too.
fn hold_words(hold: &Hold, work_area_m2: f64) -> String {
    match hold {
        Hold::Current(i) => format!("{} A", number(*i)),
        Hold::Voltage(v) => format!("{} V", number(*v)),
        Hold::MeanCurrentDensity(i) => {
            let [amperes, density] = [i * work_area_m2, 0.01 * i].map(number);
            format!("{amperes} A ({density} A/dm2 on the work)")
        }
    }
}

/// A step of the plan.
fn step_words(step: &Step, work_area_m2: f64) -> String {
    let hold_words = |hold: &Hold| hold_words(hold, work_area_m2);
    let what = match &step.setting {
        JobSetting::Hold(hold) => hold_words(hold),
        JobSetting::Ramp(from, to) => {
            format!("from {} evenly to {}", hold_words(from), hold_words(to))
        }
        JobSetting::Rest => "current off".into(),
    };
    let pulse = step.pulse.map_or(String::new(), |p| match &step.setting {
        // A held voltage is that of the forward time.
        JobSetting::Hold(Hold::Voltage(_)) => format!(", pulsed: {}", pulse_times(&p)),
        JobSetting::Hold(hold) => format!(
            " on average, pulsed: {}, {} at the peak",
            pulse_times(&p),
            hold_words(&hold.with_current_times(p.peak_factor()))
        ),
        _ => format!(
            " on average, pulsed: {}, {} times as much at the peak",
            pulse_times(&p),
            number(p.peak_factor())
        ),
    });
    let on = |name: &Option<String>| name.as_ref().map_or(String::new(), |n| format!(" on {n}"));
    let until = match &step.until {
        Until::Time(t) => format!("for {}", hours(*t)),
        Until::Charge(c) => format!("until {} A h", number(c / 3600.0)),
        Until::LeastThickness(m, of) => format!("until {} everywhere{}", thick(*m), on(of)),
        Until::MeanThickness(m, of) => format!("until {} on average{}", thick(*m), on(of)),
    };
    format!("{what}{pulse}, {until}")
}

/// Where a body hangs.
fn hung(axes: &[&str], wire: &Wire) -> [String; 3] {
    let mut place = span_words(axes, wire.bounds);
    if let Some(window) = window(wire).filter(|_| axes.len() == 3) {
        let [a, b] = window
            .map(|(k, [low, high])| format!("{} {} to {}", axes[k], number(low), number(high)));
        let [wide, high] = window.map(|(_, [low, high])| number(high - low));
        place += &format!("; window {a}, {b} mm ({wide} x {high} mm)");
    }
    [wire.name.clone(), wire.role.word().into(), place]
}

/// Where bodies hang, copies of one in one row: where the first is, and from where to where all are.
fn hung_together(summary: &Summary, bodies: &[&Wire]) -> Vec<[String; 3]> {
    let axes = summary.grid.axes;
    let repeats = copies_by_name(summary);
    let mut rows = Vec::new();
    for wire in bodies {
        let Some((name, copies)) = repeats.iter().find(|(_, all)| all.contains(&wire.name)) else {
            rows.push(hung(axes, wire));
            continue;
        };
        if copies[0] != wire.name {
            continue;
        }
        let mut all = wire.bounds;
        for copy in bodies.iter().filter(|w| copies.contains(&w.name)) {
            for k in 0..3 {
                all[0][k] = all[0][k].min(copy.bounds[0][k]);
                all[1][k] = all[1][k].max(copy.bounds[1][k]);
            }
        }
        let [first, all] = [wire.bounds, all].map(|bounds| span_words(axes, bounds));
        rows.push([
            format!("{} x {name}", copies.len()),
            wire.role.word().into(),
            format!("the first {first}; all {all}"),
        ]);
    }
    rows
}

/// A box in millimetres.
fn span_words(axes: &[&str], [low, high]: [[f64; 3]; 2]) -> String {
    let span = |(k, axis): (usize, &&str)| match (low[k], high[k]) {
        (low, high) if high - low < 0.5 => format!("{axis} {low:.0}"),
        (low, high) => format!("{axis} {low:.0} to {high:.0}"),
    };
    let spans: Vec<String> = axes.iter().enumerate().map(span).collect();
    format!("{} mm", spans.join(", "))
}

/// What is lacquered: the box in which lacquer and body meet.
fn lacquered<const D: usize>(parts: &Parts<D>, axes: &[&str]) -> Vec<[String; 3]> {
    let domain = &parts.domain;
    let row = |stop_off: &StopOff<D>| {
        let own = stop_off.body.map(|n| &domain.bodies[n]);
        let on = own.map_or("every electrode there", |body| body.name.as_str());
        let mut bounds = stop_off.solid.bounds();
        if let Some(body) = own {
            bounds = bounds.intersection(&body.solid.bounds());
        }
        let bounds = bounds.intersection(&domain.tank.bounds());
        let mm = |x: Point<D>| std::array::from_fn(|k| x.get(k).map_or(0.0, |x| 1e3 * x));
        let place = span_words(axes, [mm(bounds.low), mm(bounds.high)]);
        [
            "stop-off".to_owned(),
            "lacquer".into(),
            format!("{on}, what of it lies in {place}"),
        ]
    };
    domain.stop_offs.iter().map(row).collect()
}

/// Time, charge so far, and what is to be seen: at first cover, half way, when the wish is met, at
/// the end.
fn looks(summary: &Summary) -> Vec<[String; 3]> {
    let Some(time) = summary.time_s else {
        return Vec::new();
    };
    let covered = summary.works(None).filter_map(|b| b.covered_after_s);
    let reached = summary.wanted.as_ref().and_then(|w| w.reached_after_s);
    // A plan that waits for the wish ends when it is met.
    let ends_with_it = reached.is_some_and(|t| (t - time).abs() <= SAME_TIME * time);
    let end = match ends_with_it {
        true => "end of the plan: wish met",
        false => "end of the plan",
    };
    let mut looks = vec![(time / 2.0, "edges and corners still smooth?"), (time, end)];
    looks.extend(
        covered
            .reduce(f64::max)
            .map(|t| (t, "covered everywhere? colour and grain even?")),
    );
    let reached = reached.filter(|_| !ends_with_it);
    looks.extend(reached.map(|t| (t, "wish met")));
    looks.sort_by(|a, b| a.0.total_cmp(&b.0));
    looks
        .into_iter()
        .map(|(t, what)| {
            let grown = grown(summary, t);
            [
                hours(t),
                format!("{} A h", number(grown.charge_ah)),
                format!(
                    "{what} (thinnest {}, {} g grown)",
                    thick(grown.least_m),
                    number(grown.grams)
                ),
            ]
        })
        .collect()
}

/// What has grown at a time.
struct Grown {
    charge_ah: f64,
    least_m: f64,
    grams: f64,
}

/// Between the moments of the history, and beyond its end, thickness grows evenly; charge and mass
/// go with the mean thickness.
fn grown(summary: &Summary, time_s: f64) -> Grown {
    let history = &summary.history;
    let at = |of: fn(&Moment) -> f64| -> f64 {
        let next = history.partition_point(|m| m.time_s < time_s);
        let (Some(a), Some(b)) = (
            history.get(next.clamp(1, history.len().max(2) - 1) - 1),
            history.get(next.clamp(1, history.len().max(2) - 1)),
        ) else {
            return history.last().map_or(0.0, of);
        };
        let span = b.time_s - a.time_s;
        let share = if span > 0.0 {
            (time_s - a.time_s) / span
        } else {
            1.0
        };
        of(a) + share * (of(b) - of(a))
    };
    let share = at(|m| m.mean_m) / history.last().map_or(1.0, |m| m.mean_m);
    Grown {
        charge_ah: share * charge_ah(summary).unwrap_or(0.0),
        least_m: at(|m| m.least_m),
        grams: share * grams(summary).unwrap_or(0.0),
    }
}

fn stop(summary: &Summary) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(wanted) = &summary.wanted
        && let Some(reached) = wanted.reached_after_s
    {
        lines.push(format!(
            "Not before {} ({} A h): only then the thinnest place has its {}.",
            hours(reached),
            number(grown(summary, reached).charge_ah),
            thick(wanted.thickness_m)
        ));
    }
    if let Some((body, at)) = extreme(summary.works(None), |b| b.thickest, true) {
        lines.push(format!(
            "By the end of the plan {} is {} thick at {}: feel for nodules there and stop or trim \
             when they start.",
            body.name,
            thick(at.value),
            place(summary, &at)
        ));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The meter shows amperes.
    #[test]
    fn a_step_is_told_in_amperes() {
        let step = Step {
            name: "build".into(),
            setting: JobSetting::Hold(Hold::MeanCurrentDensity(200.0)),
            off: Vec::new(),
            pulse: None,
            until: Until::Time(7200.0),
            at_most_s: 7200.0,
        };
        assert_eq!(
            step_words(&step, 0.0117),
            "2.34 A (2 A/dm2 on the work), for 2 h"
        );
    }
}
