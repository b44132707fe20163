//! The derivative at a solution against the matrix, elimination and finite differences.

use super::laws::{ButlerVolmer, Limited};
use super::linear::{Noise, dense_solve};
use super::networks::{Metals, Tank, distort};
use crate::network::{Address, Conductivity, Link, Network};
use crate::{Settings, Solver};
use approx::assert_relative_eq;

const KAPPA: f64 = 20.0;

/// A distorted tank with all that can stand in a matrix: prescribed and free metals, links of
/// cells to prescribed and to free metals, plain nodes.
fn tank(cells: u32, dimension: u8) -> (Network, Metals) {
    let tank = Tank {
        cells,
        dimension,
        edge_m: 0.1,
        kappa: KAPPA,
    };
    let anode = ButlerVolmer {
        exchange_a_per_m2: 5.0,
        slope_v: 0.04,
    };
    let cathode = Limited {
        exchange_a_per_m2: 1.0,
        slope_v: 0.026,
        limit_a_per_m2: 400.0,
    };
    let (mut network, metals) = tank.network(Box::new(anode), Box::new(cathode));
    distort(&mut network);
    let mut join = |a: u32, b: u32, conductance_s: f64| {
        network.links.push(Link {
            a,
            b,
            conductance_s,
        });
    };
    join(3, metals.cathode, 0.02);
    join(5, metals.anode, 0.03);
    let reference = network.addresses.len() as u32;
    join(9, reference, 0.05);
    network.addresses.push(Address::metal());
    network.plain = vec![0, 1, cells + 2];
    network.fixed = vec![(metals.cathode, 0.0), (reference, 0.4)];
    network.injected = vec![(metals.anode, 0.3 * 400.0 * tank.cathode_m2())];
    (network, metals)
}

