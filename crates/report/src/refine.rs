//! Splitting of long elements, so that a large flat side can show how a value varies on it.
//!
//! Edges longer than a length are halved until none is; the elements on both sides of an edge
//! split together, so no gaps open. Old vertices keep their places and numbers, new ones are put
//! onto the true surface. What lies outside of the region that is drawn stays as it is.

use ionfall_mesh::solid::{Bounds, Primitive, Soup};
use rustc_hash::FxHashMap;

/// Splits until no edge of an element that reaches into `within` is longer than `longest_m`.
pub(crate) fn refine<const D: usize>(
    soup: &mut Soup<D>,
    longest_m: f64,
    within: &Bounds<D>,
    primitive: &dyn Primitive<D>,
) {
    loop {
        let mut middles: FxHashMap<[u32; 2], u32> = FxHashMap::default();
        for e in 0..soup.elements.len() {
            if !Bounds::around(soup.corners(e)).overlaps(within) {
                continue;
            }
            for edge in edges(&soup.elements[e]) {
                let [a, b] = edge.map(|v| soup.vertices[v as usize]);
                let length = (0..D).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt();
                if length > longest_m && !middles.contains_key(&edge) {
                    let middle = std::array::from_fn(|k| 0.5 * (a[k] + b[k]));
                    let normal = soup.area_vector(e);
                    let on = primitive.project(soup.patch[e], &middle, &normal).point;
                    middles.insert(edge, soup.vertices.len() as u32);
                    soup.vertices.push(on);
                }
            }
        }
        if middles.is_empty() {
            return;
        }
        let mut finer = Soup {
            vertices: std::mem::take(&mut soup.vertices),
            ..Soup::default()
        };
        for (e, element) in soup.elements.iter().enumerate() {
            for part in split(element, &middles) {
                finer.elements.push(part);
                finer.patch.push(soup.patch[e]);
                finer.area_factor.push(soup.area_factor[e]);
            }
        }
        *soup = finer;
    }
}

/// Edges of an element, the same from both sides. Edge `k` begins at corner `k`.
fn edges<const D: usize>(element: &[u32; D]) -> impl Iterator<Item = [u32; 2]> + use<D> {
    let element = *element;
    // A segment is its own only edge.
    (0..if D == 2 { 1 } else { D }).map(move |k| {
        let (a, b) = (element[k], element[(k + 1) % D]);
        [a.min(b), a.max(b)]
    })
}

/// The parts of an element, turned as it was.
fn split<const D: usize>(element: &[u32; D], middles: &FxHashMap<[u32; 2], u32>) -> Vec<[u32; D]> {
    let cut: Vec<Option<u32>> = edges(element).map(|e| middles.get(&e).copied()).collect();
    let parts: Vec<Vec<u32>> = match (&element[..], &cut[..]) {
        ([a, b], [Some(m)]) => vec![vec![*a, *m], vec![*m, *b]],
        ([a, b, c], [ab, bc, ca]) => split_triangle([*a, *b, *c], [*ab, *bc, *ca]),
        (whole, _) => vec![whole.to_vec()],
    };
    parts
        .iter()
        .map(|p| std::array::from_fn(|k| p[k]))
        .collect()
}

