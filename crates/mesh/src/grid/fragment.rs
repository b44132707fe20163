//! Flat pieces of surface and how planes split them.
//!
//! A fragment is a segment (2-D, two vertices) or a convex polygon (3-D). Every vertex remembers
//! in a bit mask which planes of the cell it was clipped on: bit `2 k` for the low face across
//! axis `k`, bit `2 k + 1` for the high one. So an edge of a fragment lies on a cell face exactly
//! if both its ends carry that face's bit, and a vertex sits on a cell edge if it carries the bits
//! of two axes: no tolerance is needed to find the outline of a cut on the faces of a cell.

use crate::solid::{Bounds, Point};
pub use ionfall_numerics::vector::{add_scaled, dot, norm, sub, unit};
use smallvec::SmallVec;

/// A vertex with the cell planes it lies on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vertex<const D: usize> {
    /// Position, metres.
    pub at: Point<D>,
    /// Cell planes through it.
    pub on: u8,
}

/// A segment or convex polygon.
#[derive(Clone, Debug, PartialEq)]
pub struct Fragment<const D: usize> {
    /// Two vertices in 2-D, three or more in 3-D, in order.
    pub vertices: SmallVec<[Vertex<D>; 8]>,
}

/// Sine of the angle under which planes are as good as parallel.
const PARALLEL: f64 = 1e-3;

fn least_and_most(values: &[f64]) -> (f64, f64) {
    let around = (f64::INFINITY, f64::NEG_INFINITY);
    values
        .iter()
        .fold(around, |(low, high), x| (low.min(*x), high.max(*x)))
}

/// What a plane leaves of a fragment on one of its sides.
enum Half<const D: usize> {
    Whole,
    Nothing,
    Part(Fragment<D>),
}

/// Area vector of a simplex: normal times length (2-D) or area (3-D), outward as in
/// [`crate::solid::Soup`].
pub fn area_vector<const D: usize>(corners: &[Point<D>; D]) -> Point<D> {
    let mut out = [0.0; D];
    if D == 2 {
        let d = sub(&corners[1], &corners[0]);
        out[0] = d[1];
        out[1] = -d[0];
    } else {
        let u = sub(&corners[1], &corners[0]);
        let v = sub(&corners[2], &corners[0]);
        for k in 0..3 {
            let (i, j) = ((k + 1) % 3, (k + 2) % 3);
            out[k] = 0.5 * (u[i] * v[j] - u[j] * v[i]);
        }
    }
    out
}

impl<const D: usize> Fragment<D> {
    /// The whole simplex.
    pub fn simplex(corners: &[Point<D>; D]) -> Self {
        Self {
            vertices: corners.iter().map(|&at| Vertex { at, on: 0 }).collect(),
        }
    }

    /// The part inside a box, its vertices marked with the faces they lie on; `None` if nothing
    /// is left.
    pub fn clipped(mut self, cell: &Bounds<D>) -> Option<Self> {
        for k in 0..D {
            for (bit, sign, level) in [(2 * k, 1.0, cell.low[k]), (2 * k + 1, -1.0, cell.high[k])] {
                match self.half(|p| sign * (p[k] - level), 1 << bit) {
                    Half::Whole => {}
                    Half::Nothing => return None,
                    Half::Part(part) => {
                        self = part;
                        for v in &mut self.vertices {
                            if v.on >> bit & 1 == 1 {
                                v.at[k] = level;
                            }
                        }
                    }
                }
            }
        }
        Some(self)
    }

    /// The part where `side >= 0`; new vertices get `mark` beside the marks shared by the ends of
    /// the edge they lie on.
    fn half(&self, side: impl Fn(&Point<D>) -> f64, mark: u8) -> Half<D> {
        let values: SmallVec<[f64; 8]> = self.vertices.iter().map(|v| side(&v.at)).collect();
        if values.iter().all(|&s| s >= 0.0) {
            return Half::Whole;
        }
        if values.iter().all(|&s| s <= 0.0) {
            return Half::Nothing;
        }
        let n = self.vertices.len();
        let edges = if D == 2 { 1 } else { n };
        let mut vertices = SmallVec::new();
        for e in 0..edges {
            let (a, b) = (e, (e + 1) % n);
            if values[a] >= 0.0 {
                vertices.push(self.vertices[a]);
            }
            if (values[a] > 0.0 && values[b] < 0.0) || (values[a] < 0.0 && values[b] > 0.0) {
                vertices.push(self.between(a, b, values[a], values[b], mark));
            }
        }
        if D == 2 && values[1] >= 0.0 {
            vertices.push(self.vertices[1]);
        }
        if vertices.len() >= D {
            Half::Part(Self { vertices })
        } else {
            Half::Nothing
        }
    }

