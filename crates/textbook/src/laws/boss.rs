//! Bosses on a plane cathode in an even field of current density `i0`.
//!
//! Half ball (`n = 3`) and half cylinder (`n = 2`) of radius R: `phi = (i0/kappa) z (1 - (R/r)^n)`, so
//! `i = n i0 cos(angle)` on the boss and `i = i0 (1 - (R/r)^n)` on the plane (dipole image, standard
//! potential theory). Half prolate spheroid of height c and base radius a: `i = i0 n_z/N` with
//! `N = (1 - e^2)/e^2 (atanh(e)/e - 1)`, `e^2 = 1 - (a/c)^2` (depolarisation factor; Landau and
//! Lifshitz, Electrodynamics of Continuous Media).

/// `i/i0` at a point of the surface of a round boss or of the plane around it; z is the second
/// coordinate.
pub fn round(n: i32, radius: f64, x: &[f64; 3]) -> f64 {
    let r = x[0].hypot(x[1]);
    if x[1] > 1e-7 {
        f64::from(n) * x[1] / r
    } else {
        1.0 - (radius / r).powi(n)
    }
}

/// `i/i0` at height `z` of a half prolate spheroid.
pub fn spheroid(height: f64, base: f64, z: f64) -> f64 {
    let e2 = 1.0 - (base / height).powi(2);
    let e = e2.sqrt();
    let factor = (1.0 - e2) / e2 * (e.atanh() / e - 1.0);
    let radius = base * (1.0 - (z / height).powi(2)).max(0.0).sqrt();
    let (nr, nz) = (radius / (base * base), z / (height * height));
    nz / nr.hypot(nz) / factor
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::expected;
    use approx::assert_relative_eq;

    #[test]
    fn tied_to_the_table() {
        for (id, height) in [("P08c", 0.02), ("P08d", 0.04)] {
            let at = |z: f64| spheroid(height, 0.01, z);
            assert_relative_eq!(at(height), expected(id, "i/i0", "tip"), max_relative = 1e-9);
            let half = expected(id, "i/i0", "z = height/2");
            assert_relative_eq!(at(0.5 * height), half, max_relative = 1e-9);
        }
        let side = 0.01 * 0.5f64.sqrt();
        let stated = expected("P08a", "i/i0", "45 degrees");
        assert_relative_eq!(
            round(3, 0.01, &[side, side, 0.0]),
            stated,
            max_relative = 1e-9
        );
        let stated = expected("P08b", "i/i0", "1.5 R");
        assert_relative_eq!(
            round(2, 0.01, &[0.015, 0.0, 0.0]),
            stated,
            max_relative = 1e-9
        );
    }
}
