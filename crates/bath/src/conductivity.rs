//! Conductivity of acid copper sulfate solutions.
//!
//! Copper sulfate alone is tabulated; sulfuric acid alone has a fitted formula; for the mixture no
//! published coefficients could be seen, so it is *estimated* here:
//!
//! ```text
//! kappa(25 degC) = 0.92 kappa_acid(c) mu(acid alone)/mu(bath)
//! kappa(t)       = kappa(25 degC) (1 + 0.012 (t - 25))
//! ```
//! The factor 0.92 pulls the battery formula towards recalled values of plain acid; 0.012 per
//! kelvin is near the 1.28 %/K of 10 % acid in a conductivity-meter manual; the conduction of the
//! salt and the sulfate/bisulfate shift oppose each other and are left out. Good to 20 %. A
//! measured conductivity is always to be preferred.

use crate::error::{BathError, within};
use crate::figure::{Figure, Grade};
use crate::solution::Solution;

/// Mass per cent of CuSO4 (anhydrous) and conductivity in mS/cm at 20 degC.
const COPPER_SULFATE: [(f64, f64); 6] = [
    (0.5, 2.9),
    (1.0, 5.4),
    (2.0, 9.3),
    (5.0, 19.0),
    (10.0, 32.2),
    (15.0, 42.3),
];

/// Conductivity of copper sulfate in water without acid at 20 degC, S/m, interpolated in mass per
/// cent of the anhydrous salt.
///
/// Source: CRC Handbook of Chemistry and Physics, "Electrical Conductivity of Aqueous Solutions".
///
/// # Errors
/// Outside 0.5 to 15 mass per cent.
pub fn copper_sulfate_s_per_m(mass_percent: f64) -> Result<f64, BathError> {
    within("copper sulfate in mass per cent", mass_percent, 0.5, 15.0)?;
    let upper = COPPER_SULFATE
        .partition_point(|(w, _)| *w < mass_percent)
        .max(1);
    let ((w0, k0), (w1, k1)) = (COPPER_SULFATE[upper - 1], COPPER_SULFATE[upper]);
    Ok(0.1 * (k0 + (k1 - k0) * (mass_percent - w0) / (w1 - w0)))
}

/// Conductivity of sulfuric acid at about 25 degC, S/m, from its concentration in mol/m3
/// (battery range, roughly 0.1 to 6 mol/L).
///
/// Source: W. B. Gu, C. Y. Wang, B. Y. Liaw, J. Electrochem. Soc. 144 (1997) 2053-2061 (formula
/// read from an open-source library that cites it).
pub fn sulfuric_acid_s_per_m(acid_mol_per_m3: f64) -> f64 {
    let c = acid_mol_per_m3;
    1e-4 * c * (6.23 - 1.34e-4 * c - 1.61e-8 * c * c).exp()
}

/// Estimated conductivity of an acid copper bath (formula of the module), for 30 to 250 g/L of
/// acid.
///
/// # Errors
/// Acid outside that range.
pub fn estimate(bath: &Solution) -> Result<Figure, BathError> {
    let at_25 = bath.at(25.0)?;
    let acid_g_per_l = 1e-3 * bath.acid_mol_per_m3() * crate::solution::SULFURIC_ACID_G_PER_MOL;
    within(
        "sulfuric acid in g/L (for the conductivity estimate)",
        acid_g_per_l,
        30.0,
        250.0,
    )?;
    let thinner = at_25.acid_alone().viscosity_pa_s() / at_25.viscosity_pa_s();
    let kappa_25 = 0.92 * sulfuric_acid_s_per_m(bath.acid_mol_per_m3()) * thinner;
    Ok(Figure::new(
        kappa_25 * (1.0 + 0.012 * (bath.temperature_c() - 25.0)),
        "S/m",
        Grade::Computed,
        "own estimate from acid content and viscosity",
    )
    .uncertain(0.2))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// The table of the handbook itself, 2 %.
    #[test]
    fn copper_sulfate_table() {
        for (percent, ms_per_cm) in [(5.0, 19.0), (15.0, 42.3)] {
            let found = 10.0 * copper_sulfate_s_per_m(percent).unwrap();
            assert_relative_eq!(found, ms_per_cm, max_relative = 0.02);
        }
        assert_relative_eq!(
            copper_sulfate_s_per_m(0.5).unwrap(),
            0.29,
            max_relative = 1e-12
        );
        assert!(copper_sulfate_s_per_m(20.0).is_err());
    }

    /// Gu, Wang, Liaw 1997: 43.7 S/m at 1 mol/L, 65.6 S/m at 1.7 mol/L.
    #[test]
    fn acid_formula() {
        assert_relative_eq!(sulfuric_acid_s_per_m(1000.0), 43.7, max_relative = 1e-3);
        assert_relative_eq!(sulfuric_acid_s_per_m(1700.0), 65.6, max_relative = 1e-3);
    }

    /// The estimate as worked out independently, three digits.
    #[test]
    fn mixture_estimate() {
        for (salt, acid, t, kappa) in [
            (200.0, 50.0, 25.0, 14.1),
            (150.0, 50.0, 20.0, 14.6),
            (220.0, 60.0, 30.0, 17.0),
            (70.0, 200.0, 25.0, 58.6),
            (125.0, 150.0, 25.0, 42.8),
        ] {
            let bath = Solution::new(salt, acid, t).unwrap();
            assert_relative_eq!(estimate(&bath).unwrap().value, kappa, max_relative = 4e-3);
        }
        let weak = Solution::new(248.0, 11.0, 25.0).unwrap();
        assert!(estimate(&weak).is_err());
    }
}
