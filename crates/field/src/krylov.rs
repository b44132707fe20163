//! Flexible Krylov methods around one multigrid cycle.

use crate::hierarchy::Hierarchy;
use crate::vector::{add_scaled, dot, dots, each_piece, norm, subtract_scaled};

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
    hierarchy: &mut Hierarchy,
    x: &mut [f64],
    r: &mut [f64],
    target: f64,
    most: usize,
) -> Outcome {
    let n = r.len();
    let mut d = vec![0.0; n];
    let mut w = vec![0.0; n];
    let mut rho = 0.0;
    let mut residual = norm(r);
    let mut iterations = 0;
    while residual > target && iterations < most {
        let z = hierarchy.precondition(r, residual);
        let beta = if iterations == 0 {
            0.0
        } else {
            -residual * dot(z, &w[..z.len()]) / rho
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

/// Flexible generalised minimal residuals (Saad 1993, SIAM J. Sci. Comput. 14:461-469), restarted
/// after `restart` directions: from `x = 0`, until the norm of `b - A x` is at most `target`.
pub(crate) fn minimal_residuals(
    apply: impl Fn(&[f64], &mut [f64]),
    hierarchy: &mut Hierarchy,
    b: &[f64],
    x: &mut [f64],
    target: f64,
    restart: usize,
    most: usize,
) -> Outcome {
    let n = b.len();
    x.fill(0.0);
    let mut r = b.to_vec();
    let mut residual = norm(&r);
    let mut iterations = 0;
    let mut basis: Vec<Vec<f64>> = Vec::new();
    let mut directions: Vec<Vec<f64>> = Vec::new();
    while residual > target && iterations < most {
        let mut triangle = Triangle::new(residual);
        let mut used = 0;
        while used < restart && iterations < most && triangle.residual() > target {
            if basis.len() <= used {
                basis.push(vec![0.0; n]);
                directions.push(vec![0.0; n]);
            }
            let start = if used == 0 { &r } else { &basis[used] };
            let inverse = 1.0 / norm(start);
            if used == 0 {
                basis[0].copy_from_slice(&r);
            }
            each_piece(&mut basis[used], |_, v| {
                v.iter_mut().for_each(|v| *v *= inverse);
            });
            // Entries of a unit vector, brought to about one.
            let size = 1.0 / (n as f64).sqrt();
            let z = hierarchy.precondition(&basis[used], size);
            each_piece(&mut directions[used][..z.len()], |lo, d| {
                for (d, z) in d.iter_mut().zip(&z[lo..]) {
                    *d = size * f64::from(*z);
                }
            });
            apply(&directions[used], &mut r);
            iterations += 1;
            let mut column = Vec::with_capacity(used + 2);
            for v in &basis[..=used] {
                let h = dot(&r, v);
                add_scaled(&mut r, -h, v);
                column.push(h);
            }
            let rest = norm(&r);
            column.push(rest);
            triangle.push(column);
            used += 1;
            if !rest.is_finite() || rest <= f64::EPSILON * residual {
                break;
            }
            if used < restart {
                if basis.len() <= used {
                    basis.push(vec![0.0; n]);
                    directions.push(vec![0.0; n]);
                }
                basis[used].copy_from_slice(&r);
            }
        }
        for (y, z) in triangle.solve().into_iter().zip(&directions) {
            add_scaled(x, y, z);
        }
        let before = residual;
        residual = triangle.residual();
        if residual > target && iterations < most {
            apply(x, &mut r);
            each_piece(&mut r, |lo, r| {
                for (r, b) in r.iter_mut().zip(&b[lo..]) {
                    *r = b - *r;
                }
            });
            residual = norm(&r);
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
