//! Flexible Krylov methods around a preconditioner.

use crate::hierarchy::Coarse;
use crate::preconditioner::Preconditioner;
use crate::real::Real;
use crate::vector::{
    add_scaled, dot, dots, each_piece, norm, round_scaled, subtract_scaled, subtract_scaled_dot,
};

/// How an iteration ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Outcome {
    /// Applications of the preconditioner.
    pub iterations: usize,
    /// Euclidean norm of the last residual, by recurrence.
    pub residual: f64,
}

/// Flexible conjugate gradients (Notay 2000, SIAM J. Sci. Comput. 22:1444-1460) for a symmetric
/// positive definite operator: improves `x` until the norm of `r = b - A x` is at most `target`.
pub(crate) fn conjugate_gradients(
    apply: impl Fn(&[f64], &mut [f64]),
    preconditioner: &mut dyn Preconditioner,
    x: &mut [f64],
    r: &mut [f64],
    target: f64,
    most: usize,
) -> Outcome {
    let n = r.len();
    let mut d = vec![0.0; n];
    let mut w = vec![0.0; n];
    let mut rounded = vec![0.0; n];
    let mut rho = 0.0;
    let mut residual = norm(r);
    let mut iterations = 0;
    while residual > target && iterations < most {
        round_scaled(1.0 / residual, r, &mut rounded);
        let z = preconditioner.apply(&rounded);
        let beta = if iterations == 0 {
            0.0
        } else {
            -residual * dot(&z[..], &w[..z.len()]) / rho
        };
        each_piece(&mut d[..z.len()], |lo, d| {
            for (d, z) in d.iter_mut().zip(&z[lo..]) {
                *d = residual * f64::from(*z) + beta * *d;
            }
        });
        apply(&d, &mut w);
        let alpha;
        [rho, alpha] = dots([(&d, &w), (&d, &*r)]);
        iterations += 1;
        if rho <= 0.0 || !rho.is_finite() {
            break;
        }
        add_scaled(x, alpha / rho, &d);
        residual = subtract_scaled(r, alpha / rho, &w).sqrt();
    }
    Outcome {
        iterations,
        residual,
    }
}

/// A linear operator.
pub(crate) trait Operation {
    /// `y = A x`.
    fn apply<X: Real>(&self, x: &[X], y: &mut [f64]);
}

/// Flexible generalised minimal residuals (Saad 1993, SIAM J. Sci. Comput. 14:461-469), restarted
/// when `restart` directions are used up. Keeps its vectors from one system to the next.
///
/// Directions and basis are kept in single precision; every product and sum of them is double.
/// What the rounded basis leaves undone the next restart finds in the true residual.
#[derive(Debug)]
pub(crate) struct MinimalResiduals {
    restart: usize,
    /// Orthogonal basis of the residuals, entries about one, and what the preconditioner made of it.
    basis: Vec<Vec<Coarse>>,
    directions: Vec<Vec<Coarse>>,
    rest: Vec<f64>,
}

/// Share of a residual down to which one search can be believed: a little more than the rounding
/// errors of its basis.
const BELIEVED: f64 = 1e-6;

impl MinimalResiduals {
    pub fn new(restart: usize) -> Self {
        MinimalResiduals {
            restart,
            basis: Vec::new(),
            directions: Vec::new(),
            rest: Vec::new(),
        }
    }

    /// Finds `x`, from zero, until the norm of `b - A x` is at most `target` or `most` applications
    /// of the preconditioner are spent.
    pub fn solve(
        &mut self,
        operation: &impl Operation,
        preconditioner: &mut dyn Preconditioner,
        b: &[f64],
        x: &mut [f64],
        target: f64,
        most: usize,
    ) -> Outcome {
        x.fill(0.0);
        self.rest.clear();
        self.rest.extend_from_slice(b);
        let mut residual = norm(b);
        let mut iterations = 0;
        while residual > target && iterations < most {
            let before = residual;
            let room = self.restart.min(most - iterations);
            let goal = target.max(BELIEVED * residual);
            let search = self.search(operation, preconditioner, residual, goal, room);
            iterations += search.columns.len();
            for (y, z) in search.solve().into_iter().zip(&self.directions) {
                add_scaled(x, y, z);
            }
            residual = search.residual() / entry_size(x.len());
            if residual > target && iterations < most {
                operation.apply(x, &mut self.rest);
                each_piece(&mut self.rest, |lo, r| {
                    for (r, b) in r.iter_mut().zip(&b[lo..]) {
                        *r = b - *r;
                    }
                });
                residual = norm(&self.rest);
                if residual.is_nan() || residual >= before {
                    break;
                }
            }
        }
        Outcome {
            iterations,
            residual,
        }
    }

