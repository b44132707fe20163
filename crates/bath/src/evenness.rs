//! How evenly a bath plates: Wagner number, reach on a coat, throwing power.
//!
//! ```text
//! Wa     = (kappa/l) d(eta)/d(i)             IUPAC Gold Book, "current distribution" (C01456)
//! lambda = sqrt(R_p/R_s)                     R_p = d(eta)/d(i), R_s ohm per square
//! Haring-Blum  TP = 100 (K - M)/K            K: ratio of distances far/near
//! Field        TP = 100 (K - M)/(K + M - 2)  M: ratio of metal near/far
//! ```
//! The reach is that of a thin resistive cathode with the bath left out; the deposit dies off over
//! about `lambda` from the contact, until the metal itself carries the current (derived here).

use crate::constants::thermal_voltage_v;
use crate::electrolyte::Electrolyte;

/// Wagner number of a bath of conductivity `kappa` on the length `l`, with the polarisation
/// resistance `d(eta)/d(i)`.
pub fn wagner(conductivity_s_per_m: f64, resistance_ohm_m2: f64, length_m: f64) -> f64 {
    conductivity_s_per_m * resistance_ohm_m2 / length_m
}

/// What a Wagner number says (limits from memory, textbooks differ).
pub fn wagner_text(wagner: f64) -> &'static str {
    if wagner < 0.1 {
        "geometry rules: edges and peaks grow thick"
    } else if wagner < 10.0 {
        "geometry and polarisation share the say"
    } else {
        "nearly even"
    }
}

/// Polarisation resistance of a Tafel law, ohm m2: `b/i`, with the natural-logarithm slope.
pub fn tafel_resistance_ohm_m2(slope_v: f64, current_a_per_m2: f64) -> f64 {
    slope_v / current_a_per_m2
}

/// Polarisation resistance near equilibrium, ohm m2: `RT/((alpha_a + alpha_c) F i0)`.
pub fn linear_resistance_ohm_m2(
    exchange_a_per_m2: f64,
    sum_of_alphas: f64,
    temperature_k: f64,
) -> f64 {
    thermal_voltage_v(temperature_k) / (sum_of_alphas * exchange_a_per_m2)
}

/// Reach of the current from a contact along a resistive coat, m.
pub fn reach_m(resistance_ohm_m2: f64, sheet_resistance_ohm: f64) -> f64 {
    (resistance_ohm_m2 / sheet_resistance_ohm).sqrt()
}

/// Throwing power by Haring and Blum, per cent: 0 if the metal follows the distances, at most
/// `100 (K-1)/K` for even metal.
///
/// Trans. Am. Electrochem. Soc. 44 (1923) 313; confirmed through G. Soderberg, Plating, March
/// 1952 (seen in part).
pub fn haring_blum_percent(distance_ratio: f64, metal_ratio: f64) -> f64 {
    100.0 * (distance_ratio - metal_ratio) / distance_ratio
}

/// Throwing power by Field's formula, per cent: 0 if the metal follows the distances, 100 for
/// even metal.
///
/// M. McCormick, A. T. Kuhn, Trans. Inst. Metal Finishing 71 (1993) 74-76 (seen in part).
pub fn field_percent(distance_ratio: f64, metal_ratio: f64) -> f64 {
    100.0 * (distance_ratio - metal_ratio) / (distance_ratio + metal_ratio - 2.0)
}

impl Electrolyte {
    /// Polarisation resistance of the work at a current density (magnitude), ohm m2; nothing
    /// without a law or past its limit.
    pub fn resistance_ohm_m2(&self, current_a_per_m2: f64) -> Option<f64> {
        self.polarisation?.resistance_ohm_m2(-current_a_per_m2)
    }

    /// Wagner number on a length at a current density (magnitude); see [`wagner`].
    pub fn wagner(&self, current_a_per_m2: f64, length_m: f64) -> Option<f64> {
        let resistance = self.resistance_ohm_m2(current_a_per_m2)?;
        Some(wagner(self.conductivity.value, resistance, length_m))
    }

    /// Reach on a coat at a current density (magnitude), m; see [`reach_m`].
    pub fn reach_m(&self, current_a_per_m2: f64, sheet_resistance_ohm: f64) -> Option<f64> {
        let resistance = self.resistance_ohm_m2(current_a_per_m2)?;
        Some(reach_m(resistance, sheet_resistance_ohm))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Reach at 1 A/dm2 with a Tafel slope of two thermal voltages: 2.27 mm on 100 ohm/sq,
    /// 41.4 mm on 0.3 ohm/sq (worked out independently).
    #[test]
    fn reach_on_graphite_and_silver() {
        let resistance = tafel_resistance_ohm_m2(2.0 * thermal_voltage_v(298.15), 100.0);
        assert_relative_eq!(reach_m(resistance, 100.0), 2.27e-3, max_relative = 2e-3);
        assert_relative_eq!(reach_m(resistance, 0.3), 41.4e-3, max_relative = 2e-3);
    }

    #[test]
    fn throwing_power_at_its_ends() {
        assert_eq!(haring_blum_percent(5.0, 5.0), 0.0);
        assert_eq!(field_percent(5.0, 5.0), 0.0);
        assert_eq!(haring_blum_percent(5.0, 1.0), 80.0);
        assert_eq!(field_percent(5.0, 1.0), 100.0);
        assert!(haring_blum_percent(5.0, 6.0) < 0.0);
    }

    #[test]
    fn wagner_of_both_regimes() {
        // The linear form is the Butler-Volmer slope at rest, the Tafel form its far slope.
        let linear = linear_resistance_ohm_m2(10.0, 2.0, 298.15);
        assert_relative_eq!(wagner(14.1, linear, 0.01), 1.811, max_relative = 1e-3);
        assert!(wagner_text(0.05).contains("geometry rules"));
        assert!(wagner_text(20.0).contains("even"));
    }
}
