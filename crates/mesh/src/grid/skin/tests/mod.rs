//! The skin against exact solutions.

#![allow(clippy::print_stdout)] // the errors, for those who run with --nocapture

mod connected;
mod curved;
mod flat;
mod rows;

use super::{Skin, skin};
use crate::grid::{Body, BodyKind, Domain, Grid, Region, Space, StopOff, build};
use crate::solid::{Cuboid, Placement, Point, Solid};

const MEMORY: u64 = 2 << 30;

/// A cathode in the middle of a cubic tank from -1 to 1 m, an anode slab on one side of it.
pub struct Bench<const D: usize> {
    pub cathode: Solid<D>,
    pub size_m: f64,
    pub stop_offs: Vec<Solid<D>>,
    /// Finer cells in here.
    pub region: Option<(Solid<D>, f64)>,
}

impl<const D: usize> Bench<D>
where
    Cuboid<D>: crate::solid::Primitive<D>,
{
    pub fn new(cathode: Solid<D>, size_m: f64) -> Self {
        Self {
            cathode,
            size_m,
            stop_offs: Vec::new(),
            region: None,
        }
    }

    pub fn grid(&self, space: Space) -> Grid<D> {
        let coarse = 0.125;
        let body = |name: &str, solid: Solid<D>, finest_m: f64| Body {
            name: name.into(),
            solid,
            kind: BodyKind::Electrode,
            finest_m,
            edge_m: finest_m,
            across: 0.0,
        };
        let mut low = [-1.0; D];
        if space == Space::Axisymmetric {
            low[0] = 0.0;
        }
        let tank = Solid::new(Cuboid::new(low, [1.0; D]).unwrap());
        let mut base = low;
        base[D - 1] = 0.9;
        let slab = Solid::new(Cuboid::new(base, [1.0; D]).unwrap());
        build(
            &Domain {
                space,
                tank,
                bodies: vec![
                    body("cathode", self.cathode.clone(), self.size_m),
                    body("anode", slab, coarse),
                ],
                stop_offs: self
                    .stop_offs
                    .iter()
                    .map(|solid| StopOff {
                        solid: solid.clone(),
                        body: Some(0),
                    })
                    .collect(),
                sheets: Vec::new(),
                regions: self
                    .region
                    .iter()
                    .map(|(solid, finest_m)| Region {
                        solid: solid.clone(),
                        finest_m: *finest_m,
                    })
                    .collect(),
                wall_m: coarse,
                coarsest_m: coarse,
            },
            MEMORY,
        )
        .unwrap()
    }
}

/// An odd turn about the origin and a small shift, so that nothing lies along the grid.
pub fn oblique() -> Placement<3> {
    Placement::<3>::rotation([0.36, -0.48, 0.8], 0.7)
        .unwrap()
        .then(&Placement::translation([0.0137, -0.0211, 0.0093]).unwrap())
}

/// Facets of the cathode.
pub fn cathode<const D: usize>(grid: &Grid<D>) -> impl Fn(usize) -> bool + '_ {
    |f| grid.facets[f].body == 0
}

/// A linear network: conductors, and at each node a leak to a given potential and a source.
pub struct Network {
    pub links: Vec<(usize, usize, f64)>,
    pub leak: Vec<f64>,
    pub source: Vec<f64>,
}

impl Network {
    pub fn new(n: usize, skin: &Skin) -> Self {
        Self {
            links: skin
                .links
                .iter()
                .map(|l| (l.a as usize, l.b as usize, l.weight))
                .collect(),
            leak: vec![0.0; n],
            source: vec![0.0; n],
        }
    }

    /// Holds the rims at potentials that depend on the facet.
    pub fn hold(&mut self, skin: &Skin, potential: impl Fn(usize) -> f64) {
        for rim in &skin.rims {
            let f = rim.facet as usize;
            self.leak[f] += rim.weight;
            self.source[f] += rim.weight * potential(f);
        }
    }

