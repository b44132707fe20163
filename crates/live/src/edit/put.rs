//! Values set where they stand, added where they are missing, taken out.

use super::document;
use super::tables::inside;
use crate::refusal::Refusal;
use crate::schema;
use ionfall_job::{VaryError, with_values};
use toml_edit::{DocumentMut, InlineTable, Item, Table, Value};

/// The text with other values: pairs of path and value, written as in a job; quotes around a text may be left out.
///
/// # Errors
/// A path that leads nowhere, a value that is none.
pub(crate) fn set(text: &str, values: &[(String, String)]) -> Result<String, Refusal> {
    let mut text = text.to_owned();
    for pair in values {
        text = match with_values(&text, std::slice::from_ref(pair)) {
            Ok(changed) => changed,
            Err(VaryError::NoKey { .. }) => added(&text, &pair.0, &pair.1)?,
            Err(error) => return Err(Refusal::of(&error)),
        };
    }
    document(&text)?;
    Ok(text)
}

/// The text with a key that is not there yet.
fn added(text: &str, path: &str, value: &str) -> Result<String, Refusal> {
    let mut document = document(text)?;
    let words: Vec<&str> = path.split('.').map(str::trim).collect();
    let Some(schema) = schema::at(&words) else {
        return Err(Refusal::plain(format!("a job has no `{path}`")));
    };
    let value = written(value, schema::is_bare(schema))?;
    insert(&mut document, &words, value)
        .ok_or_else(|| Refusal::plain(format!("there is no place for `{path}` in the job")))?;
    Ok(document.to_string())
}

/// A value: as it is where it is TOML and no bare word, else in quotes.
fn written(value: &str, is_bare: bool) -> Result<Value, Refusal> {
    let value = value.trim();
    let structured = value.starts_with(['{', '[', '"', '\'']);
    let plain = matches!(value, "true" | "false") || (is_bare && value.parse::<f64>().is_ok());
    if structured || plain {
        let found = value.parse::<Value>();
        return found.map_err(|error| Refusal::plain(format!("`{value}` is no value: {error}")));
    }
    Ok(value.into())
}

/// Puts a value where the words lead; tables that are missing on the way are made, with a head at the root.
fn insert(document: &mut DocumentMut, words: &[&str], value: Value) -> Option<()> {
    let (last, way) = words.split_last()?;
    let mut here = document.as_item_mut();
    for (depth, word) in way.iter().enumerate() {
        if inside(here, word).is_none() {
            let empty = match depth {
                0 => Item::Table(headed()),
                _ => Item::Value(InlineTable::new().into()),
            };
            here.as_table_like_mut()?.insert(word, empty);
        }
        here = inside(here, word)?;
    }
    if here.as_table_like().is_none() {
        // The only table of a list.
        here = here.get_mut(0)?;
    }
    here.as_table_like_mut()?.insert(last, Item::Value(value));
    Some(())
}

fn headed() -> Table {
    let mut table = Table::new();
    table.decor_mut().set_prefix("\n");
    table
}

/// The text without a key.
///
/// # Errors
/// A path that leads nowhere.
pub(crate) fn unset(text: &str, path: &str) -> Result<String, Refusal> {
    let mut document: DocumentMut = document(text)?;
    let words: Vec<&str> = path.split('.').map(str::trim).collect();
    let nowhere = || Refusal::plain(format!("the job has no `{path}`"));
    let (last, way) = words.split_last().ok_or_else(nowhere)?;
    let mut here = document.as_item_mut();
    for word in way {
        here = inside(here, word).ok_or_else(nowhere)?;
    }
    if here.as_table_like().is_none() {
        here = here.get_mut(0).ok_or_else(nowhere)?;
    }
    let table = here.as_table_like_mut().ok_or_else(nowhere)?;
    table.remove(last).ok_or_else(nowhere)?;
    Ok(document.to_string())
}
