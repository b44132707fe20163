//! A mesh as a file says it.

use crate::solid::bounds::Point;
use crate::solid::error::SolidError;
use crate::solid::polygon_fill::fill_ring;

/// What a file says, before any check: points in the units of the file.
#[derive(Clone, Debug, Default)]
pub struct RawMesh {
    /// Points.
    pub vertices: Vec<Point<3>>,
    /// Point numbers of the triangles.
    pub triangles: Vec<[u32; 3]>,
}

impl RawMesh {
    /// Adds a face of any number of corners, in triangles.
    ///
    /// # Errors
    /// [`SolidError::NoSuchVertex`].
    pub fn face(&mut self, corners: &[u64]) -> Result<(), SolidError> {
        let count = self.vertices.len();
        if let Some(&index) = corners.iter().find(|&&c| c >= count as u64) {
            return Err(SolidError::NoSuchVertex { index, count });
        }
        let ring: Vec<Point<3>> = corners.iter().map(|&c| self.vertices[c as usize]).collect();
        if ring.iter().flatten().any(|c| !c.is_finite()) {
            return Ok(()); // Refused later, with the number of such points.
        }
        for t in fill_ring(&ring) {
            self.triangles.push(t.map(|k| corners[k] as u32));
        }
        Ok(())
    }
}
