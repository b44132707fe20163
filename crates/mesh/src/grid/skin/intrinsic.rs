//! A surface of triangles known by the lengths of their sides alone.
//!
//! A side has a triangle, or a strip towards the border, on each of its two flanks. Its weight is
//! the sum over the flanks of `cot(opposite angle) / 2` for a triangle, `(p + q) / (2 l)` for a
//! strip whose ends are `p` and `q` away from the border, with feet `l` apart. A negative weight
//! calls for a flip: between two triangles to the other diagonal of their quadrilateral, between a
//! triangle and a strip by giving the triangle away to the strip.

use super::conductor::Conductor;

/// A strip between a side and the border.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strip {
    /// Distance of the ends of the side from the border, metres.
    pub away_m: [f64; 2],
    /// Distance of their feet, metres.
    pub along_m: f64,
    /// Is the border held at a contact's potential?
    pub fed: bool,
}

/// What lies on one flank of a side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Flank {
    /// Nothing.
    Empty,
    /// A triangle, and the number of the corner opposite.
    Triangle(u32, u8),
    /// A strip.
    Strip(Strip),
}

/// A side.
#[derive(Clone, Copy, Debug)]
pub struct Edge {
    /// Its ends.
    pub ends: [u32; 2],
    /// Length, metres.
    pub length_m: f64,
    /// Its flanks.
    pub flanks: [Flank; 2],
}

/// A triangle: corners in turning order, and the edge opposite each.
#[derive(Clone, Copy, Debug)]
struct Triangle {
    corners: [u32; 3],
    edges: [u32; 3],
}

/// The surface.
#[derive(Clone, Debug, Default)]
pub struct Mesh {
    edges: Vec<Edge>,
    triangles: Vec<Triangle>,
}

/// The network of a mesh.
#[derive(Clone, Debug, Default)]
pub struct Weighed {
    /// Conductors.
    pub conductors: Vec<Conductor>,
    /// Conductors to fed borders.
    pub rims: Vec<(u32, f64)>,
    /// Negative weights left out.
    pub clipped: usize,
}

/// Half cotangent of the smallest angle (0.03 degrees): where a facet gathers separate pieces its
/// point may coincide with another's, and lengths need not make a triangle.
const STEEPEST: f64 = 1e3;

/// Weights above this count as not negative.
const ROUNDING: f64 = -1e-9;

impl Mesh {
    /// Adds a side between two corners.
    pub fn add_edge(&mut self, ends: [u32; 2], length_m: f64) -> u32 {
        self.edges.push(Edge {
            ends,
            length_m,
            flanks: [Flank::Empty; 2],
        });
        self.edges.len() as u32 - 1
    }

    /// A side.
    pub fn edge(&self, edge: u32) -> &Edge {
        &self.edges[edge as usize]
    }

    /// Adds a triangle; `edges[k]` lies opposite `corners[k]`.
    pub fn add_triangle(&mut self, corners: [u32; 3], edges: [u32; 3]) {
        let number = self.triangles.len() as u32;
        self.triangles.push(Triangle { corners, edges });
        for (k, edge) in edges.into_iter().enumerate() {
            self.replace(edge, Flank::Empty, Flank::Triangle(number, k as u8));
        }
    }

    /// Adds a strip beside a side.
    pub fn add_strip(&mut self, edge: u32, strip: Strip) {
        self.replace(edge, Flank::Empty, Flank::Strip(strip));
    }

    fn replace(&mut self, edge: u32, old: Flank, new: Flank) {
        let flanks = &mut self.edges[edge as usize].flanks;
        if let Some(flank) = flanks.iter_mut().find(|f| **f == old) {
            *flank = new;
        }
    }

    fn length(&self, edge: u32) -> f64 {
        self.edges[edge as usize].length_m
    }

    /// The corner `k` of a triangle over the side opposite: position along the side from corner
    /// `k + 1`, and height.
    fn apex(&self, triangle: u32, k: u8) -> [f64; 2] {
        let edges = self.triangles[triangle as usize].edges;
        let [base, far, near] = [0, 1, 2].map(|n| self.length(edges[(usize::from(k) + n) % 3]));
        // near joins the corners k and k + 1, far the corners k + 2 and k.
        let along = (base * base + near * near - far * far) / (2.0 * base);
        // Lengths measured on a curved surface may miss the triangle inequality by a little.
        let flat = 1e-9 * near * near;
        [along, (near * near - along * along).max(flat).sqrt()]
    }

    fn half_cotangent(&self, triangle: u32, k: u8) -> f64 {
        let edges = self.triangles[triangle as usize].edges;
        let [base, far, near] = [0, 1, 2].map(|n| self.length(edges[(usize::from(k) + n) % 3]));
        let height = self.apex(triangle, k)[1];
        let half = (near * near + far * far - base * base) / (4.0 * base * height);
        half.clamp(-STEEPEST, STEEPEST)
    }

    fn flank_weight(&self, flank: &Flank) -> f64 {
        match *flank {
            Flank::Empty => 0.0,
            Flank::Triangle(t, k) => self.half_cotangent(t, k),
            Flank::Strip(s) => s.weight(),
        }
    }

