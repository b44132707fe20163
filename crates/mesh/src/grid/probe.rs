//! Current density at a facet from the potentials of the cells in front of it.
//!
//! At the facet's surface point `x_s` with normal `n` the potential is written as
//!
//! ```text
//! phi = phi_s + sum over terms m  c_m m(x - x_s)
//! ```
//! where the terms are polynomials in normal and tangential coordinates that vanish at `x_s`: first the
//! harmonic ones of degree one to three, since the potential solves Laplace's equation, and where
//! these do not serve simpler ones (below). The coefficients are fitted to the cells around by
//! weighted least squares; the polynomial goes through the surface point. The normal derivative comes out linear in the data, so that
//! `i / kappa = a phi_s - sum m_k phi_k` with `a = sum m_k`, here as scale `a` and probe weights
//! `m_k / a`. With the electrode law this is exact for any polarisation, the equipotential limit
//! included, and needs no penalty parameter. Cells count that are joined to the facet's own cell by
//! open faces on the way, lie within `RADIUS` cells of it, in front of it and in sight of it, and are
//! fit to be read ([`super::feed`]). Radii, weights and bounds are measured choices of this project
//! (worst facet, spheres and cylinders).
//!
//! Largest local error of eccentric cylinders, primary, on 32, 64 and 128 cells: 0.256, 0.071, 0.030 %
//! with all quadratics, 0.064, 0.013, 0.003 % with harmonic cubics. In a gap of two cells a cubic fit can
//! have weights whose magnitudes sum to 60 instead of at most 3.6; the corrected operator then leaves
//! its preconditioner (187 000 cells: no solution after 5000 cycles). Such fits count as failed (28 cycles).
//!
//! Tried in this order: harmonic polynomials up to degree three (not in revolved jobs, whose potential
//! is not harmonic in `(r, z)`), all monomials of degree one and two in wider and wider
//! surroundings, linear functions, functions of the distance from the surface alone (all weights are
//! positive then), and last the facet's own cell, half a cell away.

use super::domain::Space;
use super::facet::Facet;
use super::finished::ProbeScale;
use super::surroundings::{Adjacency, Surroundings};
use super::tree::Cell;
use crate::solid::Point;
use ionfall_numerics::dense::first_column;
use ionfall_numerics::rows::Rows;
use ionfall_numerics::vector::{add_scaled, dot, norm, sub, unit};
use rayon::prelude::*;

/// Reach of the fit over the cell size, and the step it widens by, for 2-D and 3-D.
const RADIUS: [f64; 2] = [3.3, 2.8];
/// Cells nearer to the surface than this (over the cell size) stay out.
const NEAREST: [f64; 2] = [0.5, 0.25];
/// Fewest cells for a quadratic fit.
const FEWEST: [usize; 2] = [9, 20];
/// The same for harmonic fits.
const HARMONIC_RADIUS: [f64; 2] = [3.3, 2.8];
/// Fewest cells for a harmonic fit.
const HARMONIC_FEWEST: [usize; 2] = [10, 26];
/// Widest reach. An acute corner between an electrode and a wall (39 degrees at the far end of the trapezoid
/// cell) holds too few cells for a quadratic within 4.6; at a quarter of the cell sizes its last facet then
/// fell back to a linear fit, and seven millimetres away 3e-4 to 1e-3 were missing instead of 1e-5.
const WIDEST: f64 = 6.1;

/// Largest sum of the magnitudes of a probe's weights, which sum to one. Sound fits stay below 3.6;
/// where fewer layers of cells lie in front of a facet than the fit has degrees (in a gap of two
/// cells to the wall) it explodes to some tens, and with it errors and solver iterations.
const LARGEST_WEIGHTS: f64 = 6.0;

/// The same for a linear fit, which there is only where little is in sight.
const MOST_LINEAR: f64 = 2.0;

