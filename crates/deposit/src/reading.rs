//! What is at the points that the model wants to be read.
//!
//! The potential of the bath at `x` is the constant of a quadratic in `t`, the way from `x` in cells,
//!
//! ```text
//! phi(x + h t) = c + sum_k g_k t_k + sum_kl q_kl t_k t_l      weights 1/(1/4 + t^2)^2 (own choice)
//! ```
//! fitted by least squares to the cells up to two couplings from the one that holds the point (not through
//! walls and sheets: nothing couples there) and to the electrolyte at the facets of these cells. Of several
//! cells that hold it (parts of a cell beside a sheet, neighbours where it lies on their border) the one
//! whose neighbours come nearest to the point counts.
//!
//! A point within a cell of a facet that conducts is on the surface too: what is there is that of the
//! nearest facet, read in patches as everywhere else. Inside a body only that remains.

use crate::body::Fields;
use crate::outcome::{BodyOutcome, ReadingOutcome, SurfaceReading};
use crate::place::padded;
use ionfall_mesh::solid::Point;
use ionfall_model::{Parts, Reading};
use ionfall_numerics::{dense, vector::distance};

/// Unknowns of a quadratic in three coordinates.
const UNKNOWNS: usize = 10;
/// Added to the diagonal of the fit, whose other weights are about one: what nothing is known of is zero.
const LITTLE: f64 = 1e-9;
/// How far inside a body a point counts as on its surface, over a cell.
const SKIN: f64 = 1e-3;

/// Reads all points of a model.
pub(crate) fn readings<const D: usize>(
    fields: &Fields<'_, D>,
    parts: &Parts<D>,
    bodies: &[BodyOutcome],
) -> Vec<ReadingOutcome> {
    let read = parts.readings.iter();
    read.map(|reading| fields.reading(parts, bodies, reading))
        .collect()
}

impl<const D: usize> Fields<'_, D> {
    fn reading(
        &self,
        parts: &Parts<D>,
        bodies: &[BodyOutcome],
        reading: &Reading<D>,
    ) -> ReadingOutcome {
        let x = &reading.at;
        let holder = self.holder(x);
        let nearest = self.nearest_facet(x);
        let cell_m = match (holder, nearest) {
            (Some(node), _) => self.grid.size_m(node),
            (None, Some((f, _))) => self.grid.size_m(self.grid.facet_node[f] as usize),
            (None, None) => 0.0,
        };
        let inside = parts
            .domain
            .bodies
            .iter()
            .find(|b| b.solid.signed_distance(x) < -SKIN * cell_m);
        let at_surface = || nearest.map(|(f, _)| self.end.solution.surface_potential_v[f]);
        let potential_v = match (inside, holder) {
            (None, Some(node)) => Some(self.potential_v(x, node)),
            (None, None) => at_surface(),
            // Only an electrode's own surface says something of the bath before it.
            (Some(body), _) => at_surface().filter(|_| {
                nearest.is_some_and(|(f, _)| {
                    parts.domain.bodies[usize::from(self.grid.facets[f].body)].name == body.name
                })
            }),
        };
        ReadingOutcome {
            name: reading.name.clone(),
            at_m: padded(x),
            potential_v,
            inside: inside.map(|b| b.name.clone()),
            surface: nearest.and_then(|(f, m)| self.surface_reading(parts, bodies, f, m)),
        }
    }

    fn surface_reading(
        &self,
        parts: &Parts<D>,
        bodies: &[BodyOutcome],
        f: usize,
        distance_m: f64,
    ) -> Option<SurfaceReading> {
        let body = usize::from(self.grid.facets[f].body);
        let electrode = &bodies[parts.electrodes.iter().position(|e| e.body == body)?];
        let read = |value: &dyn Fn(usize) -> f64| self.surface.patches.at(f, value);
        let current = read(&|f| self.end.solution.current_density_a_per_m2[f].abs());
        let share = read(&|f| self.state.limit_share[f]);
        Some(SurfaceReading {
            on: electrode.name.clone(),
            distance_m,
            current_density_a_per_m2: current,
            over_mean: current / electrode.current_density_a_per_m2.mean,
            thickness_m: self.plated.then(|| read(&|f| self.state.thickness_m[f])),
            overpotential_v: read(&|f| self.end.overpotential_v[f].abs()),
            limit_share: share.is_finite().then_some(share),
        })
    }

    /// The node whose cell holds a point.
    fn holder(&self, x: &Point<D>) -> Option<usize> {
        let grid = self.grid;
        let holds = |&n: &usize| {
            let (centre, half) = (grid.centre(n), 0.5 * grid.size_m(n));
            (0..D).all(|k| (x[k] - centre[k]).abs() <= half * (1.0 + 1e-9))
        };
        let mut found: Vec<usize> = (0..grid.len()).filter(holds).collect();
        if found.len() > 1 {
            let mut nearest = vec![f64::INFINITY; found.len()];
            for link in &grid.couplings.links {
                for (own, other) in [(link.a, link.b), (link.b, link.a)] {
                    if let Some(n) = found.iter().position(|&n| n == own as usize) {
                        nearest[n] = nearest[n].min(distance(x, &grid.centre(other as usize)));
                    }
                }
            }
            let best = (0..found.len()).min_by(|&a, &b| nearest[a].total_cmp(&nearest[b]));
            found.swap(0, best.unwrap_or(0));
        }
        found.first().copied()
    }

    /// The facet that conducts nearest to a point, and how far it is, m; none beyond a cell.
    fn nearest_facet(&self, x: &Point<D>) -> Option<(usize, f64)> {
        let grid = self.grid;
        let near = (0..grid.facets.len()).filter(|&f| self.end.conducts[f]);
        let near = near.filter_map(|f| {
            let cell_m = grid.size_m(grid.facet_node[f] as usize);
            let facet = &grid.facets[f];
            // A facet lies in a cell; a point within a cell of it is within three of its middle.
            if distance(x, &facet.point) > 3.0 * cell_m {
                return None;
            }
            let distance_m = facet.outline.distance(x);
            (distance_m <= cell_m).then_some((f, distance_m))
        });
        near.min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Potential of the electrolyte at a point of the cell of a node, V.
    fn potential_v(&self, x: &Point<D>, node: usize) -> f64 {
        let grid = self.grid;
        let (own_v, cell_m) = (self.end.solution.potential_v[node], grid.size_m(node));
        let mut around = vec![node];
        for _ in 0..2 {
            let known = around.clone();
            for link in &grid.couplings.links {
                for (own, other) in [(link.a, link.b), (link.b, link.a)] {
                    let other = other as usize;
                    if known.contains(&(own as usize)) && !around.contains(&other) {
                        around.push(other);
                    }
                }
            }
        }
        let mut fit = Fit::default();
        for &n in &around {
            let rise_v = self.end.solution.potential_v[n] - own_v;
            fit.add(x, &grid.centre(n), cell_m, rise_v);
        }
        for (f, facet) in grid.facets.iter().enumerate() {
            if self.end.conducts[f] && around.contains(&(grid.facet_node[f] as usize)) {
                let rise_v = self.end.solution.surface_potential_v[f] - own_v;
                fit.add(x, &facet.point, cell_m, rise_v);
            }
        }
        own_v + fit.constant()
    }
}

