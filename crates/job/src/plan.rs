//! Supplies, and the plan of what they do one after another.
//!
//! ```toml
//! [[supply]]
//! current = "4 A"
//! voltage_limit = "6 V"
//!
//! [[plan.step]]
//! name = "strike"
//! mean_current_density = "0.5 A/dm2"
//! time = "30 min"
//!
//! [[plan.step]]                      # no setting: as the supply says
//! thickness = "0.3 mm"
//! ```

use crate::named::{named, work};
use crate::reader::{Item, Table};
use crate::suggest;
use crate::unit::Dimension;
use ionfall_model::{Electrode, Hold, Limits, Pulse, Role, Setting, Step, Supply, Until};

/// Keys of what is held constant.
const HOLDS: [&str; 3] = ["current", "voltage", "mean_current_density"];

/// Usual tolerances of ammeters.
const AMMETER: [f64; 2] = [0.001, 0.1];
/// What rectifiers of tanks give, V.
const USUAL_V: [f64; 2] = [0.01, 100.0];
/// Mean current densities, A/m2.
const USUAL_A_PER_M2: [f64; 2] = [0.1, 2e4];
/// Times of plans, s: up to half a year.
const USUAL_S: [f64; 2] = [1e-3, 1.6e7];

/// Longest time of a step that ends by charge or thickness, s, where the job says nothing: a year.
const LONGEST_S: f64 = 365.0 * 86_400.0;

fn hold(key: &str, item: &Item) -> Option<Hold> {
    Some(match key {
        "current" => Hold::Current(driving(item, Dimension::Current)?),
        "voltage" => Hold::Voltage(driving(item, Dimension::Voltage)?),
        _ => Hold::MeanCurrentDensity(driving(item, Dimension::CurrentDensity)?),
    })
}

/// What a supply holds, which must drive a current.
fn driving(item: &Item, dimension: Dimension) -> Option<f64> {
    let value = item.quantity(dimension)?;
    match dimension {
        Dimension::Voltage => item.usual(dimension, value, USUAL_V, "V"),
        Dimension::CurrentDensity => item.usual(dimension, value, USUAL_A_PER_M2, "A/dm2"),
        _ => {}
    }
    if value > 0.0 {
        return Some(value);
    }
    item.fault(
        format!("{} must be greater than zero", item.name()),
        "a supply drives current from its anodes to the work. Metal at the work's potential is a \
         [[thief]], metal on no pole is [[floating]]; a time without current is a step of the plan with \
         rest = true, one with reversed current a step with `pulse`",
    );
    None
}

/// The supplies. `electrodes` are all of the job, if they could be read.
pub(crate) fn supplies(job: &Table, electrodes: Option<&[Electrode]>) -> Option<Vec<Supply>> {
    let item = job.need("supply", "{ mean_current_density = \"3 A/dm2\" }")?;
    if item.is_empty_list() {
        item.fault(
            "`supply` is an empty list",
            "write for example: supply = { mean_current_density = \"3 A/dm2\" }",
        );
    }
    let tables = job.tables("supply");
    // The main one may hold something else in a step.
    let steps = job.table("plan").is_some_and(|plan| plan.has("step"));
    let mut read: Vec<_> = tables
        .iter()
        .enumerate()
        .map(|(n, table)| supply(table, n, tables.len(), steps && n == 0, electrodes))
        .collect::<Vec<_>>()
        .into_iter()
        .collect::<Option<Vec<_>>>()?;
    let electrodes = electrodes?;
    // Anodes that no supply names hang on the main one.
    let free: Vec<usize> = (0..electrodes.len())
        .filter(|n| electrodes[*n].role == Role::Anode)
        .filter(|n| read.iter().all(|s| !s.anodes.contains(n)))
        .collect();
    read.first_mut()?.anodes.extend(free);
    for (n, supply) in read.iter().enumerate() {
        // A job without any anode has been told so.
        let some = electrodes.iter().any(|e| e.role == Role::Anode);
        if some && supply.anodes.is_empty() && supply.thieves.is_empty() {
            tables[n].fault(
                format!("the supply `{}` has no anode", supply.name),
                "list the anodes on it: anodes = [\"...\"]",
            );
        }
        let twice = |of: fn(&Supply) -> &[usize]| {
            let earlier = &read[..n];
            of(supply)
                .iter()
                .find(|e| earlier.iter().any(|s| of(s).contains(e)))
                .map(|e| electrodes[*e].name.clone())
        };
        if let Some(name) = twice(|s| &s.anodes).or_else(|| twice(|s| &s.thieves)) {
            tables[n].fault(
                format!("`{name}` hangs on two supplies"),
                "name it in one of them",
            );
        }
    }
    if !read.first()?.thieves.is_empty() {
        tables[0].fault(
            "the first supply is the main one and feeds the work",
            "put the supply of the thief after it",
        );
    }
    Some(read)
}

