//! The words of the schema: what a value of each kind looks like.

use crate::unit::Dimension;
use serde_json::{Map, Value, json};

pub(super) fn table(keys: &[(&str, Value)], required: &[&str]) -> Value {
    let properties: Map<_, _> = keys.iter().map(|(k, v)| ((*k).into(), v.clone())).collect();
    json!({
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

pub(super) fn link(definition: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{definition}") })
}

pub(super) fn text(description: &str) -> Value {
    json!({ "type": "string", "description": description })
}

pub(super) fn words(words: &[&str]) -> Value {
    json!({ "enum": words })
}

pub(super) fn number(description: &str) -> Value {
    let plain = json!({ "type": "number", "description": description });
    either(&[plain, text("a figure that is a number")])
}

pub(super) fn either(choices: &[Value]) -> Value {
    json!({ "anyOf": choices })
}

pub(super) fn list(items: Value) -> Value {
    json!({ "type": "array", "items": items })
}

pub(super) fn several(table: Value) -> Value {
    either(&[list(table.clone()), table])
}

pub(super) fn quantity(dimension: Dimension, description: &str) -> Value {
    text(&format!("{description}; units: {}", dimension.list()))
}

pub(super) fn length(description: &str) -> Value {
    quantity(Dimension::Length, description)
}

pub(super) fn point(description: &str) -> Value {
    either(&[
        length(&format!("{description}, as \"10 x 20 x 30 mm\"")),
        list(length("coordinate")),
    ])
}

pub(super) fn points(description: &str) -> Value {
    list(point(description))
}

/// Corners, with smooth curves among them.
pub(super) fn outline(description: &str) -> Value {
    let curve = ("curve", points("point of a smooth curve"));
    list(either(&[point(description), table(&[curve], &["curve"])]))
}

pub(super) fn direction() -> Value {
    either(&[
        words(&["x", "y", "z", "-x", "-y", "-z"]),
        list(number("component")),
    ])
}

pub(super) fn corners() -> Vec<(&'static str, Value)> {
    vec![
        ("size", point("sides")),
        ("at", point("low corner")),
        ("centre", point("middle")),
        ("from", point("one corner")),
        ("to", point("opposite corner")),
    ]
}

pub(super) fn share(description: &str) -> Value {
    either(&[
        quantity(Dimension::Share, description),
        number("or a fraction"),
    ])
}

pub(super) fn ratio(description: &str) -> Value {
    either(&[
        quantity(Dimension::Share, description),
        number("or a plain number"),
    ])
}
