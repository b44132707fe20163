//! Thinning of large surfaces: corners that share a box of a lattice and face the same way become
//! one, and triangles that lose a corner go. The lattice is coarsened until few enough are left.
//!
//! Corners that face another way are kept apart, so the two sides of a thin wall never merge.

use std::collections::HashMap;

/// A surface with several values a corner.
#[derive(Clone, Debug)]
pub(super) struct Cloth {
    pub points: Vec<[f64; 3]>,
    pub normals: Vec<[f64; 3]>,
    pub triangles: Vec<[u32; 3]>,
    /// One list a quantity, one value a corner.
    pub values: Vec<Vec<f64>>,
}

/// Merges corners until there are at most `most`. `start_mm` is the first lattice tried.
pub(super) fn thinned(mut cloth: Cloth, most: usize, start_mm: f64) -> Cloth {
    let mut box_mm = start_mm;
    while cloth.points.len() > most {
        cloth = merged(&cloth, box_mm);
        box_mm *= 1.3;
    }
    cloth
}

fn merged(cloth: &Cloth, box_mm: f64) -> Cloth {
    let mut numbers: HashMap<([i64; 3], u8), u32> = HashMap::new();
    let mut of_corner = Vec::with_capacity(cloth.points.len());
    for (x, n) in cloth.points.iter().zip(&cloth.normals) {
        let key = x.map(|c| (c / box_mm).floor() as i64);
        let next = numbers.len() as u32;
        of_corner.push(*numbers.entry((key, facing(n))).or_insert(next));
    }
    let count = numbers.len();
    let vectors = |of: &[[f64; 3]]| -> Vec<[f64; 3]> {
        let parts: [Vec<f64>; 3] = std::array::from_fn(|k| {
            let component: Vec<f64> = of.iter().map(|v| v[k]).collect();
            means(&component, &of_corner, count)
        });
        (0..count)
            .map(|n| [parts[0][n], parts[1][n], parts[2][n]])
            .collect()
    };
    let triangles = cloth
        .triangles
        .iter()
        .map(|t| t.map(|v| of_corner[v as usize]))
        .filter(|[a, b, c]| a != b && b != c && c != a);
    Cloth {
        points: vectors(&cloth.points),
        normals: vectors(&cloth.normals),
        triangles: triangles.collect(),
        values: cloth
            .values
            .iter()
            .map(|v| means(v, &of_corner, count))
            .collect(),
    }
}

/// The axis a normal follows most, and its sign.
fn facing(normal: &[f64; 3]) -> u8 {
    let axis = (0..3)
        .max_by(|&a, &b| normal[a].abs().total_cmp(&normal[b].abs()))
        .unwrap_or(0);
    2 * axis as u8 + u8::from(normal[axis] > 0.0)
}

/// Means of the values that are numbers.
fn means(values: &[f64], of_corner: &[u32], count: usize) -> Vec<f64> {
    let mut sums = vec![(0.0, 0.0); count];
    for (value, &n) in values.iter().zip(of_corner) {
        if value.is_finite() {
            sums[n as usize].0 += value;
            sums[n as usize].1 += 1.0;
        }
    }
    sums.into_iter().map(|(sum, number)| sum / number).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Two square sheets, a hair apart, facing away from each other.
    fn wall(n: usize) -> Cloth {
        let mut cloth = Cloth {
            points: Vec::new(),
            normals: Vec::new(),
            triangles: Vec::new(),
            values: vec![Vec::new()],
        };
        for side in [-1.0, 1.0] {
            let first = cloth.points.len() as u32;
            for i in 0..n {
                for j in 0..n {
                    let at = |k: usize| k as f64 / (n - 1) as f64;
                    cloth.points.push([at(i), at(j), 0.001 * side]);
                    cloth.normals.push([0.0, 0.0, side]);
                    cloth.values[0].push(side);
                }
            }
            for i in 0..n as u32 - 1 {
                for j in 0..n as u32 - 1 {
                    let a = first + i * n as u32 + j;
                    let b = a + n as u32;
                    cloth.triangles.extend([[a, b, b + 1], [a, b + 1, a + 1]]);
                }
            }
        }
        cloth
    }

    #[test]
    fn a_thin_wall_keeps_its_two_sides() {
        let thin = thinned(wall(40), 400, 0.01);
        assert!(thin.points.len() <= 400, "{}", thin.points.len());
        assert!(thin.values[0].iter().all(|v| v.abs() == 1.0));
        let area: f64 = thin
            .triangles
            .iter()
            .map(|t| {
                let [a, b, c] = t.map(|v| thin.points[v as usize]);
                0.5 * ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])).abs()
            })
            .sum();
        assert_relative_eq!(area, 2.0, max_relative = 0.2);
        let few = wall(5);
        assert_eq!(thinned(few.clone(), 400, 0.1).points, few.points);
    }
}
