//! Surface files: the facets of all electrodes as the grid cut them.
//!
//! A facet may have several flat pieces; each carries the values of its facet, and its share of
//! the true area of the facet in proportion to its flat area, so that sums over the file of area
//! times value are those of the run. Points and lengths in metres.

use crate::values::{Column, names};
use crate::vtk::{Kind, VtkMesh, Welder};
use ionfall_mesh::grid::{Grid, Space};
use ionfall_mesh::solid::Point;

/// Points nearer than this share of the grid are one.
const WELD: f64 = 1e-10;

/// The electrodes' facets with some values, and the number of their body.
pub(crate) fn surface<const D: usize>(grid: &Grid<D>, columns: &[Column<'_>]) -> VtkMesh {
    let mut mesh = VtkMesh::new(Kind::Surface, D);
    let mut welder = Welder::new(WELD * grid.root.side_m);
    let mut facet_of = Vec::new();
    let mut area_m2 = Vec::new();
    for (n, facet) in grid.facets.iter().enumerate() {
        let flat: Vec<f64> = facet.outline.iter().map(|o| measure(grid, &o)).collect();
        let total: f64 = flat.iter().sum();
        for (outline, flat) in facet.outline.iter().zip(&flat) {
            let points: Vec<u64> = outline
                .iter()
                .map(|x| welder.number(&mut mesh, x))
                .collect();
            mesh.cell(points);
            facet_of.push(n);
            let share = if total > 0.0 {
                flat / total
            } else {
                1.0 / facet.outline.len() as f64
            };
            area_m2.push(share * facet.area_m2);
        }
    }
    let body = facet_of
        .iter()
        .map(|&n| i32::from(grid.facets[n].body as i16))
        .collect();
    mesh.cell_numbers(names::BODY, body);
    mesh.cell_array(names::AREA, area_m2);
    for column in columns {
        mesh.cell_array(
            column.name,
            facet_of.iter().map(|&n| column.values[n]).collect(),
        );
    }
    mesh
}

/// Something proportional to the area of a piece.
fn measure<const D: usize>(grid: &Grid<D>, outline: &[Point<D>]) -> f64 {
    let Some(first) = outline.first() else {
        return 0.0;
    };
    if D == 2 {
        let last = outline[outline.len() - 1];
        let length = first
            .iter()
            .zip(last)
            .map(|(a, b)| (a - b).powi(2))
            .sum::<f64>()
            .sqrt();
        let radius = if grid.space == Space::Axisymmetric {
            first[0] + last[0]
        } else {
            1.0
        };
        return length * radius;
    }
    // Half the sum of cross products of the fan from the first corner.
    let arm = |x: &Point<D>, k: usize| x[k] - first[k];
    let mut vector = [0.0; 3];
    for pair in outline.windows(2) {
        for (k, sum) in vector.iter_mut().enumerate() {
            let (i, j) = ((k + 1) % 3, (k + 2) % 3);
            *sum += arm(&pair[0], i) * arm(&pair[1], j) - arm(&pair[0], j) * arm(&pair[1], i);
        }
    }
    vector.iter().map(|c| c * c).sum::<f64>().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{Case, cells};
    use crate::testing::{axisymmetric, cell_values, planar, point_count, reread, tank};
    use approx::assert_relative_eq;

    fn check<const D: usize>(case: &Case<D>) {
        let outcome = &case.outcome;
        let mesh = surface(&outcome.grid, &crate::values::columns(outcome));
        let file = reread(&mesh.render().unwrap());
        let facets = &outcome.grid.facets;
        let pieces: usize = facets.iter().map(|f| f.outline.len()).sum();
        let outlines: usize = facets
            .iter()
            .flat_map(|f| &f.outline)
            .map(|o| o.len())
            .sum();
        assert_eq!(cells(&file).len(), pieces);
        assert!(point_count(&file) < outlines, "nothing was merged");
        let body = cell_values(&file, names::BODY);
        let area = cell_values(&file, names::AREA);
        let thickness = cell_values(&file, names::THICKNESS);
        let current = cell_values(&file, names::CURRENT_DENSITY);
        for (electrode, of_body) in case.model.geometry.electrodes.iter().zip(&outcome.bodies) {
            let sum = |values: &[f64]| -> f64 {
                (0..pieces)
                    .filter(|&n| body[n] as usize == electrode.body)
                    .map(|n| area[n] * values[n])
                    .sum()
            };
            let sign = if electrode.role.is_cathode() {
                1.0
            } else {
                -1.0
            };
            let volume = of_body.volume_m3.unwrap();
            assert_relative_eq!(sign * sum(&thickness), volume, max_relative = 1e-9);
            assert_relative_eq!(sum(&current), of_body.current_a, max_relative = 1e-9);
            assert_relative_eq!(
                sum(&vec![1.0; pieces]),
                of_body.area_m2,
                max_relative = 1e-9
            );
        }
        let shares = cell_values(&file, names::LIMIT_SHARE);
        let largest = shares
            .iter()
            .copied()
            .filter(|s| s.is_finite())
            .fold(0.0, f64::max);
        assert!(largest > 0.0 && largest < 1.0, "{largest}");
        assert!(shares.iter().any(|s| s.is_nan()), "the anode has no limit");
    }

    #[test]
    fn area_times_thickness_is_the_volume_in_a_tank() {
        check(&tank());
    }

    #[test]
    fn area_times_thickness_is_the_volume_in_two_dimensions() {
        check(&planar());
        check(&axisymmetric());
    }
}
