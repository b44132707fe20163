//! Bodies moved, turned, made to fill a box. What is clamped to a work, painted on it, or drawn along it goes along.
//!
//! A body that has a `place` keeps its shape's own numbers: the last shift of the place is changed, or one added. Without
//! a place the numbers of the shape are changed, where its kind has some that say where it is.

use super::quantity::{moved, number, row};
use super::{document, tables};
use crate::boxes::{self, Box3};
use crate::drawn::{self, Drawn};
use crate::files::Files;
use crate::refusal::Refusal;
use ionfall_job::parse_with;
use toml_edit::{Array, DocumentMut, InlineTable, Item, TableLike, Value};

/// A body by its name, among all.
pub(super) fn named<'a>(all: &'a [Drawn], body: &str) -> Result<&'a Drawn, Refusal> {
    let found = all.iter().find(|d| d.name == body);
    // A copy is moved by moving the body that is drawn.
    let found = found.or_else(|| all.iter().find(|d| d.answers_to(body)));
    found.ok_or_else(|| Refusal::plain(format!("the job has no body `{body}`")))
}

/// Number of coordinates of a job.
pub(super) fn dimension(document: &DocumentMut) -> usize {
    match document.get("space").and_then(Item::as_str) {
        Some("planar" | "axisymmetric") => 2,
        _ => 3,
    }
}

/// The text with a body moved, mm.
///
/// # Errors
/// A body that is not there, or has no place of its own.
pub(crate) fn shift(text: &str, body: &str, by_mm: &[f64]) -> Result<String, Refusal> {
    let mut document = document(text)?;
    let dimension = dimension(&document);
    let by_mm = by_mm
        .get(..dimension)
        .ok_or_else(|| Refusal::plain(format!("a move of this job has {dimension} coordinates")))?;
    let all = drawn::all(&document);
    let one = named(&all, body)?;
    for table in [one].into_iter().chain(&along(&document, &all, one)) {
        let found = tables::table_mut(&mut document, table);
        let is_moved = found.is_some_and(|table| shift_table(table, by_mm));
        if !is_moved && table == one {
            return Err(no_place(body));
        }
    }
    shift_marks(&mut document, one, by_mm);
    Ok(document.to_string())
}

fn no_place(body: &str) -> Refusal {
    Refusal::plain(format!(
        "`{body}` has no place of its own: it is a wall, or its shape is missing"
    ))
}

/// What goes along with a body: its contacts, and the lacquer that is on it.
pub(super) fn along(document: &DocumentMut, all: &[Drawn], one: &Drawn) -> Vec<Drawn> {
    let is_on = |other: &&Drawn| match other.key {
        "contact" => other.way.len() > one.way.len() && other.way.starts_with(&one.way),
        "stop_off" => {
            let table = drawn::table(document, other);
            let on = table
                .and_then(|table| table.get("on"))
                .and_then(Item::as_str);
            on == Some(one.name.as_str())
        }
        _ => false,
    };
    all.iter().filter(is_on).cloned().collect()
}

/// Moves what a table draws.
pub(super) fn shift_table(table: &mut dyn TableLike, by_mm: &[f64]) -> bool {
    if table.get("wall").is_some() {
        return false;
    }
    if let Some(sheet) = table.get_mut("sheet").and_then(Item::as_table_like_mut) {
        let flat = by_mm.len() == 2 && !is_placed(sheet);
        return (flat && shift_rows(sheet, &["points"], by_mm)) || shift_place(sheet, by_mm);
    }
    if is_placed(table) {
        return shift_place(table, by_mm);
    }
    let Some(shape) = table.get_mut("shape").and_then(Item::as_table_like_mut) else {
        return false;
    };
    if is_placed(shape) {
        return shift_place(shape, by_mm);
    }
    shift_shape(shape, by_mm) || shift_place(table, by_mm)
}

fn is_placed(table: &dyn TableLike) -> bool {
    let place = table.get("place").and_then(Item::as_array);
    place.is_some_and(|steps| !steps.is_empty())
}