    /// Builds up to `most` directions from the residual in `rest`, whose norm is given. Norms and
    /// products in here are means over the entries.
    fn search(
        &mut self,
        operation: &impl Operation,
        preconditioner: &mut dyn Preconditioner,
        residual: f64,
        target: f64,
        most: usize,
    ) -> Triangle {
        let n = self.rest.len();
        let size = entry_size(n);
        let mut length = size * residual;
        let mut triangle = Triangle::new(length);
        for used in 0..most {
            if self.basis.len() <= used {
                self.basis.push(vec![0.0; n]);
                self.directions.push(Vec::new());
            }
            round_scaled(1.0 / length, &self.rest, &mut self.basis[used]);
            let direction = preconditioner.apply(&self.basis[used]);
            std::mem::swap(direction, &mut self.directions[used]);
            let rest = &mut self.rest;
            operation.apply(&self.directions[used], rest);
            let mut column = Vec::with_capacity(used + 2);
            let mut share = size * size * dot(rest, &self.basis[0]);
            for pair in self.basis[..=used].windows(2) {
                column.push(share);
                share = size * size * subtract_scaled_dot(rest, share, &pair[0], &pair[1]);
            }
            column.push(share);
            length = size * subtract_scaled(rest, share, &self.basis[used]).sqrt();
            column.push(length);
            triangle.push(column);
            let spent = length.is_nan() || length <= f64::EPSILON * size * residual;
            if spent || triangle.residual() <= size * target {
                break;
            }
        }
        triangle
    }
}

/// Size of the entries of a unit vector.
fn entry_size(n: usize) -> f64 {
    1.0 / (n as f64).sqrt()
}

/// The least-squares problem of GMRES, kept triangular by Givens rotations.
struct Triangle {
    columns: Vec<Vec<f64>>,
    rotations: Vec<(f64, f64)>,
    rhs: Vec<f64>,
}

impl Triangle {
    fn new(residual: f64) -> Self {
        Triangle {
            columns: Vec::new(),
            rotations: Vec::new(),
            rhs: vec![residual],
        }
    }

    fn residual(&self) -> f64 {
        self.rhs.last().copied().unwrap_or(0.0).abs()
    }

    /// Adds a column of the Hessenberg matrix, its subdiagonal entry last.
    fn push(&mut self, mut column: Vec<f64>) {
        for (k, &(c, s)) in self.rotations.iter().enumerate() {
            let (a, b) = (column[k], column[k + 1]);
            column[k] = c * a + s * b;
            column[k + 1] = c * b - s * a;
        }
        let k = column.len() - 2;
        let length = column[k].hypot(column[k + 1]);
        let (c, s) = if length > 0.0 {
            (column[k] / length, column[k + 1] / length)
        } else {
            (1.0, 0.0)
        };
        column[k] = length;
        column.pop();
        self.columns.push(column);
        self.rotations.push((c, s));
        let last = self.rhs[k];
        self.rhs[k] = c * last;
        self.rhs.push(-s * last);
    }

    fn solve(&self) -> Vec<f64> {
        let n = self.columns.len();
        let mut y = self.rhs[..n].to_vec();
        for k in (0..n).rev() {
            let pivot = self.columns[k][k];
            y[k] = if pivot != 0.0 { y[k] / pivot } else { 0.0 };
            let here = y[k];
            for (y, h) in y[..k].iter_mut().zip(&self.columns[k]) {
                *y -= h * here;
            }
        }
        y
    }
}