    fn weight(&self, edge: u32) -> f64 {
        let flanks = &self.edges[edge as usize].flanks;
        flanks.iter().map(|f| self.flank_weight(f)).sum()
    }

    /// Flips sides until no weight is negative.
    pub fn flip(&mut self) {
        let mut open: Vec<u32> = (0..self.edges.len() as u32).collect();
        // Each flip of a Delaunay run shortens the whole; the bound only guards against rounding.
        let mut left = 10 * open.len();
        while let Some(edge) = open.pop() {
            if left == 0 {
                return;
            }
            if self.weight(edge) >= ROUNDING {
                continue;
            }
            let touched = match self.edges[edge as usize].flanks {
                [Flank::Triangle(s, j), Flank::Triangle(t, k)] if s != t => {
                    self.turn(edge, (s, j), (t, k))
                }
                [Flank::Triangle(t, k), Flank::Strip(strip)]
                | [Flank::Strip(strip), Flank::Triangle(t, k)] => {
                    self.give_away(edge, (t, k), strip)
                }
                _ => None,
            };
            if let Some(touched) = touched {
                left -= 1;
                open.extend(touched);
            }
        }
    }

    /// The other diagonal of the two triangles beside a side.
    fn turn(&mut self, edge: u32, upper: (u32, u8), lower: (u32, u8)) -> Option<Vec<u32>> {
        let base = self.length(edge);
        let [x, above] = self.apex(upper.0, upper.1);
        let [back, below] = self.apex(lower.0, lower.1);
        let length = (base - back - x).hypot(above + below);
        let at = |(t, k): (u32, u8), n: usize| {
            let triangle = &self.triangles[t as usize];
            let slot = (usize::from(k) + n) % 3;
            (triangle.corners[slot], triangle.edges[slot], slot as u8)
        };
        let (top, start, end) = (at(upper, 0), at(upper, 1), at(upper, 2));
        let (bottom, low_end, low_start) = (at(lower, 0), at(lower, 1), at(lower, 2));
        if length.is_nan() || start.0 != low_start.0 || end.0 != low_end.0 {
            return None;
        }
        let (s, t) = (upper.0, lower.0);
        // The four outer sides: from the end to the top, top to start, start to bottom, bottom to
        // end; the second and third become those of `s`, the others those of `t`.
        self.triangles[s as usize] = Triangle {
            corners: [top.0, start.0, bottom.0],
            edges: [low_end.1, edge, end.1],
        };
        self.triangles[t as usize] = Triangle {
            corners: [bottom.0, end.0, top.0],
            edges: [start.1, edge, low_start.1],
        };
        let moves = [
            (start.1, Flank::Triangle(s, start.2), Flank::Triangle(t, 0)),
            (
                low_end.1,
                Flank::Triangle(t, low_end.2),
                Flank::Triangle(s, 0),
            ),
            (end.1, Flank::Triangle(s, end.2), Flank::Triangle(s, 2)),
            (
                low_start.1,
                Flank::Triangle(t, low_start.2),
                Flank::Triangle(t, 2),
            ),
        ];
        // All out before any goes in: an old flank may look like a new one.
        for (outer, old, _) in moves {
            self.replace(outer, old, Flank::Triangle(u32::MAX, 0));
        }
        for (outer, _, new) in moves {
            self.replace(outer, Flank::Triangle(u32::MAX, 0), new);
        }
        self.edges[edge as usize] = Edge {
            ends: [top.0, bottom.0],
            length_m: length,
            flanks: [Flank::Triangle(s, 1), Flank::Triangle(t, 1)],
        };
        Some(moves.map(|m| m.0).to_vec())
    }

    /// Joins the triangle beside a side at the border to the strip: its two other sides get strips.
    fn give_away(&mut self, edge: u32, (t, k): (u32, u8), strip: Strip) -> Option<Vec<u32>> {
        let triangle = self.triangles[t as usize];
        let slot = |n: usize| (usize::from(k) + n) % 3;
        let [along, height] = self.apex(t, k);
        // From corner k + 1 to k + 2.
        let forward = self.edges[edge as usize].ends[0] == triangle.corners[slot(1)];
        let [p, q] = if forward {
            strip.away_m
        } else {
            [strip.away_m[1], strip.away_m[0]]
        };
        let length = strip.along_m.hypot(q - p);
        let (cos, sin) = (strip.along_m / length, (q - p) / length);
        let foot = along * cos - height * sin;
        let away = p + along * sin + height * cos;
        if !(0.02 * strip.along_m..=0.98 * strip.along_m).contains(&foot) {
            return None;
        }
        let parts = [
            (slot(2), p, foot, slot(1)),
            (slot(1), q, strip.along_m - foot, slot(2)),
        ];
        for (side, end_away, along_m, corner) in parts {
            let outer = triangle.edges[side];
            let first = self.edges[outer as usize].ends[0] == triangle.corners[corner];
            let away_m = if first {
                [end_away, away]
            } else {
                [away, end_away]
            };
            let new = Flank::Strip(Strip {
                away_m,
                along_m,
                fed: strip.fed,
            });
            self.replace(outer, Flank::Triangle(t, side as u8), new);
        }
        self.edges[edge as usize].flanks = [Flank::Empty; 2];
        Some(vec![triangle.edges[slot(1)], triangle.edges[slot(2)]])
    }