/// The normal equations of the quadratic.
#[derive(Default)]
struct Fit {
    matrix: [[f64; UNKNOWNS]; UNKNOWNS],
    right: [f64; UNKNOWNS],
}

impl Fit {
    /// Takes a value at `y` in; `x` is the origin.
    fn add<const D: usize>(&mut self, x: &Point<D>, y: &Point<D>, cell_m: f64, value: f64) {
        let t: [f64; 3] = std::array::from_fn(|k| match k < D {
            true => (y[k] - x[k]) / cell_m,
            false => 0.0,
        });
        let weight = (0.25 + t.iter().map(|t| t * t).sum::<f64>()).powi(-2);
        let [a, b, c] = t;
        let terms = [1.0, a, b, c, a * a, b * b, c * c, a * b, b * c, c * a];
        for (row, term) in terms.iter().enumerate() {
            self.right[row] += weight * term * value;
            for (column, other) in terms.iter().enumerate() {
                self.matrix[row][column] += weight * term * other;
            }
        }
    }

    fn constant(mut self) -> f64 {
        for (k, row) in self.matrix.iter_mut().enumerate() {
            row[k] += LITTLE;
        }
        dense::positive(self.matrix, self.right)[0]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Outcome, Settings, run};
    use approx::assert_relative_eq;
    use ionfall_mesh::solid::{Ball, Cuboid, Solid};
    use ionfall_model::{Geometry, Model, Tank};

    fn solved<const D: usize>(tank: Tank<D>) -> Outcome<D>
    where
        Geometry: From<Parts<D>>,
        Parts<D>: TryFrom<Geometry, Error = Geometry>,
    {
        let model = tank.model().unwrap();
        let model = Model::<Parts<D>>::try_from(model).unwrap();
        run(&model, &Settings::default(), &mut ()).unwrap()
    }

    fn cuboid<const D: usize>(low: Point<D>, high: Point<D>) -> Solid<D> {
        Solid::new(Cuboid::new(low, high).unwrap())
    }

