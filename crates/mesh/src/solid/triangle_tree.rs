//! Exact questions about a set of triangles, answered through a tree of boxes.
//!
//! Inside or outside is the winding number: a ray from the point along an axis counts each triangle it
//! leaves through as +1 and each it enters through as -1. It takes the shortest way out of the box of all:
//! a ray along a lettered plate would meet the boxes of all letters. Which triangles it meets is decided by
//! Shewchuk's adaptive predicates with half-open edges, so that a ray through a shared edge or
//! vertex is counted once, and points a rounding error beside a face are told apart rightly.

use super::bounds::Point;
use ionfall_numerics::vector::{add_scaled, cross, distance, dot, nearest_on_segment, sub};
use parry3d_f64::bounding_volume::Aabb;
use parry3d_f64::math::Vector;
use parry3d_f64::partitioning::{Bvh, BvhBuildStrategy, BvhNode};
use robust::{Coord, Coord3D, orient2d, orient3d};

/// Triangles with their tree.
#[derive(Clone, Debug)]
pub(crate) struct TriangleTree {
    corners: Vec<[Point<3>; 3]>,
    tree: Bvh,
}

fn vector(x: &Point<3>) -> Vector {
    Vector::new(x[0], x[1], x[2])
}

/// Positive if `x` is behind the plane of the triangle (its normal points to the front). Exact.
fn behind(t: &[Point<3>; 3], x: &Point<3>) -> f64 {
    let c = |p: &Point<3>| Coord3D {
        x: p[0],
        y: p[1],
        z: p[2],
    };
    orient3d(c(&t[0]), c(&t[1]), c(&t[2]), c(x))
}

/// Winding number of the triangle's image, seen along an axis, about that of `x`.
fn winding_seen_along(axis: usize, t: &[Point<3>; 3], x: &Point<3>) -> i32 {
    let (across, up) = ((axis + 1) % 3, (axis + 2) % 3);
    let flat = |p: &Point<3>| Coord {
        x: p[across],
        y: p[up],
    };
    (0..3)
        .map(|k| {
            let (a, b) = (&t[k], &t[(k + 1) % 3]);
            if (a[up] > x[up]) == (b[up] > x[up]) {
                return 0;
            }
            let rises = a[up] < b[up];
            let (low, high) = if rises { (a, b) } else { (b, a) };
            let left = orient2d(flat(low), flat(high), flat(x)) > 0.0;
            i32::from(left) * if rises { 1 } else { -1 }
        })
        .sum()
}

/// Does a side of `s` pass from one side of `t` to the other through it (rim included)?
fn pierces(s: &[Point<3>; 3], t: &[Point<3>; 3]) -> bool {
    // A common corner lies in the plane: known without the dear exact zero.
    let height = s.map(|x| if t.contains(&x) { 0.0 } else { behind(t, &x) });
    (0..3).any(|k| {
        let (from, to) = (k, (k + 1) % 3);
        if height[from].min(height[to]) >= 0.0 || height[from].max(height[to]) <= 0.0 {
            return false;
        }
        let side = |a: usize, b: usize| behind(&[s[from], s[to], t[a]], &t[b]);
        let sides = [side(0, 1), side(1, 2), side(2, 0)];
        sides.iter().all(|s| *s >= 0.0) || sides.iter().all(|s| *s <= 0.0)
    })
}

/// Do the triangles pass through each other? Touching, and lying in one plane, do not count.
fn cross_each_other(s: &[Point<3>; 3], t: &[Point<3>; 3]) -> bool {
    let level = |k: usize| s.iter().chain(t).all(|x| x[k] == s[0][k]);
    !(0..3).any(level) && (pierces(s, t) || pierces(t, s))
}

/// The point of a triangle (which may be degenerate) nearest to `x`.
fn nearest_on_triangle(x: &Point<3>, t: &[Point<3>; 3]) -> Point<3> {
    let normal = cross(&sub(&t[1], &t[0]), &sub(&t[2], &t[0]));
    let length2 = dot(&normal, &normal);
    let over = (0..3).all(|k| {
        let (a, b) = (&t[k], &t[(k + 1) % 3]);
        dot(&cross(&sub(b, a), &sub(x, a)), &normal) >= 0.0
    });
    if length2 > 0.0 && over {
        return add_scaled(x, -dot(&sub(x, &t[0]), &normal) / length2, &normal);
    }
    let on_edge = |k: usize| nearest_on_segment(x, &t[k], &t[(k + 1) % 3]);
    [on_edge(1), on_edge(2)]
        .into_iter()
        .fold(on_edge(0), |best, p| {
            if distance(x, &p) < distance(x, &best) {
                p
            } else {
                best
            }
        })
}

impl TriangleTree {
    pub(crate) fn new(corners: Vec<[Point<3>; 3]>) -> Self {
        let boxes = corners
            .iter()
            .map(|t| Aabb::from_points(t.iter().map(vector)));
        let tree = Bvh::from_iter(BvhBuildStrategy::Binned, boxes.enumerate());
        Self { corners, tree }
    }

    /// Calls `hit(triangle, sign)` for every triangle that a ray from `x`, the shortest way out along an axis,
    /// leaves (+1) or enters (-1) a closed surface through.
    pub(crate) fn way_out(&self, x: &Point<3>, hit: impl FnMut(usize, i32)) {
        let all = self.tree.root_aabb();
        let ways = (0..3).flat_map(|k| {
            [
                (all.maxs[k] - x[k], k, true),
                (x[k] - all.mins[k], k, false),
            ]
        });
        let shortest = ways.min_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((_, axis, up)) = shortest {
            self.along(axis, up, x, hit);
        }
    }

