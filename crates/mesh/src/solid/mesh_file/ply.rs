//! PLY, text and binary: the coordinates of `vertex` and the corner lists of `face`.

use super::raw::RawMesh;
use crate::solid::{Point, SolidError};
use ply_rs_bw::parser::Parser;
use ply_rs_bw::ply::{DefaultElement, Property};

fn malformed(detail: impl ToString) -> SolidError {
    SolidError::Malformed {
        format: "PLY",
        detail: detail.to_string(),
    }
}

fn number(p: Option<&Property>) -> Option<f64> {
    match *p? {
        Property::Char(x) => Some(f64::from(x)),
        Property::UChar(x) => Some(f64::from(x)),
        Property::Short(x) => Some(f64::from(x)),
        Property::UShort(x) => Some(f64::from(x)),
        Property::Int(x) => Some(f64::from(x)),
        Property::UInt(x) => Some(f64::from(x)),
        Property::Float(x) => Some(f64::from(x)),
        Property::Double(x) => Some(x),
        _ => None,
    }
}

fn corners(face: &DefaultElement) -> Option<Vec<u64>> {
    let list = face
        .get("vertex_indices")
        .or_else(|| face.get("vertex_index"))?;
    Some(list.to_u32_list()?.into_iter().map(u64::from).collect())
}

/// Reads vertices and faces.
pub(super) fn parse(bytes: &[u8]) -> Result<RawMesh, SolidError> {
    let ply = Parser::<DefaultElement>::new()
        .read_ply(&mut &bytes[..])
        .map_err(malformed)?;
    let list = |name: &str| {
        ply.payload
            .get(name)
            .ok_or_else(|| malformed(format!("no element \"{name}\"")))
    };
    let mut raw = RawMesh::default();
    for v in list("vertex")? {
        let coordinate = |k: &str| {
            number(v.get(k)).ok_or_else(|| malformed(format!("a vertex without number \"{k}\"")))
        };
        let x: Point<3> = [coordinate("x")?, coordinate("y")?, coordinate("z")?];
        raw.vertices.push(x);
    }
    for face in list("face")? {
        let face =
            corners(face).ok_or_else(|| malformed("a face without a list \"vertex_indices\""))?;
        raw.face(&face)?;
    }
    Ok(raw)
}