fn supply(
    table: &Table,
    n: usize,
    of: usize,
    changes: bool,
    electrodes: Option<&[Electrode]>,
) -> Option<Supply> {
    let name = match table.get("name").and_then(|i| i.text()) {
        Some(name) => name.to_owned(),
        None if of > 1 => format!("supply {}", n + 1),
        None => "supply".into(),
    };
    let given = table.one_of(&HOLDS);
    let current_limit = (table.get("current_limit")).map(|i| i.positive(Dimension::Current));
    let ammeter = (table.get("ammeter")).map(|i| {
        let share = i.share()?;
        i.usual(Dimension::Share, share, AMMETER, "%");
        Some(share)
    });
    let limit = table.get("voltage_limit").map(|i| {
        let volts = i.positive(Dimension::Voltage)?;
        i.usual(Dimension::Voltage, volts, USUAL_V, "V");
        Some(volts)
    });
    let anodes = members(table, "anodes", Role::Anode, electrodes);
    let thieves = members(table, "thieves", Role::Thief, electrodes);
    if let (Some(("voltage", _)), Some(item)) = (&given, table.get("voltage_limit")) {
        item.fault(
            "a supply that holds its voltage needs no limit of it",
            "leave out `voltage_limit`",
        );
    }
    if let (Some(("current" | "mean_current_density", _)), Some(item), false) =
        (&given, table.get("current_limit"), changes)
    {
        item.fault(
            "a supply that holds its current needs no limit of it",
            "leave out `current_limit`, or hold a voltage: voltage = \"3 V\"",
        );
    }
    table.finish();
    let (key, item) = given?;
    let hold = hold(key, &item)?;
    let thieves = thieves?;
    if !thieves.is_empty() && !matches!(hold, Hold::Current(_)) {
        item.fault(
            "the supply of a thief holds its current",
            "write current = \"0.5 A\"",
        );
        return None;
    }
    Some(Supply {
        name,
        hold,
        limits: Limits {
            voltage_v: known(limit)?,
            current_a: known(current_limit)?,
        },
        ammeter_share: match ammeter {
            Some(share) => Some(share?),
            None => None,
        },
        anodes: anodes?,
        thieves,
    })
}

/// What was said, or that nothing was; nothing if it was wrong.
fn known(said: Option<Option<f64>>) -> Option<Option<f64>> {
    said.map_or(Some(None), |value| value.map(Some))
}

/// The electrodes of a role that a list names.
fn members(
    table: &Table,
    key: &'static str,
    role: Role,
    electrodes: Option<&[Electrode]>,
) -> Option<Vec<usize>> {
    let Some(item) = table.get(key) else {
        return Some(Vec::new());
    };
    let items = item.list();
    // With faulty bodies the list is not the whole one: no second message about it.
    let electrodes = electrodes?;
    let read: Vec<_> = items
        .iter()
        .map(|item| {
            let found = named(item, Some(electrodes))?;
            let first = &electrodes[*found.first()?];
            if first.role != role {
                item.fault(
                    format!("`{}` is {}", item.text()?, first.role.word()),
                    format!("name a body of [[{}]]", role.key()),
                );
                return None;
            }
            Some(found)
        })
        .collect();
    Some(read.into_iter().collect::<Option<Vec<_>>>()?.concat())
}

/// The steps of the plan: `time` alone is one step with the supply as it is.
pub(crate) fn plan(
    job: &Table,
    supplies: Option<&[Supply]>,
    electrodes: Option<&[Electrode]>,
) -> Option<Vec<Step>> {
    let main = supplies.and_then(<[_]>::first);
    let Some(table) = job.table("plan") else {
        return Some(Vec::new());
    };
    if !table.has("step") {
        let time = table.need("time", "\"8 h\"").and_then(|i| time(&i));
        table.finish();
        return Some(vec![Step {
            name: "plating".into(),
            setting: Setting::Hold(main?.hold),
            off: Vec::new(),
            pulse: None,
            until: Until::Time(time?),
            at_most_s: time?,
        }]);
    }
    if let Some(item) = table.get("time") {
        item.fault(
            "a plan with steps has no time of its own",
            "give every step its time",
        );
    }
    if let Some(item) = table.get("step").filter(Item::is_empty_list) {
        item.fault(
            "the plan has no steps",
            "add steps, or write time = \"8 h\" instead",
        );
    }
    let read = table.each("step", |step, n| self::step(step, n, supplies, electrodes));
    table.finish();
    read
}