/// Moves a shape by its own numbers; false if its kind has none, or they cannot be read.
fn shift_shape(shape: &mut dyn TableLike, by_mm: &[f64]) -> bool {
    let kinds: Vec<String> = shape.iter().map(|(key, _)| key.to_owned()).collect();
    let [kind] = kinds.as_slice() else {
        return false;
    };
    let Some(drawn) = shape.get_mut(kind).and_then(Item::as_table_like_mut) else {
        return false;
    };
    let key = match kind.as_str() {
        "box" | "rectangle" if drawn.get("from").is_some() => {
            return shift_rows(drawn, &["from", "to"], by_mm);
        }
        "box" | "rectangle" if drawn.get("centre").is_some() => "centre",
        "box" | "rectangle" | "cylinder" | "frustum" | "torus" | "extruded" | "revolved"
        | "relief" | "half_space" | "half_plane" => "at",
        "ball" | "circle" | "ellipsoid" | "ellipse" => "centre",
        "wire" | "polygon" if drawn.get("holes").is_none() => {
            return shift_rows(drawn, &["points"], by_mm);
        }
        _ => return false,
    };
    if drawn.get(key).is_none() {
        drawn.insert(key, Item::Value(row(by_mm).into()));
        return true;
    }
    shift_rows(drawn, &[key], by_mm)
}

/// Moves places under some keys, all or none.
fn shift_rows(table: &mut dyn TableLike, keys: &[&str], by_mm: &[f64]) -> bool {
    let changed = keys
        .iter()
        .map(|key| shifted(table.get(key)?.as_value()?, by_mm));
    let Some(changed) = changed.collect::<Option<Vec<Value>>>() else {
        return false;
    };
    for (key, mut value) in keys.iter().zip(changed) {
        let Some(old) = table.get_mut(key).and_then(Item::as_value_mut) else {
            continue;
        };
        *value.decor_mut() = old.decor().clone();
        *old = value;
    }
    true
}

/// A place, a list of its coordinates, or a list of places, moved.
fn shifted(value: &Value, by_mm: &[f64]) -> Option<Value> {
    if let Some(text) = value.as_str() {
        return Some(moved(text, by_mm)?.into());
    }
    let mut list = value.as_array()?.clone();
    let is_one_place = list.len() == by_mm.len()
        && list
            .iter()
            .all(|v| v.as_str().is_some_and(|text| !text.contains(" x ")));
    for (k, member) in list.iter_mut().enumerate() {
        let mut made = match is_one_place {
            true => moved(member.as_str()?, &by_mm[k..=k])?.into(),
            false => shifted(member, by_mm)?,
        };
        *made.decor_mut() = member.decor().clone();
        *member = made;
    }
    Some(list.into())
}

/// The steps of a table's place, made if there are none.
fn steps(table: &mut dyn TableLike) -> Option<&mut Array> {
    if table.get("place").is_none() {
        table.insert("place", Item::Value(Array::new().into()));
    }
    table.get_mut("place")?.as_array_mut()
}

/// Changes the last shift of a place, or adds one.
fn shift_place(table: &mut dyn TableLike, by_mm: &[f64]) -> bool {
    let Some(steps) = steps(table) else {
        return false;
    };
    let last = steps.iter_mut().last().and_then(Value::as_inline_table_mut);
    let last = last.and_then(|step| step.get_mut("move"));
    match last.map(|by| (shifted(by, by_mm), by)) {
        Some((Some(mut made), by)) => {
            *made.decor_mut() = by.decor().clone();
            let is_nothing = made.as_str() == Some(row(&vec![0.0; by_mm.len()]).as_str());
            *by = made;
            if is_nothing {
                remove_last(table);
            }
        }
        _ => push(steps, [("move", row(by_mm).into())]),
    }
    true
}

/// Takes the last step out of a place, and the place if it was the only one.
fn remove_last(table: &mut dyn TableLike) {
    let Some(steps) = steps(table) else { return };
    steps.remove(steps.len() - 1);
    if steps.is_empty() {
        table.remove("place");
    }
}

/// Adds a step, written as those before it.
fn push<const N: usize>(steps: &mut Array, entries: [(&str, Value); N]) {
    let step: InlineTable = entries.into_iter().collect();
    let mut step = Value::InlineTable(step);
    match steps.iter().last().map(|last| last.decor().clone()) {
        Some(decor) => {
            *step.decor_mut() = decor;
            steps.push_formatted(step);
        }
        None => steps.push(step),
    }
}