    fn between(&self, a: usize, b: usize, side_a: f64, side_b: f64, mark: u8) -> Vertex<D> {
        // The same crossing is computed from either side of a shared edge: order the ends.
        let (p, q) = (&self.vertices[a], &self.vertices[b]);
        let (p, q, sp, sq) = if p.at <= q.at {
            (p, q, side_a, side_b)
        } else {
            (q, p, side_b, side_a)
        };
        let t = sp / (sp - sq);
        Vertex {
            at: std::array::from_fn(|k| p.at[k] + t * (q.at[k] - p.at[k])),
            on: (p.on & q.on) | mark,
        }
    }

    /// Splits by the plane `normal . (x - through) = 0`; `None` if it does not pass through the
    /// inside (by more than `tolerance_m`).
    pub fn split(
        &self,
        normal: &Point<D>,
        through: &Point<D>,
        tolerance_m: f64,
    ) -> Option<(Self, Self)> {
        let side = |p: &Point<D>| dot(normal, &sub(p, through));
        let (mut low, mut high) = (0.0f64, 0.0f64);
        for v in &self.vertices {
            let s = side(&v.at);
            low = low.min(s);
            high = high.max(s);
        }
        if low > -tolerance_m || high < tolerance_m {
            return None;
        }
        match (self.half(side, 0), self.half(|p| -side(p), 0)) {
            (Half::Part(a), Half::Part(b)) => Some((a, b)),
            _ => None,
        }
    }

    /// Does another flat fragment reach through this one, or at least up to it? `normals` are this
    /// one's and the other's. No if the other's plane does not pass through the inside; planes that
    /// are as good as parallel are taken to meet.
    pub fn is_crossed_by(&self, other: &Self, normals: [&Point<D>; 2], tolerance_m: f64) -> bool {
        let heights = |of: &Self, normal: &Point<D>, through: &Self| -> SmallVec<[f64; 8]> {
            let base = through.vertices[0].at;
            (of.vertices.iter())
                .map(|v| dot(normal, &sub(&v.at, &base)))
                .collect()
        };
        let mine = heights(self, normals[1], other);
        let (low, high) = least_and_most(&mine);
        if low > -tolerance_m || high < tolerance_m {
            return false;
        }
        let its = heights(other, normals[0], self);
        let (low, high) = least_and_most(&its);
        if low > tolerance_m || high < -tolerance_m {
            return false;
        }
        if D == 2 {
            return true;
        }
        // Both planes meet in a line; along it both fragments cover a stretch.
        let mut line = [0.0; D];
        for k in 0..3 {
            let (i, j) = ((k + 1) % 3, (k + 2) % 3);
            line[k] = normals[0][i] * normals[1][j] - normals[0][j] * normals[1][i];
        }
        let sine = norm(&line);
        if sine < PARALLEL {
            return true;
        }
        let line = line.map(|x| x / sine);
        let reach = tolerance_m / sine;
        let a = self.stretch(&mine, &line, 0.0);
        let b = other.stretch(&its, &line, tolerance_m);
        a.0 <= b.1 + reach && b.0 <= a.1 + reach
    }

    /// Least and greatest coordinate along `line` of where the heights of the outline pass zero, or
    /// come near enough.
    fn stretch(&self, heights: &[f64], line: &Point<D>, near_m: f64) -> (f64, f64) {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        let mut add = |x: f64| {
            low = low.min(x);
            high = high.max(x);
        };
        let n = self.vertices.len();
        for a in 0..n {
            let b = (a + 1) % n;
            let [s, t] = [a, b].map(|v| dot(line, &self.vertices[v].at));
            let (p, q) = (heights[a], heights[b]);
            if p.abs() <= near_m {
                add(s);
            }
            if (p < 0.0) != (q < 0.0) {
                add(s + p / (p - q) * (t - s));
            }
        }
        (low, high)
    }

