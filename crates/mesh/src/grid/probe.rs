//! Current density at a facet from the potentials of the cells in front of it.
//!
//! At the facet's surface point `x_s` with normal `n` the potential is written as
//!
//! ```text
//! phi = phi_s + sum over monomials m of degree 1 and 2 in (n, t)  c_m m(x - x_s)
//! ```
//! and the coefficients are fitted to the cells around by weighted least squares; the quadratic
//! contains the surface point. The normal derivative comes out linear in the data, so that
//! `i / kappa = a phi_s - sum m_k phi_k` with `a = sum m_k`, here as scale `a` and probe weights
//! `m_k / a`. With the electrode law this is exact for any polarisation, the equipotential limit
//! included, and needs no penalty parameter. Cells count that are joined to the facet's own cell by
//! open faces on the way, lie within `RADIUS` cells of it and in front of it. Radii, weights and
//! bounds are measured choices of this project (worst facet, spheres and cylinders).

use super::facet::Facet;
use super::fragment::{add_scaled, dot, norm, sub, unit};
use super::tree::{Cell, Root};
use super::{ProbeScale, Space};
use crate::solid::Point;
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
/// Widest reach.
const WIDEST: f64 = 4.6;

/// Neighbour lists of all nodes.
#[derive(Clone, Debug)]
pub struct Adjacency {
    start: Vec<u32>,
    other: Vec<u32>,
}

impl Adjacency {
    /// From pairs of nodes.
    pub fn new(nodes: usize, pairs: impl Iterator<Item = (u32, u32)> + Clone) -> Self {
        let mut start = vec![0u32; nodes + 1];
        for (a, b) in pairs.clone() {
            start[a as usize + 1] += 1;
            start[b as usize + 1] += 1;
        }
        for n in 0..nodes {
            start[n + 1] += start[n];
        }
        let mut at = start.clone();
        let mut other = vec![0; start[nodes] as usize];
        for (a, b) in pairs {
            for (x, y) in [(a, b), (b, a)] {
                other[at[x as usize] as usize] = y;
                at[x as usize] += 1;
            }
        }
        Self { start, other }
    }

    /// Neighbours of a node.
    pub fn of(&self, node: u32) -> &[u32] {
        &self.other[self.start[node as usize] as usize..self.start[node as usize + 1] as usize]
    }
}

/// A probe: scale, weights, and whether it had to be linear.
#[derive(Clone, Debug)]
pub struct Probe {
    /// Scale and cell count.
    pub scale: ProbeScale,
    /// Weights, sum one.
    pub weights: Vec<(u32, f64)>,
    /// Only a linear fit was possible.
    pub linear: bool,
}

/// Probes of all facets; `None` where not even a linear fit was possible.
pub fn probes<const D: usize>(
    space: Space,
    root: &Root<D>,
    node_cell: &[Cell],
    adjacency: &Adjacency,
    facets: &[Facet<D>],
    facet_node: &[u32],
) -> Vec<Option<Probe>> {
    facets
        .par_iter()
        .zip(facet_node)
        .map_init(
            || Walker {
                seen: vec![0; node_cell.len()],
                stamp: 0,
                found: Vec::new(),
            },
            |walker, (facet, &node)| {
                let h = root.size_m(node_cell[node as usize].level);
                let dim = D - 2;
                let mut attempt = |basis: Basis, reach: f64, fewest: usize| {
                    let cells = walker.cells(space, root, node_cell, adjacency, facet, node, reach);
                    if cells.len() < fewest {
                        None
                    } else {
                        fit(facet, &cells, h, basis)
                    }
                };
                // Revolved potentials are not harmonic in the (r, z) plane.
                if space != Space::Axisymmetric
                    && let Some(probe) =
                        attempt(Basis::Harmonic, HARMONIC_RADIUS[dim], HARMONIC_FEWEST[dim])
                {
                    return Some(probe);
                }
                let mut reach = RADIUS[dim];
                while reach <= WIDEST {
                    if let Some(probe) = attempt(Basis::Quadratic, reach, FEWEST[dim]) {
                        return Some(probe);
                    }
                    reach += 0.5;
                }
                attempt(Basis::Linear, reach, 1)
            },
        )
        .collect()
}

/// Scratch of the walk over neighbouring cells.
struct Walker {
    seen: Vec<u32>,
    stamp: u32,
    found: Vec<u32>,
}

impl Walker {
    /// Cells in front of the facet, with their (mirrored) centres.
    #[expect(
        clippy::too_many_arguments,
        reason = "scratch plus the plain data of the grid"
    )]
    fn cells<const D: usize>(
        &mut self,
        space: Space,
        root: &Root<D>,
        node_cell: &[Cell],
        adjacency: &Adjacency,
        facet: &Facet<D>,
        node: u32,
        reach: f64,
    ) -> Vec<(u32, Point<D>)> {
        let h = root.size_m(node_cell[node as usize].level);
        self.stamp += 1;
        self.found.clear();
        self.found.push(node);
        self.seen[node as usize] = self.stamp;
        let mut out = Vec::new();
        let mut at = 0;
        while at < self.found.len() {
            let n = self.found[at];
            at += 1;
            let centre = root.centre(node_cell[n as usize]);
            let away = sub(&centre, &facet.point);
            let distance = norm(&away);
            if distance > (reach + 1.0) * h {
                continue;
            }
            let mut images = vec![centre];
            if space == Space::Axisymmetric {
                let mut mirrored = centre;
                mirrored[0] = -mirrored[0];
                images.push(mirrored);
            }
            for image in images {
                let away = sub(&image, &facet.point);
                if norm(&away) < reach * h && dot(&away, &facet.normal) > NEAREST[D - 2] * h {
                    out.push((n, image));
                }
            }
            for &m in adjacency.of(n) {
                if self.seen[m as usize] != self.stamp {
                    self.seen[m as usize] = self.stamp;
                    self.found.push(m);
                }
            }
        }
        out
    }
}

