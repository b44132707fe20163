//! One K-cycle of multigrid, used as a preconditioner.
//!
//! Piecewise constant interpolation makes coarse graphs too stiff; the K-cycle (Notay and
//! Vassilevski 2008, Numer. Linear Algebra Appl. 15:473-487) makes up for it by solving each
//! coarse problem with up to two steps of flexible conjugate gradients, each preconditioned by the
//! cycle below. Being a Krylov step, it makes the cycle a slightly nonlinear operator: the method
//! outside must be a flexible one.

use crate::aggregate::Aggregates;
use crate::dense::Cholesky;
use crate::graph::{Graph, split};
use crate::hierarchy::{Coarse, Hierarchy, Level};
use crate::preconditioner::Preconditioner;
use crate::vector::{dots, each_piece, subtract_scaled};
use rayon::prelude::*;

/// The second step is left out if the first has reduced the residual to this share (value of the
/// paper).
const ENOUGH: f64 = 0.25;

/// Sweeps in place of a direct solution when the coarsest level is too large for one.
const SWEEPS: usize = 8;

impl Preconditioner for Hierarchy {
    fn graph(&mut self) -> &mut Graph<Coarse> {
        &mut self.levels[0].graph
    }

    fn refresh(&mut self, cells_too: bool) {
        self.sum_anew(cells_too);
    }

    fn apply(&mut self, r: &[Coarse]) -> &mut Vec<Coarse> {
        let nodes = self.levels[0].graph.pattern.nodes();
        let mut sol = std::mem::take(&mut self.levels[0].work.sol);
        sol.resize(r.len(), 0.0);
        cycle(
            &mut self.levels,
            &mut self.factor,
            &r[..nodes],
            &mut sol[..nodes],
        );
        let work = &mut self.levels[0].work;
        work.sol = sol;
        &mut work.sol
    }
}

/// One cycle on the first of `levels` from zero.
fn cycle(levels: &mut [Level], factor: &mut Option<Cholesky>, b: &[Coarse], x: &mut [Coarse]) {
    let Some((level, coarser)) = levels.split_first_mut() else {
        return;
    };
    let scratch = &mut level.work.scratch;
    let Some(down) = &level.down else {
        match factor {
            Some(factor) => factor.solve(b, x),
            None => sweep(&level.graph, &level.inverse_diagonal, b, x, scratch),
        }
        return;
    };
    level.graph.forward(&level.inverse_diagonal, b, x, scratch);
    let aggregates = &down.aggregates;
    let coarse = &mut coarser[0].work;
    let cells = aggregates.of.len();
    let coarse_cells = aggregates.cells();
    restrict(
        aggregates,
        &scratch[..cells],
        &mut coarse.rhs[..coarse_cells],
    );
    coarse.rhs[coarse_cells..].copy_from_slice(&scratch[cells..]);
    improve(coarser, factor);
    let coarse = &coarser[0].work.sol;
    each_piece(&mut x[..cells], |lo, x| {
        for (x, &a) in x.iter_mut().zip(&aggregates.of[lo..]) {
            *x += coarse[a as usize];
        }
    });
    for (x, c) in x[cells..].iter_mut().zip(&coarse[coarse_cells..]) {
        *x += c;
    }
    level
        .graph
        .backward(&level.inverse_diagonal, b, x, &mut level.work.scratch);
}

/// Solves the first of `levels` for its own right-hand side by one or two conjugate directions.
fn improve(levels: &mut [Level], factor: &mut Option<Cholesky>) {
    let mut work = std::mem::take(&mut levels[0].work);
    // The sweeps of this level need its scratch vector; the others are ours meanwhile.
    levels[0].work.scratch = std::mem::take(&mut work.scratch);
    let (r, c, v) = (&mut work.rhs, &mut work.sol, &mut work.first);
    cycle(levels, factor, r, c);
    if levels[0].down.is_some() || factor.is_none() {
        let graph = &levels[0].graph;
        graph.apply(c, v);
        let [rho, alpha, before] = dots([(c, v), (c, r), (r, r)]);
        if rho > 0.0 {
            let first = alpha / rho;
            let after = subtract_scaled(r, first as Coarse, v);
            if after <= ENOUGH * ENOUGH * before {
                scale(c, first);
            } else {
                let d = &mut work.second;
                cycle(levels, factor, r, d);
                // The product takes the place of the scratch vector until the next sweep.
                let mut w = std::mem::take(&mut levels[0].work.scratch);
                levels[0].graph.apply(d, &mut w);
                let [gamma, beta, alpha] = dots([(d, v), (d, &w), (d, r)]);
                levels[0].work.scratch = w;
                let rho_second = beta - gamma * gamma / rho;
                let second = if rho_second > 0.0 {
                    alpha / rho_second
                } else {
                    0.0
                };
                let (first, second) = (first - gamma / rho * second, second);
                combine(c, first as Coarse, second as Coarse, d);
            }
        }
    }
    work.scratch = std::mem::take(&mut levels[0].work.scratch);
    levels[0].work = work;
}

fn scale(x: &mut [Coarse], factor: f64) {
    let factor = factor as Coarse;
    each_piece(x, |_, x| x.iter_mut().for_each(|x| *x *= factor));
}

/// `x = first * x + second * y`.
fn combine(x: &mut [Coarse], first: Coarse, second: Coarse, y: &[Coarse]) {
    each_piece(x, |lo, x| {
        for (x, y) in x.iter_mut().zip(&y[lo..]) {
            *x = first * *x + second * *y;
        }
    });
}

/// Sums a fine vector over the aggregates.
fn restrict(aggregates: &Aggregates, fine: &[Coarse], coarse: &mut [Coarse]) {
    let add = |ends: &[u32], first: u32, coarse: &mut [Coarse]| {
        coarse.fill(0.0);
        let range = ends[0] as usize..ends[1] as usize;
        for (&a, &r) in aggregates.of[range.clone()].iter().zip(&fine[range]) {
            coarse[(a - first) as usize] += r;
        }
    };
    match &aggregates.chunks[..] {
        [_, _] => add(&aggregates.members, 0, coarse),
        chunks => (split(chunks, coarse).into_par_iter())
            .zip(chunks)
            .zip(aggregates.members.par_windows(2))
            .for_each(|((coarse, &first), ends)| add(ends, first, coarse)),
    }
}

/// Symmetric sweeps on a coarsest level without a factor.
fn sweep(
    graph: &Graph<Coarse>,
    inverse_diagonal: &[Coarse],
    b: &[Coarse],
    x: &mut [Coarse],
    scratch: &mut [Coarse],
) {
    graph.forward(inverse_diagonal, b, x, scratch);
    for _ in 0..SWEEPS {
        graph.backward(inverse_diagonal, b, x, scratch);
    }
}
