//! The levels of the multigrid: every coarse graph sums up the finer one.
//!
//! With a piecewise constant interpolation the Galerkin product `P^T A P` is again a graph: the
//! conductance between two aggregates is the sum of those between their members. Which nodes are
//! joined and where every sum goes is settled once; when conductances change (the slopes of the
//! electrode laws, at every Newton step) only the sums are formed anew.

use crate::aggregate::Aggregates;
use crate::dense::Cholesky;
use crate::graph::{Graph, split};
use crate::pattern::{NO_SLOT, Pattern};
use crate::vector::each_piece;
use rayon::prelude::*;
use std::sync::Arc;

/// Number type of the cycle.
pub(crate) type Coarse = f32;

/// A level this small is solved directly. The K-cycle comes here 2^levels times, so the solve
/// must cost less than a sweep of the levels above.
const SMALLEST: usize = 64;

/// Levels of more nodes than this are not factored even if nothing can be joined any more.
const LARGEST_FACTOR: usize = 1500;

/// A graph, how it is coarsened, and vectors to work with.
#[derive(Debug)]
pub(crate) struct Level {
    pub graph: Graph<Coarse>,
    /// Sum of the conductances between cells, of every cell.
    between_cells: Vec<Coarse>,
    pub inverse_diagonal: Vec<Coarse>,
    /// To the next level; none on the coarsest.
    pub down: Option<Down>,
    pub work: Work,
}

/// From a level to the next coarser one.
#[derive(Debug)]
pub(crate) struct Down {
    pub aggregates: Aggregates,
    /// Coarse slot of every slot.
    slots: Vec<u32>,
}

/// Vectors of a level, one number a node.
#[derive(Debug, Default)]
pub(crate) struct Work {
    /// Right-hand side, overwritten by the residual.
    pub rhs: Vec<Coarse>,
    /// Solution.
    pub sol: Vec<Coarse>,
    /// Residual and scratch of the sweeps.
    pub scratch: Vec<Coarse>,
    /// Product of the first search direction.
    pub first: Vec<Coarse>,
    /// Second search direction.
    pub second: Vec<Coarse>,
}

/// All levels, the finest first.
#[derive(Debug)]
pub(crate) struct Hierarchy {
    pub levels: Vec<Level>,
    pub factor: Option<Cholesky>,
}

impl Hierarchy {
    /// Coarsens a graph down to a handful of nodes. `codes` are the location codes of its cells.
    pub fn new(finest: Graph<Coarse>, mut codes: Vec<u64>, dimension: u32) -> Self {
        let work = Work::finest(finest.pattern.nodes());
        let mut levels = vec![Level::new(finest, work)];
        loop {
            let fine = &mut levels.last_mut().expect("never empty").graph;
            if fine.pattern.nodes() <= SMALLEST {
                break;
            }
            let (aggregates, up) = Aggregates::new(fine, &codes, dimension);
            if up.len() == codes.len() {
                break;
            }
            codes = up;
            let (graph, down) = coarsen(&fine.pattern, aggregates);
            levels.last_mut().expect("never empty").down = Some(down);
            let work = Work::new(graph.pattern.nodes());
            levels.push(Level::new(graph, work));
            sum_up(&mut levels, true);
        }
        let mut hierarchy = Hierarchy {
            levels,
            factor: None,
        };
        for level in &mut hierarchy.levels {
            level.between_cells = between_cells(&level.graph);
        }
        hierarchy.prepare();
        hierarchy
    }

    /// Forms the sums anew after the finest graph has changed, `cells_too` if conductances
    /// between cells have, and not just those to hubs and to the ground.
    pub fn sum_anew(&mut self, cells_too: bool) {
        for k in 1..self.levels.len() {
            sum_up(&mut self.levels[..=k], cells_too);
        }
        if cells_too {
            for level in &mut self.levels {
                level.between_cells = between_cells(&level.graph);
            }
        }
        self.prepare();
    }

    /// Inverse diagonals and the factor of the coarsest level.
    fn prepare(&mut self) {
        for level in &mut self.levels {
            let diagonal = &mut level.inverse_diagonal;
            diagonal.clone_from(&level.between_cells);
            diagonal.resize(level.graph.pattern.nodes(), 0.0);
            level.graph.add_others(diagonal);
            each_piece(diagonal, |_, diagonal| {
                for d in diagonal {
                    *d = if *d > 0.0 { 1.0 / *d } else { 0.0 };
                }
            });
        }
        let coarsest = &self.levels.last().expect("never empty").graph;
        self.factor = (coarsest.pattern.nodes() <= LARGEST_FACTOR).then(|| Cholesky::new(coarsest));
    }
}

