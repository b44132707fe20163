//! All keys of the job file with a line each, read off its schema.

use crate::schema::schema;
use serde_json::Value;

/// A key and what it is for.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Key {
    /// The way to it from the root of the job, with dots; `[[...]]` around tables of which there may be several.
    pub key: String,
    /// What may be written there.
    pub line: String,
    /// Must it be there, in a table that is?
    pub needed: bool,
}

/// All keys, in the order of the schema; what is inside `shape` and `place` comes once, at the end.
pub fn keys() -> Vec<Key> {
    let schema = schema();
    let mut keys = Vec::new();
    walk(&schema, "", &mut keys);
    for (name, definition) in schema["$defs"].as_object().into_iter().flatten() {
        walk(definition, name, &mut keys);
    }
    keys
}

/// The keys of a table, or of the table in a list.
fn walk(schema: &Value, path: &str, keys: &mut Vec<Key>) {
    let Some(table) = table(schema) else { return };
    let needed = |key: &str| {
        let list = table["required"].as_array();
        list.is_some_and(|list| list.iter().any(|k| k == key))
    };
    for (key, value) in table["properties"].as_object().into_iter().flatten() {
        let name = match (path.is_empty(), is_list_of_tables(value)) {
            (true, true) => format!("[[{key}]]"),
            (true, false) => key.clone(),
            (false, true) => format!("{path}.[[{key}]]"),
            (false, false) => format!("{path}.{key}"),
        };
        keys.push(Key {
            line: line(value),
            needed: needed(key),
            key: name.clone(),
        });
        walk(value, &name, keys);
    }
}

/// The table that a schema allows, alone, in a list, or among other things.
fn table(schema: &Value) -> Option<&Value> {
    if schema["properties"].is_object() {
        return Some(schema);
    }
    if schema["items"].is_object() {
        return table(&schema["items"]);
    }
    schema["anyOf"].as_array()?.iter().find_map(table)
}

/// May there be several tables? Lists of points and quantities, among which tables may be, are none.
fn is_list_of_tables(schema: &Value) -> bool {
    let choices = schema["anyOf"].as_array().into_iter().flatten();
    choices
        .clone()
        .any(|c| c["items"]["properties"].is_object())
        && choices.clone().any(|c| c["properties"].is_object())
}

/// What may be written, in a line.
fn line(schema: &Value) -> String {
    if let Some(text) = schema["description"].as_str() {
        return text.into();
    }
    if let Some(words) = schema["enum"].as_array() {
        let words: Vec<_> = words.iter().filter_map(Value::as_str).collect();
        return format!("one of: {}", words.join(", "));
    }
    if let Some(definition) = schema["$ref"].as_str() {
        let name = definition.rsplit('/').next().unwrap_or_default();
        return format!("a {name}, see below");
    }
    if let Some(choices) = schema["anyOf"].as_array() {
        let mut lines: Vec<String> = choices.iter().map(line).collect();
        lines.dedup();
        if is_list_of_tables(schema) {
            return "a table, or several".into();
        }
        return lines.join("; or ");
    }
    match schema["type"].as_str() {
        Some("boolean") => "true or false".into(),
        Some("array") => format!("a list: {}", line(&schema["items"])),
        Some("object") => "a table".into(),
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_of_the_schema_has_a_line() {
        let keys = keys();
        let line = |key: &str| {
            let found = keys.iter().find(|k| k.key == key);
            found.unwrap_or_else(|| panic!("no {key}")).line.clone()
        };
        for key in &keys {
            assert!(!key.line.is_empty() && !key.line.contains('\n'), "{key:?}");
        }
        assert!(line("[[reading]].at").contains("units: mm"));
        assert!(line("[[face]].side").contains("-x"));
        assert!(line("[[anode]].wall").contains("-x"));
        assert_eq!(line("[[work]].[[coat]]"), "a table, or several");
        assert!(line("[[work]].law.tafel.slope").contains("per factor e"));
        assert!(line("shape.ball.radius").contains("radius"));
        assert!(line("[[work]].[[repeat]].pitch").contains("units: mm"));
        assert!(line("[[stop_off]].[[repeat]].count").contains("1 x 3 x 2"));
        // Each once.
        let mut names: Vec<_> = keys.iter().map(|k| &k.key).collect();
        names.sort_unstable();
        let count = names.len();
        names.dedup();
        assert_eq!(names.len(), count);
    }
}
