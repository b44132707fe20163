//! Small solved jobs, and reading of written files, for the tests of this crate.

use ionfall_deposit::{Outcome, Settings, run};
use ionfall_job::parse;
use ionfall_mesh::grid::Domain;
use ionfall_model::{Electrode, Geometry, Model, Parts};
use std::path::Path;
use vtkio::model::{Attribute, Attributes, DataSet, Piece, VertexNumbers};
use vtkio::{IOBuffer, Vtk};

/// A solved job.
pub(crate) struct Case<const D: usize> {
    pub model: Model,
    pub domain: Domain<D>,
    pub electrodes: Vec<Electrode>,
    pub outcome: Outcome<D>,
}

const BATH: &str = r#"
[bath]
kind = "acid copper"
agitation = "air"
[supply]
mean_current_density = "2 A/dm2"
[plan]
time = "10 h"
[wanted]
thickness = "0.2 mm"
"#;

/// A plate that stands half out of the liquid, its back stopped off, and an anode.
pub(crate) fn tank() -> Case<3> {
    let model = model(
        r#"
title = "plate"
[tank]
size = "60 x 40 x 50 mm"
liquid_level = "40 mm"
[[anode]]
shape.box = { from = "4 x 5 x 5 mm", to = "8 x 35 x 45 mm" }
[[work]]
name = "plate"
shape.box = { from = "40 x 10 x 10 mm", to = "49 x 30 x 49 mm" }
[[stop_off]]
shape.half_space = { at = "43 x 0 x 0 mm", outward = "-x" }
[grid]
finest = "3 mm"
"#,
    );
    let Geometry::Solid(parts) = model.geometry.clone() else {
        panic!("a tank has three dimensions");
    };
    solved(model, &parts)
}

/// Two plates, the same over a depth.
pub(crate) fn planar() -> Case<2> {
    flat(
        r#"
title = "two plates"
space = "planar"
depth = "100 mm"
[tank]
size = "60 x 40 mm"
[[anode]]
shape.rectangle = { from = "4 x 5 mm", to = "8 x 35 mm" }
[[work]]
shape.rectangle = { from = "45 x 10 mm", to = "50 x 30 mm" }
[grid]
finest = "1 mm"
"#,
    )
}

/// A ball with a stem inside an anode ring, about the axis.
pub(crate) fn axisymmetric() -> Case<2> {
    flat(
        r#"
title = "ball"
space = "axisymmetric"
[tank]
size = "30 x 40 mm"
[[anode]]
shape.rectangle = { from = "25 x 10 mm", to = "28 x 30 mm" }
[[work]]
name = "ball"
shape.union = [
    { circle = { centre = "0 x 20 mm", radius = "8 mm" } },
    { rectangle = { from = "-2 x 20 mm", to = "2 x 39 mm" } },
]
[grid]
finest = "1 mm"
"#,
    )
}

fn flat(text: &str) -> Case<2> {
    let model = model(text);
    let Geometry::Flat(parts) = model.geometry.clone() else {
        panic!("two dimensions");
    };
    solved(model, &parts)
}

fn model(text: &str) -> Model {
    match parse("test.toml", &format!("{text}{BATH}"), Path::new("")) {
        Ok(model) => model,
        Err(faults) => panic!("{}", faults.render()),
    }
}

fn solved<const D: usize>(model: Model, parts: &Parts<D>) -> Case<D> {
    let outcome = run(&model, parts, &Settings::default(), &mut |_, _| ()).unwrap();
    Case {
        model,
        domain: parts.domain.clone(),
        electrodes: parts.electrodes.clone(),
        outcome,
    }
}

/// Reads a written file.
pub(crate) fn reread(bytes: &[u8]) -> Vtk {
    Vtk::parse_xml(bytes).unwrap()
}

struct Content {
    points: IOBuffer,
    cells: VertexNumbers,
    data: Attributes,
}

fn content(file: &Vtk) -> Content {
    match file.data.clone() {
        DataSet::PolyData { mut pieces, .. } => {
            let Piece::Inline(piece) = pieces.remove(0) else {
                panic!("not inline");
            };
            Content {
                points: piece.points,
                cells: piece.polys.or(piece.lines).unwrap(),
                data: piece.data,
            }
        }
        DataSet::UnstructuredGrid { mut pieces, .. } => {
            let Piece::Inline(piece) = pieces.remove(0) else {
                panic!("not inline");
            };
            Content {
                points: piece.points,
                cells: piece.cells.cell_verts,
                data: piece.data,
            }
        }
        other => panic!("unexpected data: {other:?}"),
    }
}

pub(crate) fn points(file: &Vtk) -> Vec<[f64; 3]> {
    let flat: Vec<f64> = content(file).points.cast_into().unwrap();
    flat.chunks(3).map(|c| [c[0], c[1], c[2]]).collect()
}

pub(crate) fn point_count(file: &Vtk) -> usize {
    points(file).len()
}

pub(crate) fn cells(file: &Vtk) -> Vec<Vec<u64>> {
    let (connectivity, offsets) = content(file).cells.into_xml();
    let mut start = 0;
    offsets
        .iter()
        .map(|&end| {
            let cell = connectivity[start..end as usize].to_vec();
            start = end as usize;
            cell
        })
        .collect()
}

fn values(attributes: &[Attribute], name: &str) -> Vec<f64> {
    let found = attributes.iter().find(|a| a.name() == name);
    match found {
        Some(Attribute::DataArray(array)) => array.data.cast_into().unwrap(),
        _ => panic!("no array {name}"),
    }
}

pub(crate) fn cell_values(file: &Vtk, name: &str) -> Vec<f64> {
    values(&content(file).data.cell, name)
}

pub(crate) fn point_values(file: &Vtk, name: &str) -> Vec<f64> {
    values(&content(file).data.point, name)
}
