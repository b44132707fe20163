//! How long the double layer of an electrode takes to charge under a pulse, and to discharge after it.
//!
//! Before it is charged, what flows makes no metal; after the pulse it goes on making some. With a peak current
//! density `i`
//!
//! ```text
//! t_charge = 17 us A/cm2 / i      t_discharge = 120 us A/cm2 / i
//! ```
//! (J.-Cl. Puippe, N. Ibl, J. Appl. Electrochem. 10 (1980) 775, recalled). A pulse shorter than the one, or a pause
//! shorter than the other, does not arrive at the metal as such: it sees a current that is smoothed.

use crate::figure::{Figure, Grade};

const SOURCE: &str = "Puippe, Ibl 1980";

/// Charge that the layer takes under a pulse, A s/m2.
pub const CHARGE: Figure = Figure::new(0.17, "A s/m2", Grade::Recalled, SOURCE).within_factor(2.0);
/// The same of its discharge in a pause, which is slower.
pub const DISCHARGE: Figure =
    Figure::new(1.2, "A s/m2", Grade::Recalled, SOURCE).within_factor(2.0);

/// Times to charge and to discharge, s, at a peak current density, A/m2.
pub fn times_s(peak_a_per_m2: f64) -> [f64; 2] {
    [CHARGE, DISCHARGE].map(|figure| figure.value / peak_a_per_m2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// 17 and 120 us at 1 A/cm2 as published (recalled); 85 and 600 us at 20 A/dm2.
    #[test]
    fn a_tenfold_current_charges_ten_times_as_fast() {
        let [charge, discharge] = times_s(1e4);
        assert_relative_eq!(charge, 17e-6, max_relative = 1e-12);
        assert_relative_eq!(discharge, 120e-6, max_relative = 1e-12);
        let [charge, discharge] = times_s(2000.0);
        assert_relative_eq!(charge, 85e-6, max_relative = 1e-12);
        assert_relative_eq!(discharge, 600e-6, max_relative = 1e-12);
    }
}
