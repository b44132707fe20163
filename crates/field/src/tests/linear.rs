//! The graph, its multigrid and the linear solver, against dense and sparse matrices.

use super::laws::Equipotential;
use super::networks::Tank;
use crate::graph::Graph;
use crate::hierarchy::Hierarchy;
use crate::linear::LinearSolver;
use crate::network::{Address, Cell, Link, NodeKind};
use crate::order::Order;
use crate::pattern::{NO_SLOT, Pattern};
use crate::vector::round;
use approx::assert_relative_eq;
use ionfall_numerics::dense::pivoted;
use ndarray::Array2;
use proptest::prelude::*;
use sprs::{CsMatI, TriMatI};
use std::sync::Arc;

/// A deterministic sequence of numbers in 0..1.
pub(super) struct Noise(pub u64);

impl Noise {
    pub fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() * n as f64) as usize
    }
}

/// A connected graph of cells, coat and metals without any order, conductances over four decades,
/// double links and links of a node with itself included.
fn tangle(nodes: usize, seed: u64) -> (Vec<Address>, Vec<Link>, Vec<f64>) {
    let mut noise = Noise(seed);
    let kinds = [
        NodeKind::Electrolyte,
        NodeKind::Electrolyte,
        NodeKind::Coat,
        NodeKind::Metal,
    ];
    let addresses = (0..nodes)
        .map(|n| Address {
            kind: kinds[if n < 8 { n % 4 } else { noise.below(3) }],
            cell: Cell {
                key: noise.below(512) as u64,
                level: 3,
            },
        })
        .collect();
    let mut links = Vec::new();
    for a in 1..nodes as u32 {
        for _ in 0..3 {
            let b = noise.below(a as usize + 1) as u32;
            let conductance_s = 10f64.powf(4.0 * noise.next() - 2.0);
            links.push(Link {
                a,
                b,
                conductance_s,
            });
        }
        links.push(Link {
            a,
            b: a - 1,
            conductance_s: 0.1,
        });
    }
    let ground = (0..nodes)
        .map(|n| if n % 17 == 0 { noise.next() } else { 0.0 })
        .collect();
    (addresses, links, ground)
}

/// The matrix of a graph.
fn matrix(links: &[Link], ground: &[f64]) -> CsMatI<f64, u32> {
    let n = ground.len();
    let mut triplets = TriMatI::new((n, n));
    for (k, &g) in ground.iter().enumerate() {
        triplets.add_triplet(k, k, g);
    }
    for l in links {
        let (a, b, g) = (l.a as usize, l.b as usize, l.conductance_s);
        for (row, col, sign) in [(a, a, 1.0), (b, b, 1.0), (a, b, -1.0), (b, a, -1.0)] {
            triplets.add_triplet(row, col, sign * g);
        }
    }
    triplets.to_csr()
}

/// The solution by elimination.
pub(super) fn dense_solve(a: Array2<f64>, b: Vec<f64>) -> Vec<f64> {
    let rows = a.rows().into_iter().zip(b);
    let mut rows: Vec<Vec<f64>> = rows
        .map(|(row, b)| row.iter().copied().chain([b]).collect())
        .collect();
    pivoted(&mut rows)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn random_graphs_agree_with_elimination(nodes in 9usize..200, seed in any::<u64>()) {
        let (addresses, links, ground) = tangle(nodes, seed);
        let mut noise = Noise(seed ^ 1);
        let injected: Vec<f64> = (0..nodes).map(|_| noise.next() - 0.5).collect();
        let exact = dense_solve(matrix(&links, &ground).to_dense(), injected.clone());
        let mut solver = LinearSolver::new(&addresses, 3, &links, &ground);
        let found = solver.solve(&injected, 1e-13, 400);
        let size = exact.iter().fold(0.0, |m: f64, x| m.max(x.abs()));
        for (found, exact) in found.potential_v.iter().zip(&exact) {
            prop_assert!((found - exact).abs() < 1e-8 * size, "{found} {exact}");
        }
    }
}

/// The level-0 graph of a set of links, in the solver's order.
fn graph(addresses: &[Address], links: &[Link], ground: &[f64]) -> (Order, Graph<f64>) {
    let order = Order::new(addresses, 3, &[]);
    let place = |n: u32| order.place[n as usize];
    let ends: Vec<_> = links.iter().map(|l| (place(l.a), place(l.b))).collect();
    let (pattern, slots) = Pattern::new(order.chunks.clone(), order.hubs, ends.iter().copied());
    let mut graph = Graph::zero(Arc::new(pattern));
    for (link, slot) in links.iter().zip(slots) {
        if slot != NO_SLOT {
            graph.value[slot as usize] += link.conductance_s;
        }
    }
    for (&place, &g) in order.place.iter().zip(ground) {
        graph.ground[place as usize] = g;
    }
    (order, graph)
}

