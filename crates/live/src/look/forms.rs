//! The forms beside the drawings: keys of a job with what stands there, what may stand there, and a hint.

use crate::schema;
use serde::Serialize;
use toml_edit::{DocumentMut, Item, TableLike};

/// Some fields under a heading.
#[derive(Debug, Serialize)]
pub(super) struct Form {
    group: &'static str,
    fields: Vec<Field>,
}

/// A key of the job.
#[derive(Debug, Serialize)]
struct Field {
    path: String,
    label: String,
    /// As it stands in the job; nothing if it is not given.
    text: Option<String>,
    choices: Option<Vec<&'static str>>,
    /// The unit it is written in.
    unit: Option<String>,
    /// All units it may be written in, its own first.
    units: Vec<String>,
    hint: String,
}

/// Groups with the keys of each: path, and what a shop calls it.
const GROUPS: [(&str, &[(&str, &str)]); 6] = [
    (
        "Bath",
        &[
            ("bath.kind", "bath"),
            ("bath.recipe", "recipe"),
            ("bath.composition.copper_sulfate", "copper sulfate"),
            ("bath.composition.sulfuric_acid", "sulfuric acid"),
            ("bath.metal", "metal"),
            ("bath.temperature", "temperature"),
            ("bath.agitation", "agitation"),
            ("bath.stirring_radius", "radius of stirring"),
            ("bath.conductivity", "conductivity, measured"),
            ("bath.limiting_current_density", "limiting current density"),
            ("bath.efficiency", "current efficiency"),
            ("bath.hydrogen", "count hydrogen"),
        ],
    ),
    (
        "Supply",
        &[
            ("supply.mean_current_density", "mean current density"),
            ("supply.current", "current"),
            ("supply.voltage", "voltage"),
            ("supply.voltage_limit", "voltage limit"),
            ("supply.current_limit", "current limit"),
        ],
    ),
    ("Plan", &[("plan.time", "plating time")]),
    (
        "Wanted",
        &[
            ("wanted.thickness", "least thickness"),
            ("wanted.at_most", "largest thickness"),
            ("wanted.on", "on which work"),
            ("wanted.face", "on which face"),
            ("wanted.covered", "counts as covered"),
        ],
    ),
    (
        "Tank",
        &[
            ("title", "title"),
            ("tank.size", "size"),
            ("tank.liquid_level", "liquid level"),
            ("depth", "depth"),
        ],
    ),
    (
        "Grid",
        &[
            ("grid.finest", "cells at electrodes"),
            ("grid.edge", "cells at sharp edges"),
            ("grid.coarsest", "largest cells"),
            ("grid.wall", "cells at walls"),
        ],
    ),
];

/// Keys of the steps of a plan.
const STEP: [(&str, &str); 8] = [
    ("name", "name"),
    ("mean_current_density", "mean current density"),
    ("current", "current"),
    ("voltage", "voltage"),
    ("to", "ramp to"),
    ("time", "time"),
    ("thickness", "until the thinnest place has"),
    ("at_most", "at most"),
];

/// The forms of a job.
pub(super) fn forms(document: &DocumentMut) -> Vec<Form> {
    let root = document.as_table();
    let mut forms: Vec<Form> = GROUPS
        .iter()
        .map(|(group, keys)| Form {
            group,
            fields: (keys.iter())
                .filter(|(path, _)| is_of_this_job(root, path))
                .filter_map(|(path, label)| field(root, (*path).to_owned(), label))
                .collect(),
        })
        .collect();
    forms[2].fields.extend(steps(root));
    let figures = root.get("figures").and_then(Item::as_table_like);
    let figures = figures.into_iter().flat_map(|table| table.iter());
    let figures: Vec<_> = figures
        .filter_map(|(name, _)| field(root, format!("figures.{name}"), name))
        .collect();
    if !figures.is_empty() {
        forms.push(Form {
            group: "Figures",
            fields: figures,
        });
    }
    forms
}

/// Keys that make no sense in a job unless they stand there.
fn is_of_this_job(root: &dyn TableLike, path: &str) -> bool {
    let kind = value(root, "bath.kind").unwrap_or_default();
    let given = value(root, path).is_some();
    given
        || match path {
            "bath.recipe"
            | "bath.composition.copper_sulfate"
            | "bath.composition.sulfuric_acid" => kind == "acid copper",
            "bath.metal" => kind == "custom",
            "depth" => value(root, "space").is_some_and(|space| space == "planar"),
            "tank.liquid_level" => value(root, "space").is_none_or(|space| space == "tank"),
            "plan.time" => root
                .get("plan")
                .is_none_or(|plan| plan.get("step").is_none()),
            _ => true,
        }
}

fn steps(root: &dyn TableLike) -> Vec<Field> {
    let plan = root.get("plan").and_then(Item::as_table_like);
    let steps = crate::drawn::tables(plan.and_then(|plan| plan.get("step")));
    let mut fields = Vec::new();
    for n in 1..=steps.len() {
        for (key, label) in STEP {
            let path = match steps.len() {
                // A single table is called without a number.
                1 if value(root, "plan.step.1").is_none() => format!("plan.step.{key}"),
                _ => format!("plan.step.{n}.{key}"),
            };
            fields.extend(field(root, path, &format!("step {n}: {label}")));
        }
    }
    fields
}

fn field(root: &dyn TableLike, path: String, label: &str) -> Option<Field> {
    let words: Vec<&str> = path.split('.').collect();
    let schema = schema::at(&words)?;
    let text = value(root, &path);
    let unit = text.as_deref().and_then(unit_of);
    let mut units: Vec<String> = schema::units(schema)
        .iter()
        .map(|u| (*u).to_owned())
        .collect();
    if let Some(own) = &unit {
        units.retain(|u| u != own);
        units.insert(0, own.clone());
    }
    let hint = schema::line(schema).unwrap_or_default();
    Some(Field {
        label: label.to_owned(),
        choices: schema::words(schema),
        unit: unit.filter(|_| !units.is_empty()),
        units,
        hint: hint
            .split("; units: ")
            .next()
            .unwrap_or_default()
            .to_owned(),
        text,
        path,
    })
}

/// What stands at a path, without quotes.
fn value(root: &dyn TableLike, path: &str) -> Option<String> {
    let mut words = path.split('.');
    let mut item = root.get(words.next()?)?;
    for word in words {
        item = match word.parse::<usize>() {
            Ok(n) if item.get(word).is_none() => item.get(n.checked_sub(1)?)?,
            _ => item.get(word).or_else(|| item.get(0)?.get(word))?,
        };
    }
    match item {
        Item::None => None,
        item => Some(match item.as_str() {
            Some(text) => text.to_owned(),
            None => item.to_string().trim().to_owned(),
        }),
    }
}

/// The unit of a plain quantity.
fn unit_of(text: &str) -> Option<String> {
    let (number, unit) = text.trim().split_once(' ')?;
    number.parse::<f64>().ok()?;
    let unit = unit
        .split(" x ")
        .last()?
        .trim_start_matches(|c: char| c.is_ascii_digit() || "+-. ".contains(c));
    (!unit.is_empty()).then(|| unit.to_owned())
}
