//! The plane of the section, and what it cuts.
//!
//! In two dimensions the plane is the job itself. In a tank it is the coordinate plane through a
//! place of interest (the thinnest one) that cuts the most anodes, then the most works, then the
//! most of anything else; among equals the side view (normal y), then the plan (normal z).

use crate::part::Drawn;
use ionfall_mesh::solid::{Bounds, Point};

/// A coordinate plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Plane {
    /// Axis across the plane and where it is, m; none in two dimensions.
    pub across: Option<(usize, f64)>,
    /// Axes along the picture.
    pub along: [usize; 2],
}

/// A line of a surface in the plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Trace {
    /// Ends, m.
    pub ends: [[f64; 2]; 2],
    /// Vertices whose mean is the value in its middle, with weights.
    pub mix: [(u32, f64); 4],
}

/// What bodies there are to cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Rank {
    Anode,
    Work,
    Other,
}

impl Plane {
    /// Of a job in two dimensions.
    pub const FLAT: Self = Self {
        across: None,
        along: [0, 1],
    };

    /// Chooses for a tank; `bodies` are the boxes around what is wet.
    pub fn through(place_m: [f64; 3], bodies: &[(Rank, Bounds<3>)]) -> Self {
        let cut = |axis: usize, rank: Rank| {
            let x = place_m[axis];
            bodies
                .iter()
                .filter(|(r, b)| *r == rank && b.low[axis] <= x && x <= b.high[axis])
                .count()
        };
        let score = |axis: &usize| {
            (
                cut(*axis, Rank::Anode),
                cut(*axis, Rank::Work),
                cut(*axis, Rank::Other),
            )
        };
        // The last of equals is taken.
        let axis = [0, 2, 1].into_iter().max_by_key(score).unwrap_or(1);
        let along = match axis {
            0 => [1, 2],
            1 => [0, 2],
            _ => [0, 1],
        };
        Self {
            across: Some((axis, place_m[axis])),
            along,
        }
    }

    /// The point of space at a point of the plane, m.
    pub fn point<const D: usize>(&self, p: [f64; 2]) -> Point<D> {
        let mut x = [0.0; D];
        x[self.along[0]] = p[0];
        x[self.along[1]] = p[1];
        if let Some((axis, at)) = self.across {
            x[axis] = at;
        }
        x
    }

    /// The part of a point or vector in the plane.
    pub fn within<const D: usize>(&self, x: &Point<D>) -> [f64; 2] {
        self.along.map(|k| x[k])
    }

    /// Height of a point above the plane, m.
    pub fn height<const D: usize>(&self, x: &Point<D>) -> f64 {
        self.across.map_or(0.0, |(axis, at)| x[axis] - at)
    }

    /// Where a surface meets the plane.
    pub fn cut<const D: usize>(&self, drawn: &Drawn<D>) -> Vec<Trace> {
        drawn
            .elements
            .iter()
            .filter_map(|e| self.cut_element(e, &drawn.vertices))
            .collect()
    }

    fn cut_element<const D: usize>(&self, e: &[u32; D], vertices: &[Point<D>]) -> Option<Trace> {
        let at = |v: u32| &vertices[v as usize];
        if D == 2 {
            return Some(Trace {
                ends: [self.within(at(e[0])), self.within(at(e[1]))],
                mix: [(e[0], 0.5), (e[1], 0.5), (e[0], 0.0), (e[0], 0.0)],
            });
        }
        // A vertex in the plane counts as above, so every cut element has exactly two crossings.
        let mut crossings = (0..D).filter_map(|k| {
            let (a, b) = (e[k], e[(k + 1) % D]);
            let (ha, hb) = (self.height(at(a)), self.height(at(b)));
            ((ha >= 0.0) != (hb >= 0.0)).then(|| {
                let t = ha / (ha - hb);
                let (pa, pb) = (self.within(at(a)), self.within(at(b)));
                let p = std::array::from_fn(|k| pa[k] + t * (pb[k] - pa[k]));
                (p, [(a, 0.5 * (1.0 - t)), (b, 0.5 * t)])
            })
        });
        let ((p, first), (q, second)) = (crossings.next()?, crossings.next()?);
        Some(Trace {
            ends: [p, q],
            mix: [first[0], first[1], second[0], second[1]],
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn boxed(low: [f64; 3], high: [f64; 3]) -> Bounds<3> {
        Bounds { low, high }
    }

    #[test]
    fn the_plane_cuts_both_anodes() {
        let bodies = [
            (Rank::Work, boxed([0.0, 0.0, 0.0], [0.1, 1.0, 1.0])),
            (Rank::Anode, boxed([2.0, 0.0, 0.0], [2.1, 0.3, 1.0])),
            (Rank::Anode, boxed([2.0, 0.7, 0.0], [2.1, 1.0, 1.0])),
        ];
        let plane = Plane::through([0.1, 0.5, 0.4], &bodies);
        assert_eq!(plane.across, Some((2, 0.4)));
        let plane = Plane::through([0.1, 0.2, 7.0], &bodies);
        assert_eq!(plane.across, Some((1, 0.2)));
    }

    #[test]
    fn a_cut_triangle_leaves_a_line_with_its_value() {
        let drawn = Drawn {
            vertices: vec![[0.0, 0.0, -1.0], [2.0, 0.0, 1.0], [0.0, 2.0, 1.0]],
            normals: vec![[0.0; 3]; 3],
            elements: vec![[0, 1, 2]],
            patches: vec![[0, 0]],
        };
        let plane = Plane {
            across: Some((2, 0.0)),
            along: [0, 1],
        };
        let traces = plane.cut(&drawn);
        assert_eq!(traces.len(), 1);
        let mut ends = traces[0].ends;
        ends.sort_by(|a, b| a[0].total_cmp(&b[0]));
        assert_eq!(ends, [[0.0, 1.0], [1.0, 0.0]]);
        let mix: f64 = traces[0].mix.iter().map(|m| m.1).sum();
        assert_relative_eq!(mix, 1.0);
        // The middle of the line is (1/2, 1/2, 0): the value x + y there is 1.
        let value: f64 = traces[0]
            .mix
            .iter()
            .map(|(v, w)| w * (drawn.vertices[*v as usize][0] + drawn.vertices[*v as usize][1]))
            .sum();
        assert_relative_eq!(value, 1.0);
    }
}