fn between_cells(graph: &Graph<Coarse>) -> Vec<Coarse> {
    let sums = graph.between_cells();
    sums.par_iter().map(|&g| g as Coarse).collect()
}

impl Level {
    fn new(graph: Graph<Coarse>, work: Work) -> Self {
        Level {
            graph,
            between_cells: Vec::new(),
            inverse_diagonal: Vec::new(),
            down: None,
            work,
        }
    }
}

impl Work {
    fn new(nodes: usize) -> Self {
        let zero = || vec![0.0; nodes];
        Work {
            rhs: zero(),
            sol: zero(),
            scratch: zero(),
            first: zero(),
            second: zero(),
        }
    }

    /// No Krylov steps are made on the finest level, and who calls the cycle brings vectors along.
    fn finest(nodes: usize) -> Self {
        Work {
            scratch: vec![0.0; nodes],
            ..Work::default()
        }
    }
}

/// Pattern of the coarse graph.
fn coarsen(fine: &Pattern, aggregates: Aggregates) -> (Graph<Coarse>, Down) {
    let coarse_cells = aggregates.cells();
    let image = |node: u32| -> u32 {
        let node = node as usize;
        if node < fine.cells {
            aggregates.of[node]
        } else {
            (node - fine.cells + coarse_cells) as u32
        }
    };
    // Ends and fine slot of the links that do not vanish, inner ones first.
    let kept = |found: &mut Vec<(u32, u32)>, from: &mut Vec<u32>, a, b, slot: usize| {
        let (a, b) = (image(a), image(b));
        if a != b {
            found.push((a, b));
            from.push(slot as u32);
        }
    };
    let parts = (0..fine.chunks.len().saturating_sub(1))
        .into_par_iter()
        .map(|chunk| {
            let (mut ends, mut from) = (Vec::new(), Vec::new());
            fine.each_inner(chunk, |a, b, slot| kept(&mut ends, &mut from, a, b, slot));
            (ends, from)
        });
    let (ends, from): (Vec<_>, Vec<_>) = parts.unzip();
    let (mut ends, mut from) = (ends.concat(), from.concat());
    fine.each_outer(|a, b, slot| kept(&mut ends, &mut from, a, b, slot));
    let (pattern, to) = Pattern::new(aggregates.chunks.clone(), fine.hubs, ends.iter().copied());
    let mut slots = vec![NO_SLOT; fine.slots()];
    for (from, to) in from.into_iter().zip(to) {
        slots[from as usize] = to;
    }
    (Graph::zero(Arc::new(pattern)), Down { aggregates, slots })
}

/// Sums the conductances of the last but one level into the last; those between cells only if
/// asked to.
fn sum_up(levels: &mut [Level], cells_too: bool) {
    let [.., fine, coarse] = levels else { return };
    let Some(down) = &fine.down else { return };
    let (fine, coarse) = (&fine.graph, &mut coarse.graph);
    let [cross, spokes, _] = fine.pattern.sections();
    let [coarse_cross, coarse_spokes, _] = coarse.pattern.sections();
    let from = if cells_too {
        sum_inner(
            fine,
            down,
            &coarse.pattern,
            &mut coarse.value[..coarse_cross],
        );
        coarse.value[coarse_cross..].fill(0.0);
        cross
    } else {
        coarse.value[coarse_spokes..].fill(0.0);
        spokes
    };
    for (&slot, &g) in down.slots[from..].iter().zip(&fine.value[from..]) {
        if slot != NO_SLOT {
            coarse.value[slot as usize] += g;
        }
    }
    coarse.ground.fill(0.0);
    let (cells, coarse_cells) = (fine.pattern.cells, coarse.pattern.cells);
    for (&aggregate, &g) in down.aggregates.of.iter().zip(&fine.ground) {
        coarse.ground[aggregate as usize] += g;
    }
    coarse.ground[coarse_cells..].copy_from_slice(&fine.ground[cells..]);
}

/// Sums inner links: those of the fine chunks that make up a coarse chunk are inner links of it.
fn sum_inner(fine: &Graph<Coarse>, down: &Down, coarse: &Pattern, value: &mut [Coarse]) {
    let first: Vec<u32> = (coarse.chunks.iter())
        .map(|&cell| coarse.start[cell as usize])
        .collect();
    split(&first, value)
        .into_par_iter()
        .zip(first.par_windows(2))
        .zip(down.aggregates.members.par_windows(2))
        .for_each(|((value, first), members)| {
            value.fill(0.0);
            let links = fine.pattern.start[members[0] as usize] as usize
                ..fine.pattern.start[members[1] as usize] as usize;
            for (&slot, &g) in down.slots[links.clone()].iter().zip(&fine.value[links]) {
                if slot != NO_SLOT {
                    value[(slot - first[0]) as usize] += g;
                }
            }
        });
}
