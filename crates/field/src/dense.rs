//! Cholesky factor of the coarsest graph.

use crate::graph::Graph;
use crate::real::Real;
use ndarray::Array2;

/// Lower triangular factor `A = L L^T`.
#[derive(Debug, Default)]
pub(crate) struct Cholesky {
    factor: Array2<f64>,
    work: Vec<f64>,
}

impl Cholesky {
    /// Factors the matrix of a graph. A pivot that rounding has left at nothing (a part that is
    /// hardly grounded) is lifted to a tiny share of its diagonal.
    pub fn new<T: Real>(graph: &Graph<T>) -> Self {
        let n = graph.pattern.nodes();
        let mut a = Array2::<f64>::zeros((n, n));
        for (k, d) in graph.diagonal().into_iter().enumerate() {
            a[[k, k]] = d;
        }
        graph.pattern.each_link(|i, j, slot| {
            let (i, j) = (i.max(j) as usize, i.min(j) as usize);
            a[[i, j]] -= graph.value[slot].wide();
        });
        for j in 0..n {
            let least = 1e-14 * a[[j, j]];
            for i in j..n {
                let (row_i, row_j) = (a.row(i), a.row(j));
                let mut sum = a[[i, j]];
                for (x, y) in row_i.iter().zip(row_j).take(j) {
                    sum -= x * y;
                }
                a[[i, j]] = if i == j {
                    sum.max(least).max(f64::MIN_POSITIVE).sqrt()
                } else {
                    sum / a[[j, j]]
                };
            }
        }
        Cholesky {
            factor: a,
            work: vec![0.0; n],
        }
    }

    /// Solves `A x = b`.
    pub fn solve<T: Real>(&mut self, b: &[T], x: &mut [T]) {
        let (l, w) = (&self.factor, &mut self.work);
        for i in 0..w.len() {
            let row = l.row(i);
            let known: f64 = row.iter().zip(&*w).take(i).map(|(l, w)| l * w).sum();
            w[i] = (b[i].wide() - known) / row[i];
        }
        for i in (0..w.len()).rev() {
            let row = l.row(i);
            w[i] /= row[i];
            let here = w[i];
            for (w, l) in w[..i].iter_mut().zip(row) {
                *w -= l * here;
            }
        }
        for (x, w) in x.iter_mut().zip(&*w) {
            *x = T::of(*w).flushed();
        }
    }
}
