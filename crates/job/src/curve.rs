//! Smooth curves through given points, for outlines: `{ curve = ["0 x 2 mm", "5 x 1.4 mm", ..] }`.
//!
//! Each coordinate is a cubic spline over the summed length of the chords between the points, with
//! not-a-knot ends: the third derivative does not jump at the second and the last but one point. For
//! smooth curves the error falls with the fourth power of the distance of the points (de Boor, A
//! Practical Guide to Splines; chord lengths keep that order: Floater and Surazhsky, Parameterization
//! for curve interpolation, 2006; both from memory).

/// Straight pieces between two given points.
const PIECES: usize = 24;

/// Points on the curve through `given`, those included, in their order. Two points are joined by a
/// straight line, three by a parabola. Nothing if two neighbours coincide or fewer than two are
/// given.
pub(crate) fn through(given: &[[f64; 2]]) -> Option<Vec<[f64; 2]>> {
    let chords: Vec<f64> = given
        .windows(2)
        .map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1]))
        .collect();
    if chords.is_empty() || chords.iter().any(|c| *c <= 0.0 || !c.is_finite()) {
        return None;
    }
    let bends: [Vec<f64>; 2] = std::array::from_fn(|k| {
        let values: Vec<f64> = given.iter().map(|p| p[k]).collect();
        second_derivatives(&chords, &values)
    });
    let mut way = vec![given[0]];
    for (n, &h) in chords.iter().enumerate() {
        for piece in 1..=PIECES {
            let s = piece as f64 / PIECES as f64;
            let r = 1.0 - s;
            way.push(std::array::from_fn(|k| {
                let (a, b) = (given[n][k], given[n + 1][k]);
                let (ma, mb) = (bends[k][n], bends[k][n + 1]);
                r * a + s * b + h * h / 6.0 * ((r * r * r - r) * ma + (s * s * s - s) * mb)
            }));
        }
    }
    Some(way)
}

/// Second derivatives at the knots of the not-a-knot cubic spline.
///
/// With `m` at the knots and steps `h`, inner knots give
/// `h0 m0 + 2 (h0 + h1) m1 + h1 m2 = 6 (d1 - d0)` with slopes `d` of the chords; the ends follow from
/// the third derivative `(m1 - m0)/h0` being that of the neighbour.
fn second_derivatives(h: &[f64], y: &[f64]) -> Vec<f64> {
    let n = y.len();
    let slope: Vec<f64> = (0..n - 1).map(|k| (y[k + 1] - y[k]) / h[k]).collect();
    match n {
        2 => return vec![0.0; 2],
        3 => return vec![2.0 * (slope[1] - slope[0]) / (h[0] + h[1]); 3],
        _ => {}
    }
    // Unknowns m1 .. m(n-2), the ends put in terms of them; Thomas algorithm.
    let inner = n - 2;
    let (mut low, mut mid, mut up) = (vec![0.0; inner], vec![0.0; inner], vec![0.0; inner]);
    let mut right = vec![0.0; inner];
    for j in 0..inner {
        let (a, b) = (h[j], h[j + 1]);
        (low[j], mid[j], up[j]) = (a, 2.0 * (a + b), b);
        right[j] = 6.0 * (slope[j + 1] - slope[j]);
    }
    let (a, b) = (h[0], h[1]);
    mid[0] += a * (1.0 + a / b);
    up[0] -= a * a / b;
    let (a, b) = (h[n - 2], h[n - 3]);
    mid[inner - 1] += a * (1.0 + a / b);
    low[inner - 1] -= a * a / b;
    for j in 1..inner {
        let w = low[j] / mid[j - 1];
        mid[j] -= w * up[j - 1];
        right[j] -= w * right[j - 1];
    }
    let mut m = vec![0.0; n];
    for j in (0..inner).rev() {
        let after = if j + 1 < inner { up[j] * m[j + 2] } else { 0.0 };
        m[j + 1] = (right[j] - after) / mid[j];
    }
    m[0] = m[1] + h[0] / h[1] * (m[1] - m[2]);
    m[n - 1] = m[n - 2] + h[n - 2] / h[n - 3] * (m[n - 2] - m[n - 3]);
    m
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Largest distance of the curve from the circle its points are taken from: three pieces and
    /// more away from its ends, and everywhere.
    fn off_circle(points: usize) -> [f64; 2] {
        let angle = |k: usize| 2.0 * k as f64 / (points - 1) as f64;
        let given: Vec<_> = (0..points)
            .map(|k| [angle(k).cos(), angle(k).sin()])
            .collect();
        let way = through(&given).unwrap();
        assert_eq!(way.len(), 1 + PIECES * (points - 1));
        let largest = |way: &[[f64; 2]]| {
            way.iter()
                .map(|p| (p[0].hypot(p[1]) - 1.0).abs())
                .fold(0.0, f64::max)
        };
        let ends = 3 * PIECES;
        [largest(&way[ends..way.len() - ends]), largest(&way)]
    }

    /// Away from the ends within the bound of cubic splines, 5/384 h^4 times the fourth derivative
    /// (Hall and Meyer 1976, J. Approx. Theory 16:105-122, from memory), which the ends without
    /// given slopes exceed; of fourth order everywhere.
    #[test]
    fn fourth_order_on_a_circle() {
        let (coarse, fine) = (off_circle(11), off_circle(21));
        let bound = 5.0 / 384.0 * 0.2f64.powi(4);
        assert!(coarse[0] < 1.05 * bound, "{coarse:?} {bound:e}");
        for (c, f) in coarse.iter().zip(&fine) {
            assert!((c / f).log2() > 3.5, "{coarse:?} {fine:?}");
        }
    }

    /// A cubic over evenly spaced points is met exactly, to its ends.
    #[test]
    fn cubics_are_exact() {
        let h = vec![0.5; 5];
        let cubic = |s: f64| 1.0 + s - 2.0 * s * s + 0.5 * s * s * s;
        let y: Vec<f64> = (0..6).map(|k| cubic(0.5 * k as f64)).collect();
        for (k, m) in second_derivatives(&h, &y).into_iter().enumerate() {
            let exact = -4.0 + 3.0 * 0.5 * k as f64;
            assert!((m - exact).abs() < 1e-12, "{k}: {m} {exact}");
        }
    }

    #[test]
    fn few_points_and_none() {
        let line = through(&[[0.0, 0.0], [2.0, 1.0]]).unwrap();
        assert!(line.iter().all(|p| (p[0] - 2.0 * p[1]).abs() < 1e-15));
        assert_eq!(
            through(&[[0.0, 0.0], [1.0, 1.0], [2.0, 0.0]]).unwrap()[PIECES],
            [1.0, 1.0]
        );
        assert!(through(&[[0.0, 0.0]]).is_none());
        assert!(through(&[[0.0, 0.0], [0.0, 0.0]]).is_none());
    }
}
