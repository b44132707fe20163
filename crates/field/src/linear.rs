//! The linear solver by itself: a graph of conductances with part of it grounded.

use crate::graph::Graph;
use crate::hierarchy::Hierarchy;
use crate::krylov::conjugate_gradients;
use crate::network::{Address, Link};
use crate::order::Order;
use crate::pattern::{NO_SLOT, Pattern};
use crate::vector::{norm, round};
use std::sync::Arc;

/// A graph ready to be solved for any injected currents. Its matrix,
/// `y_n = sum g (x_n - x_other) + ground_n x_n`, is symmetric and positive definite if every part
/// of the graph is grounded somewhere.
#[derive(Debug)]
pub struct LinearSolver {
    order: Order,
    /// Location codes of the cells, until the multigrid takes them.
    codes: Vec<u64>,
    graph: Graph<f64>,
    dimension: u8,
    hierarchy: Option<Hierarchy>,
}

/// Solution of a linear problem.
#[derive(Clone, Debug, PartialEq)]
pub struct LinearSolution {
    /// Node potentials, V.
    pub potential_v: Vec<f64>,
    /// Multigrid cycles spent.
    pub iterations: usize,
    /// Euclidean norm of the residual relative to that of the injected currents.
    pub relative_residual: f64,
}

impl LinearSolver {
    /// Takes the graph over: `links` as in a [`Network`](crate::network::Network), `ground_s` the
    /// conductance (S) of each node to the potential zero.
    pub fn new(addresses: &[Address], dimension: u8, links: &[Link], ground_s: &[f64]) -> Self {
        let order = Order::new(addresses, dimension, &[]);
        let place = |node: u32| order.place[node as usize];
        let ends = links.iter().map(|l| (place(l.a), place(l.b)));
        let (pattern, slots) = Pattern::new(order.chunks.clone(), order.hubs, ends);
        let mut graph = Graph::zero(Arc::new(pattern));
        for (link, slot) in links.iter().zip(slots) {
            if slot != NO_SLOT {
                graph.value[slot as usize] += link.conductance_s;
            }
        }
        for (node, &ground) in ground_s.iter().enumerate() {
            graph.ground[place(node as u32) as usize] = ground;
        }
        LinearSolver {
            codes: order.codes(addresses, dimension),
            order,
            graph,
            dimension,
            hierarchy: None,
        }
    }

    /// Builds the multigrid; otherwise the first [`solve`](Self::solve) does.
    pub fn prepare(&mut self) {
        if self.hierarchy.is_some() {
            return;
        }
        let mut fine = Graph::zero(self.graph.pattern.clone());
        round(&self.graph.value, &mut fine.value);
        round(&self.graph.ground, &mut fine.ground);
        let dimension = u32::from(self.dimension);
        let codes = std::mem::take(&mut self.codes);
        self.hierarchy = Some(Hierarchy::new(fine, codes, dimension));
    }

    /// Numbers of nodes of the multigrid levels, the finest first.
    pub fn level_sizes(&self) -> Vec<usize> {
        let levels = self.hierarchy.iter().flat_map(|h| &h.levels);
        levels.map(|l| l.graph.pattern.nodes()).collect()
    }

    /// Potentials for injected currents (A), to a residual of `tolerance` relative to them, in at
    /// most `most` cycles.
    pub fn solve(&mut self, injected_a: &[f64], tolerance: f64, most: usize) -> LinearSolution {
        self.prepare();
        let place = &self.order.place;
        let mut r = vec![0.0; place.len()];
        for (&place, b) in place.iter().zip(injected_a) {
            r[place as usize] = *b;
        }
        let mut x = vec![0.0; r.len()];
        let whole = norm(&r);
        let hierarchy = self.hierarchy.as_mut().expect("prepared above");
        let outcome = conjugate_gradients(
            |x, y| self.graph.apply(x, y),
            hierarchy,
            &mut x,
            &mut r,
            tolerance * whole,
            most,
        );
        LinearSolution {
            potential_v: place.iter().map(|&place| x[place as usize]).collect(),
            iterations: outcome.iterations,
            relative_residual: if whole > 0.0 {
                outcome.residual / whole
            } else {
                0.0
            },
        }
    }
}
