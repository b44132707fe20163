//! The tank of the benchmarks: a bumpy ball as a triangle mesh before a flat anode.

use ionfall_field::law::{Law, Response};
use ionfall_field::network::{Address, Correction, Facet, Forms, Link, Network, NodeKind};
use ionfall_mesh::grid::{Body, BodyKind, Domain, Grid, Rows, Space};
use ionfall_mesh::solid::mesh_file::{RawMesh, mend};
use ionfall_mesh::solid::{Ball, Bounds, Cuboid, Fineness, Primitive, Solid};

const RADIUS_M: f64 = 0.02;

/// A ball with bumps of some 4 % of its radius, in at least so many triangles.
pub fn bumpy_ball(triangles: usize) -> Solid<3> {
    let within = Bounds {
        low: [-1.0; 3],
        high: [1.0; 3],
    };
    let ball = Ball::<3>::new([0.0; 3], RADIUS_M).expect("a good ball");
    let mut sagitta_m = 1e-3 * RADIUS_M;
    let soup = loop {
        let soup = ball.tessellate(&Fineness { sagitta_m, within });
        if soup.elements.len() >= triangles {
            break soup;
        }
        sagitta_m *= 0.9;
    };
    let bumped = |x: &[f64; 3]| {
        let [u, v, w] = x.map(|c| c / RADIUS_M);
        let bump = (9.0 * u).sin() * (7.0 * v + 1.0).sin() + (8.0 * w).cos();
        x.map(|c| c * (1.0 + 0.04 * bump))
    };
    let raw = RawMesh {
        vertices: soup.vertices.iter().map(bumped).collect(),
        triangles: soup.elements,
    };
    Solid::new(mend(raw, 1.0).expect("a sound mesh").0)
}

/// The ball in a cube of a tank, with `cells` cells across it, and the anode at a wall.
pub fn domain(ball: Solid<3>, cells: u32) -> Domain<3> {
    let h = 2.0 * RADIUS_M / f64::from(cells);
    let block = |low, high| Solid::new(Cuboid::new(low, high).expect("a good block"));
    let body = |name: &str, solid, size_m| Body {
        name: name.into(),
        solid,
        kind: BodyKind::Electrode,
        finest_m: size_m,
        edge_m: size_m,
        across: 0.0,
    };
    Domain {
        space: Space::Tank,
        tank: block([-0.05; 3], [0.05; 3]),
        bodies: vec![
            body("work", ball, h),
            body(
                "anode",
                block([0.045, -0.03, -0.03], [0.048, 0.03, 0.03]),
                2.0 * h,
            ),
        ],
        stop_offs: Vec::new(),
        sheets: Vec::new(),
        regions: Vec::new(),
        wall_m: 4.0 * h,
        coarsest_m: 0.02,
    }
}

/// Butler-Volmer kinetics with equal branches.
#[derive(Debug)]
struct Kinetics {
    exchange_a_per_m2: f64,
}

/// RT / F at 25 degC over the transfer coefficient 1/2, V.
const SLOPE_V: f64 = 2.0 * 0.025693;

impl Law for Kinetics {
    fn at_drop(&self, drop_v: f64) -> Response {
        let x = drop_v / SLOPE_V;
        Response {
            current_a_per_m2: 2.0 * self.exchange_a_per_m2 * x.sinh(),
            slope_s_per_m2: 2.0 * self.exchange_a_per_m2 * x.cosh() / SLOPE_V,
        }
    }

    fn drop_at(&self, current_a_per_m2: f64) -> f64 {
        SLOPE_V * (current_a_per_m2 / (2.0 * self.exchange_a_per_m2)).asinh()
    }
}

/// Conductivity, S/m, and mean current density on the ball, A/m2.
const KAPPA: f64 = 20.0;
const MEAN: f64 = 300.0;

/// The network at a share of the current.
pub fn network(grid: &Grid<3>, share: f64) -> Network {
    let cells = grid.len() as u32;
    let (negative, positive) = (cells, cells + 1);
    let node = |kind, key, level| Address { kind, key, level };
    let electrolyte = grid
        .node_cell
        .iter()
        .map(|c| node(NodeKind::Electrolyte, c.key, c.level));
    let poles = (0..2).map(|n| node(NodeKind::Metal, n, 0));
    let scales = grid.facet_node.iter().zip(&grid.probe_scale);
    let area_m2: f64 = grid
        .facets
        .iter()
        .filter(|f| f.body == 0)
        .map(|f| f.area_m2)
        .sum();
    Network {
        addresses: electrolyte.chain(poles).collect(),
        dimension: 3,
        links: grid
            .links
            .iter()
            .map(|l| Link {
                a: l.a,
                b: l.b,
                conductance_s: KAPPA * l.metres,
            })
            .collect(),
        corrections: grid
            .corrections
            .iter()
            .map(|c| Correction {
                from: c.from,
                to: c.to,
            })
            .collect(),
        correction_forms: forms(&grid.correction_rows, KAPPA),
        facets: grid
            .facets
            .iter()
            .zip(scales)
            .map(|(f, (&cell, scale))| Facet {
                cell,
                metal: if f.body == 0 { negative } else { positive },
                area_m2: f.area_m2,
                series_ohm_m2: 1.0 / (KAPPA * scale.per_m),
                depth: scale.depth(),
                law: 0,
            })
            .collect(),
        probes: forms(&grid.probe_rows, 1.0),
        laws: vec![Box::new(Kinetics {
            exchange_a_per_m2: 10.0,
        })],
        fixed: vec![(negative, 0.0)],
        injected: vec![(positive, share * MEAN * area_m2)],
        plain: Vec::new(),
    }
}

fn forms(rows: &Rows, scale: f64) -> Forms {
    Forms {
        start: rows.start.clone(),
        node: rows.node.clone(),
        weight: rows.weight.iter().map(|w| scale * w).collect(),
    }
}

/// A linear network: the cells of `network` alone, grounded and fed through the facets with a
/// linear polarisation resistance.
pub fn linear(grid: &Grid<3>) -> (Network, Vec<f64>, Vec<f64>) {
    let mut network = network(grid, 1.0);
    network.addresses.truncate(grid.len());
    let mut ground_s = vec![0.0; grid.len()];
    let mut injected_a = vec![0.0; grid.len()];
    for (f, facet) in network.facets.iter().zip(&grid.facets) {
        let polarisation_ohm_m2 = SLOPE_V / MEAN;
        let g = f.area_m2 / (f.series_ohm_m2 + polarisation_ohm_m2);
        ground_s[f.cell as usize] += g;
        injected_a[f.cell as usize] += g * f64::from(facet.body);
    }
    (network, ground_s, injected_a)
}
