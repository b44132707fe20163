//! Density and viscosity of water with copper sulfate and sulfuric acid (formulae in [`crate::mixture`]).

use crate::error::{BathError, within};
use crate::figure::{Grade, Range};
use crate::mixture::{self, COPPER_SULFATE, SULFURIC_ACID, Solute};
use crate::subject::Subject;
use serde::Serialize;

/// Molar mass of CuSO4 5H2O, g/mol (from atomic weights).
pub const COPPER_SULFATE_PENTAHYDRATE_G_PER_MOL: f64 = 249.685;
/// Molar mass of CuSO4, g/mol (from atomic weights).
pub const COPPER_SULFATE_G_PER_MOL: f64 = 159.609;
/// Molar mass of H2SO4, g/mol (from atomic weights).
pub const SULFURIC_ACID_G_PER_MOL: f64 = 98.079;

/// Temperatures for which both solutes have data.
pub const TEMPERATURES: Range = Range::new(
    15.0,
    60.0,
    "degC",
    Grade::Seen,
    "data behind Laliberte 2009",
);
/// Temperatures beyond which nothing is worked out, degC.
pub const LIMITS_C: (f64, f64) = (5.0, 80.0);
/// Amounts beyond which nothing is worked out, g/L of CuSO4 5H2O (more does not dissolve when
/// cold) and of H2SO4.
pub const LARGEST_G_PER_L: (f64, f64) = (350.0, 400.0);

/// An acid copper sulfate solution at one temperature.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Solution {
    copper_sulfate_g_per_l: f64,
    acid_g_per_l: f64,
    temperature_c: f64,
    density_kg_per_m3: f64,
}

impl Solution {
    /// A solution of so many g/L of CuSO4 5H2O and of H2SO4 at a temperature in degC.
    ///
    /// # Errors
    /// Outside [`LIMITS_C`] or [`LARGEST_G_PER_L`].
    pub fn new(
        copper_sulfate_g_per_l: f64,
        acid_g_per_l: f64,
        temperature_c: f64,
    ) -> Result<Self, BathError> {
        let (cold, hot) = LIMITS_C;
        let (most_salt, most_acid) = LARGEST_G_PER_L;
        within(Subject::Temperature, temperature_c, cold, hot)?;
        within(
            Subject::CopperSulfate,
            copper_sulfate_g_per_l,
            0.0,
            most_salt,
        )?;
        within(Subject::SulfuricAcid, acid_g_per_l, 0.0, most_acid)?;
        let mut solution = Self {
            copper_sulfate_g_per_l,
            acid_g_per_l,
            temperature_c,
            density_kg_per_m3: 1000.0,
        };
        solution.density_kg_per_m3 = mixture::density_kg_per_m3(&solution.solutes(), temperature_c);
        Ok(solution)
    }

    /// The same acid without the copper salt.
    pub fn acid_alone(&self) -> Self {
        Self::new(0.0, self.acid_g_per_l, self.temperature_c).unwrap_or(*self)
    }

    /// The same solution at another temperature.
    ///
    /// # Errors
    /// Outside [`LIMITS_C`].
    pub fn at(&self, temperature_c: f64) -> Result<Self, BathError> {
        Self::new(
            self.copper_sulfate_g_per_l,
            self.acid_g_per_l,
            temperature_c,
        )
    }

    /// The same with another amount of acid.
    ///
    /// # Errors
    /// Too much acid.
    pub fn with_acid(&self, acid_g_per_l: f64) -> Result<Self, BathError> {
        Self::new(
            self.copper_sulfate_g_per_l,
            acid_g_per_l,
            self.temperature_c,
        )
    }

    /// CuSO4 5H2O, g/L.
    pub fn copper_sulfate_g_per_l(&self) -> f64 {
        self.copper_sulfate_g_per_l
    }

    /// H2SO4, g/L.
    pub fn acid_g_per_l(&self) -> f64 {
        self.acid_g_per_l
    }