/// Moves what is drawn along a body: coats, lines, faces, and the axis it turns about.
fn shift_marks(document: &mut DocumentMut, one: &Drawn, by_mm: &[f64]) {
    if let Some(table) = tables::table_mut(document, one) {
        if let Some(turns) = table.get_mut("turns").and_then(Item::as_table_like_mut) {
            shift_rows(turns, &["at"], by_mm);
        }
        each(table.get_mut("coat"), &mut |coat| {
            if coat.get("shape").is_some() {
                shift_table(coat, by_mm);
            }
        });
    }
    let is_on =
        |table: &dyn TableLike| table.get("on").and_then(Item::as_str) == Some(one.name.as_str());
    each(document.get_mut("line"), &mut |line| {
        if is_on(line) && !shift_rows(line, &["from", "to"], by_mm) {
            shift_rows(line, &["points"], by_mm);
        }
    });
    each(document.get_mut("face"), &mut |face| {
        if is_on(face) && face.get("shape").is_some() {
            shift_table(face, by_mm);
        }
    });
}

/// All tables under a key.
pub(super) fn each(item: Option<&mut Item>, change: &mut dyn FnMut(&mut dyn TableLike)) {
    match item {
        Some(Item::Table(table)) => change(table),
        Some(Item::ArrayOfTables(list)) => list.iter_mut().for_each(|t| change(t)),
        Some(Item::Value(Value::InlineTable(table))) => change(table),
        Some(Item::Value(Value::Array(list))) => {
            let tables = list.iter_mut().filter_map(Value::as_inline_table_mut);
            tables.for_each(|t| change(t));
        }
        _ => {}
    }
}

/// The box around a body in a job without faults.
fn box_of(text: &str, files: &Files, all: &[Drawn], one: &Drawn) -> Result<Box3, Refusal> {
    let model = parse_with("the job", text, &files.light())?;
    boxes::of(&model, all, one).ok_or_else(|| no_place(&one.name))
}

fn middle(around: &Box3) -> [f64; 3] {
    std::array::from_fn(|k| 0.5 * (around[0][k] + around[1][k]))
}

/// The text with a body turned about the middle of its box, along an axis.
///
/// # Errors
/// Faults of the text; a body that is not there, or has no place of its own.
pub(crate) fn turn(
    text: &str,
    files: &Files,
    body: &str,
    about: &str,
    degrees: f64,
) -> Result<String, Refusal> {
    let mut document = document(text)?;
    let dimension = dimension(&document);
    if !matches!(about.trim_start_matches('-'), "x" | "y" | "z") {
        return Err(Refusal::plain(format!("`{about}` is no axis: x, y or z")));
    }
    let all = drawn::all(&document);
    let one = named(&all, body)?;
    let at = row(&middle(&box_of(text, files, &all, one)?)[..dimension]);
    for table in [one].into_iter().chain(&along(&document, &all, one)) {
        let Some(table) = tables::table_mut(&mut document, table) else {
            continue;
        };
        if table.get("wall").is_some() {
            return Err(no_place(body));
        }
        turn_table(table, (dimension == 3).then_some(about), &at, degrees);
    }
    Ok(document.to_string())
}

/// Turns what a table draws: one more step of its place, or the last one by so much more.
fn turn_table(table: &mut dyn TableLike, about: Option<&str>, at: &str, degrees: f64) {
    let holder = match table.get("sheet").is_some() {
        true => table.get_mut("sheet").and_then(Item::as_table_like_mut),
        false => Some(table),
    };
    let Some(holder) = holder else { return };
    let Some(steps) = steps(holder) else { return };
    let is_same = |step: &InlineTable| {
        step.get("at").and_then(Value::as_str) == Some(at)
            && step.get("about").and_then(Value::as_str) == about
    };
    let last = steps.iter_mut().last().and_then(Value::as_inline_table_mut);
    let last = last
        .filter(|step| is_same(step))
        .and_then(|step| step.get_mut("turn"));
    let angle = |turn: &Value| turn.as_str()?.strip_suffix(" deg")?.parse::<f64>().ok();
    let so_far = last.as_deref().and_then(angle);
    match (last, so_far) {
        (Some(turn), Some(so_far)) => {
            let all: f64 = (so_far + degrees) % 360.0;
            *turn = format!("{} deg", number(all)).into();
            if all == 0.0 {
                remove_last(holder);
            }
        }
        _ => {
            let angle = Value::from(format!("{} deg", number(degrees)));
            match about {
                Some(axis) => push(
                    steps,
                    [("turn", angle), ("about", axis.into()), ("at", at.into())],
                ),
                None => push(steps, [("turn", angle), ("at", at.into())]),
            }
        }
    }
}

