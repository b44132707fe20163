//! Tables of a document, to be changed, added, taken out.

use crate::drawn::Drawn;
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, TableLike, Value};

/// The table that draws a body.
pub(super) fn table_mut<'d>(
    document: &'d mut DocumentMut,
    drawn: &Drawn,
) -> Option<&'d mut dyn TableLike> {
    let mut here = document.as_item_mut();
    for step in &drawn.way {
        here = here.get_mut(step.key)?;
        if step.listed {
            here = here.get_mut(step.number)?;
        }
    }
    here.as_table_like_mut()
}

/// What a word leads to: a key, one of several tables by its number (from 1) or name; the only one may be passed over.
pub(super) fn inside<'i>(item: &'i mut Item, word: &str) -> Option<&'i mut Item> {
    if item.get(word).is_some() {
        return item.get_mut(word);
    }
    let number = word.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
    let is_called = |item: &Item| item.get("name").and_then(Item::as_str) == Some(word);
    let count = (0..).take_while(|n| item.get(*n).is_some()).count();
    match number.or_else(|| (0..count).find(|n| item.get(*n).is_some_and(is_called))) {
        Some(n) if n < count => item.get_mut(n),
        Some(_) => None,
        None if count == 1 => item.get_mut(0)?.get_mut(word),
        None => None,
    }
}

/// Puts one more table under a key, behind those that are there. A single table becomes the first of a list.
pub(super) fn push(within: &mut dyn TableLike, key: &str, table: Table) {
    let Some(item) = within.get_mut(key) else {
        let mut list = ArrayOfTables::new();
        list.push(table);
        within.insert(key, Item::ArrayOfTables(list));
        return;
    };
    match item {
        Item::ArrayOfTables(list) => list.push(following(list.iter().last(), table)),
        Item::Value(Value::Array(list)) => list.push(table.into_inline_table()),
        Item::Table(first) => {
            let mut list = ArrayOfTables::new();
            let table = following(Some(first), table);
            list.push(std::mem::take(first));
            list.push(table);
            *item = Item::ArrayOfTables(list);
        }
        Item::Value(Value::InlineTable(first)) => {
            let mut list = Array::new();
            list.push(std::mem::take(first));
            list.push(table.into_inline_table());
            *item = Item::Value(Value::Array(list));
        }
        _ => {}
    }
}

/// A table that is written right behind another one and what is inside of that.
fn following(last: Option<&Table>, mut table: Table) -> Table {
    table.set_position(last.and_then(last_position));
    table
}

/// Where the last head of a table and of the tables inside of it stands.
fn last_position(table: &Table) -> Option<isize> {
    let inner = table.iter().flat_map(|(_, item)| match item {
        Item::Table(table) => vec![last_position(table)],
        Item::ArrayOfTables(list) => list.iter().map(last_position).collect(),
        _ => Vec::new(),
    });
    inner.flatten().chain(table.position()).max()
}

/// Takes out one of the tables under a key; the comment above it stays, above what follows.
pub(super) fn take_out(document: &mut DocumentMut, drawn: &Drawn) {
    let Some((last, way)) = drawn.way.split_last() else {
        return;
    };
    let above = Drawn {
        way: way.to_vec(),
        ..drawn.clone()
    };
    let Some(within) = table_mut(document, &above) else {
        return;
    };
    let Some(item) = within.get_mut(last.key) else {
        return;
    };
    let mut taken = None;
    let mut is_empty = true;
    match item {
        Item::ArrayOfTables(list) if last.number < list.len() => {
            taken = list.get(last.number).cloned();
            list.remove(last.number);
            is_empty = list.is_empty();
        }
        Item::Value(Value::Array(list)) if last.number < list.len() => {
            list.remove(last.number);
            is_empty = list.is_empty();
        }
        Item::Table(table) => taken = Some(table.clone()),
        _ => {}
    }
    if is_empty {
        within.remove(last.key);
    }
    if let Some(table) = taken {
        keep_comment(document, &table);
    }
}

/// Puts the comment above a table that is gone above the table that followed it, or at the end.
fn keep_comment(document: &mut DocumentMut, gone: &Table) {
    let comment = gone
        .decor()
        .prefix()
        .and_then(|p| p.as_str())
        .unwrap_or_default();
    if !comment.contains('#') {
        return;
    }
    let comment = comment.to_owned();
    let from = last_position(gone).unwrap_or(0);
    let next = positions(document.as_table())
        .into_iter()
        .filter(|p| *p > from)
        .min();
    match next.and_then(|next| at_position(document.as_table_mut(), next)) {
        Some(table) => {
            let own = table
                .decor()
                .prefix()
                .and_then(|p| p.as_str())
                .unwrap_or_default();
            let both = format!("{comment}{own}");
            table.decor_mut().set_prefix(both);
        }
        None => {
            let both = format!(
                "{comment}{}",
                document.trailing().as_str().unwrap_or_default()
            );
            document.set_trailing(both);
        }
    }
}

/// Where the heads inside of a table stand.
fn positions(table: &Table) -> Vec<isize> {
    let mut found = Vec::new();
    for (_, item) in table.iter() {
        let tables: Vec<&Table> = match item {
            Item::Table(table) => vec![table],
            Item::ArrayOfTables(list) => list.iter().collect(),
            _ => continue,
        };
        for table in tables {
            found.extend(
                table
                    .position()
                    .filter(|_| !table.is_implicit() && !table.is_dotted()),
            );
            found.extend(positions(table));
        }
    }
    found
}

fn at_position(table: &mut Table, position: isize) -> Option<&mut Table> {
    for (_, item) in table.iter_mut() {
        let tables: Vec<&mut Table> = match item {
            Item::Table(table) => vec![table],
            Item::ArrayOfTables(list) => list.iter_mut().collect(),
            _ => continue,
        };
        for table in tables {
            let own = table.position() == Some(position);
            if own && !table.is_implicit() && !table.is_dotted() {
                return Some(table);
            }
            if let Some(found) = at_position(table, position) {
                return Some(found);
            }
        }
    }
    None
}
