//! A graph of conductances: `y_n = sum g (x_n - x_other) + ground_n x_n`, and its relaxation.
//!
//! Everything is written with the differences `x_n - x_other`, so that a constant potential costs
//! no digits, and every inner link is read once and serves both its ends. Relaxation is symmetric
//! Gauss-Seidel: forward (from zero) before, backward after the coarse correction. Between chunks
//! and to hubs it is Jacobi's: those links see the values of before the sweep, in both directions,
//! so the two sweeps stay each other's transpose and the answer does not depend on the threads.
//! (With `M` the sweep's matrix, `M + M^T - A` is the diagonal minus the cross links: still
//! diagonally dominant, so it converges for any such graph.)

use crate::pattern::Pattern;
use crate::real::Real;
use rayon::prelude::*;
use std::ops::Range;
use std::sync::Arc;

/// Conductances on a pattern.
#[derive(Clone, Debug)]
pub(crate) struct Graph<T> {
    pub pattern: Arc<Pattern>,
    /// Conductance of each slot.
    pub value: Vec<T>,
    /// Conductance of each node to prescribed potentials.
    pub ground: Vec<T>,
}

impl<T: Real> Graph<T> {
    /// No conductances yet.
    pub fn zero(pattern: Arc<Pattern>) -> Self {
        let value = vec![T::default(); pattern.slots()];
        let ground = vec![T::default(); pattern.nodes()];
        Graph {
            pattern,
            value,
            ground,
        }
    }

    /// Sum of the conductances between cells, of every cell.
    pub fn between_cells(&self) -> Vec<f64> {
        let p = &*self.pattern;
        let mut sum = vec![0.0; p.cells];
        chunks(&p.chunks, &mut sum, |k, lo, sum| {
            let rows = p.start[lo..=lo + sum.len()].windows(2);
            for (i, row) in rows.enumerate() {
                let row = span(row);
                for (&c, g) in p.col[row.clone()].iter().zip(&self.value[row]) {
                    let g = g.wide();
                    sum[i] += g;
                    sum[usize::from(c)] += g;
                }
            }
            for c in p.cross.of(k) {
                sum[c.row as usize - lo] += self.value[c.slot as usize].wide();
            }
        });
        sum
    }

    /// Sum of all conductances of every node.
    pub fn diagonal(&self) -> Vec<f64> {
        let mut sum = self.between_cells();
        sum.resize(self.pattern.nodes(), 0.0);
        self.add_others(&mut sum);
        sum
    }

    /// Adds to the sums [`between_cells`](Self::between_cells) the conductances to hubs and to the
    /// ground.
    pub fn add_others<S: Real>(&self, sum: &mut [S]) {
        let p = &*self.pattern;
        for (sum, g) in sum.iter_mut().zip(&self.ground) {
            *sum += S::of(g.wide());
        }
        let [_, spokes_at, axles_at] = p.sections();
        // A hub may have very many links: its sum is double.
        let mut of_hub = vec![0.0; p.hubs];
        for (spoke, g) in p.spokes.all.iter().zip(&self.value[spokes_at..]) {
            sum[spoke.cell as usize] += S::of(g.wide());
            of_hub[spoke.hub as usize] += g.wide();
        }
        for (&(a, b), g) in p.axles.iter().zip(&self.value[axles_at..]) {
            of_hub[a as usize] += g.wide();
            of_hub[b as usize] += g.wide();
        }
        for (sum, of_hub) in sum[p.cells..].iter_mut().zip(of_hub) {
            *sum += S::of(of_hub);
        }
    }

    /// `y = A x`.
    pub fn apply<X: Real>(&self, x: &[X], y: &mut [T]) {
        let p = &*self.pattern;
        let (y, y_hub) = y[..p.nodes()].split_at_mut(p.cells);
        let value = &self.value;
        chunks(&p.chunks, y, |_, lo, y| {
            let x = &x[lo..lo + y.len()];
            let rows = p.start[lo..=lo + y.len()].windows(2);
            for (i, (row, ground)) in rows.zip(&self.ground[lo..]).enumerate() {
                let here = T::of(x[i].wide());
                let mut sum = *ground * here;
                let row = span(row);
                for (&c, &g) in p.col[row.clone()].iter().zip(&value[row]) {
                    let c = usize::from(c);
                    let flux = g * (here - T::of(x[c].wide()));
                    sum += flux;
                    y[c] -= flux;
                }
                y[i] = sum;
            }
        });
        self.outer(x, |here, there, g| g * (here - there), y, y_hub);
        for (h, y) in y_hub.iter_mut().enumerate() {
            *y += self.ground[p.cells + h] * T::of(x[p.cells + h].wide());
        }
    }

    /// Forward sweep on `A x = b` from zero; `r` becomes the residual `b - A x`.
    pub fn forward(&self, inverse_diagonal: &[T], b: &[T], x: &mut [T], r: &mut [T]) {
        let p = &*self.pattern;
        let n = p.cells;
        let value = &self.value;
        let (x_cell, x_hub) = x[..p.nodes()].split_at_mut(n);
        chunks2(&p.chunks, x_cell, &mut r[..n], |lo, x, r| {
            let (b, inv) = (&b[lo..lo + x.len()], &inverse_diagonal[lo..lo + x.len()]);
            let rows = p.start[lo..=lo + x.len()].windows(2);
            for (i, ((row, &b), &inv)) in rows.zip(b).zip(inv).enumerate() {
                let row = span(row);
                let (cols, values) = (&p.col[row.clone()], &value[row]);
                let mut sum = b;
                for (&c, &g) in cols.iter().zip(values) {
                    sum += g * x[usize::from(c)];
                }
                let here = (sum * inv).flushed();
                x[i] = here;
                r[i] = T::default();
                for (&c, &g) in cols.iter().zip(values) {
                    r[usize::from(c)] += g * here;
                }
            }
        });
        for (h, x) in x_hub.iter_mut().enumerate() {
            *x = b[n + h] * inverse_diagonal[n + h];
        }
        let (r, r_hub) = r[..p.nodes()].split_at_mut(n);
        self.outer(x, |_, there, g| g * there, r, r_hub);
    }

