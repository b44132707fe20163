//! What the text of a job says, for a page to draw: bodies, forms, what overlaps, what the bath is.

mod bodies;
mod dims;
mod forms;
mod hull;
mod shelf;

use crate::drawn;
use crate::files::Files;
use crate::refusal::Refusal;
use bodies::{Body, bodies};
use forms::{Form, forms};
use ionfall_job::{Lengths, overlaps, parse_with};
use ionfall_mesh::grid::Space;
use ionfall_model::{Geometry, Model, Parts};
use serde::Serialize;
use shelf::{Shelf, shelf};
use toml_edit::DocumentMut;

/// All that a page draws of a job.
#[derive(Debug, Serialize)]
pub(crate) struct Look {
    title: String,
    space: &'static str,
    axes: &'static [&'static str],
    tank: Tank,
    bodies: Vec<Body>,
    forms: Vec<Form>,
    overlaps: Vec<Overlap>,
    notes: Vec<String>,
    shelf: Shelf,
}

/// Two bodies that lie over each other, and the words for it.
#[derive(Debug, Serialize)]
struct Overlap {
    text: String,
    bodies: [String; 2],
}

/// The room of the liquid, mm.
#[derive(Debug, Serialize)]
struct Tank {
    low: Vec<f64>,
    size: Vec<f64>,
    level: f64,
    lines: Vec<f32>,
}

/// Looks at a job.
///
/// # Errors
/// All faults of the text.
pub(crate) fn look(text: &str, files: &Files) -> Result<Look, Refusal> {
    let model = parse_with("the job", text, &files.light())?;
    let document: DocumentMut = text.parse().map_err(|error| Refusal::of(&error))?;
    let lengths = Lengths::of(text);
    match &model.geometry {
        Geometry::Flat(parts) => Ok(seen(&model, parts, &document, &lengths)),
        Geometry::Solid(parts) => Ok(seen(&model, parts, &document, &lengths)),
    }
}

fn seen<const D: usize>(
    model: &Model,
    parts: &Parts<D>,
    document: &DocumentMut,
    lengths: &Lengths,
) -> Look {
    let (space, axes) = words_of(parts.domain.space);
    let room = parts.domain.tank.bounds();
    let mm = |x: &[f64; D]| x.iter().map(|x| 1e3 * x).collect::<Vec<_>>();
    let mut size: Vec<f64> = (0..D).map(|k| 1e3 * (room.high[k] - room.low[k])).collect();
    let wanted = document
        .get("tank")
        .and_then(|tank| tank.get("size")?.as_str());
    let wanted = wanted.and_then(|row| lengths.row_m(row));
    if let Some(wanted) = wanted.filter(|row| row.len() == D) {
        size = wanted.iter().map(|x| 1e3 * x).collect();
    }
    let drawn = drawn::all(document);
    let (lines, bodies) = bodies(parts, document, &drawn, lengths);
    let overlap = |bodies: &[String; 2]| Overlap {
        text: format!("{} and {} overlap", bodies[0], bodies[1]),
        bodies: bodies.clone(),
    };
    Look {
        title: model.title.clone(),
        space,
        axes,
        tank: Tank {
            low: mm(&room.low),
            size,
            level: 1e3 * room.high[D - 1],
            lines,
        },
        bodies,
        forms: forms(document),
        overlaps: overlaps(parts).iter().map(overlap).collect(),
        notes: model.notes.clone(),
        shelf: shelf(&model.bath),
    }
}

fn words_of(space: Space) -> (&'static str, &'static [&'static str]) {
    match space {
        Space::Tank => ("tank", &["x", "y", "z"]),
        Space::Planar { .. } => ("planar", &["x", "y"]),
        Space::Axisymmetric => ("axisymmetric", &["r", "z"]),
    }
}
