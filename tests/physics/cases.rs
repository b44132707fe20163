//! The table of check values, `tests/data/cases.json`: each with source, method and digits.

use serde_json::Value;
use std::sync::OnceLock;

fn table() -> &'static Value {
    static TABLE: OnceLock<Value> = OnceLock::new();
    TABLE.get_or_init(|| {
        serde_json::from_str(include_str!("../data/cases.json")).expect("cases.json is JSON")
    })
}

/// An expected value: the first entry of case `id` whose quantity and place contain these texts.
pub fn expected(id: &str, quantity: &str, place: &str) -> f64 {
    let case = table()
        .as_array()
        .and_then(|cases| cases.iter().find(|c| c["id"] == id))
        .unwrap_or_else(|| panic!("no case {id}"));
    case["expected"]
        .as_array()
        .and_then(|values| {
            values.iter().find(|v| {
                let has = |key: &str, text: &str| v[key].as_str().is_some_and(|s| s.contains(text));
                has("quantity", quantity) && has("where", place)
            })
        })
        .and_then(|v| v["value"].as_f64())
        .unwrap_or_else(|| panic!("no \"{quantity}\" at \"{place}\" in {id}"))
}