fn noise(n: usize, seed: u64) -> Vec<f64> {
    let mut noise = Noise(seed);
    (0..n).map(|_| noise.next() - 0.5).collect()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Products, with the matrix and its transpose; solutions, by elimination.
#[test]
fn it_is_its_matrix() {
    for (cells, dimension) in [(16, 2), (4, 3)] {
        let (network, _) = tank(cells, dimension);
        let mut solver = Solver::new(network).unwrap();
        assert!(solver.tangent().is_none());
        solver.solve(&Settings::default(), None).unwrap();
        let mut tangent = solver.tangent().unwrap();
        let matrix = tangent.matrix().to_dense();
        let n = matrix.nrows();
        let (x, y) = (noise(n, 3), noise(n, 4));
        let (ax, aty) = (tangent.apply(&x), tangent.apply_transposed(&y));
        let size = matrix.iter().fold(0.0, |m: f64, a| m.max(a.abs()));
        for k in 0..n {
            let row: Vec<f64> = matrix.row(k).to_vec();
            let column: Vec<f64> = matrix.column(k).to_vec();
            assert_relative_eq!(ax[k], dot(&row, &x), epsilon = 1e-12 * size);
            assert_relative_eq!(aty[k], dot(&column, &y), epsilon = 1e-12 * size);
        }
        assert_relative_eq!(dot(&y, &ax), dot(&aty, &x), max_relative = 1e-10);
        let asymmetry = (&matrix - &matrix.t())
            .iter()
            .fold(0.0, |m: f64, a| m.max(a.abs()));
        assert!(asymmetry > 1e-3 * size, "it should not be symmetric");

        let found = tangent.solve(&x, 1e-13).unwrap();
        let exact = dense_solve(matrix.clone(), x.clone());
        let largest = exact.iter().fold(0.0, |m: f64, x| m.max(x.abs()));
        for (found, exact) in found.iter().zip(&exact) {
            assert_relative_eq!(*found, *exact, epsilon = 1e-9 * largest);
        }
        let found = tangent.solve_transposed(&y, 1e-13).unwrap();
        let exact = dense_solve(matrix.t().to_owned(), y.clone());
        let largest = exact.iter().fold(0.0, |m: f64, x| m.max(x.abs()));
        for (found, exact) in found.iter().zip(&exact) {
            assert_relative_eq!(*found, *exact, epsilon = 1e-9 * largest);
        }
    }
}

/// The parameters that the figure below is derived by.
#[derive(Clone, Copy, Debug)]
enum By {
    /// The conductance of a link of cells.
    Coupling(usize),
    /// The conductance of another link.
    Link(usize),
    /// What is injected into the anode.
    Injected,
    /// The potential of the reference.
    Fixed,
}

/// A figure: a sum of the current densities with arbitrary weights.
fn figure(by: By, change: f64, weights: &[f64]) -> f64 {
    let (mut network, _) = tank(16, 2);
    match by {
        By::Coupling(k) => network.couplings_mut().links[k].metres += change / KAPPA,
        By::Link(k) => network.links[k].conductance_s += change,
        By::Injected => network.injected[0].1 += change,
        By::Fixed => network.fixed[1].1 += change,
    }
    let settings = Settings {
        tolerance: 1e-13,
        ..Settings::default()
    };
    let mut solver = Solver::new(network).unwrap();
    let solution = solver.solve(&settings, None).unwrap();
    dot(weights, &solution.current_density_a_per_m2)
}

/// Derivatives of a figure by many parameters: one tangent for each, one adjoint for all, and finite
/// differences.
#[test]
fn derivatives_are_those_of_finite_differences() {
    let (network, metals) = tank(16, 2);
    let facets = network.facets.len();
    let cells: Vec<Link> = network.coupled().collect();
    let (links, fixed) = (network.links.clone(), network.fixed.clone());
    let weights = noise(facets, 9);
    let mut solver = Solver::new(network).unwrap();
    let phi = solver
        .solve(&Settings::default(), None)
        .unwrap()
        .potential_v;
    let mut tangent = solver.tangent().unwrap();
    let by_potential = tangent.by_potential(&weights);
    let adjoint = tangent.solve_transposed(&by_potential, 1e-12).unwrap();
    for by in [
        By::Coupling(40),
        By::Link(0),
        By::Link(1),
        By::Link(2),
        By::Injected,
        By::Fixed,
    ] {
        // Minus the derivative of the imbalance.
        let mut rhs = vec![0.0; phi.len()];
        let h = match by {
            By::Coupling(k) | By::Link(k) => {
                let among = if matches!(by, By::Link(_)) {
                    &links
                } else {
                    &cells
                };
                let Link {
                    a,
                    b,
                    conductance_s,
                } = among[k];
                let (a, b) = (a as usize, b as usize);
                rhs[a] = phi[b] - phi[a];
                rhs[b] = phi[a] - phi[b];
                1e-4 * conductance_s
            }
            By::Injected => {
                rhs[metals.anode as usize] = 1.0;
                1e-4
            }
            By::Fixed => {
                rhs[fixed[1].0 as usize] = 1.0;
                1e-4
            }
        };
        // What is prescribed stays, whatever currents flow there.
        if let By::Coupling(_) | By::Link(_) = by {
            fixed.iter().for_each(|f| rhs[f.0 as usize] = 0.0);
        }
        let x = tangent.solve(&rhs, 1e-12).unwrap();
        let by_tangent = dot(&weights, &tangent.current_densities(&x));
        let by_adjoint = dot(&adjoint, &rhs);
        let differences = (figure(by, h, &weights) - figure(by, -h, &weights)) / (2.0 * h);
        assert_relative_eq!(by_tangent, by_adjoint, max_relative = 1e-8);
        assert_relative_eq!(by_tangent, differences, max_relative = 1e-5);
    }
}

/// A change makes the derivative stale.
#[test]
fn it_lasts_until_something_changes() {
    let (network, metals) = tank(8, 2);
    let mut solver = Solver::new(network).unwrap();
    solver.solve(&Settings::default(), None).unwrap();
    assert!(solver.tangent().is_some());
    solver
        .supply(vec![(metals.cathode, 0.1)], vec![(metals.anode, 0.2)])
        .unwrap();
    assert!(solver.tangent().is_none());
    solver.solve(&Settings::default(), None).unwrap();
    let rhs = noise(solver.nodes(), 2);
    let error = solver.tangent().unwrap().solve(&rhs, 1e-40);
    let error = error.unwrap_err().to_string();
    assert!(error.contains("ask for less"), "{error}");
    solver
        .set_conductivity(Conductivity::uniform(22.0))
        .unwrap();
    assert!(solver.tangent().is_none());
}
