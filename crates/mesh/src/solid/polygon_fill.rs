//! Filling outlines with triangles: ear clipping (crate `earcut`).

use super::bounds::Point;
use super::polygon::{Polygon, turn};
use ionfall_numerics::vector::{add, cross, sub};

impl Polygon {
    /// Counter-clockwise triangles over [`Self::points`] (ear clipping, then Delaunay flips).
    pub(crate) fn triangles(&self) -> Vec<[u32; 3]> {
        let points: Vec<Point<2>> = self.points().copied().collect();
        let holes: Vec<u32> = self
            .rings
            .iter()
            .scan(0, |end, ring| {
                *end += ring.len() as u32;
                Some(*end)
            })
            .take(self.rings.len() - 1)
            .collect();
        let mut numbers: Vec<u32> = Vec::new();
        earcut::Earcut::new().earcut(points.iter().copied(), &holes, &mut numbers);
        earcut::refine(&mut numbers, &points);
        numbers
            .as_chunks::<3>()
            .0
            .iter()
            .map(|t| {
                let [a, b, c] = t.map(|v| points[v as usize]);
                if turn(&a, &b, &c) < 0.0 {
                    [t[0], t[2], t[1]]
                } else {
                    *t
                }
            })
            .collect()
    }
}

/// Triangles that fill a plane (or nearly plane) ring of points in space, turning as the ring
/// does; empty if it cannot be filled.
pub(crate) fn fill_ring(ring: &[Point<3>]) -> Vec<[usize; 3]> {
    if ring.len() == 3 {
        return vec![[0, 1, 2]];
    }
    let normal = ring
        .windows(2)
        .map(|w| cross(&sub(&w[0], &ring[0]), &sub(&w[1], &ring[0])))
        .fold([0.0; 3], |s, n| add(&s, &n));
    // Drop the coordinate the ring is seen along, keeping the turning sense.
    let k = (0..3)
        .max_by(|&i, &j| normal[i].abs().total_cmp(&normal[j].abs()))
        .unwrap_or(2);
    let (u, v) = if normal[k] >= 0.0 {
        ((k + 1) % 3, (k + 2) % 3)
    } else {
        ((k + 2) % 3, (k + 1) % 3)
    };
    let flat: Vec<Point<2>> = ring.iter().map(|p| [p[u], p[v]]).collect();
    let mut numbers: Vec<usize> = Vec::new();
    earcut::Earcut::new().earcut(flat.iter().copied(), &[], &mut numbers);
    numbers
        .as_chunks::<3>()
        .0
        .iter()
        .map(|t| {
            let [a, b, c] = t.map(|i| flat[i]);
            if turn(&a, &b, &c) < 0.0 {
                [t[0], t[2], t[1]]
            } else {
                *t
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn triangles_cover_a_plate_but_not_its_hole() {
        let p = Polygon::new(
            vec![[0.0, 0.0], [0.0, 4.0], [6.0, 4.0], [6.0, 0.0]],
            vec![vec![[1.0, 1.0], [3.0, 1.0], [3.0, 2.0], [1.0, 2.0]]],
        )
        .unwrap();
        let points: Vec<Point<2>> = p.points().copied().collect();
        let areas = p.triangles().into_iter().map(|t| {
            let [a, b, c] = t.map(|v| points[v as usize]);
            0.5 * turn(&a, &b, &c)
        });
        let areas: Vec<f64> = areas.collect();
        assert!(areas.iter().all(|a| *a > 0.0));
        assert!((areas.iter().sum::<f64>() - 22.0).abs() < 1e-12);
    }

    #[test]
    fn fills_a_bent_ring_the_way_it_turns() {
        let arrow = [
            [0.0, 0.0, 1.0],
            [0.0, 2.0, 0.0],
            [0.0, 0.0, 4.0],
            [0.0, -2.0, 0.0],
        ];
        let area: f64 = fill_ring(&arrow)
            .iter()
            .map(|t| {
                let [a, b, c] = t.map(|i| arrow[i]);
                0.5 * cross(&sub(&b, &a), &sub(&c, &a))[0]
            })
            .sum();
        assert!((area - 6.0).abs() < 1e-12, "{area}");
    }
}
