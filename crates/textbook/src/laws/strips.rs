//! Two opposite strips in the walls of a channel.
//!
//! `i/i_avg = e cosh e/(K(m) sqrt(sinh^2 e - sinh^2(2 x e/L)))`, `e = pi L/(2 h)`, `m = tanh^2 e`, K the
//! complete elliptic integral of the first kind of parameter m (Newman, flow channel; re-derived by conformal map;
//! that the mean is one is tested).

use std::f64::consts::PI;

/// `K(m)` from the complementary parameter `1 - m`, by the arithmetic-geometric mean.
pub fn elliptic_k(complement: f64) -> f64 {
    let (mut a, mut b) = (1.0, complement.sqrt());
    while (a - b).abs() > 1e-15 * a {
        (a, b) = (0.5 * (a + b), (a * b).sqrt());
    }
    0.5 * PI / a
}

/// `i/i_avg` on a strip of this length, the channel's gap and the place from the strip's middle, m.
pub fn over_mean(length: f64, gap: f64, x: f64) -> f64 {
    let e = 0.5 * PI * length / gap;
    let inside = e.sinh().powi(2) - (2.0 * x * e / length).sinh().powi(2);
    e * e.cosh() / (elliptic_k(e.cosh().powi(-2)) * inside.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::expected;
    use approx::assert_relative_eq;

    /// By quadrature over `t` with `sinh(2 x e/L) = sinh e sin t`, which takes the edges away: midpoints of a
    /// periodic function, right to rounding.
    #[test]
    fn the_mean_is_one() {
        for (length, gap) in [(0.002, 0.01), (0.01, 0.01), (0.02, 0.01)] {
            let e = 0.5 * PI * length / gap;
            let count = 400;
            let part = |n: i32| {
                let t = 0.5 * PI * (f64::from(n) + 0.5) / f64::from(count);
                let reach = e.sinh() * t.sin();
                let x = 0.5 * length / e * reach.asinh();
                let slope = 0.5 * length / e * e.sinh() * t.cos() / reach.hypot(1.0);
                over_mean(length, gap, x) * slope * 0.5 * PI / f64::from(count)
            };
            let whole: f64 = (0..count).map(part).sum();
            assert_relative_eq!(2.0 * whole / length, 1.0, max_relative = 1e-9);
        }
    }

    #[test]
    fn tied_to_the_table() {
        for (id, length) in [("P05a", 0.005), ("P05b", 0.01), ("P05c", 0.02)] {
            for share in [0.25, 0.75, 0.95] {
                let stated = expected(id, "i/i_avg", &format!("2x/L = {share}"));
                let found = over_mean(length, 0.01, 0.5 * share * length);
                assert_relative_eq!(found, stated, max_relative = 1e-9);
            }
        }
    }
}
