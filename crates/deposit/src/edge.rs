//! The smallest and the largest value on a body, and what they are worth at a sharp edge.
//!
//! In the electrolyte around a convex edge, a wedge of angle `w > 180` degrees, the potential goes
//! with the distance `s` as `s^p`, `p = 180 / w`, if it is the same on both sides of the edge.
//! Without kinetics the current density at the metal goes as `s^(p - 1)`: there is no finite largest
//! value, only the mean over a strip beside the edge. With kinetics the current density is finite.
//! Very near the edge it is almost even, so the potential along the metal is that of a given flux
//! `i0` into both sides, a linear function, and of the wedge's own solutions without flux. The odd
//! one (what flows from one side around to the other) goes as `s^p`, the even one as `s^(2 p)`:
//!
//! ```text
//! i(s) = i0 + c s^p + d s + e s^(2 p) + ...       d about i0 / lambda, the Wagner length
//!                                                 lambda = kappa d eta / d i
//! ```
//! On the side of the larger values `c` and `d` have opposite signs and `c` is small (none where the
//! edge is symmetric). Cells of at most a fifth of the Wagner length resolve the edge: then `i0`, `d`
//! and `e` are fitted by least squares to the facets of the own side within three cells, weighted by
//! area, and `i0` is the value at the edge. It is kept between the value of the facet beside the
//! edge and as much beyond it as the facets of the fit fall short of it. With larger cells the mean
//! of the strip is told as a least value.
//!
//! Where metal ends at an insulator ([`crate::border`]) the current density rises more steeply, as
//! `s log s` beside lacquer in the same plane: the strip is a least value there on cells of any size
//! (cells of a twentieth of the Wagner length are 4 % short of it, around a corner 20 %:
//! `tests/physics/places.rs`).

use crate::border::{Border, borders};
use crate::patch::{Patches, same_side, size_m};
use crate::place::{Edge, EdgeFigure, Place, RESOLVED, padded};
use ionfall_mesh::grid::fragment::{add_scaled, dot, norm, sub};
use ionfall_mesh::grid::{Domain, Grid};
use ionfall_mesh::solid::Point;
use std::f64::consts::PI;

/// Cosine of the angle between normals from which an edge is sharp (40 degrees).
const SHARP: f64 = 0.766;
/// Edges this far from a facet are its own, in cells.
const BESIDE: f64 = 1.0;
/// Facets of the fit: distance from the edge and offset along it, in cells.
const DEPTH: f64 = 3.2;
const ASIDE: f64 = 0.75;

/// The facets of a body, and how they are read.
pub(crate) struct Body<'a, const D: usize> {
    pub domain: &'a Domain<D>,
    pub grid: &'a Grid<D>,
    pub patches: &'a Patches,
    pub facets: &'a [usize],
    /// Wagner length at a facet, m.
    pub wagner_length_m: &'a dyn Fn(usize) -> f64,
}