/// Cells higher above a facet than this (over the cell size) that lack a neighbour tell of another
/// wall in front.
const FREE_HEIGHT: f64 = 1.0;

/// Slope at a facet that sees its own cell alone, in potentials a cell.
const OWN_CELL: f64 = 2.0;

/// How a probe came about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Probe {
    /// Scale and cell count.
    pub scale: ProbeScale,
    /// Fewer cells were in sight than a quadratic needs.
    pub rough: bool,
}

/// Probes of facets.
#[derive(Clone, Debug, Default)]
pub struct Probes {
    /// One for each facet.
    pub found: Vec<Probe>,
    /// Weights, sum one.
    pub rows: Rows,
}

/// Facets taken in one go.
const GRAIN: usize = 1024;

/// What the facets lie in.
#[derive(Clone, Copy, Debug)]
pub struct Within<'a, const D: usize> {
    /// Kind of space.
    pub space: Space,
    /// Leaves, and nodes by leaf.
    pub around: Surroundings<'a, D>,
    /// Leaf of each node.
    pub node_cell: &'a [Cell],
    /// Neighbours of each node.
    pub adjacency: &'a Adjacency,
    /// Is a node's potential a smooth continuation of the field ([`super::feed`])?
    pub readable: &'a [bool],
}

/// Probes of all facets.
pub fn probes<const D: usize>(
    within: Within<'_, D>,
    facets: &[Facet<D>],
    facet_node: &[u32],
) -> Probes {
    let root = &within.around.tree.root;
    let cells = within.node_cell;
    let centre: Vec<Point<D>> = cells.par_iter().map(|c| root.centre(*c)).collect();
    let runs = facets
        .par_chunks(GRAIN)
        .zip(facet_node.par_chunks(GRAIN))
        .map_init(
            || Walker {
                within,
                centre: &centre,
                seen: vec![0; cells.len()],
                stamp: 0,
                reached: Vec::new(),
                cells: Vec::new(),
            },
            |walker, (facets, nodes)| {
                let mut out = Probes::default();
                for (facet, &node) in facets.iter().zip(nodes) {
                    out.found.push(walker.probe(facet, node, &mut out.rows));
                }
                out
            },
        );
    let runs: Vec<Probes> = runs.collect();
    let (found, rows): (Vec<_>, Vec<_>) = runs.into_iter().map(|r| (r.found, r.rows)).unzip();
    Probes {
        found: found.concat(),
        rows: Rows::joined(rows),
    }
}

/// Walks over neighbouring cells, with its scratch.
struct Walker<'a, const D: usize> {
    within: Within<'a, D>,
    /// Centre of every node's leaf.
    centre: &'a [Point<D>],
    /// Stamp of the last walk that met a node.
    seen: Vec<u32>,
    stamp: u32,
    reached: Vec<u32>,
    /// Cells in front of the facet, with their (mirrored) centres.
    cells: Vec<(u32, Point<D>)>,
}

impl<const D: usize> Within<'_, D> {
    fn size_m(&self, node: u32) -> f64 {
        let level = self.node_cell[node as usize].level;
        self.around.tree.root.size_m(level)
    }
}

