//! A gently wavy cathode under a flat anode.
//!
//! Profile `y = A cos(k x)`, mean gap H, area resistance R of a linear law: to first order in A
//! `i = i0 (1 + A k coth(k H) cos(k x)/(1 + kappa k R coth(k H)))`, `i0 = V/(H/kappa + R)` (idea of Wagner
//! 1951, J. Electrochem. Soc. 98, 116, citation from memory; re-derived).

/// Current density of the flat cathode, A/m2.
pub fn flat(volts: f64, gap: f64, kappa: f64, area_ohm_m2: f64) -> f64 {
    volts / (gap / kappa + area_ohm_m2)
}

/// Relative amplitude of the current per metre of profile amplitude, 1/m.
pub fn ripple(wavelength: f64, gap: f64, kappa: f64, area_ohm_m2: f64) -> f64 {
    let k = 2.0 * std::f64::consts::PI / wavelength;
    let steep = k / (k * gap).tanh();
    steep / (1.0 + kappa * area_ohm_m2 * steep)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::expected;
    use approx::assert_relative_eq;

    #[test]
    fn tied_to_the_table() {
        for (r, place) in [(0.0, "R_ct = 0 ohm"), (1e-3, "R_ct = 0.001")] {
            let stated = expected("S06", "d(i1/i0)/dA", place);
            assert_relative_eq!(ripple(0.04, 0.03, 10.0, r), stated, max_relative = 1e-9);
        }
    }
}