impl<const D: usize> Body<'_, D> {
    /// The place of the smallest or the largest value.
    pub fn extreme(&self, value: &dyn Fn(usize) -> f64, largest: bool) -> Option<Place> {
        let sign = if largest { -1.0 } else { 1.0 };
        let read = |f: usize| (f, self.patches.at(f, value));
        let (f, found) = self
            .facets
            .iter()
            .map(|&f| read(f))
            .min_by(|a, b| (sign * a.1).total_cmp(&(sign * b.1)))?;
        let mut place = Place {
            at_m: padded(&self.grid.facets[f].point),
            value: found,
            edge: None,
        };
        let sides = if largest == (found > 0.0) {
            self.sides_over_edge(f)
        } else {
            Vec::new()
        };
        if let Some(nearest) = sides.first() {
            let cell_m = size_m(self.grid, f);
            let wagner_length_m = (self.wagner_length_m)(f);
            let figure = if wagner_length_m == 0.0 {
                EdgeFigure::StripMean
            } else {
                let rise = |side: &Side<D>| Some(self.rise(f, found, side, side.power?, value));
                let more: Option<f64> = sides.iter().map(rise).sum();
                match more {
                    None => EdgeFigure::EndOfMetal,
                    Some(_) if cell_m > RESOLVED * wagner_length_m => EdgeFigure::AtLeast,
                    Some(more) => {
                        place.value += more;
                        let point = &self.grid.facets[f].point;
                        place.at_m = padded(&add_scaled(point, nearest.way_m, &nearest.towards));
                        EdgeFigure::Resolved
                    }
                }
            };
            let way_m = |g: usize| {
                let apart = sub(&self.grid.facets[g].point, &self.grid.facets[f].point);
                nearest.way_m - dot(&apart, &nearest.towards)
            };
            place.edge = Some(Edge {
                figure,
                cell_m,
                // Its middle is half its width from the edge.
                strip_m: 2.0 * self.patches.at(f, way_m),
                wagner_length_m,
            });
        }
        Some(place)
    }

    /// The sharp edges within a cell of a facet, the nearest first, one in each direction.
    fn sides_over_edge(&self, f: usize) -> Vec<Side<D>> {
        let cell_m = size_m(self.grid, f);
        let mut found = self.convex_edges(f, cell_m);
        found.extend(self.borders(f, cell_m));
        found.sort_by(|a, b| a.way_m.total_cmp(&b.way_m));
        let mut sides: Vec<Side<D>> = Vec::new();
        for side in found {
            if sides.iter().all(|s| dot(&s.towards, &side.towards) < 0.5) {
                sides.push(side);
            }
        }
        sides
    }

    /// Where the surface ends.
    fn borders(&self, f: usize, cell_m: f64) -> Vec<Side<D>> {
        let own = &self.grid.facets[f];
        let near = |g: &&usize| {
            let apart = norm(&sub(&self.grid.facets[**g].point, &own.point));
            apart < 3.0 * cell_m
        };
        let near: Vec<usize> = self.facets.iter().filter(near).copied().collect();
        let apart = |border: &Border<D>| sub(&border.at, &own.point);
        let way_m = |border: &Border<D>| dot(&apart(border), &border.towards);
        let beside = |border: &Border<D>| {
            let way_m = way_m(border);
            let aside = norm(&add_scaled(&apart(border), -way_m, &border.towards));
            let own_side = dot(&border.towards, &own.normal).abs() < 0.5;
            (0.0..=BESIDE * cell_m).contains(&way_m) && aside < cell_m && own_side
        };
        borders(self.domain, self.grid, &near, cell_m, beside)
            .iter()
            .map(|border| Side {
                towards: border.towards,
                way_m: way_m(border),
                power: None,
            })
            .collect()
    }

    /// Where the surface turns away.
    fn convex_edges(&self, f: usize, cell_m: f64) -> Vec<Side<D>> {
        let own = &self.grid.facets[f];
        let mut found: Vec<Side<D>> = Vec::new();
        for &g in self.facets.iter().filter(|&&g| g != f) {
            let other = &self.grid.facets[g];
            let apart = sub(&other.point, &own.point);
            let cosine = dot(&own.normal, &other.normal);
            // Behind the own plane, or the edge is hollow.
            let convex = dot(&apart, &own.normal) < 0.0;
            let sine = (1.0 - cosine * cosine).max(0.0).sqrt();
            if cosine > SHARP || sine < 0.1 || !convex || norm(&apart) > 2.0 * cell_m {
                continue;
            }
            let towards: Point<D> =
                std::array::from_fn(|k| (other.normal[k] - cosine * own.normal[k]) / sine);
            let way_m = dot(&apart, &other.normal) / sine;
            if (0.0..=BESIDE * cell_m).contains(&way_m) {
                found.push(Side {
                    towards,
                    way_m,
                    power: Some(2.0 * PI / (PI + cosine.acos())),
                });
            }
        }
        found
    }

    /// How much the value at the edge lies above (beyond) the one that is read at the facet.
    fn rise(
        &self,
        f: usize,
        found: f64,
        side: &Side<D>,
        power: f64,
        value: &dyn Fn(usize) -> f64,
    ) -> f64 {
        let own = &self.grid.facets[f];
        let cell_m = size_m(self.grid, f);
        let mut sums = Fit::default();
        let mut inner = found;
        for &g in self.facets.iter().filter(|&&g| same_side(self.grid, f, g)) {
            let apart = sub(&self.grid.facets[g].point, &own.point);
            let along = dot(&apart, &side.towards);
            let aside = norm(&add_scaled(
                &add_scaled(&apart, -along, &side.towards),
                -dot(&apart, &own.normal),
                &own.normal,
            ));
            let s = (side.way_m - along) / cell_m;
            if (0.0..DEPTH).contains(&s) && aside < ASIDE * cell_m {
                let v = value(g);
                sums.add([1.0, s, s.powf(power)], v, self.grid.facets[g].area_m2);
                if (v - inner) * found < 0.0 {
                    inner = v;
                }
            }
        }
        let most = found - inner;
        let rise = sums.at_edge().map_or(0.0, |v| v - found);
        if most >= 0.0 {
            rise.clamp(0.0, most)
        } else {
            rise.clamp(most, 0.0)
        }
    }
}

