//! Linear systems of a few unknowns.
//!
//! ```
//! use ionfall_numerics::dense;
//!
//! let x = dense::positive([[4.0, 1.0], [1.0, 3.0]], [1.0, 2.0]);
//! assert!((x[0] - 1.0 / 11.0).abs() < 1e-15 && (x[1] - 7.0 / 11.0).abs() < 1e-15);
//! ```

/// Solves `m x = b` for a symmetric positive matrix by elimination.
#[inline]
pub fn positive<const D: usize>(mut m: [[f64; D]; D], mut b: [f64; D]) -> [f64; D] {
    for i in 0..D {
        for r in i + 1..D {
            let f = m[r][i] / m[i][i];
            for c in i..D {
                m[r][c] -= f * m[i][c];
            }
            b[r] -= f * b[i];
        }
    }
    for i in (0..D).rev() {
        for c in i + 1..D {
            b[i] -= m[i][c] * b[c];
        }
        b[i] /= m[i][i];
    }
    b
}

/// First column of the inverse of a symmetric positive matrix given by its lower half (Cholesky);
/// `None` if a pivot falls to `least` of its diagonal or below. The matrix is overwritten.
#[inline]
pub fn first_column<const N: usize>(m: &mut [[f64; N]; N], least: f64) -> Option<[f64; N]> {
    for i in 0..N {
        let scale = m[i][i];
        for j in 0..=i {
            let mut s = m[i][j];
            for k in 0..j {
                s -= m[i][k] * m[j][k];
            }
            if i == j {
                if s <= least * scale || !s.is_finite() {
                    return None;
                }
                m[i][i] = s.sqrt();
            } else {
                m[i][j] = s / m[j][j];
            }
        }
    }
    let mut y = [0.0; N];
    for i in 0..N {
        let mut s = f64::from(u8::from(i == 0));
        for k in 0..i {
            s -= m[i][k] * y[k];
        }
        y[i] = s / m[i][i];
    }
    for i in (0..N).rev() {
        let mut s = y[i];
        for k in i + 1..N {
            s -= m[k][i] * y[k];
        }
        y[i] = s / m[i][i];
    }
    Some(y)
}

/// Solves `n` equations whose rows are `n` coefficients and the right side, by elimination with
/// pivoting. A singular system gives numbers that are not finite. The rows are overwritten.
pub fn pivoted(a: &mut [Vec<f64>]) -> Vec<f64> {
    let n = a.len();
    for c in 0..n {
        let pivot = (c..n)
            .max_by(|&p, &q| a[p][c].abs().total_cmp(&a[q][c].abs()))
            .unwrap_or(c);
        a.swap(c, pivot);
        for r in c + 1..n {
            let f = a[r][c] / a[c][c];
            for k in c..=n {
                a[r][k] -= f * a[c][k];
            }
        }
    }
    let mut x = vec![0.0; n];
    for r in (0..n).rev() {
        let s: f64 = (r + 1..n).map(|k| a[r][k] * x[k]).sum();
        x[r] = (a[r][n] - s) / a[r][r];
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const M: [[f64; 3]; 3] = [[4.0, 1.0, -0.5], [1.0, 3.0, 0.7], [-0.5, 0.7, 2.0]];

    fn times(x: &[f64; 3]) -> [f64; 3] {
        M.map(|row| row.iter().zip(x).map(|(m, x)| m * x).sum())
    }

    #[test]
    fn all_three_solve() {
        let x = [0.3, -1.2, 2.5];
        let b = times(&x);
        let mut rows: Vec<Vec<f64>> = M
            .iter()
            .zip(b)
            .map(|(row, b)| row.iter().copied().chain([b]).collect())
            .collect();
        let (plain, by_pivots) = (positive(M, b), pivoted(&mut rows));
        let column = times(&first_column(&mut M.clone(), 1e-8).unwrap());
        for k in 0..3 {
            assert_relative_eq!(plain[k], x[k], max_relative = 1e-13);
            assert_relative_eq!(by_pivots[k], x[k], max_relative = 1e-13);
            let unit = if k == 0 { 1.0 } else { 0.0 };
            assert_relative_eq!(column[k], unit, epsilon = 1e-14);
        }
    }

    #[test]
    fn a_pivot_of_zero_is_swapped_away() {
        let mut rows = [vec![0.0, 2.0, 4.0], vec![1.0, 0.0, 3.0]];
        assert_eq!(pivoted(&mut rows), [3.0, 2.0]);
    }

    #[test]
    fn singular_systems_are_told() {
        assert_eq!(first_column(&mut [[1.0, 0.0], [1.0, 1.0]], 1e-8), None);
        let mut rows = [vec![1.0, 1.0, 1.0], vec![1.0, 1.0, 2.0]];
        assert!(pivoted(&mut rows).iter().any(|x| !x.is_finite()));
    }
}