impl<const D: usize> Walker<'_, D> {
    /// The probe of a facet; its row is added to `rows`.
    fn probe(&mut self, facet: &Facet<D>, node: u32, rows: &mut Rows) -> Probe {
        let h = self.within.size_m(node);
        let height_m = dot(
            &sub(&self.centre[node as usize], &facet.point),
            &facet.normal,
        );
        let found = |scale: ProbeScale, rough| Probe {
            scale: ProbeScale {
                depth_m: (-height_m).max(0.0) as f32,
                ..scale
            },
            rough,
        };
        if self.within.readable[node as usize] {
            if let Some(scale) = self.smooth(facet, node, h, rows) {
                return found(scale, false);
            }
            let most = |limit| move |w: &Weights| w.magnitudes <= limit * w.sum;
            let linear = fit(facet, &self.cells, h, |x| *x, most(MOST_LINEAR), rows);
            let across = || fit(facet, &self.cells, h, |x| [x[0]], most(1.0 + 1e-9), rows);
            if let Some(scale) = linear.or_else(across) {
                return found(scale, true);
            }
        }
        rows.push([(node, 1.0)]);
        let scale = ProbeScale {
            per_m: OWN_CELL / h,
            depth_m: 0.0,
            cells: 1,
        };
        found(scale, true)
    }

    /// A harmonic or quadratic fit.
    fn smooth(
        &mut self,
        facet: &Facet<D>,
        node: u32,
        h: f64,
        rows: &mut Rows,
    ) -> Option<ProbeScale> {
        let dim = D - 2;
        let sound = |w: &Weights| w.magnitudes <= LARGEST_WEIGHTS * w.sum;
        // Revolved potentials are not harmonic in the (r, z) plane.
        if self.within.space != Space::Axisymmetric {
            self.look(facet, node, HARMONIC_RADIUS[dim]);
            if self.cells.len() >= HARMONIC_FEWEST[dim]
                && let Some(scale) = match D {
                    2 => fit(facet, &self.cells, h, harmonic_2, sound, rows),
                    _ => fit(facet, &self.cells, h, harmonic_3, sound, rows),
                }
            {
                return Some(scale);
            }
        }
        let mut reach = RADIUS[dim];
        while reach <= WIDEST {
            self.look(facet, node, reach);
            if self.cells.len() >= FEWEST[dim]
                && let Some(scale) = match D {
                    2 => fit(facet, &self.cells, h, quadratic::<D, 5>, sound, rows),
                    _ => fit(facet, &self.cells, h, quadratic::<D, 9>, sound, rows),
                }
            {
                return Some(scale);
            }
            reach += 0.5;
        }
        self.look(facet, node, RADIUS[dim]);
        None
    }

    /// Finds the cells in front of a facet and in sight of it.
    fn look(&mut self, facet: &Facet<D>, node: u32, reach: f64) {
        let h = self.within.size_m(node);
        self.stamp += 1;
        self.reached.clear();
        self.reached.push(node);
        self.seen[node as usize] = self.stamp;
        self.cells.clear();
        // Does a cell well in front of the facet lack a neighbour?
        let mut walled = false;
        let mut at = 0;
        while at < self.reached.len() {
            let n = self.reached[at];
            at += 1;
            let centre = self.centre[n as usize];
            let away = sub(&centre, &facet.point);
            let distance = norm(&away);
            if distance > (reach + 1.0) * h {
                continue;
            }
            let height = |away: &Point<D>| dot(away, &facet.normal) / h;
            let beside = self.within.adjacency.of(n);
            let readable = self.within.readable[n as usize];
            if distance < reach * h && readable && height(&away) > NEAREST[D - 2] {
                self.cells.push((n, centre));
                walled |= height(&away) > FREE_HEIGHT && beside.len() < 2 * D;
            }
            if self.within.space == Space::Axisymmetric {
                let mut mirrored = centre;
                mirrored[0] = -mirrored[0];
                let away = sub(&mirrored, &facet.point);
                if norm(&away) < reach * h && readable && height(&away) > NEAREST[D - 2] {
                    self.cells.push((n, mirrored));
                }
            }
            for &m in beside {
                if self.seen[m as usize] != self.stamp {
                    self.seen[m as usize] = self.stamp;
                    self.reached.push(m);
                }
            }
        }
        if walled {
            let mut cells = std::mem::take(&mut self.cells);
            cells.retain(|(_, centre)| self.in_sight(&facet.point, centre, h));
            self.cells = cells;
        }
    }

    /// Does the straight way to a cell's centre lead through cells that the walk has met, none of
    /// them in several parts?
    fn in_sight(&self, from: &Point<D>, to: &Point<D>, h: f64) -> bool {
        let Surroundings {
            tree,
            nodes,
            renumbered,
            ..
        } = self.within.around;
        let way = sub(to, from);
        let steps = (2.0 * norm(&way) / h).ceil();
        (1..steps as u32).all(|k| {
            let mut at = add_scaled(from, f64::from(k) / steps, &way);
            if self.within.space == Space::Axisymmetric {
                at[0] = at[0].abs();
            }
            tree.locate(&at).is_some_and(|leaf| {
                let own = nodes.first[leaf] as usize..nodes.first[leaf + 1] as usize;
                let met = |n: &Option<u32>| n.is_some_and(|n| self.seen[n as usize] == self.stamp);
                own.len() <= 1 && renumbered[own].iter().any(met) || k == 1
            })
        })
    }
}

