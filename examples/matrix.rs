//! Lesson 4: the matrix, out and in. The grid of a tank gives a graph of conductances; as a sparse
//! matrix any other solver can have it, and any such matrix can be solved here. The links are the
//! two-point ones; what makes the grid accurate where cells change their size is left out.
//!
//! `cargo run --example matrix`

#![expect(clippy::print_stdout, reason = "a lesson is read on a terminal")]

use ionfall::house::field::linear::LinearSolver;
use ionfall::house::field::network::{Address, Link, NodeKind};
use ionfall::house::mesh::grid::{Grid, build};
use ionfall::house::model::Parts;
use ionfall::{Tank, solids::cuboid};
use sprs::{CsMat, TriMat};
use std::error::Error;

const LENGTH_M: f64 = 0.1;
const SECTION_M2: f64 = 0.005;
const KAPPA: f64 = 20.0;
/// Polarisation of both ends, ohm m2.
const LAW_OHM_M2: f64 = 0.002;
const MEMORY_BYTES: u64 = 1 << 30;

/// The matrix of cells, and the currents that an anode at one volt puts in.
fn out(grid: &Grid<2>) -> (CsMat<f64>, Vec<f64>) {
    let n = grid.len();
    let mut matrix = TriMat::new((n, n));
    for link in &grid.links {
        let (a, b, g) = (link.a as usize, link.b as usize, KAPPA * link.metres);
        matrix.add_triplet(a, a, g);
        matrix.add_triplet(b, b, g);
        matrix.add_triplet(a, b, -g);
        matrix.add_triplet(b, a, -g);
    }
    let mut injected_a = vec![0.0; n];
    for (f, facet) in grid.facets.iter().enumerate() {
        let cell = grid.facet_node[f] as usize;
        let middle = grid.centre(cell);
        let far_m: f64 = (0..2)
            .map(|k| facet.normal[k] * (middle[k] - facet.point[k]))
            .sum();
        let g = facet.area_m2 / (far_m / KAPPA + LAW_OHM_M2);
        matrix.add_triplet(cell, cell, g);
        if facet.body == 0 {
            injected_a[cell] += g;
        }
    }
    (matrix.to_csr(), injected_a)
}

/// A matrix as links between nodes, and what grounds each.
fn back(matrix: &CsMat<f64>) -> (Vec<Link>, Vec<f64>) {
    let mut links = Vec::new();
    let mut ground_s = vec![0.0; matrix.rows()];
    for (&g, (row, column)) in matrix {
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
    (links, ground_s)
}

fn main() -> Result<(), Box<dyn Error>> {
    let model = Tank::planar(cuboid([0.0, 0.0], [LENGTH_M, 0.05])?, 0.1)
        .conductivity_s_per_m(KAPPA)
        .all_cells_m(1e-3, 1e-3)
        .coarsest_m(1e-3)
        .anode("anode", cuboid([-0.01, 0.0], [0.0, 0.05])?)
        .work("work", cuboid([LENGTH_M, 0.0], [0.11, 0.05])?)
        .voltage_v(1.0)
        .model()?;
    let parts = Parts::<2>::try_from(model.geometry).map_err(|_| "not planar")?;
    let grid = build(&parts.domain, MEMORY_BYTES)?;
    let (matrix, injected_a) = out(&grid);
    let (links, ground_s) = back(&matrix);
    let cells = grid.node_cell.iter().map(|cell| Address {
        kind: NodeKind::Electrolyte,
        key: cell.key,
        level: cell.level,
    });
    let cells: Vec<Address> = cells.collect();
    let mut solver = LinearSolver::new(&cells, 2, &links, &ground_s);
    let solution = solver.solve(&injected_a, 1e-10, 100);
    // The matrix itself judges the answer.
    let mut product = vec![0.0; matrix.rows()];
    sprs::prod::mul_acc_mat_vec_csr(matrix.view(), &solution.potential_v[..], &mut product[..]);
    let worst = product.iter().zip(&injected_a).map(|(p, i)| (p - i).abs());
    let worst = worst.fold(0.0, f64::max);
    let ground = ground_s.iter().zip(&injected_a).map(|(g, i)| g - i);
    let current_a: f64 = ground.zip(&solution.potential_v).map(|(g, v)| g * v).sum();
    let exact_a = SECTION_M2 / (LENGTH_M / KAPPA + 2.0 * LAW_OHM_M2);
    println!(
        "{} cells, {} entries, {} cycles",
        grid.len(),
        matrix.nnz(),
        solution.iterations
    );
    println!("{current_a:.6} A, exact {exact_a:.6} A; rows are met to {worst:.1e} A");
    assert!(worst < 1e-9 * exact_a);
    assert!((current_a / exact_a - 1.0).abs() < 1e-6);
    Ok(())
}

#[test]
fn the_lesson_holds() {
    main().unwrap();
}