/// The way from a facet over an edge.
struct Side<const D: usize> {
    /// Direction in the plane of the facet.
    towards: Point<D>,
    /// Distance of the edge, m.
    way_m: f64,
    /// Power `2 p` of the distance with which the even part of the potential varies; none where the
    /// metal ends at an insulator.
    power: Option<f64>,
}

/// Sums of a least-squares fit of three terms.
#[derive(Default)]
struct Fit {
    matrix: [[f64; 3]; 3],
    right: [f64; 3],
}

impl Fit {
    fn add(&mut self, terms: [f64; 3], value: f64, weight: f64) {
        for (j, row) in self.matrix.iter_mut().enumerate() {
            for (k, sum) in row.iter_mut().enumerate() {
                *sum += weight * terms[j] * terms[k];
            }
            self.right[j] += weight * terms[j] * value;
        }
    }

    /// The constant term; with two terms where the facets do not tell three, nothing where they
    /// do not tell two.
    fn at_edge(&self) -> Option<f64> {
        (2..=3).rev().find_map(|terms| self.solve(terms))
    }

    fn solve(&self, terms: usize) -> Option<f64> {
        let (mut a, mut b) = (self.matrix, self.right);
        // From the last term to the first, so that the constant remains.
        for c in (1..terms).rev() {
            if a[c][c] <= 1e-6 * self.matrix[c][c] {
                return None;
            }
            for r in 0..c {
                let share = a[r][c] / a[c][c];
                for k in 0..terms {
                    a[r][k] -= share * a[c][k];
                }
                b[r] -= share * b[c];
            }
        }
        (a[0][0] > 1e-6 * self.matrix[0][0]).then(|| b[0] / a[0][0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_fit_finds_the_value_at_the_edge() {
        let power = 4.0 / 3.0;
        let v = |s: f64| 7.0 - 2.0 * s + 0.5 * s.powf(power);
        let mut fit = Fit::default();
        for (s, weight) in [(0.1, 0.2), (0.7, 1.0), (1.7, 1.0), (2.7, 1.0)] {
            fit.add([1.0, s, s.powf(power)], v(s), weight);
        }
        assert_relative_eq!(fit.at_edge().unwrap(), 7.0, max_relative = 1e-9);
    }

    /// Two facets tell a straight line, one tells nothing.
    #[test]
    fn few_facets_tell_fewer_terms() {
        let mut fit = Fit::default();
        fit.add([1.0, 0.5, 0.5_f64.powf(1.3)], 4.0, 1.0);
        assert!(fit.at_edge().is_none());
        fit.add([1.0, 1.5, 1.5_f64.powf(1.3)], 3.0, 1.0);
        assert_relative_eq!(fit.at_edge().unwrap(), 4.5, max_relative = 1e-9);
    }
}