/// All monomials of degree one and two at a local point (already over `h`), normal first.
fn quadratic<const D: usize, const N: usize>(x: &Point<D>) -> [f64; N] {
    let mut m = [0.0; N];
    m[..D].copy_from_slice(x);
    let mut n = D;
    for i in 0..D {
        for j in i..D {
            m[n] = x[i] * x[j];
            n += 1;
        }
    }
    m
}

/// Harmonic polynomials of degree one to three in the plane.
fn harmonic_2<const D: usize>(p: &Point<D>) -> [f64; 6] {
    let (x, y) = (p[0], p[1]);
    let [xx, yy] = [x, y].map(|c| c * c);
    let [xx3, yy3] = [x, y].map(|c| 3.0 * c * c);
    [x, y, x * y, xx - yy, x * (xx - yy3), y * (yy - xx3)]
}

/// Harmonic polynomials of degree one to three in space.
fn harmonic_3<const D: usize>(p: &Point<D>) -> [f64; 15] {
    let (x, y, z) = (p[0], p[1], p[D - 1]);
    let [xx, yy, zz] = [x, y, z].map(|c| c * c);
    let [xx3, yy3, zz3] = [x, y, z].map(|c| 3.0 * c * c);
    [
        x,
        y,
        z,
        x * y,
        x * z,
        y * z,
        xx - yy,
        xx - zz,
        x * (xx - yy3),
        x * (xx - zz3),
        y * (yy - xx3),
        y * (yy - zz3),
        z * (zz - xx3),
        z * (zz - yy3),
        x * y * z,
    ]
}

/// Sums over the weights of a fit.
struct Weights {
    sum: f64,
    magnitudes: f64,
}

/// A cell at the distance `r` (over the cell size) from the surface point weighs `1 / (SOFTENING + r^2)`:
/// far cells, where the terms left out grow, count little, and none within half a cell outweighs all
/// others. The figure is a measured choice, as the radii are.
const SOFTENING: f64 = 0.3;
/// Smallest pivot of a fit over its diagonal: a smaller one means a condition number beyond 1e4 of the
/// fit itself.
const LEAST_PIVOT: f64 = 1e-8;