/// Most terms: 15 in 3-D.
const TERMS: usize = 15;

/// What the potential near a facet is written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Basis {
    /// Degree one.
    Linear,
    /// All monomials of degree one and two.
    Quadratic,
    /// Harmonic polynomials of degree one to three.
    Harmonic,
}

/// The terms at a local point (already over `h`), normal first.
fn terms<const D: usize>(local: &Point<D>, basis: Basis) -> ([f64; TERMS], usize) {
    let mut m = [0.0; TERMS];
    let mut n = 0;
    let mut push = |x: f64| {
        m[n] = x;
        n += 1;
    };
    local.iter().for_each(|&x| push(x));
    match basis {
        Basis::Linear => {}
        Basis::Quadratic => {
            for i in 0..D {
                for j in i..D {
                    push(local[i] * local[j]);
                }
            }
        }
        Basis::Harmonic => {
            for i in 0..D {
                for j in i + 1..D {
                    push(local[i] * local[j]);
                }
            }
            for j in 1..D {
                push(local[0] * local[0] - local[j] * local[j]);
            }
            for i in 0..D {
                for j in (0..D).filter(|&j| j != i) {
                    push(local[i] * (local[i] * local[i] - 3.0 * local[j] * local[j]));
                }
            }
            if D == 3 {
                push(local.iter().product());
            }
        }
    }
    (m, n)
}

fn fit<const D: usize>(
    facet: &Facet<D>,
    cells: &[(u32, Point<D>)],
    h: f64,
    basis: Basis,
) -> Option<Probe> {
    let frame = frame(&facet.normal);
    let mut rows = Vec::with_capacity(cells.len());
    let mut normal_matrix = [[0.0; TERMS]; TERMS];
    let mut count = D;
    for (_, centre) in cells {
        let away = sub(centre, &facet.point);
        let local = frame.map(|axis| dot(&axis, &away) / h);
        let (m, n) = terms(&local, basis);
        count = n;
        let weight = 1.0 / (0.3 + dot(&local, &local));
        let square = weight * weight;
        for i in 0..n {
            for j in 0..=i {
                normal_matrix[i][j] += square * m[i] * m[j];
            }
        }
        rows.push((m, square));
    }
    let y = solve_first(&mut normal_matrix, count)?;
    let mut weights: Vec<(u32, f64)> = Vec::with_capacity(cells.len());
    for ((node, _), (m, square)) in cells.iter().zip(&rows) {
        let weight = square * (0..count).map(|k| m[k] * y[k]).sum::<f64>();
        match weights.last_mut() {
            Some(last) if last.0 == *node => last.1 += weight,
            _ => weights.push((*node, weight)),
        }
    }
    let sum: f64 = weights.iter().map(|w| w.1).sum();
    if !(0.3..5.0).contains(&sum) {
        return None;
    }
    for w in &mut weights {
        w.1 /= sum;
    }
    let scale = ProbeScale {
        per_m: sum / h,
        cells: weights.len().min(u16::MAX.into()) as u16,
    };
    Some(Probe {
        scale,
        weights,
        linear: basis == Basis::Linear,
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

/// Solves `M y = e_0` for a symmetric positive matrix given by its lower half (Cholesky); `None`
/// if it is close to singular.
fn solve_first(m: &mut [[f64; TERMS]; TERMS], n: usize) -> Option<[f64; TERMS]> {
    for i in 0..n {
        let scale = m[i][i];
        for j in 0..=i {
            let mut s = m[i][j];
            for k in 0..j {
                s -= m[i][k] * m[j][k];
            }
            if i == j {
                // A pivot this small means a condition number beyond 1e4 of the fit itself.
                if s <= 1e-8 * scale || !s.is_finite() {
                    return None;
                }
                m[i][i] = s.sqrt();
            } else {
                m[i][j] = s / m[j][j];
            }
        }
    }
    let mut y = [0.0; TERMS];
    for i in 0..n {
        let mut s = f64::from(u8::from(i == 0));
        for k in 0..i {
            s -= m[i][k] * y[k];
        }
        y[i] = s / m[i][i];
    }
    for i in (0..n).rev() {
        let mut s = y[i];
        for k in i + 1..n {
            s -= m[k][i] * y[k];
        }
        y[i] = s / m[i][i];
    }
    Some(y)
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
            outline: Vec::new(),
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
        let probe = fit(&facet, &cells, h, Basis::Quadratic).unwrap();
        let seen: f64 = probe
            .weights
            .iter()
            .map(|&(n, w)| w * phi(&cells[n as usize].1))
            .sum();
        let slope = probe.scale.per_m * (seen - phi(&facet.point));
        assert_relative_eq!(
            slope,
            dot(&gradient(&facet.point), &normal),
            max_relative = 1e-9
        );
    }
}
