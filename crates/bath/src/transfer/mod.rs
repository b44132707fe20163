//! Mass transfer: diffusion, diffusion film, limiting current density.
//!
//! ```text
//! D0  = R T lambda / (|z| F^2)                 Nernst-Einstein, infinite dilution
//! D   = D0 (T/298.15 K) mu_water(25 degC)/mu   Stokes-Einstein scaling, an estimate
//! i_L = z F D c / delta                        Nernst film of thickness delta
//! ```
//! `i_L` takes the supporting acid for granted: without acid divide by one minus the transport
//! number of copper (0.35 to 0.4 in neutral copper sulfate, from memory).
//!
//! * [`agitation`]: how the solution is moved, in the words of the trade;
//! * [`correlation`]: the formulae for the film behind them;
//! * [`jet`]: that of a jet onto a face;
//! * [`local`]: how films vary over a face;
//! * [`stirring`]: how far into a hollow it reaches.

pub mod agitation;
pub mod correlation;
#[cfg(test)]
mod derived;
pub mod jet;
pub mod local;
pub mod stirring;
#[cfg(test)]
mod testing;

pub use agitation::Agitation;
pub use correlation::{Film, Liquid};
pub use local::{Course, LocalFilm};

use crate::constants::{FARADAY_C_PER_MOL, ZERO_CELSIUS_K, thermal_voltage_v};
use crate::figure::{Figure, Grade};
use crate::mixture::water_viscosity_mpa_s;
use crate::solution::Solution;
use serde::Serialize;

/// An ion that carries the metal to the work.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Ion {
    /// Its formula.
    pub name: &'static str,
    /// Its charge number, without sign.
    pub charge: f64,
    /// Molar conductivity over the charge (per equivalent) at infinite dilution and 25 degC, S m2/mol.
    pub equivalent_s_m2_per_mol: f64,
}

impl Ion {
    /// Cu2+ (CRC Handbook, read from the data file of an open-source library that names it).
    pub const COPPER: Self = Self::new("Cu2+", 2.0, 0.005_36);
    /// Ni2+ (the same table).
    pub const NICKEL: Self = Self::new("Ni2+", 2.0, 0.004_96);
    /// Zn2+ (the same table).
    pub const ZINC: Self = Self::new("Zn2+", 2.0, 0.005_28);
    /// CN- (the same table).
    pub const CYANIDE: Self = Self::new("CN-", 1.0, 0.0078);
    /// Ag(CN)2- (Y. Marcus, Ion Properties, 1997, read from the data file of the same library).
    pub const SILVER_CYANIDE: Self = Self::new("Ag(CN)2-", 1.0, 0.006_65);

    const fn new(name: &'static str, charge: f64, equivalent_s_m2_per_mol: f64) -> Self {
        Self {
            name,
            charge,
            equivalent_s_m2_per_mol,
        }
    }

    /// Diffusion coefficient at infinite dilution and 25 degC, m2/s.
    pub fn diffusion_dilute_m2_per_s(&self) -> f64 {
        thermal_voltage_v(298.15) * self.equivalent_s_m2_per_mol / (self.charge * FARADAY_C_PER_MOL)
    }
}

/// A diffusion coefficient at infinite dilution and 25 degC, taken to a bath of another temperature and
/// viscosity, m2/s.
pub fn scaled_diffusion_m2_per_s(
    dilute_m2_per_s: f64,
    temperature_c: f64,
    viscosity_pa_s: f64,
) -> f64 {
    let warmth = (temperature_c + ZERO_CELSIUS_K) / 298.15;
    let thinness = 1e-3 * water_viscosity_mpa_s(25.0) / viscosity_pa_s;
    dilute_m2_per_s * warmth * thinness
}

/// Estimated diffusion coefficient of copper in an acid copper bath.
pub fn copper_diffusion(bath: &Solution) -> Figure {
    let dilute = Ion::COPPER.diffusion_dilute_m2_per_s();
    let value = scaled_diffusion_m2_per_s(dilute, bath.temperature_c(), bath.viscosity_pa_s());
    Figure::new(value, "m2/s", Grade::Computed, SCALED).uncertain(0.25)
}

/// How a diffusion coefficient in a bath is worked out.
pub(crate) const SCALED: &str =
    "own estimate, Stokes-Einstein scaling of the value at infinite dilution";

/// Limiting current density `z F D c / delta`, A/m2.
pub fn limiting_current_a_per_m2(
    electrons: f64,
    diffusion_m2_per_s: f64,
    concentration_mol_per_m3: f64,
    film_m: f64,
) -> f64 {
    electrons * FARADAY_C_PER_MOL * diffusion_m2_per_s * concentration_mol_per_m3 / film_m
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Nernst-Einstein from the handbook's ionic conductivity: 7.136e-10 m2/s, 0.5 %. The others stand
    /// in the handbook's own table of diffusion coefficients (from memory, 1 %).
    #[test]
    fn diffusion_at_infinite_dilution() {
        for (ion, d) in [
            (Ion::COPPER, 7.136e-10),
            (Ion::NICKEL, 6.61e-10),
            (Ion::ZINC, 7.03e-10),
            (Ion::CYANIDE, 2.077e-9),
        ] {
            let found = ion.diffusion_dilute_m2_per_s();
            assert_relative_eq!(
                found,
                d,
                max_relative = if ion.charge == 2.0 { 5e-3 } else { 1e-2 }
            );
        }
    }

    /// The estimate as worked out independently, three digits.
    #[test]
    fn diffusion_estimate() {
        for (salt, acid, t, d) in [
            (200.0, 50.0, 25.0, 4.12e-10),
            (150.0, 50.0, 20.0, 3.86e-10),
            (220.0, 60.0, 30.0, 4.58e-10),
            (70.0, 200.0, 25.0, 4.09e-10),
            (125.0, 150.0, 25.0, 4.02e-10),
        ] {
            let bath = Solution::new(salt, acid, t).unwrap();
            assert_relative_eq!(copper_diffusion(&bath).value, d, max_relative = 2e-3);
        }
    }

    /// Nernst film: n = 2, 250 mol/m3, 6e-10 m2/s, 0.1 mm.
    #[test]
    fn limiting_current_of_a_film() {
        let i = limiting_current_a_per_m2(2.0, 6e-10, 250.0, 1e-4);
        assert_relative_eq!(i, 289.45599636, max_relative = 1e-10);
    }
}
