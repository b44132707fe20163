//! Manufactured solutions: a harmonic potential is prescribed, and every facet gets the law that it
//! obeys. With `i* = -kappa grad(phi*) . n` (current from the metal into the bath) and the metal at
//! zero volts the law of a facet is
//!
//! ```text
//! i(u) = i* + i0 sinh((u + phi*)/b),     u = 0 - phi
//! ```
//! which `phi*` meets exactly, whatever the shape of the electrode; away from it the law is that of a
//! kinetics with both branches. Errors of the local current density are over the largest `|i*|`, those
//! of the potential (at the nodes of cells whose middle is in the bath) over its largest value.

use ionfall_field::law::{Law, Response};
use ionfall_field::network::{Conductivity, Network};
use ionfall_field::{Settings, solve};
use ionfall_mesh::grid::{Body, BodyKind, Domain, Grid, Space, build};
use ionfall_mesh::solid::{Ball, Cuboid, Ellipsoid, Point, Primitive, Solid};
use ionfall_network::{Assembly, Behind};
use ionfall_textbook::order;

const KAPPA: f64 = 12.0;
const EXCHANGE: f64 = 40.0;
const SLOPE_V: f64 = 0.3;

/// The law of one facet.
#[derive(Debug)]
struct Made {
    current: f64,
    potential: f64,
}

impl Law for Made {
    fn at_drop(&self, drop_v: f64) -> Response {
        let x = (drop_v + self.potential) / SLOPE_V;
        Response {
            current_a_per_m2: self.current + EXCHANGE * x.sinh(),
            slope_s_per_m2: EXCHANGE / SLOPE_V * x.cosh(),
        }
    }

    fn drop_at(&self, current_a_per_m2: f64) -> f64 {
        SLOPE_V * ((current_a_per_m2 - self.current) / EXCHANGE).asinh() - self.potential
    }
}

/// A harmonic potential and its gradient at a point.
type Harmonic<const D: usize> = fn(&Point<D>) -> (f64, Point<D>);

fn network<const D: usize>(grid: &Grid<D>, exact: Harmonic<D>) -> Network {
    let laws = grid.facets.iter().map(|facet| {
        let (potential, gradient) = exact(&facet.point);
        let current = -KAPPA * (0..D).map(|k| gradient[k] * facet.normal[k]).sum::<f64>();
        Box::new(Made { current, potential }) as Box<dyn Law>
    });
    let mut assembly = Assembly::new(grid, 1);
    let node = assembly.metal();
    let behind = |f: usize| {
        let law = f as u32;
        Some(Behind { node, law })
    };
    let conductivity = Conductivity::uniform(KAPPA);
    let (mut network, _) = assembly.network(conductivity, laws.collect(), behind);
    network.fixed = vec![(node, 0.0)];
    network
}

/// Largest errors of local current density and of potential.
fn errors<const D: usize>(domain: &Domain<D>, exact: Harmonic<D>) -> [f64; 2] {
    let grid = build(domain, 8 << 30).unwrap();
    let found = solve(&mut network(&grid, exact), &Settings::default(), None).unwrap();
    let (mut off, mut most) = (0.0f64, 0.0f64);
    for (facet, i) in grid.facets.iter().zip(&found.current_density_a_per_m2) {
        let gradient = exact(&facet.point).1;
        let current = -KAPPA * (0..D).map(|k| gradient[k] * facet.normal[k]).sum::<f64>();
        off = off.max((i - current).abs());
        most = most.max(current.abs());
    }
    let (mut off_v, mut most_v) = (0.0f64, 0.0f64);
    let in_bath = |x: &Point<D>| {
        domain.tank.contains(x) && domain.bodies.iter().all(|b| !b.solid.contains(x))
    };
    for n in 0..grid.len() {
        let x = grid.centre(n);
        if in_bath(&x) {
            let potential = exact(&x).0;
            off_v = off_v.max((found.potential_v[n] - potential).abs());
            most_v = most_v.max(potential.abs());
        }
    }
    [off / most, off_v / most_v]
}

/// Orders over three grids whose cells shrink by two; at least the given ones.
fn check<const D: usize>(
    name: &str,
    domain: impl Fn(f64) -> Domain<D>,
    exact: Harmonic<D>,
    least: [f64; 2],
) {
    let all = [1.0, 0.5, 0.25].map(|size| errors(&domain(size), exact));
    for (k, what) in ["current density", "potential"].iter().enumerate() {
        let errors = all.map(|e| e[k]);
        let order = order(&errors);
        let listed = errors.map(|e| format!("{e:.2e}")).join(" ");
        eprintln!("{name}, {what}: {listed}, order {order:.2}");
        assert!(order >= least[k], "{name}, {what}: order {order:.2}");
    }
}