/// Fits the potential in front of a facet, written in `terms` of the local coordinates over `h`,
/// the normal one first. Adds a row and returns its scale, or neither if the fit is not `sound`.
fn fit<const D: usize, const N: usize>(
    facet: &Facet<D>,
    cells: &[(u32, Point<D>)],
    h: f64,
    terms: impl Fn(&Point<D>) -> [f64; N],
    sound: impl Fn(&Weights) -> bool,
    rows: &mut Rows,
) -> Option<ProbeScale> {
    let frame = frame(&facet.normal);
    let mut values = Vec::with_capacity(cells.len());
    let mut normal_matrix = [[0.0; N]; N];
    for (_, centre) in cells {
        let away = sub(centre, &facet.point);
        let local = frame.map(|axis| dot(&axis, &away) / h);
        let m = terms(&local);
        let weight = 1.0 / (SOFTENING + dot(&local, &local));
        let square = weight * weight;
        for (row, mi) in normal_matrix.iter_mut().zip(&m) {
            let scaled = square * mi;
            for (sum, mj) in row.iter_mut().zip(&m) {
                *sum += scaled * mj;
            }
        }
        values.push((m, square));
    }
    let y = first_column(&mut normal_matrix, LEAST_PIVOT)?;
    let weight = |(m, square): &([f64; N], f64)| square * (0..N).map(|k| m[k] * y[k]).sum::<f64>();
    let mut weights: Vec<(u32, f64)> = Vec::with_capacity(cells.len());
    for ((node, _), value) in cells.iter().zip(&values) {
        match weights.last_mut() {
            Some(last) if last.0 == *node => last.1 += weight(value),
            _ => weights.push((*node, weight(value))),
        }
    }
    let sum: f64 = weights.iter().map(|w| w.1).sum();
    let magnitudes: f64 = weights.iter().map(|w| w.1.abs()).sum();
    if !(0.3..5.0).contains(&sum) || !sound(&Weights { sum, magnitudes }) {
        return None;
    }
    rows.push(weights.iter().map(|&(node, w)| (node, w / sum)));
    Some(ProbeScale {
        per_m: sum / h,
        depth_m: 0.0,
        cells: weights.len().min(u16::MAX.into()) as u16,
    })
}

/// An orthonormal frame with the normal first.
fn frame<const D: usize>(normal: &Point<D>) -> [Point<D>; D] {
    let mut axes = [[0.0; D]; D];
    axes[0] = *normal;
    if D == 2 {
        axes[1][0] = -normal[1];
        axes[1][1] = normal[0];
        return axes;
    }
    let smallest = (0..D)
        .min_by(|&a, &b| normal[a].abs().total_cmp(&normal[b].abs()))
        .unwrap_or(0);
    let mut seed = [0.0; D];
    seed[smallest] = 1.0;
    axes[1] = unit(&add_scaled(&seed, -dot(&seed, normal), normal));
    for k in 0..3 {
        let (i, j) = ((k + 1) % 3, (k + 2) % 3);
        axes[2][k] = normal[i] * axes[1][j] - normal[j] * axes[1][i];
    }
    axes
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// The fit gives back the normal derivative of any quadratic exactly.
    #[test]
    fn quadratics_are_exact() {
        let normal = unit(&[0.3, -0.5, 0.8]);
        let facet = Facet {
            body: 0,
            part: 0,
            point: [0.2, 0.1, -0.3],
            normal,
            area_m2: 1.0,
            outline: crate::grid::facet::Outline::default(),
        };
        let phi = |x: &Point<3>| {
            1.0 + 2.0 * x[0] - x[1] + 0.5 * x[2] + x[0] * x[1] - 0.7 * x[2] * x[2] + x[1] * x[2]
        };
        let gradient = |x: &Point<3>| [2.0 + x[1], -1.0 + x[0] + x[2], 0.5 - 1.4 * x[2] + x[1]];
        let h = 0.1;
        let mut cells = Vec::new();
        for i in -4..=4 {
            for j in -4..=4 {
                for k in -4..=4 {
                    let x = [
                        0.2 + h * (f64::from(i) + 0.3),
                        0.1 + h * f64::from(j),
                        -0.3 + h * f64::from(k),
                    ];
                    let away = sub(&x, &facet.point);
                    if norm(&away) < 2.8 * h && dot(&away, &normal) > 0.25 * h {
                        cells.push((cells.len() as u32, x));
                    }
                }
            }
        }
        let mut rows = Rows::default();
        let scale = fit(&facet, &cells, h, quadratic::<3, 9>, |_| true, &mut rows).unwrap();
        let seen: f64 = rows
            .row(0)
            .map(|(n, w)| w * phi(&cells[n as usize].1))
            .sum();
        let slope = scale.per_m * (seen - phi(&facet.point));
        assert_relative_eq!(
            slope,
            dot(&gradient(&facet.point), &normal),
            max_relative = 1e-9
        );
    }
}