/// Product and sweeps with many chunks and hubs, against the sparse matrix.
#[test]
fn kernels_agree_with_the_matrix() {
    let (addresses, links, ground) = tangle(30_000, 7);
    let (order, graph) = graph(&addresses, &links, &ground);
    assert!(graph.pattern.chunks.len() > 3 && graph.pattern.hubs == 2);
    let a = matrix(&links, &ground);
    let n = ground.len();
    let mut noise = Noise(3);
    let x: Vec<f64> = (0..n).map(|_| noise.next() - 0.5).collect();
    let to_solver = |x: &[f64]| {
        let mut y = vec![0.0; n];
        for (&place, x) in order.place.iter().zip(x) {
            y[place as usize] = *x;
        }
        y
    };
    let from_solver = |y: &[f64]| {
        order
            .place
            .iter()
            .map(|&p| y[p as usize])
            .collect::<Vec<_>>()
    };
    let product = |x: &[f64]| {
        let mut y = vec![0.0; n];
        sprs::prod::mul_acc_mat_vec_csr(a.view(), x, &mut y[..]);
        y
    };
    graph.pattern.each_link(|a, b, slot| {
        assert_eq!(graph.pattern.slot(a, b) as usize, slot);
        assert_eq!(graph.pattern.slot(b, a) as usize, slot);
    });
    let mut y = vec![0.0; n];
    graph.apply(&to_solver(&x), &mut y);
    for (found, exact) in from_solver(&y).iter().zip(product(&x)) {
        assert_relative_eq!(*found, exact, max_relative = 1e-9, epsilon = 1e-9);
    }
    // The residual of the forward sweep, and M^-1 of the two sweeps being transposes:
    // <backward-from-zero(b), c> = <b, forward(c)>.
    let inverse: Vec<f64> = graph.diagonal().iter().map(|d| 1.0 / d).collect();
    let (b, c) = (to_solver(&x), to_solver(&product(&x)));
    let (mut sol, mut rest) = (vec![0.0; n], vec![0.0; n]);
    graph.forward(&inverse, &b, &mut sol, &mut rest);
    for ((rest, b), ax) in from_solver(&rest)
        .iter()
        .zip(&x)
        .zip(product(&from_solver(&sol)))
    {
        assert_relative_eq!(*rest, b - ax, epsilon = 1e-10);
    }
    let forward: f64 = sol.iter().zip(&c).map(|(a, b)| a * b).sum();
    let mut back = vec![0.0; n];
    graph.backward(&inverse, &c, &mut back, &mut rest);
    let backward: f64 = back.iter().zip(&b).map(|(a, b)| a * b).sum();
    assert_relative_eq!(forward, backward, max_relative = 1e-11);
}

/// The diagonal of every coarse graph is the Galerkin product `P^T A P`'s, and sums formed anew
/// are those of a new hierarchy.
#[test]
fn coarse_graphs_are_galerkin_products() {
    let (addresses, links, ground) = tangle(20_000, 11);
    let (order, graph) = graph(&addresses, &links, &ground);
    let rounded = |scale: f64| {
        let mut fine = Graph::zero(graph.pattern.clone());
        round(&graph.value, &mut fine.value);
        round(&graph.ground, &mut fine.ground);
        fine.ground.iter_mut().for_each(|g| *g *= scale as f32);
        fine
    };
    let mut hierarchy = Hierarchy::new(rounded(1.0), order.codes(&addresses, 3), 3);
    for pair in hierarchy.levels.windows(2) {
        let (fine, coarse) = (&pair[0].graph, &pair[1].graph);
        let of = &pair[0].down.as_ref().expect("not the last").aggregates.of;
        let shift = coarse.pattern.cells as u32;
        let image = |n: u32| match of.get(n as usize) {
            Some(&a) => a,
            None => n - fine.pattern.cells as u32 + shift,
        };
        let mut diagonal = vec![0.0; coarse.pattern.nodes()];
        for (n, &g) in fine.ground.iter().enumerate() {
            diagonal[image(n as u32) as usize] += f64::from(g);
        }
        fine.pattern.each_link(|a, b, slot| {
            let (a, b) = (image(a), image(b));
            if a != b {
                diagonal[a as usize] += f64::from(fine.value[slot]);
                diagonal[b as usize] += f64::from(fine.value[slot]);
            }
        });
        for (found, exact) in coarse.diagonal().iter().zip(&diagonal) {
            // The last levels sum up tens of thousands of links in single precision.
            assert_relative_eq!(*found, *exact, max_relative = 1e-4);
        }
    }
    let again = Hierarchy::new(rounded(3.0), order.codes(&addresses, 3), 3);
    hierarchy.levels[0].graph.ground = rounded(3.0).ground;
    hierarchy.sum_anew(false);
    for (a, b) in hierarchy.levels.iter().zip(&again.levels) {
        assert_eq!(a.graph.ground, b.graph.ground);
        assert_eq!(a.inverse_diagonal, b.inverse_diagonal);
    }
}

