//! Wavefront OBJ: faces of all objects and groups; lines, points and materials are passed over.

use super::raw::RawMesh;
use crate::solid::SolidError;

/// Reads the faces.
pub(super) fn parse(bytes: &[u8]) -> Result<RawMesh, SolidError> {
    let options = tobj::LoadOptions {
        ignore_points: true,
        ignore_lines: true,
        ..Default::default()
    };
    let no_materials = |_: &std::path::Path| Ok(Default::default());
    let (models, _) = tobj::load_obj_buf(&mut &bytes[..], &options, no_materials).map_err(|e| {
        SolidError::Malformed {
            format: "OBJ",
            detail: e.to_string(),
        }
    })?;
    let mut raw = RawMesh::default();
    for model in models {
        let mesh = model.mesh;
        let first = raw.vertices.len() as u64;
        raw.vertices
            .extend_from_slice(mesh.positions.as_chunks::<3>().0);
        let mut rest = mesh.indices.as_slice();
        let mut arities = mesh.face_arities.iter();
        while !rest.is_empty() {
            // No list of corner numbers means triangles only.
            let corners = arities
                .next()
                .map_or(3, |&n| n as usize)
                .clamp(1, rest.len());
            let (face, after) = rest.split_at(corners);
            let face: Vec<u64> = face.iter().map(|&c| first + u64::from(c)).collect();
            raw.face(&face)?;
            rest = after;
        }
    }
    Ok(raw)
}