    fn apply(&self, u: &[f64]) -> Vec<f64> {
        let mut out: Vec<f64> = u.iter().zip(&self.leak).map(|(u, l)| u * l).collect();
        for &(a, b, w) in &self.links {
            out[a] += w * (u[a] - u[b]);
            out[b] += w * (u[b] - u[a]);
        }
        out
    }

    /// Conjugate gradients, preconditioned by the diagonal.
    pub fn solve(&self) -> Vec<f64> {
        let n = self.leak.len();
        let mut diagonal = self.leak.clone();
        for &(a, b, w) in &self.links {
            diagonal[a] += w;
            diagonal[b] += w;
        }
        let over = |r: &[f64]| -> Vec<f64> {
            let pair = r.iter().zip(&diagonal);
            pair.map(|(r, d)| if *d > 0.0 { r / d } else { 0.0 })
                .collect()
        };
        let dot = |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).map(|(a, b)| a * b).sum() };
        let mut u = vec![0.0; n];
        let mut r = self.source.clone();
        let mut z = over(&r);
        let mut p = z.clone();
        let mut rz = dot(&r, &z);
        let start = rz;
        for _ in 0..20_000 {
            if rz <= 1e-24 * start {
                return u;
            }
            let q = self.apply(&p);
            let step = rz / dot(&p, &q);
            for k in 0..n {
                u[k] += step * p[k];
                r[k] -= step * q[k];
            }
            z = over(&r);
            let next = dot(&r, &z);
            for k in 0..n {
                p[k] = z[k] + next / rz * p[k];
            }
            rz = next;
        }
        panic!("conjugate gradients did not converge: {rz:e} of {start:e}");
    }
}

/// Errors against an exact solution on the facets that are `on`: largest and root mean square,
/// after taking off the mean error (weighted with the area).
pub fn errors<const D: usize>(
    grid: &Grid<D>,
    on: impl Fn(usize) -> bool,
    u: &[f64],
    exact: impl Fn(&Point<D>) -> f64,
) -> [f64; 2] {
    let all: Vec<(f64, f64)> = (0..u.len())
        .filter(|&f| on(f))
        .map(|f| (u[f] - exact(&grid.facets[f].point), grid.facets[f].area_m2))
        .collect();
    let area: f64 = all.iter().map(|e| e.1).sum();
    let mean = all.iter().map(|e| e.0 * e.1).sum::<f64>() / area;
    let largest = all.iter().map(|e| (e.0 - mean).abs()).fold(0.0, f64::max);
    let square: f64 = all.iter().map(|e| (e.0 - mean).powi(2) * e.1).sum();
    [largest, (square / area).sqrt()]
}

/// Solves `-lap u = load` without feed on the facets that are `on`.
pub fn poisson<const D: usize>(
    grid: &Grid<D>,
    on: impl Fn(usize) -> bool,
    load: impl Fn(&Point<D>) -> f64,
) -> (Skin, Vec<f64>) {
    let skin = skin(grid, &on, |_| false);
    let mut network = Network::new(grid.facets.len(), &skin);
    let own = || (0..grid.facets.len()).filter(|&f| on(f));
    for f in own() {
        network.source[f] = load(&grid.facets[f].point) * grid.facets[f].area_m2;
    }
    let area: f64 = own().map(|f| grid.facets[f].area_m2).sum();
    let total: f64 = network.source.iter().sum();
    for f in own() {
        network.source[f] -= total * grid.facets[f].area_m2 / area;
    }
    let u = network.solve();
    (skin, u)
}

/// Current that flows out of the rims held at 1 when the others are held at 0.
pub fn conductance<const D: usize>(
    grid: &Grid<D>,
    skin: &Skin,
    held: impl Fn(&Point<D>) -> bool,
) -> f64 {
    let mut network = Network::new(grid.facets.len(), skin);
    let potential = |f: usize| f64::from(u8::from(held(&grid.facets[f].point)));
    network.hold(skin, potential);
    let u = network.solve();
    skin.rims
        .iter()
        .map(|r| r.facet as usize)
        .zip(&skin.rims)
        .filter(|(f, _)| potential(*f) == 1.0)
        .map(|(f, r)| r.weight * (1.0 - u[f]))
        .sum()
}
