//! `bath.vtu`: the electrolyte, one voxel (pixel) for each node of the grid.
//!
//! Cells that a surface cuts are drawn whole; a cell that a sheet parts appears once for each part.

use crate::vtk::{Kind, VtkMesh};
use ionfall_deposit::{Outcome, field_vectors};
use ionfall_mesh::grid::tree::{MAX_LEVEL, decode, encode};
use rustc_hash::{FxBuildHasher, FxHashMap};

/// Potential, current density and cell size in the electrolyte.
pub(crate) fn bath<const D: usize>(outcome: &Outcome<D>, conductivity_s_per_m: f64) -> VtkMesh {
    let grid = &outcome.grid;
    let potential_v = &outcome.solution.potential_v[..grid.len()];
    let mut mesh = VtkMesh::new(Kind::Boxes, D);
    let vectors = field_vectors(grid, potential_v, conductivity_s_per_m);
    mesh.cell_vectors("current_density_A_per_m2", &vectors);
    drop(vectors);
    // Corners by their Morton code; on a graded tree there are about as many as cells.
    let room = grid.len() + grid.len() / 8;
    let mut corners: FxHashMap<u64, u32> = FxHashMap::with_capacity_and_hasher(room, FxBuildHasher);
    let mut points: Vec<u64> = Vec::new();
    for cell in &grid.node_cell {
        let (low, level) = (decode::<D>(cell.key), cell.level);
        points.clear();
        // VTK numbers the corners of voxels and pixels as bits: x, then y, then z.
        points.extend((0..1u32 << D).map(|corner| {
            let index: [u32; D] = std::array::from_fn(|k| low[k] + (corner >> k & 1));
            let fine = index.map(|i| i << (MAX_LEVEL - level));
            let number = *corners.entry(encode(fine)).or_insert_with(|| {
                let x = std::array::from_fn(|k| grid.root.plane(k, fine[k], MAX_LEVEL));
                mesh.point::<D>(&x) as u32
            });
            u64::from(number)
        }));
        mesh.cell(points.iter().copied());
    }
    drop(corners);
    mesh.cell_array("potential_V", potential_v.to_vec());
    mesh.cell_array(
        "cell_size_m",
        (0..grid.len()).map(|n| grid.size_m(n)).collect(),
    );
    mesh
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{Case, cell_values, cells, planar, points, reread, tank};
    use approx::assert_relative_eq;

    /// Every cell is a box of its own size about the centre of its node.
    fn check<const D: usize>(case: &Case<D>) {
        let grid = &case.outcome.grid;
        let file = reread(&bath(&case.outcome, 10.0).render().unwrap());
        let (points, cells) = (points(&file), cells(&file));
        let sizes = cell_values(&file, "cell_size_m");
        assert_eq!(cells.len(), grid.len());
        for (n, cell) in cells.iter().enumerate() {
            assert_eq!(cell.len(), 1 << D);
            let centre = grid.centre(n);
            for k in 0..3 {
                let along = cell.iter().map(|&p| points[p as usize][k]);
                let low = along.clone().fold(f64::INFINITY, f64::min);
                let high = along.fold(f64::NEG_INFINITY, f64::max);
                if k < D {
                    assert_relative_eq!(high - low, sizes[n], max_relative = 1e-9);
                    assert_relative_eq!(0.5 * (high + low), centre[k], epsilon = 1e-12);
                } else {
                    assert_eq!((low, high), (0.0, 0.0));
                }
            }
        }
        assert_eq!(
            cell_values(&file, "potential_V"),
            case.outcome.solution.potential_v[..grid.len()]
        );
        assert_eq!(
            cell_values(&file, "current_density_A_per_m2").len(),
            3 * grid.len()
        );
    }

    #[test]
    fn cells_stand_where_their_nodes_are() {
        check(&tank());
        check(&planar());
    }
}
