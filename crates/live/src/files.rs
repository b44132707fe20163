//! Meshes and pictures that a job names, kept in memory.
//!
//! A job is read again after each change, its files stay: a mesh that has been read and mended is kept. For drawings
//! and quick answers pictures are read lightly, with the means over squares of pixels for pixels.

use ionfall_job::NamedFiles;
use ionfall_mesh::solid::mesh_file::{self, MeshReport};
use ionfall_mesh::solid::{Heights, Solid, SolidError, heights_from_bytes};
use std::borrow::Cow;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io;
use std::path::PathBuf;

/// Most pixels along a side of a picture that is read lightly.
const LIGHT: usize = 128;

/// Files by the names that jobs call them.
#[derive(Debug, Default)]
pub(crate) struct Files {
    bytes: BTreeMap<String, Vec<u8>>,
    /// Meshes that were read, by name and unit.
    meshes: RefCell<Vec<Kept>>,
}

#[derive(Debug)]
struct Kept {
    name: String,
    metres: f64,
    mesh: (Solid<3>, MeshReport),
}

impl Files {
    pub fn put(&mut self, name: String, bytes: Vec<u8>) {
        self.drop(&name);
        self.bytes.insert(name, bytes);
    }

    pub fn drop(&mut self, name: &str) {
        self.bytes.remove(name);
        self.meshes.get_mut().retain(|kept| kept.name != name);
    }

    /// The same for drawings and quick answers.
    pub fn light(&self) -> Light<'_> {
        Light(self)
    }

    fn kept(&self, name: &str, metres: f64) -> Option<(Solid<3>, MeshReport)> {
        let meshes = self.meshes.borrow();
        let found = meshes
            .iter()
            .find(|k| k.name == name && k.metres == metres)?;
        Some(found.mesh.clone())
    }
}

impl NamedFiles for Files {
    fn path(&self, name: &str) -> PathBuf {
        name.into()
    }

    fn length(&self, name: &str) -> Option<u64> {
        Some(self.bytes.get(name)?.len() as u64)
    }

    fn bytes(&self, name: &str) -> io::Result<Cow<'_, [u8]>> {
        let found = self.bytes.get(name).ok_or(io::ErrorKind::NotFound)?;
        Ok(Cow::Borrowed(found))
    }

    fn way_out(&self) -> &'static str {
        "load it into the page under this name, or name a file that is loaded"
    }

    fn mesh(&self, name: &str, metres: f64) -> Result<(Solid<3>, MeshReport), SolidError> {
        if let Some(kept) = self.kept(name, metres) {
            return Ok(kept);
        }
        let bytes = self
            .bytes(name)
            .map_err(|source| self.unread(name, source))?;
        let (mesh, report) = mesh_file::parse(&self.path(name), &bytes, metres)?;
        let mesh = (Solid::new(mesh), report);
        self.meshes.borrow_mut().push(Kept {
            name: name.to_owned(),
            metres,
            mesh: mesh.clone(),
        });
        Ok(mesh)
    }
}

/// Files whose pictures have few pixels.
pub(crate) struct Light<'a>(&'a Files);

impl NamedFiles for Light<'_> {
    fn path(&self, name: &str) -> PathBuf {
        self.0.path(name)
    }

    fn length(&self, name: &str) -> Option<u64> {
        self.0.length(name)
    }

    fn bytes(&self, name: &str) -> io::Result<Cow<'_, [u8]>> {
        self.0.bytes(name)
    }

    fn way_out(&self) -> &'static str {
        self.0.way_out()
    }

    fn mesh(&self, name: &str, metres: f64) -> Result<(Solid<3>, MeshReport), SolidError> {
        self.0.mesh(name, metres)
    }

    fn heights(&self, name: &str) -> Result<Heights, SolidError> {
        let bytes = self
            .bytes(name)
            .map_err(|source| self.unread(name, source))?;
        Ok(thinned(&heights_from_bytes(&self.path(name), &bytes)?))
    }
}

/// Means over squares, so large that no side has more than so many.
fn thinned(heights: &Heights) -> Heights {
    let (rows, columns) = heights.dim();
    let step = rows.max(columns).div_ceil(LIGHT);
    if step < 2 {
        return heights.clone();
    }
    let size = (rows.div_ceil(step).max(2), columns.div_ceil(step).max(2));
    Heights::from_shape_fn(size, |(row, column)| {
        // The last square ends where the picture does.
        let [from_row, from_column] = [
            (row * step).min(rows.saturating_sub(step)),
            (column * step).min(columns.saturating_sub(step)),
        ];
        let rows = from_row..(from_row + step).min(rows);
        let cells = rows.flat_map(|r| {
            let columns = from_column..(from_column + step).min(columns);
            columns.map(move |c| (r, c))
        });
        let (sum, count) = cells.fold((0.0, 0), |(sum, n), at| (sum + heights[at], n + 1));
        sum / count.max(1) as f32
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn large_pictures_are_thinned_to_their_means() {
        let small = Heights::from_shape_fn((3, 4), |(r, c)| (r + c) as f32 / 10.0);
        assert_eq!(thinned(&small), small);
        let large = Heights::from_shape_fn((300, 400), |(_, c)| c as f32 / 399.0);
        let thin = thinned(&large);
        assert_eq!(thin.dim(), (75, 100));
        assert!((thin.mean().unwrap() - large.mean().unwrap()).abs() < 1e-4);
        assert!((thin[[7, 50]] - 201.5 / 399.0).abs() < 1e-6);
        assert_eq!(thinned(&Heights::ones((129, 1000))).mean(), Some(1.0));
    }
}