    /// Backward sweep on `A x = b`; `work` is scratch.
    pub fn backward(&self, inverse_diagonal: &[T], b: &[T], x: &mut [T], work: &mut [T]) {
        let p = &*self.pattern;
        let n = p.cells;
        let value = &self.value;
        let (work, work_hub) = work[..p.nodes()].split_at_mut(n);
        work.fill(T::default());
        self.outer(x, |_, there, g| g * there, work, work_hub);
        let (x, x_hub) = x[..p.nodes()].split_at_mut(n);
        chunks2(&p.chunks, x, work, |lo, x, sum| {
            let len = x.len();
            let (b, inv) = (&b[lo..lo + len], &inverse_diagonal[lo..lo + len]);
            let rows = p.start[lo..=lo + len].windows(2);
            for (i, ((row, &b), &inv)) in rows.zip(b).zip(inv).enumerate().rev() {
                let row = span(row);
                let (cols, values) = (&p.col[row.clone()], &value[row]);
                let mut total = b + sum[i];
                for (&c, &g) in cols.iter().zip(values) {
                    total += g * x[usize::from(c)];
                }
                let here = (total * inv).flushed();
                x[i] = here;
                for (&c, &g) in cols.iter().zip(values) {
                    sum[usize::from(c)] += g * here;
                }
            }
        });
        for (h, x) in x_hub.iter_mut().enumerate() {
            *x = (b[n + h] + work_hub[h]) * inverse_diagonal[n + h];
        }
    }

    /// Adds `f(x_here, x_there, g)` of every link that is not inner to both its ends; sets those
    /// of the hubs.
    fn outer<X: Real>(
        &self,
        x: &[X],
        f: impl Fn(T, T, T) -> T + Sync,
        y: &mut [T],
        y_hub: &mut [T],
    ) {
        let p = &*self.pattern;
        let f = |here: X, there: X, g| f(T::of(here.wide()), T::of(there.wide()), g);
        let n = p.cells;
        let [_, spokes_at, axles_at] = p.sections();
        let hubs = p.hubs;
        let parts: Vec<Vec<f64>> = chunks(&p.chunks, y, |k, lo, y| {
            for c in p.cross.of(k) {
                let row = c.row as usize;
                let g = self.value[c.slot as usize];
                y[row - lo] += f(x[row], x[c.col as usize], g);
            }
            let mut hub_sum = vec![0.0; hubs];
            let range = p.spokes.range(k);
            let values = &self.value[spokes_at + range.start..spokes_at + range.end];
            for (s, &g) in p.spokes.of(k).iter().zip(values) {
                let (cell, hub) = (s.cell as usize, s.hub as usize);
                y[cell - lo] += f(x[cell], x[n + hub], g);
                hub_sum[hub] += f(x[n + hub], x[cell], g).wide();
            }
            hub_sum
        });
        let mut total = vec![0.0; hubs];
        for part in &parts {
            for (total, part) in total.iter_mut().zip(part) {
                *total += part;
            }
        }
        for (&(a, b), &g) in p.axles.iter().zip(&self.value[axles_at..]) {
            let (a, b) = (a as usize, b as usize);
            total[a] += f(x[n + a], x[n + b], g).wide();
            total[b] += f(x[n + b], x[n + a], g).wide();
        }
        for (y, total) in y_hub.iter_mut().zip(total) {
            *y = T::of(total);
        }
    }
}

pub(crate) fn span(ends: &[u32]) -> Range<usize> {
    ends[0] as usize..ends[1] as usize
}

/// The pieces of a vector that belong to the chunks.
pub(crate) fn split<'a, T>(chunks: &[u32], mut y: &'a mut [T]) -> Vec<&'a mut [T]> {
    let lengths = chunks.windows(2).map(|ends| (ends[1] - ends[0]) as usize);
    let cut = |length| {
        let (piece, rest) = std::mem::take(&mut y).split_at_mut(length);
        y = rest;
        piece
    };
    lengths.map(cut).collect()
}

/// Runs `f` on every chunk (number, first cell, piece) of a vector and collects what it returns.
fn chunks<T: Send, R: Send>(
    chunks: &[u32],
    y: &mut [T],
    f: impl Fn(usize, usize, &mut [T]) -> R + Sync,
) -> Vec<R> {
    match chunks {
        [] | [_] => Vec::new(),
        [_, _] => vec![f(0, 0, y)],
        _ => {
            let pieces = split(chunks, y).into_par_iter().zip(chunks);
            pieces
                .enumerate()
                .map(|(k, (y, &lo))| f(k, lo as usize, y))
                .collect()
        }
    }
}

/// Runs `f` on every chunk (first cell, pieces) of two vectors.
fn chunks2<T: Send>(
    chunks: &[u32],
    x: &mut [T],
    y: &mut [T],
    f: impl Fn(usize, &mut [T], &mut [T]) + Sync,
) {
    match chunks {
        [] | [_] => {}
        [_, _] => f(0, x, y),
        _ => {
            let pieces = split(chunks, x).into_par_iter().zip(split(chunks, y));
            pieces
                .zip(chunks)
                .for_each(|((x, y), &lo)| f(lo as usize, x, y));
        }
    }
}