/// The text with a body as large as a box, mm: boxes and ellipsoids fill it, balls the largest that fits; all others are
/// scaled to fit into it and put into its middle.
///
/// # Errors
/// Faults of the text; a body that is not there or has no place of its own; a box that holds nothing.
pub(crate) fn fill(
    text: &str,
    files: &Files,
    body: &str,
    wanted: &Box3,
) -> Result<String, Refusal> {
    let mut document = document(text)?;
    let dimension = dimension(&document);
    let all = drawn::all(&document);
    let one = named(&all, body)?;
    let old = box_of(text, files, &all, one)?;
    let side = |b: &Box3, k: usize| b[1][k] - b[0][k];
    let has_size = |k| side(wanted, k).is_finite() && side(wanted, k) > 0.0;
    if !(0..dimension).all(has_size) {
        return Err(Refusal::plain("a body needs some size along every side"));
    }
    let table = tables::table_mut(&mut document, one).ok_or_else(|| no_place(body))?;
    if table.get("wall").is_some() {
        return Err(no_place(body));
    }
    let by: [Vec<f64>; 2] = [0, 1].map(|end| {
        (0..dimension)
            .map(|k| wanted[end][k] - old[end][k])
            .collect()
    });
    if fill_shape(table, &by, wanted, dimension) {
        return Ok(document.to_string());
    }
    let factors = (0..dimension).filter(|k| side(&old, *k) > 0.0);
    let factor = factors
        .map(|k| side(wanted, k) / side(&old, k))
        .fold(f64::INFINITY, f64::min);
    let (from, to) = (middle(&old), middle(wanted));
    let by: Vec<f64> = (0..dimension).map(|k| to[k] - from[k]).collect();
    let holder = match table.get("sheet").is_some() {
        true => table.get_mut("sheet").and_then(Item::as_table_like_mut),
        false => Some(table),
    };
    let holder = holder.ok_or_else(|| no_place(body))?;
    let steps = steps(holder).ok_or_else(|| no_place(body))?;
    let at = row(&from[..dimension]);
    push(steps, [("scale", factor.into()), ("at", at.into())]);
    if by.iter().any(|b| *b != 0.0) {
        push(steps, [("move", row(&by).into())]);
    }
    Ok(document.to_string())
}

/// Changes the own numbers of a shape that is not placed.
fn fill_shape(
    table: &mut dyn TableLike,
    by: &[Vec<f64>; 2],
    wanted: &Box3,
    dimension: usize,
) -> bool {
    if is_placed(table) {
        return false;
    }
    let Some(shape) = table.get_mut("shape").and_then(Item::as_table_like_mut) else {
        return false;
    };
    let kinds: Vec<String> = shape.iter().map(|(key, _)| key.to_owned()).collect();
    let [kind] = kinds.as_slice() else {
        return false;
    };
    let Some(drawn) = shape.get_mut(kind).and_then(Item::as_table_like_mut) else {
        return false;
    };
    let sides: Vec<f64> = (0..dimension)
        .map(|k| wanted[1][k] - wanted[0][k])
        .collect();
    let centre = row(&middle(wanted)[..dimension]);
    match kind.as_str() {
        "box" | "rectangle" if drawn.get("from").is_some() => {
            shift_rows(drawn, &["from"], &by[0]) && shift_rows(drawn, &["to"], &by[1])
        }
        "box" | "rectangle" => {
            put(drawn, "size", row(&sides));
            match drawn.get("centre").is_some() {
                true => put(drawn, "centre", centre),
                false => put(drawn, "at", row(&wanted[0][..dimension])),
            }
            true
        }
        "ellipsoid" | "ellipse" => {
            let halves: Vec<f64> = sides.iter().map(|s| 0.5 * s).collect();
            put(drawn, "semi_axes", row(&halves));
            put(drawn, "centre", centre);
            true
        }
        "ball" | "circle" => {
            let least = sides.iter().copied().fold(f64::INFINITY, f64::min);
            let (key, length) = match drawn.get("diameter").is_some() {
                true => ("diameter", least),
                false => ("radius", 0.5 * least),
            };
            put(drawn, key, row(&[length]));
            put(drawn, "centre", centre);
            true
        }
        _ => false,
    }
}

/// A text under a key, with the blanks around it as they were.
fn put(table: &mut dyn TableLike, key: &str, text: String) {
    let mut value = Value::from(text);
    if let Some(old) = table.get(key).and_then(Item::as_value) {
        *value.decor_mut() = old.decor().clone();
    }
    table.insert(key, Item::Value(value));
}
