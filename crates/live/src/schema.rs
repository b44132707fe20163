//! The schema of a job, looked up by a path: which keys it has, what may be written there.

use ionfall_job::schema;
use serde_json::Value;
use std::sync::OnceLock;

/// The whole schema.
fn whole() -> &'static Value {
    static SCHEMA: OnceLock<Value> = OnceLock::new();
    SCHEMA.get_or_init(schema)
}

/// What the schema says of a path, whose words may be keys, and numbers or names of one of several tables.
pub(crate) fn at(path: &[&str]) -> Option<&'static Value> {
    let mut here = whole();
    for (n, word) in path.iter().enumerate() {
        let here_now = resolved(here);
        match properties(here_now).and_then(|keys| keys.get(*word)) {
            Some(inner) => here = inner,
            // One of several tables.
            None if items(here_now).is_some() && n + 1 < path.len() => {}
            None => return additional(here_now),
        }
    }
    Some(resolved(here))
}

/// What a link leads to.
fn resolved(schema: &'static Value) -> &'static Value {
    match schema["$ref"]
        .as_str()
        .and_then(|link| link.rsplit('/').next())
    {
        Some(name) => &whole()["$defs"][name],
        None => schema,
    }
}

/// Keys of the table that a schema allows, alone, in a list, or among other things.
fn properties(schema: &'static Value) -> Option<&'static Value> {
    if schema["properties"].is_object() {
        return Some(&schema["properties"]);
    }
    if schema["items"].is_object() {
        return properties(resolved(&schema["items"]));
    }
    let choices = schema["anyOf"].as_array()?.iter();
    choices.map(resolved).find_map(properties)
}

/// What stands in the list that a schema allows.
fn items(schema: &'static Value) -> Option<&'static Value> {
    if schema["items"].is_object() {
        return Some(&schema["items"]);
    }
    let choices = schema["anyOf"].as_array()?.iter();
    choices.map(resolved).find_map(items)
}

/// What a key of any name may be.
fn additional(schema: &'static Value) -> Option<&'static Value> {
    Some(&schema["additionalProperties"]).filter(|more| more.is_object())
}

/// The words to choose from.
pub(crate) fn words(schema: &'static Value) -> Option<Vec<&'static str>> {
    if let Some(words) = schema["enum"].as_array() {
        return Some(words.iter().filter_map(Value::as_str).collect());
    }
    schema["anyOf"].as_array()?.iter().find_map(words)
}

/// The line that describes it.
pub(crate) fn line(schema: &'static Value) -> Option<&'static str> {
    if let Some(text) = schema["description"].as_str() {
        return Some(text);
    }
    schema["anyOf"].as_array()?.iter().find_map(line)
}

/// Units that a quantity may have.
pub(crate) fn units(schema: &'static Value) -> Vec<&'static str> {
    let list = line(schema).and_then(|line| line.split_once("units: "));
    list.map_or_else(Vec::new, |(_, units)| units.split(", ").collect())
}

/// Does it take numbers or truth values without quotes, and nothing else first?
pub(crate) fn is_bare(schema: &'static Value) -> bool {
    let first = schema["anyOf"]
        .as_array()
        .and_then(|c| c.first())
        .unwrap_or(schema);
    matches!(
        first["type"].as_str(),
        Some("number" | "boolean" | "integer")
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_found_by_their_paths() {
        let density = at(&["supply", "mean_current_density"]).unwrap();
        assert!(units(density).contains(&"A/dm2"));
        assert!(
            words(at(&["bath", "kind"]).unwrap())
                .unwrap()
                .contains(&"acid copper")
        );
        assert!(at(&["anode", "2", "shape", "box", "from"]).is_some());
        assert!(at(&["work", "pattern", "contact", "1", "shape", "ball", "radius"]).is_some());
        assert!(at(&["figures", "anything"]).is_some());
        assert!(at(&["bath", "agitatoin"]).is_none() && at(&["supply", "volts"]).is_none());
    }
}