/// An electrode around everything and one within, cells of `h`.
fn between<const D: usize>(
    space: Space,
    tank: Solid<D>,
    around: Solid<D>,
    inner: Solid<D>,
    h: f64,
) -> Domain<D> {
    let body = |name: &str, solid| Body {
        name: name.into(),
        solid,
        kind: BodyKind::Electrode,
        finest_m: h,
        edge_m: h,
        across: 0.0,
    };
    Domain {
        space,
        tank,
        bodies: vec![body("around", around), body("inner", inner)],
        stop_offs: Vec::new(),
        sheets: Vec::new(),
        regions: Vec::new(),
        wall_m: h,
        // One size everywhere: a graded tree is alike on all grids far from the bodies.
        coarsest_m: h,
    }
}

/// All of a block but an ellipsoid around the origin.
fn hollow<const D: usize>(half: f64, axes: Point<D>, low: Point<D>) -> Solid<D>
where
    Cuboid<D>: Primitive<D>,
    Ellipsoid<D>: Primitive<D>,
{
    let block = Solid::new(Cuboid::new(low, [half; D]).unwrap());
    let room = Solid::new(Ellipsoid::new([0.0; D], axes).unwrap());
    Solid::Difference(Box::new(block), vec![room])
}

/// Lengths in units of this, m.
const UNIT: f64 = 0.01;

/// `exp(x) cos(y) + x^2 - y^2` around an ellipse and a circle off its middle.
#[test]
fn planar() {
    let exact: Harmonic<2> = |x| {
        let [x, y] = x.map(|c| c / UNIT);
        let (e, c, s) = (0.2 * x.exp(), y.cos(), y.sin());
        let gradient = [e * c + 0.2 * x, -e * s - 0.2 * y];
        (e * c + 0.1 * (x * x - y * y), gradient.map(|g| g / UNIT))
    };
    let domain = |size: f64| {
        let half = 3.0 * UNIT;
        let tank = Solid::new(Cuboid::new([-half; 2], [half; 2]).unwrap());
        let inner = Solid::new(Ball::new([0.31 * UNIT, 0.17 * UNIT], 0.7 * UNIT).unwrap());
        let around = hollow(1.1 * half, [2.2 * UNIT, 1.8 * UNIT], [-1.1 * half; 2]);
        let space = Space::Planar { depth_m: 1.0 };
        between(space, tank, around, inner, 0.1 * size * UNIT)
    };
    check("planar", domain, exact, [1.8, 1.8]);
}

/// `z^2 - r^2/2 + 1/rho`, rho the distance from a point on the axis below the room, revolved.
#[test]
fn axisymmetric() {
    let exact: Harmonic<2> = |x| {
        let [r, z] = x.map(|c| c / UNIT);
        let up = z + 3.0;
        let rho = r.hypot(up);
        let gradient = [-0.2 * r - r / rho.powi(3), 0.4 * z - up / rho.powi(3)];
        (
            0.2 * (z * z - 0.5 * r * r) + 1.0 / rho,
            gradient.map(|g| g / UNIT),
        )
    };
    let domain = |size: f64| {
        let half = 3.0 * UNIT;
        let tank = Solid::new(Cuboid::new([0.0, -half], [half, half]).unwrap());
        let inner = Solid::new(Ball::new([0.0, 0.23 * UNIT], 0.7 * UNIT).unwrap());
        let around = hollow(
            1.1 * half,
            [2.2 * UNIT, 1.8 * UNIT],
            [-0.1 * half, -1.1 * half],
        );
        between(Space::Axisymmetric, tank, around, inner, 0.1 * size * UNIT)
    };
    check("axisymmetric", domain, exact, [1.5, 1.8]);
}

/// `x y z + x^2 - z^2 + 1/rho`, rho the distance from a point outside, around an ellipsoid and a ball.
#[test]
fn in_space() {
    let exact: Harmonic<3> = |x| {
        let [x, y, z] = x.map(|c| c / UNIT);
        let (dx, dy, dz) = (x - 2.0, y - 1.5, z - 2.5);
        let rho = (dx * dx + dy * dy + dz * dz).sqrt();
        let cube = rho.powi(3);
        let gradient = [
            0.2 * (y * z + 2.0 * x) - dx / cube,
            0.2 * x * z - dy / cube,
            0.2 * (x * y - 2.0 * z) - dz / cube,
        ];
        let potential = 0.2 * (x * y * z + x * x - z * z) + 1.0 / rho;
        (potential, gradient.map(|g| g / UNIT))
    };
    let domain = |size: f64| {
        let half = 2.5 * UNIT;
        let tank = Solid::new(Cuboid::new([-half; 3], [half; 3]).unwrap());
        let middle = [0.21, 0.13, -0.08].map(|c| c * UNIT);
        let inner = Solid::new(Ball::new(middle, 0.7 * UNIT).unwrap());
        let around = hollow(
            1.1 * half,
            [1.9, 1.6, 1.7].map(|c| c * UNIT),
            [-1.1 * half; 3],
        );
        between(Space::Tank, tank, around, inner, 0.25 * size * UNIT)
    };
    check("in space", domain, exact, [1.6, 1.8]);
}
