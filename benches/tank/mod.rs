//! The tank of the benchmarks: a bumpy ball as a triangle mesh before a flat anode.

use ionfall_field::law::{Law, Response};
use ionfall_field::network::{Address, Conductivity, Link, Network};
use ionfall_mesh::grid::{Body, BodyKind, Domain, Grid, Space};
use ionfall_mesh::solid::mesh_file::{RawMesh, mend};
use ionfall_mesh::solid::{Ball, Bounds, Cuboid, Fineness, Primitive, Solid};
use ionfall_network::{Assembly, Behind};

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
    let mut assembly = Assembly::new(grid, 2);
    let [negative, positive] = [assembly.metal(), assembly.metal()];
    let behind = |f: usize| {
        let node = [negative, positive][usize::from(grid.facets[f].body)];
        Some(Behind { node, law: 0 })
    };
    let law = Kinetics {
        exchange_a_per_m2: 10.0,
    };
    let conductivity = Conductivity::uniform(KAPPA);
    let (mut network, _) = assembly.network(conductivity, vec![Box::new(law)], behind);
    let ball = grid.facets.iter().filter(|f| f.body == 0);
    let area_m2: f64 = ball.map(|f| f.area_m2).sum();
    network.fixed = vec![(negative, 0.0)];
    network.injected = vec![(positive, share * MEAN * area_m2)];
    network
}

/// A linear network.
pub struct Linear {
    pub addresses: Vec<Address>,
    pub links: Vec<Link>,
    pub ground_s: Vec<f64>,
    pub injected_a: Vec<f64>,
}

/// The cells of `network` alone, grounded and fed through the facets with a linear polarisation
/// resistance.
pub fn linear(grid: &Grid<3>) -> Linear {
    let mut network = network(grid, 1.0);
    network.addresses.truncate(grid.len());
    let mut ground_s = vec![0.0; grid.len()];
    let mut injected_a = vec![0.0; grid.len()];
    for (f, facet) in network.facets.iter().zip(&grid.facets) {
        let polarisation_ohm_m2 = SLOPE_V / MEAN;
        let g = f.area_m2 / (network.series_ohm_m2(f) + polarisation_ohm_m2);
        ground_s[f.cell as usize] += g;
        injected_a[f.cell as usize] += g * f64::from(facet.body);
    }
    Linear {
        links: network.coupled().collect(),
        addresses: network.addresses,
        ground_s,
        injected_a,
    }
}