/// Links of a tank of cubes with both walls grounded by `wall_s` times a link.
fn grounded_tank(cells: u32, dimension: u8, wall: f64) -> (Vec<Address>, Vec<Link>, Vec<f64>) {
    let tank = Tank {
        cells,
        dimension,
        edge_m: 1.0,
        kappa: f64::from(cells),
    };
    let (mut network, _) = tank.network(Box::new(Equipotential), Box::new(Equipotential));
    network
        .addresses
        .truncate(cells.pow(u32::from(dimension)) as usize);
    let links: Vec<Link> = network.all_links().collect();
    let mut ground = vec![0.0; network.addresses.len()];
    for facet in &network.facets {
        ground[facet.cell as usize] += wall * links[0].conductance_s;
    }
    (network.addresses, links, ground)
}

/// The number of cycles neither grows with the grid nor with the conductance of the walls, which
/// cannot be more than a few times a link's: the electrolyte before the surface is in series.
#[test]
fn cycles_do_not_grow() {
    for (dimension, sizes, most) in [(3, [16, 32, 64], 15), (2, [64, 256, 512], 15)] {
        for wall in [1e-6, 1e-3, 1.0, 3.5] {
            for cells in sizes {
                let (addresses, links, ground) = grounded_tank(cells, dimension, wall);
                let mut solver = LinearSolver::new(&addresses, dimension, &links, &ground);
                let mut noise = Noise(5);
                let injected: Vec<f64> = ground.iter().map(|_| noise.next()).collect();
                let found = solver.solve(&injected, 1e-8, 100);
                assert!(found.relative_residual <= 1e-8);
                assert!(
                    found.iterations <= most,
                    "{dimension}-D {cells} cells, wall {wall}: {} cycles",
                    found.iterations
                );
            }
        }
    }
}

/// Two electrolytes on either side of a sheet thinner than a cell share all their addresses, but
/// no link: they must not share an aggregate.
#[test]
fn two_sides_of_a_sheet_stay_apart() {
    let (one, links_one, ground) = grounded_tank(32, 2, 1.0);
    let n = one.len() as u32;
    let addresses: Vec<_> = one.iter().chain(&one).copied().collect();
    let mut links = links_one.clone();
    links.extend(links_one.iter().map(|l| Link {
        a: l.a + n,
        b: l.b + n,
        ..*l
    }));
    let mut both = ground.clone();
    both.extend(&ground);
    let injected: Vec<f64> = (0..2 * n).map(|k| if k < n { 1.0 } else { -1.0 }).collect();
    let alone =
        LinearSolver::new(&one, 2, &links_one, &ground).solve(&vec![1.0; n as usize], 1e-10, 60);
    let found = LinearSolver::new(&addresses, 2, &links, &both).solve(&injected, 1e-10, 60);
    assert!(
        found.iterations <= alone.iterations + 3,
        "{}",
        found.iterations
    );
    let size = alone.potential_v.iter().fold(0.0, |m: f64, x| m.max(*x));
    for (k, exact) in alone.potential_v.iter().enumerate() {
        assert!((found.potential_v[k] - exact).abs() < 1e-8 * size);
        assert!((found.potential_v[k + n as usize] + exact).abs() < 1e-8 * size);
    }
}

/// A sheet of coat nodes over a wall, six decades of sheet conductance.
#[test]
fn coat_on_a_wall_converges() {
    let cells = 32u32;
    for sheet in [1e-4, 1e-2, 1.0, 1e2] {
        let (mut addresses, mut links, ground) = grounded_tank(cells, 3, 0.0);
        let volume = addresses.len() as u32;
        let mut ground: Vec<f64> = ground;
        let g = links[0].conductance_s;
        for wall in 0..cells * cells {
            let (cell, node) = (wall * cells + cells - 1, volume + wall);
            let beside = addresses[cell as usize];
            addresses.push(Address {
                kind: NodeKind::Coat,
                ..beside
            });
            ground.push(0.0);
            links.push(Link {
                a: cell,
                b: node,
                conductance_s: g,
            });
            for (step, last) in [
                (1, wall % cells + 1 == cells),
                (cells, wall / cells + 1 == cells),
            ] {
                if !last {
                    links.push(Link {
                        a: node,
                        b: node + step,
                        conductance_s: sheet * g,
                    });
                }
            }
        }
        let contact = ground.len() - 1;
        ground[contact] = 1e3 * g;
        addresses.push(Address::metal());
        ground.push(0.0);
        let anode = ground.len() as u32 - 1;
        links.extend((0..cells * cells).map(|wall| Link {
            a: wall * cells,
            b: anode,
            conductance_s: g,
        }));
        let mut injected = vec![0.0; ground.len()];
        injected[anode as usize] = 1.0;
        let found = LinearSolver::new(&addresses, 3, &links, &ground).solve(&injected, 1e-8, 100);
        assert!(
            found.iterations <= 20,
            "sheet {sheet}: {} cycles",
            found.iterations
        );
    }
}
