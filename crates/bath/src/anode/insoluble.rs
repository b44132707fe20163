//! Anodes that do not dissolve: oxygen is evolved on them.
//!
//! ```text
//! 2 H2O -> O2 + 4 H+ + 4 e           E = 1.229 V - (RT ln 10/F) pH     against the hydrogen electrode
//! i = i0 exp((u - back)/b)           back = E - E_metal
//! ```
//! `u` is the drop from the equilibrium of the metal of the bath, as for all laws, so that the back voltage
//! stands in full between anode and work before any current flows. Exchange current densities and slopes
//! are from memory, with wide bands: they fit about 0.6 V of overpotential on lead alloys, 0.7 V on platinised
//! titanium and 0.3 V on oxides of iridium at 3 A/dm2 in sulfuric acid. The standard potential is that of
//! every table of electrode potentials (recalled). In baths with chloride part of the gas is chlorine, which is
//! not counted apart.
//!
//! Every mole of electrons that metal takes at the work is one of acid made at such an anode, and metal that is
//! not replaced.

use crate::constants::{FARADAY_C_PER_MOL, ZERO_CELSIUS_K, thermal_voltage_v};
use crate::electrolyte::Electrolyte;
use crate::error::BathError;
use crate::figure::{Figure, Grade, Origin, Range};
use crate::kinetics::{Branch, Polarisation, Transfer};
use crate::solution::SULFURIC_ACID_G_PER_MOL;
use crate::subject::Subject;
use ionfall_numerics::number::significant;
use serde::Serialize;
use std::f64::consts::LN_10;

/// Standard potential of oxygen, V against the hydrogen electrode.
const OXYGEN_V: f64 = 1.229;

/// A kind of anode that does not dissolve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Insoluble {
    /// Name in the job file.
    pub name: &'static str,
    /// Exchange current density of oxygen on it.
    pub exchange: Figure,
    /// Tafel slope of oxygen on it, V per decade.
    pub slope: Figure,
    /// Usual current density, A/dm2.
    pub usual_current: Range,
    /// What to know of it.
    pub habit: &'static str,
}

const fn recalled(low: f64, high: f64) -> Range {
    Range::new(low, high, "A/dm2", Grade::Memory, "")
}

const fn exchange(value: f64) -> Figure {
    Figure::new(value, "A/m2", Grade::Memory, "oxygen in sulfuric acid").within_factor(10.0)
}

const fn slope(value: f64, low: f64, high: f64) -> Figure {
    Figure::new(value, "V/decade", Grade::Memory, "oxygen in sulfuric acid").between(low, high)
}

/// The kinds.
pub const INSOLUBLE: [Insoluble; 3] = [
    Insoluble {
        name: "lead alloy",
        exchange: exchange(3e-3),
        slope: slope(0.12, 0.1, 0.14),
        usual_current: recalled(1.0, 5.0),
        habit: "for sulfate baths only; sheds lead oxide, and lead must not reach the work",
    },
    Insoluble {
        name: "platinised titanium",
        exchange: exchange(5e-4),
        slope: slope(0.12, 0.1, 0.14),
        usual_current: recalled(1.0, 20.0),
        habit: "current that turns round, fluoride and organic additives wear the platinum",
    },
    Insoluble {
        name: "mixed metal oxide",
        exchange: exchange(3e-3),
        slope: slope(0.06, 0.05, 0.075),
        usual_current: recalled(1.0, 30.0),
        habit: "current that turns round destroys the coating; additives are used up on it",
    },
];

impl Insoluble {
    /// Finds a kind by name.
    pub fn find(name: &str) -> Option<Self> {
        INSOLUBLE.into_iter().find(|kind| kind.name == name)
    }
}

/// Equilibrium of oxygen above that of a metal, V, from the pH and the metal's own potential against the
/// hydrogen electrode.
pub(crate) fn back_voltage(temperature_c: f64, ph: f64, metal: Figure) -> Figure {
    let decade_v = LN_10 * thermal_voltage_v(temperature_c + ZERO_CELSIUS_K);
    let value = OXYGEN_V - decade_v * ph - metal.value;
    let source = "1.229 V less 59 mV a unit of pH, less the equilibrium of the metal in the bath";
    Figure::new(value, "V", Grade::Memory, source).between(value - 0.1, value + 0.1)
}

impl Electrolyte {
    /// The law of an insoluble anode in this bath.
    ///
    /// # Errors
    /// A bath of which the back voltage is not known.
    pub fn insoluble(&self, kind: &Insoluble) -> Result<Polarisation, BathError> {
        let back = self.back_voltage.ok_or(BathError::Missing {
            what: Subject::BackVoltage,
        })?;
        Self::evolving_oxygen(kind.exchange.value, kind.slope.value / LN_10, back.value)
            .map(|law| law.with_transfer_from(Origin::Bath))
    }

