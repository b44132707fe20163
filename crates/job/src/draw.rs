//! Shapes: what is the same in two and three dimensions.
//!
//! A shape is a table with one entry that names its kind, `shape.box = { ... }`, and perhaps a
//! `place`. Shapes combine: `union`, `intersection` and `difference` take a list of shapes (the
//! first less the others), `shell` hollows one out.

use crate::drawing::Drawing;
use crate::named_files::NamedFiles;
use crate::place::{self, accept};
use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_mesh::solid::{Cuboid, HalfSpace, Solid};

/// Does a table draw a shape, in the right place or not?
pub(crate) fn is_drawn<const D: usize, W: Drawing<D>>(table: &Table) -> bool {
    table.has("shape") || stray::<D, W>(table)
}

/// Reports kinds of shapes that stand where `shape` should; true if there are any.
fn stray<const D: usize, W: Drawing<D>>(table: &Table) -> bool {
    let here = |word: &str| format!("shape.{word} = {{ ... }}");
    let kinds: Vec<_> = W::KINDS.iter().map(|kind| (*kind, here(kind))).collect();
    let shapes = table.strays("a kind of shape, and stands under `shape`", &kinds);
    strange::<D, W>(table) || shapes
}

/// Reports shapes of jobs that are drawn in another number of coordinates.
fn strange<const D: usize, W: Drawing<D>>(table: &Table) -> bool {
    let instead = W::INSTEAD
        .iter()
        .map(|(word, here)| (*word, (*here).into()));
    table.strays(W::ELSEWHERE, &instead.collect::<Vec<_>>())
}

/// Draws the shape of a body: its `shape`, put into its `place`.
pub(crate) fn body<const D: usize, W: Drawing<D>>(
    table: &Table,
    files: &dyn NamedFiles,
) -> Option<Solid<D>> {
    let placement = place::read::<D, W>(table);
    if !table.has("shape") && stray::<D, W>(table) {
        return None;
    }
    let item = table.get("shape");
    if item.is_none() {
        // A wall or a sheet may have been meant, and be misspelt.
        table.lacks(
            &["shape", "wall", "sheet"],
            format!("`shape` is missing in {}", table.name()),
            "add a line like: shape = { box = { size = \"...\" } }",
        );
    }
    Some(shape::<D, W>(&item?, files)?.placed(&placement?))
}

/// Draws a shape table.
pub(crate) fn shape<const D: usize, W: Drawing<D>>(
    item: &Item,
    files: &dyn NamedFiles,
) -> Option<Solid<D>> {
    if item.is_text() {
        // `shape = "ball"`: the kind, but nothing of its size.
        let kind = item.choice(W::KINDS)?;
        item.fault(
            format!("{} is a word", item.name()),
            format!("say its size: shape.{kind} = {{ ... }}"),
        );
        return None;
    }
    let table = item.table()?;
    let placement = place::read::<D, W>(&table);
    if strange::<D, W>(&table) {
        return None;
    }
    let example = format!("give one of: {}", W::KINDS.join(", "));
    let (kind, item) = table.choose(W::KINDS, &example)?;
    let solid = match kind {
        "union" => Some(Solid::Union(parts::<D, W>(&item, files)?)),
        "intersection" => Some(Solid::Intersection(parts::<D, W>(&item, files)?)),
        "difference" => {
            let mut parts = parts::<D, W>(&item, files)?;
            let first = parts.remove(0);
            Some(Solid::Difference(Box::new(first), parts))
        }
        "shell" => {
            let table = item.table()?;
            let wall = table.need_length("wall");
            let of = table
                .need("of", "{ box = { size = \"...\" } }")
                .and_then(|i| shape::<D, W>(&i, files));
            table.finish();
            accept(&item, of?.shell(wall?))
        }
        _ => W::draw(kind, &item, files),
    };
    Some(solid?.placed(&placement?))
}

/// The shapes of a list, of which there must be at least one.
fn parts<const D: usize, W: Drawing<D>>(
    item: &Item,
    files: &dyn NamedFiles,
) -> Option<Vec<Solid<D>>> {
    let drawn: Vec<_> = item
        .list()
        .iter()
        .map(|i| shape::<D, W>(i, files))
        .collect();
    if drawn.is_empty() {
        item.fault(
            format!("{} needs a list of shapes", item.name()),
            "write [ { box = { ... } }, { ball = { ... } } ]",
        );
        return None;
    }
    drawn.into_iter().collect()
}