    /// The same along a given axis, up or down.
    fn along(&self, axis: usize, up: bool, x: &Point<3>, mut hit: impl FnMut(usize, i32)) {
        let others = [(axis + 1) % 3, (axis + 2) % 3];
        let meets = |node: &BvhNode| {
            let (low, high) = (node.mins(), node.maxs());
            let ahead = if up {
                high[axis] >= x[axis]
            } else {
                low[axis] <= x[axis]
            };
            ahead && others.iter().all(|&k| low[k] <= x[k] && x[k] <= high[k])
        };
        let way = if up { 1 } else { -1 };
        for leaf in self.tree.leaves(meets) {
            let triangle = &self.corners[leaf as usize];
            let sign = way * winding_seen_along(axis, triangle, x);
            if sign != 0 && behind(triangle, x) * f64::from(sign) > 0.0 {
                hit(leaf as usize, sign);
            }
        }
    }

    /// Winding number about a point.
    pub(crate) fn winding(&self, x: &Point<3>) -> i32 {
        let mut total = 0;
        self.way_out(x, |_, sign| total += sign);
        total
    }

    /// Distance to the nearest triangle.
    pub(crate) fn distance(&self, x: &Point<3>) -> f64 {
        self.distance2_within(x, f64::MAX)
            .map_or(f64::INFINITY, f64::sqrt)
    }

    /// Is no triangle nearer than `radius_m`? Cheaper than the distance.
    pub(crate) fn is_clear(&self, x: &Point<3>, radius_m: f64) -> bool {
        self.distance2_within(x, radius_m * radius_m).is_none()
    }

    /// Square of the distance to the nearest triangle, if it is below a limit.
    fn distance2_within(&self, x: &Point<3>, limit: f64) -> Option<f64> {
        let to_box2 = |node: &BvhNode, _: f64| {
            let (low, high) = (node.mins(), node.maxs());
            let over = |k: usize| (low[k] - x[k]).max(x[k] - high[k]).max(0.0);
            (0..3).map(|k| over(k) * over(k)).sum::<f64>()
        };
        let nearest = self.tree.find_best(limit, to_box2, |leaf, _| {
            let to = sub(x, &nearest_on_triangle(x, &self.corners[leaf as usize]));
            Some(dot(&to, &to))
        });
        nearest.map(|(_, distance2)| distance2)
    }

    /// Pairs of triangles that pass through each other, in order.
    pub(crate) fn crossings(&self) -> Vec<(usize, usize)> {
        use rayon::prelude::*;
        (0..self.corners.len())
            .into_par_iter()
            .flat_map_iter(|i| {
                let t = &self.corners[i];
                let around = BvhNode::leaf(Aabb::from_points(t.iter().map(vector)), 0);
                let mut found: Vec<(usize, usize)> = self
                    .tree
                    .leaves(|node: &BvhNode| node.intersects(&around))
                    .map(|leaf| leaf as usize)
                    .filter(|&j| j > i && cross_each_other(t, &self.corners[j]))
                    .map(|j| (i, j))
                    .collect();
                found.sort_unstable();
                found
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const T: [Point<3>; 3] = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]];

    #[test]
    fn nearest_points_of_a_triangle() {
        let near = |x| nearest_on_triangle(&x, &T);
        assert_eq!(near([0.2, 0.2, 3.0]), [0.2, 0.2, 0.0]);
        assert_eq!(near([2.0, -1.0, 1.0]), [1.0, 0.0, 0.0]);
        assert_eq!(near([1.0, 1.0, 0.0]), [0.5, 0.5, 0.0]);
        let line = [[0.0; 3], [1.0, 0.0, 0.0], [3.0, 0.0, 0.0]];
        assert_eq!(
            nearest_on_triangle(&[2.0, 1.0, 0.0], &line),
            [2.0, 0.0, 0.0]
        );
    }

    #[test]
    fn all_rays_tell_the_same() {
        // A tetrahedron, its normals outwards.
        let o = [0.0; 3];
        let [a, b, c] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        let tree = TriangleTree::new(vec![[o, b, a], [o, a, c], [o, c, b], [a, b, c]]);
        let mut inside = 0;
        for n in 0..1000 {
            let x = [7, 11, 13].map(|p| f64::from(n * p % 101) / 80.0 - 0.13);
            let within = x.iter().all(|x| *x > 0.0) && x.iter().sum::<f64>() < 1.0;
            inside += usize::from(within);
            for axis in 0..3 {
                for up in [true, false] {
                    let mut total = 0;
                    tree.along(axis, up, &x, |_, sign| total += sign);
                    assert_eq!(total, i32::from(within), "{x:?} along {axis}, {up}");
                }
            }
        }
        assert!((50..500).contains(&inside), "{inside}");
    }

    #[test]
    fn crossing_is_not_touching() {
        let through = [[0.2, 0.2, -1.0], [0.2, 0.2, 1.0], [5.0, 5.0, 0.0]];
        assert!(cross_each_other(&T, &through));
        let above = [[0.2, 0.2, 0.0], [0.2, 0.2, 1.0], [0.3, 0.2, 1.0]];
        assert!(!cross_each_other(&T, &above));
        let neighbour = [T[0], T[1], [0.0, 0.0, 1.0]];
        assert!(!cross_each_other(&T, &neighbour));
        // Through the common edge of two triangles: must not slip between them.
        let edge = [[0.5, 0.5, -1.0], [0.5, 0.5, 1.0], [4.0, 3.0, 0.1]];
        assert!(cross_each_other(&T, &edge));
    }
}