    /// Length or area, and centroid.
    pub fn measure(&self) -> (f64, Point<D>) {
        let first = self.vertices[0].at;
        if D == 2 {
            let second = self.vertices[1].at;
            let middle = std::array::from_fn(|k| 0.5 * (first[k] + second[k]));
            return (norm(&sub(&second, &first)), middle);
        }
        let mut area = 0.0;
        let mut moment = [0.0; D];
        for pair in self.vertices[1..].windows(2) {
            let corners: [Point<D>; D] =
                std::array::from_fn(|k| [first, pair[0].at, pair[1].at][k.min(2)]);
            let a = norm(&area_vector(&corners));
            area += a;
            for k in 0..D {
                moment[k] += a * (corners[0][k] + corners[1][k] + corners[2][k]) / 3.0;
            }
        }
        if area > 0.0 {
            (area, moment.map(|m| m / area))
        } else {
            (0.0, first)
        }
    }

    /// A box around it.
    pub fn bounds(&self) -> Bounds<D> {
        Bounds::around(self.vertices.iter().map(|v| v.at))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const UNIT: Bounds<3> = Bounds {
        low: [0.0; 3],
        high: [1.0; 3],
    };

    #[test]
    fn a_plane_through_a_cube_leaves_the_hexagon() {
        // x + y + z = 1.5 cuts the unit cube in a regular hexagon of side sqrt(1/2).
        let t = Fragment::<3>::simplex(&[[4.5, -1.5, -1.5], [-1.5, 4.5, -1.5], [-1.5, -1.5, 4.5]]);
        let hexagon = t.clipped(&UNIT).unwrap();
        assert_eq!(hexagon.vertices.len(), 6);
        assert_relative_eq!(
            hexagon.measure().0,
            1.5 * 3f64.sqrt() * 0.5,
            max_relative = 1e-12
        );
        for v in &hexagon.vertices {
            assert_eq!(v.on.count_ones(), 2, "each vertex on a cell edge");
        }
        for n in 0..6 {
            let (a, b) = (hexagon.vertices[n], hexagon.vertices[(n + 1) % 6]);
            assert_eq!((a.on & b.on).count_ones(), 1, "each edge on one face");
        }
    }

    #[test]
    fn splitting_conserves_area() {
        let t = Fragment::<3>::simplex(&[[0.1, 0.1, 0.2], [0.9, 0.2, 0.4], [0.3, 0.8, 0.7]]);
        let (a, b) = t.split(&[1.0, 0.3, 0.0], &[0.4, 0.3, 0.0], 1e-12).unwrap();
        assert_relative_eq!(
            a.measure().0 + b.measure().0,
            t.measure().0,
            max_relative = 1e-12
        );
    }

    #[test]
    fn crossings_are_of_the_outlines_not_of_the_planes() {
        let flat = Fragment::<3>::simplex(&[[0.0; 3], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]);
        let up = [0.0, 0.0, 1.0];
        let wall = |x: f64, y: f64, low: f64| {
            let corners = [[x, y, low], [x, y + 0.3, low], [x, y, low + 1.0]];
            let wall = Fragment::<3>::simplex(&corners);
            flat.is_crossed_by(&wall, [&up, &[1.0, 0.0, 0.0]], 1e-9)
        };
        assert!(wall(0.2, 0.1, -0.5), "through it");
        assert!(wall(0.2, 0.1, 0.0), "standing on it");
        assert!(wall(0.2, 0.8, 0.0), "touching the outline");
        assert!(!wall(0.2, 0.1, 0.1), "above it");
        assert!(!wall(0.2, 0.9, -0.5), "beside it, in a plane that passes");
        assert!(!wall(1.2, 0.1, -0.5), "in a plane that does not pass");
    }

    #[test]
    fn segments_clip_to_squares() {
        let cell = Bounds {
            low: [0.0; 2],
            high: [1.0; 2],
        };
        let s = Fragment::<2>::simplex(&[[-1.0, 0.5], [2.0, 0.5]])
            .clipped(&cell)
            .unwrap();
        assert_relative_eq!(s.measure().0, 1.0);
        assert_eq!((s.vertices[0].on, s.vertices[1].on), (1, 2));
        assert!(
            Fragment::<2>::simplex(&[[2.0, 0.0], [3.0, 1.0]])
                .clipped(&cell)
                .is_none()
        );
    }
}