fn step(
    table: &Table,
    n: usize,
    supplies: Option<&[Supply]>,
    electrodes: Option<&[Electrode]>,
) -> Option<Step> {
    let main = supplies.and_then(<[_]>::first);
    let name = table.get("name").and_then(|i| i.text());
    let name = name.map_or_else(|| format!("step {}", n + 1), str::to_owned);
    let rest = table.get("rest").and_then(|i| i.flag()).unwrap_or(false);
    let given: Vec<_> = HOLDS.iter().filter(|key| table.has(key)).collect();
    let start = match given.len() {
        0 => None,
        _ => Some(
            table
                .one_of(&HOLDS)
                .and_then(|(key, item)| Some((key, hold(key, &item)?))),
        ),
    };
    let to = table.get("to");
    let setting = match (rest, start) {
        (true, None) => Some(Setting::Rest),
        (true, Some(_)) => {
            table.fault("a rest has no current", "leave out the current, or `rest`");
            None
        }
        (false, None) => main.map(|supply| Setting::Hold(supply.hold)),
        (false, Some(start)) => start.and_then(|(key, from)| match &to {
            Some(item) => Some(Setting::Ramp(from, hold(key, item)?)),
            None => Some(Setting::Hold(from)),
        }),
    };
    if let (Some(item), true) = (&to, given.is_empty()) {
        item.fault(
            "`to` is where a ramp ends, but nothing says where it begins",
            "write for example: current = \"1 A\", to = \"4 A\"",
        );
    }
    let volts = match setting {
        Some(Setting::Hold(Hold::Voltage(v))) => Some(v),
        Some(Setting::Ramp(Hold::Voltage(from), Hold::Voltage(to))) => Some(from.max(to)),
        _ => None,
    };
    if let (Some(volts), Some(limit_v)) = (volts, main.and_then(|s| s.limits.voltage_v))
        && volts > limit_v
    {
        table.fault(
            format!(
                "{volts} V are asked for, more than the voltage_limit of the supply, {limit_v} V"
            ),
            "hold fewer volts, or raise the limit",
        );
    }
    let off = off(table, rest, supplies);
    let pulse = table.table("pulse").map(|t| pulse(&t));
    let until = until(table, electrodes);
    let at_most = table.get("at_most").map(|i| i.positive(Dimension::Time));
    table.finish();
    let until = until?;
    if to.is_some() && !matches!(until, Until::Time(_)) {
        table.fault("a ramp needs the time it takes", "write time = \"20 min\"");
        return None;
    }
    Some(Step {
        name,
        setting: setting?,
        off: off?,
        pulse: match pulse {
            Some(pulse) => Some(pulse?),
            None => None,
        },
        at_most_s: match (&until, at_most) {
            (Until::Time(time_s), None) => *time_s,
            (_, Some(time_s)) => time_s?,
            (_, None) => LONGEST_S,
        },
        until,
    })
}

/// The supplies that are off in a step.
fn off(table: &Table, rest: bool, supplies: Option<&[Supply]>) -> Option<Vec<usize>> {
    let Some(item) = table.get("off") else {
        return Some(Vec::new());
    };
    if rest {
        item.fault("in a rest all supplies are off", "leave out `off`");
    }
    let items = item.list();
    let supplies = supplies?;
    let number = |item: &Item| {
        let name = item.text()?;
        match supplies.iter().position(|s| s.name == name) {
            Some(0) => {
                item.fault(
                    format!("`{name}` is the main supply, which a step is about"),
                    "a time with all supplies off is a step with rest = true",
                );
                None
            }
            Some(n) => Some(n),
            None => {
                let names: Vec<_> = supplies.iter().map(|s| s.name.as_str()).collect();
                item.fault(
                    format!("no supply is named `{name}`"),
                    suggest::help(name, &names),
                );
                None
            }
        }
    };
    items.iter().map(number).collect()
}

fn time(item: &Item) -> Option<f64> {
    let time_s = item.positive(Dimension::Time)?;
    item.usual(Dimension::Time, time_s, USUAL_S, "h");
    Some(time_s)
}

fn until(table: &Table, electrodes: Option<&[Electrode]>) -> Option<Until> {
    let (key, item) = table.one_of(&["time", "charge", "thickness", "mean_thickness"])?;
    let on = match table.get("on") {
        Some(item) => Some(work(&item, electrodes)?),
        None => None,
    };
    if on.is_some() && matches!(key, "time" | "charge") {
        table.fault(format!("a {key} belongs to no work"), "leave out `on`");
    }
    Some(match key {
        "time" => Until::Time(time(&item)?),
        "charge" => Until::Charge(item.positive(Dimension::Charge)?),
        "thickness" => Until::LeastThickness(item.positive(Dimension::Length)?, on),
        _ => Until::MeanThickness(item.positive(Dimension::Length)?, on),
    })
}

/// Reverse over forward current.
fn ratio(item: &Item) -> Option<f64> {
    let ratio = item.ratio()?;
    if ratio >= 0.0 && ratio.is_finite() {
        return Some(ratio);
    }
    item.fault(
        format!("{} must not be negative", item.name()),
        "write how large the reverse current is over the forward current, as \"300 %\" or 3",
    );
    None
}

fn pulse(table: &Table) -> Option<Pulse> {
    let time = |key| match table.get(key) {
        Some(item) => item.positive(Dimension::Time),
        None => Some(0.0),
    };
    let on = table.need_positive("on", "\"20 ms\"", Dimension::Time);
    let (off, reverse) = (time("off"), time("reverse"));
    let share = match table.get("reverse_share") {
        Some(item) => ratio(&item),
        None => Some(1.0),
    };
    table.finish();
    let pulse = Pulse {
        on_s: on?,
        off_s: off?,
        reverse_s: reverse?,
        reverse_share: share?,
    };
    if pulse.on_s <= pulse.reverse_share * pulse.reverse_s {
        table.fault(
            "the reverse current takes away all that the forward current brings",
            "make `reverse` shorter, or `reverse_share` smaller",
        );
        return None;
    }
    Some(pulse)
}
