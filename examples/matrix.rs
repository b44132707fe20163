//! Lesson 4: the matrix, out and in. A tank becomes a network, and the network, once solved, a sparse
//! matrix: what has to be injected at each node for a change of the potentials. Laws that are straight
//! lines make it the matrix of the tank itself. Any other solver can have it; and a symmetric matrix
//! from anywhere, here that of the same network in its plain form, can be solved here.
//!
//! `cargo run --example matrix`

#![expect(clippy::print_stdout, reason = "a lesson is read on a terminal")]

use ionfall::house::field::Settings;
use ionfall::house::field::linear::LinearSolver;
use ionfall::house::field::network::{Address, Link};
use ionfall::house::mesh::grid::build;
use ionfall::house::model::Parts;
use ionfall::house::network::Circuit;
use ionfall::{Tank, laws, solids::cuboid};
use ndarray::Array1;
use sprs::CsMat;
use std::error::Error;

const LENGTH_M: f64 = 0.1;
const SECTION_M2: f64 = 0.005;
const KAPPA: f64 = 20.0;
/// Polarisation of both ends, ohm m2.
const LAW_OHM_M2: f64 = 0.002;
const MEMORY_BYTES: u64 = 1 << 30;

/// The free nodes of a symmetric matrix, which come first: links between them, what grounds each, and
/// the currents that the held ones put in at their potentials.
fn back(matrix: &CsMat<f64>, free: usize, held_v: &[f64]) -> (Vec<Link>, [Vec<f64>; 2]) {
    let mut links = Vec::new();
    let (mut ground_s, mut injected_a) = (vec![0.0; free], vec![0.0; free]);
    for (&g, (row, column)) in matrix {
        if row >= free {
            continue;
        }
        if column >= free {
            injected_a[row] -= g * held_v[column - free];
            continue;
        }
        ground_s[row] += g;
        if column < row {
            links.push(Link {
                a: row as u32,
                b: column as u32,
                conductance_s: -g,
            });
        }
    }
    // Rows that nothing grounds sum to rounding errors.
    ground_s
        .iter_mut()
        .for_each(|g| *g = if *g > 1e-9 { *g } else { 0.0 });
    (links, [ground_s, injected_a])
}

fn main() -> Result<(), Box<dyn Error>> {
    let law = laws::linear(LAW_OHM_M2)?;
    let model = Tank::planar(cuboid([0.0, 0.0], [LENGTH_M, 0.05])?, 0.1)
        .conductivity_s_per_m(KAPPA)
        .all_cells_m(1e-3, 1e-3)
        .coarsest_m(1e-3)
        .anode("anode", cuboid([-0.01, 0.0], [0.0, 0.05])?)
        .law(law)
        .work("work", cuboid([LENGTH_M, 0.0], [0.11, 0.05])?)
        .law(law)
        .voltage_v(1.0)
        .model()?;
    let parts = Parts::<2>::try_from(model.geometry).map_err(|_| "not planar")?;
    let grid = build(&parts.domain, MEMORY_BYTES)?;
    let mut circuit = Circuit::new(&grid, &parts, &model.supplies, KAPPA)?;
    // The cells are free, both metals held.
    let cells = grid.len();
    let anode = circuit.poles[0].positive as usize;
    let mut held_v = vec![0.0; circuit.solver.nodes() - cells];
    held_v[anode - cells] = 1.0;
    let fixed = (cells as u32..).zip(held_v.iter().copied()).collect();
    circuit.solver.supply(fixed, Vec::new())?;
    let settings = Settings::default();
    let solution = circuit.solver.solve(&settings, None)?;

    // Out: the matrix itself judges the answer.
    let matrix = circuit.solver.tangent().ok_or("just solved")?.matrix();
    let product = &matrix * &Array1::from(solution.potential_v.clone());
    let worst = product
        .iter()
        .take(cells)
        .fold(0.0, |w: f64, p| w.max(p.abs()));
    let current_a = circuit.currents_a(&solution)[0];
    let exact_a = SECTION_M2 / (LENGTH_M / KAPPA + 2.0 * LAW_OHM_M2);
    println!("{cells} cells, {} entries", matrix.nnz());
    println!("{current_a:.6} A, exact {exact_a:.6} A; rows are met to {worst:.1e} A");
    assert!(worst < 1e-9 * exact_a);
    assert!((current_a / exact_a - 1.0).abs() < 1e-6);

    // In: where every facet sees its own cell the matrix is symmetric, a graph of conductances.
    let all: Vec<u32> = (0..cells as u32).collect();
    circuit.solver.make_plain(&all)?;
    let plain = circuit.solver.solve(&settings, None)?;
    let matrix = circuit.solver.tangent().ok_or("just solved")?.matrix();
    let (links, [ground_s, injected_a]) = back(&matrix, cells, &held_v);
    let addresses = grid.node_cell.iter().copied().map(Address::electrolyte);
    let addresses: Vec<Address> = addresses.collect();
    let mut solver = LinearSolver::new(&addresses, 2, &links, &ground_s);
    let again = solver.solve(&injected_a, 1e-10, 100);
    let pairs = again.potential_v.iter().zip(&plain.potential_v);
    let apart = pairs.fold(0.0, |far: f64, (a, b)| far.max((a - b).abs()));
    println!(
        "solved again in {} cycles, {apart:.1e} V apart",
        again.iterations
    );
    assert!(apart < 1e-8);
    Ok(())
}

#[test]
fn the_lesson_holds() {
    main().unwrap();
}
