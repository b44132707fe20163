//! XML VTK files through `vtkio`, compressed (with the feature `compression`).
//!
//! `vtkio` 0.7.0-rc2 ends the compressed form of an array whose length in bytes is a multiple of
//! its block size with an empty block, which readers take for a full one. A file with such an array
//! is written uncompressed instead.

use ionfall_mesh::solid::Point;
use rustc_hash::FxHashMap;
use std::io::{self, Write};
use vtkio::IOBuffer;
use vtkio::model::{
    Attribute, Attributes, ByteOrder, CellType, Cells, DataSet, PolyDataPiece,
    UnstructuredGridPiece, Version, VertexNumbers, Vtk,
};
use vtkio::xml::Compressor;

const BLOCK_BYTES: usize = 32_768;
const COMPRESSION_LEVEL: u32 = 2;

/// What the cells of a mesh are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Polygons or lines of a surface.
    Surface,
    /// Pixels or voxels.
    Boxes,
}

/// Points, cells and values, ready to be written. Points and cells of two dimensions lie in the
/// plane z = 0.
#[derive(Debug)]
pub(crate) struct VtkMesh {
    kind: Kind,
    dimension: usize,
    points: Vec<f64>,
    connectivity: Vec<u64>,
    offsets: Vec<u64>,
    point_arrays: Vec<Attribute>,
    cell_arrays: Vec<Attribute>,
}

impl VtkMesh {
    /// An empty mesh in a space of so many dimensions.
    pub fn new(kind: Kind, dimension: usize) -> Self {
        Self {
            kind,
            dimension,
            points: Vec::new(),
            connectivity: Vec::new(),
            offsets: Vec::new(),
            point_arrays: Vec::new(),
            cell_arrays: Vec::new(),
        }
    }

    /// Adds a point and gives its number.
    pub fn point<const D: usize>(&mut self, x: &Point<D>) -> u64 {
        self.points
            .extend((0..3).map(|k| x.get(k).copied().unwrap_or(0.0)));
        (self.points.len() / 3 - 1) as u64
    }

    /// Adds a cell over points.
    pub fn cell(&mut self, points: impl IntoIterator<Item = u64>) {
        self.connectivity.extend(points);
        self.offsets.push(self.connectivity.len() as u64);
    }

    /// A value for each point.
    pub fn point_array(&mut self, name: &str, values: Vec<f64>) {
        self.point_arrays
            .push(array(name, 1, IOBuffer::F64(values)));
    }

    /// A value for each cell.
    pub fn cell_array(&mut self, name: &str, values: Vec<f64>) {
        self.cell_arrays.push(array(name, 1, IOBuffer::F64(values)));
    }

    /// A whole number for each cell.
    pub fn cell_numbers(&mut self, name: &str, values: Vec<i32>) {
        self.cell_arrays.push(array(name, 1, IOBuffer::I32(values)));
    }

    /// A vector for each cell, in single precision.
    pub fn cell_vectors<const D: usize>(&mut self, name: &str, values: &[Point<D>]) {
        let flat = values
            .iter()
            .flat_map(|v| (0..3).map(|k| v.get(k).copied().unwrap_or(0.0) as f32))
            .collect();
        self.cell_arrays.push(array(name, 3, IOBuffer::F32(flat)));
    }

    /// Writes the file.
    pub fn write(self, to: impl Write) -> io::Result<()> {
        let whole_blocks = |bytes: usize| bytes.is_multiple_of(BLOCK_BYTES);
        let plain = whole_blocks(8 * self.points.len())
            || whole_blocks(8 * self.connectivity.len())
            || whole_blocks(8 * self.offsets.len())
            || (self.kind == Kind::Boxes && whole_blocks(self.offsets.len()))
            || self
                .point_arrays
                .iter()
                .chain(&self.cell_arrays)
                .any(|a| whole_blocks(bytes(a)));
        let (compressor, level) = match plain || cfg!(not(feature = "compression")) {
            true => (Compressor::None, 0),
            false => (Compressor::ZLib, COMPRESSION_LEVEL),
        };
        let cells = self.offsets.len();
        let topology = VertexNumbers::XML {
            connectivity: self.connectivity,
            offsets: self.offsets,
        };
        let data = Attributes {
            point: self.point_arrays,
            cell: self.cell_arrays,
        };
        let points = IOBuffer::F64(self.points);
        let data = match self.kind {
            Kind::Surface => {
                let (lines, polys) = match self.dimension {
                    2 => (Some(topology), None),
                    _ => (None, Some(topology)),
                };
                DataSet::inline(PolyDataPiece {
                    points,
                    verts: None,
                    lines,
                    polys,
                    strips: None,
                    data,
                })
            }
            Kind::Boxes => {
                let kind = if self.dimension == 2 {
                    CellType::Pixel
                } else {
                    CellType::Voxel
                };
                let cells = Cells {
                    cell_verts: topology,
                    types: vec![kind; cells],
                };
                DataSet::inline(UnstructuredGridPiece {
                    points,
                    cells,
                    data,
                })
            }
        };
        let vtk = Vtk {
            version: Version::new_xml(1, 0),
            title: String::new(),
            byte_order: ByteOrder::LittleEndian,
            data,
            file_path: None,
        };
        let refused = |e: vtkio::xml::Error| io::Error::other(e.to_string());
        let file = vtk
            .try_into_xml_format(compressor, level)
            .map_err(refused)?;
        file.write(to).map_err(refused)
    }