fn split_triangle([a, b, c]: [u32; 3], cut: [Option<u32>; 3]) -> Vec<Vec<u32>> {
    match cut {
        [None, None, None] => vec![vec![a, b, c]],
        [Some(ab), None, None] => vec![vec![a, ab, c], vec![ab, b, c]],
        [Some(ab), Some(bc), None] => vec![vec![ab, b, bc], vec![a, ab, bc], vec![a, bc, c]],
        [Some(ab), Some(bc), Some(ca)] => {
            vec![
                vec![a, ab, ca],
                vec![ab, b, bc],
                vec![ca, bc, c],
                vec![ab, bc, ca],
            ]
        }
        // The other cases are these, turned.
        [ab, bc, ca] => split_triangle([b, c, a], [bc, ca, ab]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use ionfall_mesh::solid::{Ball, Cuboid, Fineness};

    fn soup<const D: usize>(p: &dyn Primitive<D>, sagitta_m: f64) -> Soup<D> {
        p.tessellate(&Fineness {
            sagitta_m,
            within: p.bounds(),
        })
    }

    fn area<const D: usize>(soup: &Soup<D>) -> f64 {
        (0..soup.elements.len()).map(|e| soup.area(e)).sum()
    }

    fn longest<const D: usize>(soup: &Soup<D>) -> f64 {
        let length = |[a, b]: [u32; 2]| {
            let (a, b) = (soup.vertices[a as usize], soup.vertices[b as usize]);
            (0..D).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt()
        };
        soup.elements
            .iter()
            .flat_map(|e| edges(e).map(length))
            .fold(0.0, f64::max)
    }

    #[test]
    fn a_box_keeps_its_area_vertices_and_closedness() {
        let cuboid = Cuboid::new([0.0; 3], [1.0, 2.0, 3.0]).unwrap();
        let before = soup::<3>(&cuboid, 1.0);
        let mut after = before.clone();
        refine(&mut after, 0.3, &cuboid.bounds(), &cuboid);
        assert!(longest(&after) <= 0.3);
        assert_relative_eq!(area(&after), 22.0, max_relative = 1e-12);
        assert_eq!(after.vertices[..before.vertices.len()], before.vertices);
        // Area vectors of a closed surface cancel; a wrongly turned part would show.
        for k in 0..3 {
            let sum: f64 = (0..after.elements.len())
                .map(|e| after.area_vector(e)[k])
                .sum();
            assert_relative_eq!(sum, 0.0, epsilon = 1e-12);
        }
    }

    #[test]
    fn new_vertices_lie_on_the_true_surface() {
        let ball = Ball::<3>::new([0.0; 3], 1.0).unwrap();
        let mut fine = soup(&ball, 0.1);
        refine(&mut fine, 0.1, &ball.bounds(), &ball);
        for v in &fine.vertices {
            assert_relative_eq!(
                v.iter().map(|c| c * c).sum::<f64>(),
                1.0,
                max_relative = 1e-12
            );
        }
        assert_relative_eq!(area(&fine), 4.0 * std::f64::consts::PI, max_relative = 1e-2);
    }

    /// A box of 100 m of which a metre is drawn: a tenth of the elements of the whole, and still
    /// closed.
    #[test]
    fn what_lies_far_away_is_left_whole() {
        let far = Cuboid::new([0.0; 3], [1.0, 1.0, 100.0]).unwrap();
        let mut fine = soup::<3>(&far, 1.0);
        let within = Bounds {
            low: [-0.1; 3],
            high: [1.1; 3],
        };
        let mut whole = fine.clone();
        refine(&mut whole, 0.05, &far.bounds(), &far);
        refine(&mut fine, 0.05, &within, &far);
        assert!(10 * fine.elements.len() < whole.elements.len());
        assert_relative_eq!(area(&fine), 402.0, max_relative = 1e-12);
        for e in 0..fine.elements.len() {
            if Bounds::around(fine.corners(e)).overlaps(&within) {
                for [a, b] in edges(&fine.elements[e]) {
                    let (a, b) = (fine.vertices[a as usize], fine.vertices[b as usize]);
                    let length = (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt();
                    assert!(length <= 0.05);
                }
            }
        }
    }

    #[test]
    fn lines_split_too() {
        let square = Cuboid::new([0.0; 2], [1.0, 1.0]).unwrap();
        let mut fine = soup::<2>(&square, 1.0);
        refine(&mut fine, 0.3, &square.bounds(), &square);
        assert_eq!(fine.elements.len(), 16);
        assert_relative_eq!(area(&fine), 4.0);
    }
}
