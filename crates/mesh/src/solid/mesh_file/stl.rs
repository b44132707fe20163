//! STL, text and binary.

use super::raw::RawMesh;
use crate::solid::SolidError;
use std::io::Cursor;

/// Length of the head and of one triangle of a binary file.
const HEAD: usize = 84;
const FACET: usize = 50;

fn malformed(detail: impl ToString) -> SolidError {
    SolidError::Malformed {
        format: "STL",
        detail: detail.to_string(),
    }
}

/// Triangles a binary file of this content announces, if its length fits them.
fn binary_count(bytes: &[u8]) -> Option<u32> {
    let count = u32::from_le_bytes(bytes.get(80..HEAD)?.try_into().ok()?);
    (bytes.len() == HEAD + FACET * count as usize).then_some(count)
}

/// Reads text or binary. A binary file whose head begins with "solid" is told by its length.
pub(super) fn parse(bytes: &[u8]) -> Result<RawMesh, SolidError> {
    let mut binary;
    let content = if binary_count(bytes).is_some() && bytes.starts_with(b"solid") {
        binary = bytes.to_vec();
        binary[..5].copy_from_slice(b"STL  ");
        binary.as_slice()
    } else {
        bytes
    };
    let mut cursor = Cursor::new(content);
    let facets = stl_io::create_stl_reader(&mut cursor).map_err(malformed)?;
    let mut raw = RawMesh::default();
    for facet in facets {
        let first = raw.vertices.len() as u32;
        for v in facet.map_err(malformed)?.vertices {
            raw.vertices.push([0, 1, 2].map(|k| f64::from(v[k])));
        }
        raw.triangles.push([first, first + 1, first + 2]);
    }
    Ok(raw)
}
