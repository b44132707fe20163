//! Small solved jobs, and reading of written files, for the tests of this crate.

use ionfall_deposit::{Outcome, Settings, run};
use ionfall_job::parse;
use ionfall_model::{Geometry, Model, Parts};
use std::path::Path;
use vtkio::model::{Attribute, Attributes, DataSet, Piece, VertexNumbers};
use vtkio::{IOBuffer, Vtk};

/// A solved job.
pub(crate) struct Case<const D: usize> {
    pub model: Model<Parts<D>>,
    pub outcome: Outcome<D>,
}

const BATH: &str = include_str!("testing/bath.toml");

/// A plate that stands half out of the liquid, its back stopped off, and an anode.
pub(crate) fn tank() -> Case<3> {
    solved(model(include_str!("testing/plate.toml"), BATH))
}

/// Two plates, the same over a depth.
pub(crate) fn planar() -> Case<2> {
    solved(model(include_str!("testing/planar.toml"), BATH))
}

/// The same in another bath, the anode with these keys.
pub(crate) fn planar_in(bath: &str, anode: &str) -> Case<2> {
    let text = include_str!("testing/planar.toml");
    let text = text.replace("[[anode]]", &format!("[[anode]]\n{anode}"));
    let bath = BATH.replace("kind = \"acid copper\"", bath);
    solved(model(&text, &bath))
}

/// A ball with a stem inside an anode ring, about the axis.
pub(crate) fn axisymmetric() -> Case<2> {
    solved(model(include_str!("testing/ball.toml"), BATH))
}

fn model(text: &str, bath: &str) -> Model {
    let model = parse("test.toml", &format!("{text}{bath}"), Path::new(""));
    model.unwrap_or_else(|faults| panic!("{}", faults.render()))
}

fn solved<const D: usize>(model: Model) -> Case<D>
where
    Parts<D>: TryFrom<Geometry, Error = Geometry>,
{
    let model = Model::<Parts<D>>::try_from(model).expect("as many coordinates");
    let outcome = run(&model, &Settings::default(), &mut ()).unwrap();
    Case { model, outcome }
}

/// Is each of these in a text?
#[track_caller]
pub(crate) fn assert_says(text: &str, pieces: &[&str]) {
    for piece in pieces {
        assert!(text.contains(piece), "no {piece:?} in\n{text}");
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