/// A box or rectangle: `from` and `to` opposite corners, or `size` with the low corner `at` or the
/// middle `centre`.
pub(crate) fn cuboid<const D: usize>(item: &Item) -> Option<Solid<D>> {
    let table = item.table()?;
    let corners = corners(&table);
    table.finish();
    let (low, high) = corners?;
    accept(item, Cuboid::new(low, high)).map(Solid::new)
}

/// The two corners of a box given in a table; other keys are left alone.
pub(crate) fn corners<const D: usize>(table: &Table) -> Option<([f64; D], [f64; D])> {
    let Some((key, item)) = table.one_of(&["size", "from"]) else {
        // Known all the same.
        for key in ["to", "centre", "at"] {
            table.has(key);
        }
        return None;
    };
    let first: Option<[f64; D]> = item.vector(Dimension::Length);
    if key == "from" {
        let (a, b) = (first, table.need_point::<D>("to"));
        let (a, b) = (a?, b?);
        return Some((
            std::array::from_fn(|k| a[k].min(b[k])),
            std::array::from_fn(|k| a[k].max(b[k])),
        ));
    }
    let centre = table.get("centre").map(|i| i.vector(Dimension::Length));
    let at = table.point::<D>("at");
    let size = first?;
    if size.iter().any(|side| *side <= 0.0) {
        item.fault(
            format!("{} must be greater than zero on every side", item.name()),
            "write lengths above zero",
        );
        return None;
    }
    let low: [f64; D] = match centre {
        Some(centre) => {
            let centre: [f64; D] = centre?;
            std::array::from_fn(|k| centre[k] - 0.5 * size[k])
        }
        None => at?,
    };
    Some((low, std::array::from_fn(|k| low[k] + size[k])))
}

/// Centre and radius.
pub(crate) fn ball<const D: usize>(item: &Item) -> Option<([f64; D], f64)> {
    let table = item.table()?;
    let (radius, centre) = (radius(&table), table.point("centre"));
    table.finish();
    Some((centre?, radius?))
}

/// Centre and semi-axes of an ellipse or ellipsoid.
pub(crate) fn ellipsoid<const D: usize>(item: &Item) -> Option<([f64; D], [f64; D])> {
    let table = item.table()?;
    let (axes, centre) = (table.need_point("semi_axes"), table.point("centre"));
    table.finish();
    Some((centre?, axes?))
}

/// Everything on one side of a plane (line) through `at`; `outward` points out of it.
pub(crate) fn half_space<const D: usize>(item: &Item) -> Option<Solid<D>> {
    let table = item.table()?;
    let outward = table
        .need("outward", "\"x\"")
        .and_then(|i| place::direction(&i));
    let at = table.point("at");
    table.finish();
    accept(item, HalfSpace::new(at?, outward?)).map(Solid::new)
}

/// A radius, given as `radius` or `diameter`.
pub(crate) fn radius(table: &Table) -> Option<f64> {
    let (key, item) = table.one_of(&["radius", "diameter"])?;
    let length = item.positive(Dimension::Length)?;
    Some(if key == "radius" {
        length
    } else {
        0.5 * length
    })
}

/// A list of points.
pub(crate) fn points<const N: usize>(item: &Item) -> Option<Vec<[f64; N]>> {
    let read: Vec<_> = item
        .list()
        .iter()
        .map(|i| i.vector(Dimension::Length))
        .collect();
    read.into_iter().collect()
}

/// Is a sheet open all over, which is no sheet at all?
pub(crate) fn is_gone(sheet: &Table) -> bool {
    sheet.get("open_area").is_some_and(|item| item.is_all())
}

/// Open area (none if missing) and thickness of a sheet. One that is open all over is read like a tight one.
pub(crate) fn openness(table: &Table) -> (Option<f64>, Option<f64>) {
    let open = table.get("open_area").map_or(Some(0.0), |i| i.share());
    let open = open.map(|share| if share < 1.0 { share } else { 0.0 });
    (open, table.need_length("thickness"))
}
