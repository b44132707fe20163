//! The bodies of a job with their outlines from above, in front and beside, and as triangles in space.

use super::dims::{Dim, dims, has_place_of_its_own, kind_of};
use super::hull::hull;
use crate::boxes;
use crate::drawn::{self, Drawn};
use ionfall_job::Lengths;
use ionfall_model::Parts;
use ionfall_report::story::Sketch;
use serde::Serialize;
use toml_edit::{DocumentMut, TableLike};

/// Corners of a body's triangles, about, at most.
const MOST_CORNERS: usize = 2500;

/// A table of the job with all bodies that it draws: the one, and its copies.
#[derive(Debug, Serialize)]
pub(super) struct Body {
    name: String,
    role: &'static str,
    path: String,
    shape: Option<String>,
    file: Option<String>,
    copies: usize,
    /// Of the first of them, mm.
    #[serde(rename = "box")]
    bounds: Option<[Vec<f64>; 2]>,
    outline: Outline,
    mesh: Option<Mesh>,
    wires: Vec<f32>,
    movable: bool,
    turnable: bool,
    sizable: bool,
    dims: Vec<Dim>,
}

/// Closed lines, mm.
type Rings = Vec<Vec<[f64; 2]>>;

/// Seen from three sides; in two dimensions only `front`, the plane of the job.
#[derive(Debug, Default, Serialize)]
struct Outline {
    top: Rings,
    front: Rings,
    side: Rings,
}

/// Triangles, mm.
#[derive(Debug, Serialize)]
struct Mesh {
    points: Vec<f32>,
    triangles: Vec<u32>,
}

/// The lines of the tank, and all bodies.
pub(super) fn bodies<const D: usize>(
    parts: &Parts<D>,
    document: &DocumentMut,
    drawn: &[Drawn],
    lengths: &Lengths,
) -> (Vec<f32>, Vec<Body>) {
    let sketches = Sketch::all(parts, MOST_CORNERS);
    let tank = sketches.first().map(|tank| flat(&tank.lines));
    let body = |one: &Drawn| {
        let table = drawn::table(document, one)?;
        let own = |s: &&Sketch| one.answers_to(&s.name) && is_kind(s, one);
        let own: Vec<_> = sketches.iter().skip(1).filter(own).collect();
        let bounds = boxes::in_parts(parts, drawn, one);
        let placed = has_place_of_its_own(table) && bounds.is_some();
        let kind = kind_of(table);
        Some(Body {
            name: one.name.clone(),
            role: one.key,
            path: one.path(),
            shape: kind.clone(),
            file: file(table),
            copies: own.len(),
            bounds: bounds.map(|b| b.map(|x| x[..D].to_vec())),
            outline: outline::<D>(&own),
            mesh: mesh(&own),
            wires: own.iter().flat_map(|s| flat(&s.lines)).collect(),
            movable: placed,
            turnable: placed && one.key != "stop_off",
            sizable: placed && kind.is_some_and(|k| super::dims::is_sizable(&k)),
            dims: dims(table, &one.path(), lengths, D),
        })
    };
    let bodies = drawn.iter().filter_map(body).collect();
    (tank.unwrap_or_default(), bodies)
}

/// Contacts may be called like bodies.
fn is_kind(sketch: &Sketch, one: &Drawn) -> bool {
    (one.key == "contact") == (sketch.kind.word() == "contact")
}

fn file(table: &dyn TableLike) -> Option<String> {
    let shape = table.get("shape")?.as_table_like()?;
    let (_, kind) = shape.iter().next()?;
    let of = |key| Some(kind.get(key)?.as_str()?.to_owned());
    of("file").or_else(|| of("picture"))
}

fn outline<const D: usize>(own: &[&Sketch]) -> Outline {
    if D == 2 {
        return Outline {
            front: own.iter().flat_map(|s| s.rings.clone()).collect(),
            ..Outline::default()
        };
    }
    let seen = |a: usize, b: usize| -> Rings {
        let one = |s: &&Sketch| hull(s.points.iter().map(|x| [x[a], x[b]]).collect());
        own.iter().map(one).collect()
    };
    Outline {
        top: seen(0, 1),
        front: seen(0, 2),
        side: seen(1, 2),
    }
}

/// The triangles of a body and its copies.
fn mesh(own: &[&Sketch]) -> Option<Mesh> {
    let mut mesh = Mesh {
        points: Vec::new(),
        triangles: Vec::new(),
    };
    for sketch in own {
        let first = (mesh.points.len() / 3) as u32;
        mesh.points.extend(flat(&sketch.points));
        let corners = sketch.triangles.iter().flatten();
        mesh.triangles.extend(corners.map(|v| first + v));
    }
    (!mesh.triangles.is_empty()).then_some(mesh)
}

/// Coordinates after each other.
fn flat(points: &[[f64; 3]]) -> Vec<f32> {
    points.iter().flatten().map(|&x| x as f32).collect()
}
