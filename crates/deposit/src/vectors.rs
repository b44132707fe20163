//! The current density in the bath, from the potentials.

use ionfall_mesh::grid::Grid;
use ionfall_mesh::solid::Point;

/// Current density vector at every node, A/m2: minus conductivity times the least-squares gradient
/// over the linked neighbours (weights one over squared distance).
pub fn field_vectors<const D: usize>(
    grid: &Grid<D>,
    potential_v: &[f64],
    conductivity_s_per_m: f64,
) -> Vec<Point<D>> {
    let n = grid.len();
    let mut matrix = vec![[[0.0; D]; D]; n];
    let mut right = vec![[0.0; D]; n];
    for link in &grid.links {
        let (a, b) = (link.a as usize, link.b as usize);
        let (ca, cb) = (grid.centre(a), grid.centre(b));
        let arm: Point<D> = std::array::from_fn(|k| cb[k] - ca[k]);
        let square = 1.0 / arm.iter().map(|x| x * x).sum::<f64>();
        let rise = potential_v[b] - potential_v[a];
        for node in [a, b] {
            for i in 0..D {
                right[node][i] += square * arm[i] * rise;
                for j in 0..D {
                    matrix[node][i][j] += square * arm[i] * arm[j];
                }
            }
        }
    }
    matrix
        .into_iter()
        .zip(right)
        .map(|(mut m, mut b)| {
            for i in 0..D {
                m[i][i] += 1e-9;
            }
            for i in 0..D {
                for r in i + 1..D {
                    let f = m[r][i] / m[i][i];
                    for c in i..D {
                        m[r][c] -= f * m[i][c];
                    }
                    b[r] -= f * b[i];
                }
            }
            for i in (0..D).rev() {
                for c in i + 1..D {
                    b[i] -= m[i][c] * b[c];
                }
                b[i] /= m[i][i];
            }
            b.map(|g| -conductivity_s_per_m * g)
        })
        .collect()
}
