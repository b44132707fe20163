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
//! salt and the sulfate/bisulfate shift oppose each other and are left out. Good to 20 % between
//! 30 and 250 g/L of acid. With less acid the estimate passes evenly over to that of the salt alone
//! (table, 2 % per kelvin from memory); there, and beyond the range, 35 % are put down. A measured
//! conductivity is always to be preferred.

use crate::error::{BathError, within};
use crate::figure::{Figure, Grade, Range};
use crate::solution::{Solution, TEMPERATURES};
use crate::subject::Subject;
use crate::warning::Warning;

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
    within(Subject::CopperSulfateByMass, mass_percent, 0.5, 15.0)?;
    Ok(0.1 * tabulated(mass_percent))
}

/// Between the lines of the table, mS/cm; straight to zero below it, straight on above it.
fn tabulated(mass_percent: f64) -> f64 {
    let upper = COPPER_SULFATE
        .partition_point(|(w, _)| *w < mass_percent)
        .min(COPPER_SULFATE.len() - 1);
    let (w0, k0) = match upper {
        0 => (0.0, 0.0),
        _ => COPPER_SULFATE[upper - 1],
    };
    let (w1, k1) = COPPER_SULFATE[upper];
    k0 + (k1 - k0) * (mass_percent - w0) / (w1 - w0)
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

/// Acid the estimate is meant for.
pub const ACID: Range = Range::new(30.0, 250.0, "g/L", Grade::Computed, "own estimate");
/// Copper salt (CuSO4 5H2O) the estimate is meant for.
pub const SALT: Range = Range::new(0.0, 250.0, "g/L", Grade::Computed, "own estimate");

/// Estimated conductivity of an acid copper bath (formulae of the module).
///
/// # Errors
/// Amounts for which no density and viscosity can be worked out.
pub fn estimate(bath: &Solution) -> Result<Figure, BathError> {
    let acid = bath.acid_g_per_l();
    let value = if acid >= ACID.low {
        with_acid(bath)?
    } else {
        let share = acid / ACID.low;
        let full = with_acid(&bath.with_acid(ACID.low)?)?;
        share * full + (1.0 - share) * salt_alone(&bath.with_acid(0.0)?)
    };
    let spread = if warnings(bath).is_empty() { 0.2 } else { 0.35 };
    let source = "own estimate from acid content and viscosity";
    Ok(Figure::new(value, "S/m", Grade::Computed, source).uncertain(spread))
}

/// What the estimate is not meant for.
pub fn warnings(bath: &Solution) -> Vec<Warning> {
    let meaning = "the conductivity is a rough guess, measure it";
    [
        ("sulfuric acid", bath.acid_g_per_l(), ACID),
        ("copper sulfate", bath.copper_sulfate_g_per_l(), SALT),
        ("temperature", bath.temperature_c(), TEMPERATURES),
    ]
    .into_iter()
    .filter_map(|(what, value, range)| Warning::unless_within(what, value, range, meaning))
    .collect()
}

fn with_acid(bath: &Solution) -> Result<f64, BathError> {
    let at_25 = bath.at(25.0)?;
    let thinner = at_25.acid_alone().viscosity_pa_s() / at_25.viscosity_pa_s();
    let kappa_25 = 0.92 * sulfuric_acid_s_per_m(bath.acid_mol_per_m3()) * thinner;
    Ok(kappa_25 * (1.0 + 0.012 * (bath.temperature_c() - 25.0)))
}

fn salt_alone(salt: &Solution) -> f64 {
    let percent = salt.copper_sulfate_mass_percent();
    let at_20 = 0.1 * tabulated(percent);
    at_20 * (1.0 + 0.02 * (salt.temperature_c() - 20.0))
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
    }

    /// Little acid: between the salt alone and the estimate at 30 g/L, without a step.
    #[test]
    fn weak_acid_passes_to_the_salt_alone() {
        let kappa = |acid| estimate(&Solution::new(248.0, acid, 20.0).unwrap()).unwrap();
        let percent = Solution::new(248.0, 0.0, 20.0)
            .unwrap()
            .copper_sulfate_mass_percent();
        let alone = copper_sulfate_s_per_m(percent).unwrap();
        assert_relative_eq!(kappa(0.0).value, alone, max_relative = 1e-12);
        assert_relative_eq!(kappa(29.999).value, kappa(30.0).value, max_relative = 1e-4);
        assert!(alone < kappa(11.0).value && kappa(11.0).value < kappa(30.0).value);
        assert_eq!(kappa(11.0).relative_uncertainty, Some(0.35));
        assert_eq!(kappa(30.0).relative_uncertainty, Some(0.2));
        let weak = Solution::new(248.0, 11.0, 20.0).unwrap();
        let text = warnings(&weak)[0].to_string();
        assert!(
            text.contains("sulfuric acid of 11 g/L is outside 30 to 250"),
            "{text}"
        );
    }
}