    /// CuSO4 (anhydrous) in mass per cent.
    pub fn copper_sulfate_mass_percent(&self) -> f64 {
        100.0 * self.solutes()[0].1 / self.density_kg_per_m3
    }

    /// Temperature, degC.
    pub fn temperature_c(&self) -> f64 {
        self.temperature_c
    }

    /// Copper, mol/m3.
    pub fn copper_mol_per_m3(&self) -> f64 {
        1e3 * self.copper_sulfate_g_per_l / COPPER_SULFATE_PENTAHYDRATE_G_PER_MOL
    }

    /// Sulfuric acid, mol/m3.
    pub fn acid_mol_per_m3(&self) -> f64 {
        1e3 * self.acid_g_per_l / SULFURIC_ACID_G_PER_MOL
    }

    /// Density, kg/m3.
    pub fn density_kg_per_m3(&self) -> f64 {
        self.density_kg_per_m3
    }

    /// Share of its density by which it is heavier than the same acid without copper.
    pub fn density_difference(&self) -> f64 {
        1.0 - self.acid_alone().density_kg_per_m3() / self.density_kg_per_m3
    }

    /// Dynamic viscosity, Pa s.
    pub fn viscosity_pa_s(&self) -> f64 {
        let solutes = self.solutes();
        mixture::viscosity_pa_s(&solutes, self.density_kg_per_m3, self.temperature_c)
    }

    /// CuSO4 without its water and H2SO4, g/L.
    fn solutes(&self) -> [(Solute, f64); 2] {
        let anhydrous = COPPER_SULFATE_G_PER_MOL / COPPER_SULFATE_PENTAHYDRATE_G_PER_MOL;
        [
            (COPPER_SULFATE, self.copper_sulfate_g_per_l * anhydrous),
            (SULFURIC_ACID, self.acid_g_per_l),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn solution(salt: f64, acid: f64, t: f64) -> Solution {
        Solution::new(salt, acid, t).expect("within the data")
    }

    /// Evaluated with the open-source library that carries the coefficients: 1152.066 kg/m3,
    /// 1.54059 and 1.54139 mPa s.
    #[test]
    fn density_and_viscosity_agree_with_the_library() {
        let standard = solution(200.0, 50.0, 25.0);
        assert_relative_eq!(standard.density_kg_per_m3(), 1152.066, max_relative = 5e-6);
        assert_relative_eq!(standard.viscosity_pa_s(), 1.54059e-3, max_relative = 5e-5);
        let high_throw = solution(75.0, 190.0, 25.0);
        assert_relative_eq!(high_throw.viscosity_pa_s(), 1.54139e-3, max_relative = 5e-5);
    }

    /// Worked out independently with the same formulae: density, viscosity in mPa s.
    #[test]
    fn worked_examples() {
        for (salt, acid, t, density, viscosity) in [
            (150.0, 50.0, 20.0, 1123.9, 1.618),
            (220.0, 60.0, 30.0, 1167.5, 1.409),
            (70.0, 200.0, 25.0, 1162.6, 1.554),
            (125.0, 150.0, 25.0, 1165.9, 1.582),
        ] {
            let s = solution(salt, acid, t);
            assert_relative_eq!(s.density_kg_per_m3(), density, max_relative = 5e-5);
            assert_relative_eq!(1e3 * s.viscosity_pa_s(), viscosity, max_relative = 4e-4);
        }
    }

    #[test]
    fn moles() {
        let s = solution(200.0, 50.0, 25.0);
        assert_relative_eq!(s.copper_mol_per_m3(), 801.0, max_relative = 1e-4);
        assert_relative_eq!(s.acid_mol_per_m3(), 509.8, max_relative = 1e-4);
    }

    #[test]
    fn outside_the_data_is_refused() {
        assert!(Solution::new(200.0, 50.0, 90.0).is_err());
        assert!(Solution::new(500.0, 50.0, 25.0).is_err());
        assert!(Solution::new(200.0, -1.0, 25.0).is_err());
    }
}
