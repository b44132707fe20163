//! The table of check values, `tests/data/cases.json`: each with source, method and digits.

use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::sync::OnceLock;

fn table() -> &'static Value {
    static TABLE: OnceLock<Value> = OnceLock::new();
    TABLE.get_or_init(|| {
        serde_json::from_str(include_str!("../../../tests/data/cases.json"))
            .expect("cases.json is JSON")
    })
}

/// An expected value: the entry of case `id` whose quantity contains this text at exactly this
/// place, or else the first whose place contains it.
///
/// # Panics
/// If the table has no such entry.
pub fn expected(id: &str, quantity: &str, place: &str) -> f64 {
    find(id, |q, w| q.contains(quantity) && w == place)
        .or_else(|| find(id, |q, w| q.contains(quantity) && w.contains(place)))
        .unwrap_or_else(|| panic!("no \"{quantity}\" at \"{place}\" in {id}"))
}

/// As [`expected`], where quantity and place are these texts.
///
/// # Panics
/// If the table has no such entry.
pub fn expected_exactly(id: &str, quantity: &str, place: &str) -> f64 {
    find(id, |q, w| q == quantity && w == place)
        .unwrap_or_else(|| panic!("no \"{quantity}\" at \"{place}\" in {id}"))
}

/// Where the reference values of an entry come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Numbers that were published.
    Published,
    /// Worked out here from a closed formula or series, published or derived, as the source says.
    Formula,
    /// Computed here by another method than the program's.
    Computed,
}

impl Kind {
    /// As the table prints it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::Formula => "formula",
            Self::Computed => "computed",
        }
    }
}

/// Where the reference values of an entry come from.
///
/// # Panics
/// If the table has no such entry, or it does not say.
pub fn kind(id: &str) -> Kind {
    Kind::deserialize(&entry(id)["provenance"]).expect("a kind of provenance")
}

/// The ids of all entries.
pub fn ids() -> Vec<&'static str> {
    let cases = table().as_array().into_iter().flatten();
    cases.filter_map(|c| c["id"].as_str()).collect()
}

/// Source of an entry.
///
/// # Panics
/// If the table has no such entry.
pub fn source(id: &str) -> &'static str {
    entry(id)["source"].as_str().unwrap_or("")
}

fn entry(id: &str) -> &'static Value {
    table()
        .as_array()
        .and_then(|cases| cases.iter().find(|c| c["id"] == id))
        .unwrap_or_else(|| panic!("no case {id}"))
}

fn find(id: &str, is: impl Fn(&str, &str) -> bool) -> Option<f64> {
    entry(id)["expected"].as_array()?.iter().find_map(|v| {
        let fits = is(v["quantity"].as_str()?, v["where"].as_str()?);
        fits.then(|| v["value"].as_f64()).flatten()
    })
}
