//! Supplies and plan in plain words.

use ionfall_model::{Hold, Model, Prices, Setting, Step, Supply, Until};
use ionfall_numerics::number::significant;

/// Adds lines about supplies, plan and wishes; `work_m2` is the wetted area of the work.
pub(crate) fn tell(model: &Model, work_m2: f64, lines: &mut Vec<String>) {
    for (n, supply) in model.supplies.iter().enumerate() {
        let head = if model.supplies.len() == 1 {
            "Supply".into()
        } else {
            format!("Supply `{}`", supply.name)
        };
        let mut text = held(&supply.hold, work_m2);
        if let Some(volts) = supply.limits.voltage_v {
            text += &format!(", at most {} V", given(volts));
        }
        if let Some(amperes) = supply.limits.current_a {
            text += &format!(", at most {} A", given(amperes));
        }
        if n > 0 || !supply.thieves.is_empty() {
            text += &format!("; {}", connection(supply));
        }
        lines.push(format!("{head}: {text}"));
    }
    let growth = |hold: &Hold, time_s: f64| grown(model, hold, work_m2, time_s);
    let supplies = &model.supplies;
    match model.plan.as_slice() {
        [] => {}
        [step] => lines.push(format!("Plan: {}", said(step, supplies, work_m2, &growth))),
        steps => {
            for (n, step) in steps.iter().enumerate() {
                let words = said(step, supplies, work_m2, &growth);
                lines.push(format!("Plan {}, {}: {words}", n + 1, step.name));
            }
        }
    }
    if let Some(wanted) = &model.wanted {
        let face = wanted
            .face
            .as_ref()
            .map(|face| format!("{} of ", face.name));
        let most = wanted
            .at_most_m
            .map(|m| format!(", and nowhere more than {} mm", given(1e3 * m)));
        lines.push(format!(
            "Wanted: at least {} mm on {}{}{}",
            given(1e3 * wanted.thickness_m),
            face.unwrap_or_default(),
            wanted.on.as_deref().unwrap_or("all the work"),
            most.unwrap_or_default()
        ));
    }
    if let Some(prices) = &model.prices {
        lines.push(priced(prices));
    }
}

/// The prices, in trade units.
fn priced(prices: &Prices) -> String {
    let parts = [
        ("metal", prices.metal_per_kg, "kg"),
        ("energy", prices.energy_per_j.map(|p| 3.6e6 * p), "kWh"),
        ("time", prices.time_per_s.map(|p| 3600.0 * p), "h"),
        ("acid", prices.acid_per_kg, "kg"),
    ];
    let parts: Vec<String> = parts
        .iter()
        .filter_map(|(what, price, unit)| Some(format!("{what} {} a {unit}", given((*price)?))))
        .collect();
    let head = format!("Prices {}", prices.currency);
    format!("{}: {}", head.trim_end(), parts.join(", "))
}

/// Says which settings ask for more current than can reach the work, and by how much.
pub(crate) fn tell_excess(model: &Model, work_m2: f64, most_a: f64, lines: &mut Vec<String>) {
    let steps = model.plan.iter().flat_map(|step| match step.setting {
        Setting::Hold(hold) => vec![hold],
        Setting::Ramp(from, to) => vec![from, to],
        Setting::Rest => Vec::new(),
    });
    let main = model.supplies.iter().take(1);
    // A supply that may fall to a voltage limit gives what can flow.
    if main.clone().any(|s| s.limits.voltage_v.is_some()) {
        return;
    }
    let asked = main
        .map(|s| s.hold)
        .filter(|_| model.plan.is_empty())
        .chain(steps);
    let demand = asked.filter_map(|hold| match hold {
        Hold::Voltage(_) => None,
        Hold::Current(amperes) => Some(amperes),
        Hold::MeanCurrentDensity(mean) => Some(mean * work_m2),
    });
    let demand_a = demand.fold(0.0, f64::max);
    if demand_a > most_a {
        lines.push(format!(
            "Too much: {} A are asked for, {} times the {} A that can flow at most, where the metal in the \
             bath no longer reaches the work fast enough (limiting current): a run will refuse this. Lower \
             the current, or raise the limit: stronger agitation, a warmer bath, more metal salt",
            measured(demand_a),
            significant(demand_a / most_a, 2),
            measured(most_a),
        ));
    }
}

