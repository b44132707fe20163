//! Vector arithmetic on fixed pieces, so that sums do not depend on the number of threads.

use crate::real::Real;
use rayon::prelude::*;

/// Numbers a piece holds. Sums are formed piece by piece and then in the order of the pieces.
const PIECE: usize = 8192;

/// Runs `f` on the pieces of a vector, together with the number of the first element.
pub(crate) fn each_piece<T: Send>(y: &mut [T], f: impl Fn(usize, &mut [T]) + Sync) {
    if y.len() <= PIECE {
        f(0, y);
    } else {
        y.par_chunks_mut(PIECE)
            .enumerate()
            .for_each(|(k, y)| f(k * PIECE, y));
    }
}

/// Sums what `f` yields for the pieces `lo..hi` of `0..n`.
fn sum_pieces<const N: usize>(n: usize, f: impl Fn(usize, usize) -> [f64; N] + Sync) -> [f64; N] {
    if n <= PIECE {
        return f(0, n);
    }
    let parts: Vec<[f64; N]> = (0..n.div_ceil(PIECE))
        .into_par_iter()
        .map(|k| f(k * PIECE, n.min((k + 1) * PIECE)))
        .collect();
    add_parts(&parts)
}

/// As [`sum_pieces`], with write access to the pieces of a vector.
fn sum_pieces_mut<T: Send, const N: usize>(
    y: &mut [T],
    f: impl Fn(usize, &mut [T]) -> [f64; N] + Sync,
) -> [f64; N] {
    if y.len() <= PIECE {
        return f(0, y);
    }
    let parts: Vec<[f64; N]> = y
        .par_chunks_mut(PIECE)
        .enumerate()
        .map(|(k, y)| f(k * PIECE, y))
        .collect();
    add_parts(&parts)
}

fn add_parts<const N: usize>(parts: &[[f64; N]]) -> [f64; N] {
    let mut sum = [0.0; N];
    for part in parts {
        for (sum, part) in sum.iter_mut().zip(part) {
            *sum += part;
        }
    }
    sum
}

/// Rounds to the numbers of the multigrid cycle.
pub(crate) fn round(from: &[f64], to: &mut [f32]) {
    round_scaled(1.0, from, to);
}

/// Rounds `factor * from`.
pub(crate) fn round_scaled(factor: f64, from: &[f64], to: &mut [f32]) {
    each_piece(to, |lo, to| {
        for (to, from) in to.iter_mut().zip(&from[lo..]) {
            *to = (factor * from) as f32;
        }
    });
}

/// Scalar product of two slices of equal length, in eight interleaved sums.
fn dot_piece<A: Real, B: Real>(a: &[A], b: &[B]) -> f64 {
    let mut sum = [0.0; 8];
    let (a8, a_rest) = a.as_chunks::<8>();
    let (b8, b_rest) = b.as_chunks::<8>();
    for (a, b) in a8.iter().zip(b8) {
        for k in 0..8 {
            sum[k] += a[k].wide() * b[k].wide();
        }
    }
    for (a, b) in a_rest.iter().zip(b_rest) {
        sum[0] += a.wide() * b.wide();
    }
    sum.iter().sum()
}

/// Scalar product.
pub(crate) fn dot<A: Real, B: Real>(a: &[A], b: &[B]) -> f64 {
    sum_pieces(a.len(), |lo, hi| [dot_piece(&a[lo..hi], &b[lo..hi])])[0]
}

/// Several scalar products in one go.
pub(crate) fn dots<T: Real, const N: usize>(pairs: [(&[T], &[T]); N]) -> [f64; N] {
    sum_pieces(pairs[0].0.len(), |lo, hi| {
        pairs.map(|(a, b)| dot_piece(&a[lo..hi], &b[lo..hi]))
    })
}

/// Euclidean norm.
pub(crate) fn norm(a: &[f64]) -> f64 {
    dot(a, a).sqrt()
}

/// `y += factor * x`.
pub(crate) fn add_scaled<X: Real>(y: &mut [f64], factor: f64, x: &[X]) {
    each_piece(y, |lo, y| {
        for (y, x) in y.iter_mut().zip(&x[lo..]) {
            *y += factor * x.wide();
        }
    });
}

/// `y -= factor * x`; returns the square of the norm of the new `y`.
pub(crate) fn subtract_scaled<T: Real, X: Real>(y: &mut [T], factor: T, x: &[X]) -> f64 {
    sum_pieces_mut(y, |lo, y| {
        subtract_piece(y, factor, &x[lo..]);
        [dot_piece(y, y)]
    })[0]
}

/// `y -= factor * x`; returns the scalar product of the new `y` and `z`.
pub(crate) fn subtract_scaled_dot<T: Real, X: Real>(
    y: &mut [T],
    factor: T,
    x: &[X],
    z: &[X],
) -> f64 {
    sum_pieces_mut(y, |lo, y| {
        subtract_piece(y, factor, &x[lo..]);
        [dot_piece(y, &z[lo..lo + y.len()])]
    })[0]
}

fn subtract_piece<T: Real, X: Real>(y: &mut [T], factor: T, x: &[X]) {
    for (y, x) in y.iter_mut().zip(x) {
        *y -= factor * T::of(x.wide());
    }
}