    /// The weights as a network.
    pub fn weigh(&self) -> Weighed {
        let mut out = Weighed::default();
        for (n, edge) in self.edges.iter().enumerate() {
            let weight = self.weight(n as u32);
            if weight < ROUNDING {
                out.clipped += 1;
            } else if weight > 0.0 {
                out.conductors.push((edge.ends[0], edge.ends[1], weight));
            }
            for flank in &edge.flanks {
                if let Flank::Strip(strip) = flank
                    && strip.fed
                {
                    let rims = strip.rim_weights();
                    out.rims
                        .extend([(edge.ends[0], rims[0]), (edge.ends[1], rims[1])]);
                }
            }
        }
        out
    }
}

impl Strip {
    /// Conductance from one end of the side to the other. With a held border, `u` is linear on the
    /// two triangles of the trapezoid, mean of both diagonals.
    fn weight(&self) -> f64 {
        let whole = 0.5 * (self.away_m[0] + self.away_m[1]) / self.along_m;
        if self.fed { 0.5 * whole } else { whole }
    }

    /// Conductances from the ends to a held border. Single ones may be negative; the sum over the
    /// strips beside a facet counts.
    fn rim_weights(&self) -> [f64; 2] {
        let l = self.along_m;
        // A facet point on the very border would be short-circuited to it.
        let [p, q] = self.away_m.map(|x| x.max(1e-3 * l));
        let slope = (q * q - p * p) / (4.0 * l);
        [0.5 * l / p + slope / p, 0.5 * l / q - slope / q]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn weights(mesh: &Mesh) -> Vec<(u32, u32, f64)> {
        let mut all = mesh.weigh().conductors;
        all.iter_mut()
            .for_each(|c| *c = (c.0.min(c.1), c.0.max(c.1), c.2));
        all.sort_by_key(|c| (c.0, c.1));
        all
    }

    /// Two triangles over the long diagonal of a flat rhombus.
    fn rhombus() -> Mesh {
        let mut mesh = Mesh::default();
        let half = 0.6f64;
        let side = half.hypot(1.0);
        let long = mesh.add_edge([0, 2], 2.0);
        let sides = [[0, 1], [1, 2], [2, 3], [3, 0]].map(|e| mesh.add_edge(e, side));
        mesh.add_triangle([2, 0, 1], [sides[0], sides[1], long]);
        mesh.add_triangle([0, 2, 3], [sides[2], sides[3], long]);
        mesh
    }

    #[test]
    fn a_long_diagonal_is_flipped() {
        let mut mesh = rhombus();
        assert!(mesh.weight(0) < 0.0);
        mesh.flip();
        let found = weights(&mesh);
        // cot of the angles at 0 and 2 over the short diagonal 1-3: tan(half) = 0.6.
        let angle = 2.0 * 0.6f64.atan();
        let diagonal = found.iter().find(|c| (c.0, c.1) == (1, 3)).unwrap();
        assert_relative_eq!(diagonal.2, 1.0 / angle.tan(), max_relative = 1e-12);
        assert_eq!(found.len(), 5);
        // u = x (along 0-2) has the energy of the area, u^2 / 2 over it.
        let x = [-1.0, 0.0, 1.0, 0.0];
        let energy: f64 = found
            .iter()
            .map(|c| c.2 * f64::powi(x[c.0 as usize] - x[c.1 as usize], 2))
            .sum();
        assert_relative_eq!(energy, 2.0 * 0.6, max_relative = 1e-12);
    }

    #[test]
    fn a_triangle_goes_to_the_strip() {
        // Corners (0, 0.1), (1, 0.1) near the border y = 0 and (0.5, 0.3) above: obtuse.
        let mut mesh = Mesh::default();
        let slope = 0.5f64.hypot(0.2);
        let base = mesh.add_edge([0, 1], 1.0);
        let right = mesh.add_edge([1, 2], slope);
        let left = mesh.add_edge([2, 0], slope);
        mesh.add_triangle([0, 1, 2], [right, left, base]);
        mesh.add_strip(
            base,
            Strip {
                away_m: [0.1; 2],
                along_m: 1.0,
                fed: false,
            },
        );
        mesh.flip();
        let found = weights(&mesh);
        assert_eq!(found.len(), 2, "{found:?}");
        for c in found {
            assert_eq!(c.1, 2);
            assert_relative_eq!(c.2, 0.5 * (0.1 + 0.3) / 0.5, max_relative = 1e-12);
        }
    }

    #[test]
    fn a_fed_strip_meets_both_linear_fields() {
        let strip = Strip {
            away_m: [0.3, 0.5],
            along_m: 0.7,
            fed: true,
        };
        let [p, q] = strip.rim_weights();
        let energy = p * 0.09 + q * 0.25 + strip.weight() * 0.04;
        assert_relative_eq!(energy, 0.5 * 0.8 * 0.7, max_relative = 1e-12);
    }
}