/// A time in the unit it is spoken of.
fn lasting(time_s: f64) -> String {
    let (unit_s, unit) = match time_s {
        s if s < 60.0 => (1.0, "s"),
        s if s < 3600.0 => (60.0, "min"),
        _ => (3600.0, "h"),
    };
    format!("{} {unit}", given(time_s / unit_s))
}

/// A number as given.
fn given(value: f64) -> String {
    significant(value, 4)
}

/// A number that depends on a measured area.
fn measured(value: f64) -> String {
    significant(value, 3)
}

fn held(hold: &Hold, work_m2: f64) -> String {
    match *hold {
        Hold::Voltage(volts) => format!("{} V held constant", given(volts)),
        Hold::Current(amperes) => format!(
            "{} A held constant, on average about {} A/dm2 on the work",
            given(amperes),
            measured(0.01 * amperes / work_m2)
        ),
        Hold::MeanCurrentDensity(mean) => format!(
            "{} A/dm2 on average on the work, about {} A",
            given(0.01 * mean),
            measured(mean * work_m2)
        ),
    }
}

fn connection(supply: &Supply) -> String {
    let count = |n: usize, word: &str| format!("{n} {word}{}", if n == 1 { "" } else { "s" });
    if supply.thieves.is_empty() {
        format!("feeds {}", count(supply.anodes.len(), "anode"))
    } else {
        "feeds its thief".into()
    }
}

/// Mean thickness that a constant setting brings, in words; nothing for a constant voltage.
fn grown(model: &Model, hold: &Hold, work_m2: f64, time_s: f64) -> Option<String> {
    let mean = match *hold {
        Hold::Voltage(_) => return None,
        Hold::Current(amperes) => amperes / work_m2,
        Hold::MeanCurrentDensity(mean) => mean,
    };
    let efficiency = model.bath.efficiency.value;
    let rate = model.bath.metal.thickness_rate_m_per_s(mean, efficiency);
    Some(format!(
        ", enough for about {} mm on average",
        measured(1e3 * rate * time_s)
    ))
}

fn said(
    step: &Step,
    supplies: &[Supply],
    work_m2: f64,
    growth: &dyn Fn(&Hold, f64) -> Option<String>,
) -> String {
    let mut text = match &step.until {
        Until::Time(time_s) => lasting(*time_s),
        Until::Charge(coulombs) => format!("until {} A h have flowed", given(coulombs / 3600.0)),
        Until::LeastThickness(m, on) => format!(
            "until the thinnest place of {} has {} mm",
            on.as_deref().unwrap_or("the work"),
            given(1e3 * m)
        ),
        Until::MeanThickness(m, on) => format!(
            "until {} has {} mm on average",
            on.as_deref().unwrap_or("the work"),
            given(1e3 * m)
        ),
    };
    match &step.setting {
        Setting::Rest => text += " of rest",
        Setting::Hold(hold) => {
            if let Until::Time(time_s) = step.until {
                text += &growth(hold, time_s).unwrap_or_default();
            }
            text += &format!(" ({})", held(hold, work_m2));
        }
        Setting::Ramp(from, to) => {
            text += &format!(" (from {} to {})", held(from, work_m2), held(to, work_m2));
        }
    }
    if !step.off.is_empty() {
        let name = |n: &usize| format!("`{}`", supplies[*n].name);
        let names: Vec<String> = step.off.iter().map(name).collect();
        text += &format!(", with {} off", names.join(" and "));
    }
    if let Some(pulse) = step.pulse {
        text += &format!(
            ", in pulses with {} times the average current",
            given(pulse.peak_factor())
        );
    }
    text
}