    /// The law of an insoluble anode of known figures: exchange current density, A/m2, natural-logarithm
    /// Tafel slope, V, back voltage, V.
    ///
    /// # Errors
    /// Figures that are not greater than zero.
    pub fn evolving_oxygen(
        exchange_a_per_m2: f64,
        slope_v: f64,
        back_v: f64,
    ) -> Result<Polarisation, BathError> {
        let transfer = Transfer::Tafel {
            branch: Branch::Anodic,
            exchange_a_per_m2,
            slope_v,
        };
        Polarisation::evolving_gas(transfer, back_v)
    }

    /// What an insoluble anode does to this bath, in words.
    pub fn insoluble_words(&self) -> Vec<String> {
        let per_ah = 3600.0 * self.efficiency.value;
        let metal_g = 1e3 * per_ah * self.metal.equivalent_kg_per_c();
        let acid_mol = per_ah / FARADAY_C_PER_MOL;
        let acid_g = 0.5 * SULFURIC_ACID_G_PER_MOL * acid_mol;
        let mut words = vec![format!(
            "each A h on it takes {} g of {} out of the bath that nothing replaces, and makes {} mmol of acid ({} g \
             of sulfuric acid, if it is that): feed metal salt, and watch metal and pH; the gas carries bath along \
             as mist",
            significant(metal_g, 3),
            self.metal.name,
            significant(1e3 * acid_mol, 3),
            significant(acid_g, 3),
        )];
        words.extend(self.insoluble_caution.map(str::to_owned));
        words
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::electrolyte::{AcidCopper, CopperSalt, Given};
    use approx::assert_relative_eq;

    fn copper() -> Electrolyte {
        let amounts = AcidCopper::given(CopperSalt::Pentahydrate(150.0), 180.0);
        Electrolyte::acid_copper(amounts, 45.0, &Given::default()).unwrap()
    }

    /// Copper is won from sulfate between lead and copper at 2 V or a little less, of which the back voltage is
    /// 0.9 V and the overpotential of oxygen on lead about 0.6 V at 3 A/dm2 (from memory).
    #[test]
    fn copper_winning() {
        let bath = copper();
        let back = bath.back_voltage.unwrap().value;
        assert!((0.82..0.95).contains(&back), "{back}");
        let lead = bath
            .insoluble(&Insoluble::find("lead alloy").unwrap())
            .unwrap();
        let drop = lead.drop_at(300.0).unwrap();
        assert!((0.5..0.7).contains(&(drop - back)), "{drop}");
        assert_relative_eq!(
            lead.at_drop(drop).current_a_per_m2,
            300.0,
            max_relative = 1e-12
        );
        assert_eq!(lead.metal_current_a_per_m2(drop), 0.0);
        assert_eq!(lead.metal_share(drop), 0.0);
    }

    /// A hundred times the current adds two slopes per decade.
    #[test]
    fn slopes_per_decade() {
        for kind in INSOLUBLE {
            let law = copper().insoluble(&kind).unwrap();
            let added = law.drop_at(1000.0).unwrap() - law.drop_at(10.0).unwrap();
            assert_relative_eq!(added, 2.0 * kind.slope.value, max_relative = 1e-9);
            let [low, high] = kind.exchange.band.unwrap();
            assert!(low < kind.exchange.value && kind.exchange.value < high);
        }
    }

    /// Copper sulfate becomes sulfuric acid, mole by mole: 1.186 g of copper and 1.83 g of acid an A h.
    #[test]
    fn acid_takes_the_place_of_metal() {
        let words = copper().insoluble_words().join(" ");
        assert!(
            words.contains("1.19 g of copper") && words.contains("1.83 g"),
            "{words}"
        );
        let moles = 1.83 / SULFURIC_ACID_G_PER_MOL / (1.186 / 63.546);
        assert_relative_eq!(moles, 1.0, max_relative = 2e-3);
    }

    #[test]
    fn nothing_is_guessed_of_an_unknown_bath() {
        let given = Given {
            conductivity_s_per_m: Some(10.0),
            ..Given::default()
        };
        let bath = Electrolyte::custom(crate::metal::COPPER, 25.0, &given).unwrap();
        let error = bath.insoluble(&INSOLUBLE[0]).unwrap_err();
        assert!(error.to_string().contains("back voltage"), "{error}");
        assert!(Electrolyte::evolving_oxygen(1e-3, 0.05, 0.9).is_ok());
        assert!(Electrolyte::evolving_oxygen(1e-3, 0.05, 0.0).is_err());
    }
}