    /// A volt over 0.1 m between two plates: the potential is linear, 200 A/m2 flow at 20 S/m, and
    /// faraday's law gives the thickness.
    #[test]
    fn between_plates_the_potential_is_linear() {
        let wide = |x0: f64, x1: f64| cuboid([x0, -0.01, -0.01], [x1, 0.05, 0.05]);
        let points = [
            [0.0371, 0.0123, 0.0307],
            [0.0, 0.02, 0.0111],
            [0.1, 0.0333, 0.0],
            [0.0999, 0.04, 0.04],
        ];
        let mut tank = Tank::sized_m([0.1, 0.04, 0.04])
            .unwrap()
            .conductivity_s_per_m(20.0)
            .anode("anode", wide(0.1, 0.11))
            .work("work", wide(-0.01, 0.0))
            .all_cells_m(5e-3, 5e-3)
            .voltage_v(1.0)
            .time_s(3600.0);
        for (n, at) in points.iter().enumerate() {
            tank = tank.reading_m(&format!("point {n}"), *at);
        }
        let out = solved(tank.reading_m("inside", [0.05, 0.02, 0.02]));
        for (reading, at) in out.readings.iter().zip(points) {
            let v = reading.potential_v.unwrap();
            assert!((v - 10.0 * at[0]).abs() < 1e-7, "{reading:?}");
        }
        let on: Vec<_> = out
            .readings
            .iter()
            .map(|r| r.surface.as_ref().map(|s| s.on.as_str()))
            .collect();
        assert_eq!(on, [None, Some("work"), Some("anode"), Some("anode"), None]);
        let foot = out.readings[1].surface.as_ref().unwrap();
        assert_relative_eq!(foot.current_density_a_per_m2, 200.0, max_relative = 1e-6);
        assert_relative_eq!(foot.over_mean, 1.0, max_relative = 1e-6);
        let thinnest = out.body("work").unwrap().thinnest.unwrap().value;
        assert_relative_eq!(foot.thickness_m.unwrap(), thinnest, max_relative = 1e-6);
        assert!(foot.distance_m < 1e-9 && foot.limit_share.is_none());
        assert!(
            foot.overpotential_v < 1e-9,
            "no kinetics: {}",
            foot.overpotential_v
        );
    }

    /// Between concentric cylinders the potential is a logarithm, and the current density on each is
    /// the whole over its circumference.
    #[test]
    fn between_cylinders_the_potential_is_a_logarithm() {
        let (inner, outer): (f64, f64) = (0.01, 0.04);
        let ball = |radius| Solid::new(Ball::<2>::new([0.0, 0.0], radius).unwrap());
        let ring = Solid::Difference(
            Box::new(cuboid([-0.06, -0.06], [0.06, 0.06])),
            vec![ball(outer)],
        );
        let turned = |r: f64, angle: f64| [r * angle.cos(), r * angle.sin()];
        let radii = [0.0123, 0.0177, 0.0254, 0.0361];
        let mut tank = Tank::planar(cuboid([-0.05, -0.05], [0.05, 0.05]), 0.1)
            .conductivity_s_per_m(20.0)
            .anode("ring", ring)
            .work("rod", ball(inner))
            .all_cells_m(5e-4, 5e-4)
            .voltage_v(1.0);
        for (n, r) in radii.iter().enumerate() {
            tank = tank.reading_m("bath", turned(*r, 0.7 + n as f64));
        }
        let out = solved(
            tank.reading_m("rod", turned(inner, 2.2))
                .reading_m("deep in the rod", [1e-3, 2e-3])
                .reading_m("under its skin", turned(inner - 3e-4, 4.0)),
        );
        let whole = (outer / inner).ln();
        for (reading, r) in out.readings.iter().zip(radii) {
            let v = reading.potential_v.unwrap();
            assert!((v - (r / inner).ln() / whole).abs() < 1e-4, "{r}: {v}");
        }
        let exact = 20.0 / (inner * whole);
        let rod = out.readings[4].surface.as_ref().unwrap();
        assert_relative_eq!(rod.current_density_a_per_m2, exact, max_relative = 5e-3);
        assert_relative_eq!(rod.over_mean, 1.0, max_relative = 5e-3);
        assert!(rod.thickness_m.is_none());
        let deep = &out.readings[5];
        assert_eq!(deep.inside.as_deref(), Some("rod"));
        assert!(deep.potential_v.is_none() && deep.surface.is_none());
        let under = &out.readings[6];
        assert_eq!(under.inside.as_deref(), Some("rod"));
        assert!(under.potential_v.unwrap().abs() < 1e-6);
        assert!((under.surface.as_ref().unwrap().distance_m - 3e-4).abs() < 5e-5);
    }
}
