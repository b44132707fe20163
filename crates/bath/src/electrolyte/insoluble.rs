//! Insoluble anodes in a bath: their law above its metal, and what they do to it.
//!
//! Every mole of electrons that metal takes at the work is one of acid made at such an anode, and metal that is
//! not replaced.

use super::ready::Electrolyte;
use crate::anode::Insoluble;
use crate::constants::FARADAY_C_PER_MOL;
use crate::error::BathError;
use crate::kinetics::Polarisation;
use crate::solution::SULFURIC_ACID_G_PER_MOL;
use crate::subject::Subject;
use ionfall_numerics::number::significant;

impl Electrolyte {
    /// The law of an insoluble anode in this bath.
    ///
    /// # Errors
    /// A bath of which the back voltage is not known.
    pub fn insoluble(&self, kind: &Insoluble) -> Result<Polarisation, BathError> {
        let back = self.back_voltage.ok_or(BathError::Missing {
            what: Subject::BackVoltage,
        })?;
        kind.law(back.value)
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
    use crate::anode::INSOLUBLE;
    use crate::anode::insoluble::evolving_oxygen;
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
            .insoluble(Insoluble::find("lead alloy").unwrap())
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
        for kind in &INSOLUBLE {
            let law = copper().insoluble(kind).unwrap();
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
        assert!(evolving_oxygen(1e-3, 0.05, 0.9).is_ok());
        assert!(evolving_oxygen(1e-3, 0.05, 0.0).is_err());
    }
}
