//! The tables of a job that draw bodies: by which name and path they are called.

use ionfall_model::Role;
use toml_edit::{DocumentMut, Item, TableLike, Value};

/// Keys of the tables, in the order in which a job is read.
pub(crate) const KEYS: [&str; 6] = [
    Role::Anode.key(),
    Role::Work.key(),
    Role::Thief.key(),
    Role::Floating.key(),
    "shield",
    "stop_off",
];
/// Key of contacts, in a work or thief.
pub(crate) const CONTACT: &str = "contact";

/// Which table draws a body.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Drawn {
    /// What the body is called, by itself or after its key.
    pub name: String,
    /// Its key: `anode`, `contact`.
    pub key: &'static str,
    /// The way from the root.
    pub way: Vec<Step>,
    /// Are there copies of it?
    pub is_repeated: bool,
}

/// A key, and which of the tables under it, from 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Step {
    pub key: &'static str,
    pub number: usize,
    /// Is it one of a list, even if the only one?
    pub listed: bool,
}

impl Drawn {
    /// Is it, or one of its copies, called so?
    pub fn answers_to(&self, name: &str) -> bool {
        let Some(ending) = name.strip_prefix(self.name.as_str()) else {
            return false;
        };
        let is_number = |c: char| c.is_ascii_digit() || c == '.';
        let is_copy = |numbers: &str| !numbers.is_empty() && numbers.chars().all(is_number);
        ending.is_empty() || self.is_repeated && ending.strip_prefix(' ').is_some_and(is_copy)
    }

    /// The path as [`with_values`](ionfall_job::with_values) takes it: `anode.2`.
    pub fn path(&self) -> String {
        let word = |step: &Step| match step.listed {
            true => format!("{}.{}", step.key, step.number + 1),
            false => step.key.to_owned(),
        };
        self.way.iter().map(word).collect::<Vec<_>>().join(".")
    }
}

/// All tables that draw bodies.
pub(crate) fn all(document: &DocumentMut) -> Vec<Drawn> {
    let mut all = Vec::new();
    for key in KEYS {
        let tables = tables(document.get(key));
        for (n, table) in tables.iter().enumerate() {
            let step = step(document.get(key), key, n);
            let own = named(*table, key, n, tables.len(), vec![step]);
            let contacts = contacts(*table, &own, step);
            all.push(own);
            all.extend(contacts);
        }
    }
    all
}

/// The contacts of a work or thief, called as the job calls those without a name.
fn contacts(table: &dyn TableLike, on: &Drawn, step: Step) -> Vec<Drawn> {
    let found = tables(table.get(CONTACT));
    let contact = |(n, contact): (usize, &&dyn TableLike)| {
        let inner = self::step(table.get(CONTACT), CONTACT, n);
        let drawn = named(*contact, CONTACT, n, found.len(), vec![step, inner]);
        let name = match contact.get("name") {
            Some(_) => drawn.name,
            None => format!("{} of {}", drawn.name, on.name),
        };
        Drawn {
            name,
            is_repeated: on.is_repeated,
            ..drawn
        }
    };
    found.iter().enumerate().map(contact).collect()
}

pub(crate) fn step(item: Option<&Item>, key: &'static str, number: usize) -> Step {
    let single = matches!(
        item,
        Some(Item::Table(_) | Item::Value(Value::InlineTable(_)))
    );
    Step {
        key,
        number,
        listed: !single,
    }
}

/// The name of a table, or one made up, as the job's reader does.
fn named(table: &dyn TableLike, key: &'static str, n: usize, of: usize, way: Vec<Step>) -> Drawn {
    let word = if key == "stop_off" { "stop-off" } else { key };
    let name = match table.get("name").and_then(Item::as_str) {
        Some(name) => name.to_owned(),
        None if of > 1 => format!("{word} {}", n + 1),
        None => word.to_owned(),
    };
    Drawn {
        name,
        key,
        way,
        is_repeated: table.get("repeat").is_some(),
    }
}

/// The tables under a key: one, several with heads, or a list.
pub(crate) fn tables(item: Option<&Item>) -> Vec<&dyn TableLike> {
    match item {
        Some(Item::Table(table)) => vec![table],
        Some(Item::ArrayOfTables(list)) => list.iter().map(|t| t as &dyn TableLike).collect(),
        Some(Item::Value(Value::InlineTable(table))) => vec![table],
        Some(Item::Value(Value::Array(list))) => {
            let tables = list.iter().filter_map(Value::as_inline_table);
            tables.map(|t| t as &dyn TableLike).collect()
        }
        _ => Vec::new(),
    }
}

/// The table that draws a body.
pub(crate) fn table<'d>(document: &'d DocumentMut, drawn: &Drawn) -> Option<&'d dyn TableLike> {
    let mut way = drawn.way.iter();
    let first = way.next()?;
    let mut found = *tables(document.get(first.key)).get(first.number)?;
    for step in way {
        found = *tables(found.get(step.key)).get(step.number)?;
    }
    Some(found)
}