    /// The file as bytes.
    #[cfg(test)]
    pub fn render(self) -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        self.write(&mut bytes)?;
        Ok(bytes)
    }
}

fn array(name: &str, components: u32, values: IOBuffer) -> Attribute {
    Attribute::generic(name, components).with_data(values)
}

fn bytes(array: &Attribute) -> usize {
    match array {
        Attribute::DataArray(a) => a.data.len() * a.data.scalar_size(),
        Attribute::Field { .. } => 0,
    }
}

/// Points that are the same up to rounding, numbered once.
#[derive(Debug)]
pub(crate) struct Welder<const D: usize> {
    step_m: f64,
    numbers: FxHashMap<[i64; D], u64>,
}

impl<const D: usize> Welder<D> {
    /// Points nearer than about `step_m` become one (a pair astride a border of two steps may stay
    /// apart, which does no harm).
    pub fn new(step_m: f64) -> Self {
        Self {
            step_m,
            numbers: FxHashMap::default(),
        }
    }

    /// The number of a point, which is added if it is new.
    pub fn number(&mut self, mesh: &mut VtkMesh, x: &Point<D>) -> u64 {
        let key = x.map(|c| (c / self.step_m).round() as i64);
        *self.numbers.entry(key).or_insert_with(|| mesh.point(x))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{cell_values, reread};

    fn row(cells: usize) -> VtkMesh {
        let mut mesh = VtkMesh::new(Kind::Surface, 2);
        let mut last = mesh.point(&[0.0, 0.0]);
        for n in 1..=cells {
            let next = mesh.point(&[n as f64, 0.0]);
            mesh.cell([last, next]);
            last = next;
        }
        mesh.cell_array("x", (0..cells).map(|n| n as f64).collect());
        mesh
    }

    /// Around the block size, at it and twice it: values come back whatever the length.
    #[test]
    fn any_length_is_read_again() {
        for cells in [1, 4095, 4096, 4097, 8192, 10_000] {
            let bytes = row(cells).render().unwrap();
            let values = cell_values(&reread(&bytes), "x");
            assert_eq!(values.len(), cells);
            assert!(values.iter().enumerate().all(|(n, v)| *v == n as f64));
        }
    }

    /// The sizes in the header of a compressed array must add up, as readers demand.
    #[test]
    fn whole_blocks_are_not_compressed() {
        let text = |cells| String::from_utf8(row(cells).render().unwrap()).unwrap();
        assert!(text(4097).contains("vtkZLibDataCompressor"));
        assert!(!text(4096).contains("vtkZLibDataCompressor"));
        // Points, connectivity, offsets, values; a third more as base64.
        let plain = (3 * 10_001 + 2 * 10_000 + 10_000 + 10_000) * 8 * 4 / 3;
        assert!(text(10_000).len() < plain / 2, "{}", text(10_000).len());
    }

    #[test]
    fn points_are_welded() {
        let mut mesh = VtkMesh::new(Kind::Surface, 3);
        let mut welder = Welder::new(1e-9);
        let a = welder.number(&mut mesh, &[0.1, 0.2, 0.3]);
        let b = welder.number(&mut mesh, &[0.1 + 1e-13, 0.2, 0.3]);
        let c = welder.number(&mut mesh, &[0.1, 0.2, 0.4]);
        assert_eq!((a, b, c), (0, 0, 1));
    }
}
