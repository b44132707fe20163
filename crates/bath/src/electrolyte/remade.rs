//! The same bath with something of it changed, as a shop changes it with a heater or a pair of scales.
//!
//! One such change moves several figures at once, by the relations of the bath: conductivity, density, viscosity,
//! diffusion, concentration, charge transfer. What was measured moves as the relations do: with the figures `y` that
//! they give alone,
//!
//! ```text
//! y_measured(changed) = y_measured y(changed) / y(as it is)
//! ```

use super::amounts::{Adjustment, Made};
use super::given::Given;
use super::ready::Electrolyte;
use crate::error::BathError;
use crate::figure::{Figure, Origin};
use crate::kinetics::{Kinetics, Polarisation, Transfer};

impl Made {
    fn bath(&self, given: &Given) -> Result<Electrolyte, BathError> {
        Electrolyte::acid_copper(self.amounts, self.temperature_c, given)
    }

    /// What was measured, between two baths that the relations give alone.
    fn measured(&self, before: &Electrolyte, after: &Electrolyte) -> Option<Given> {
        let moved = |measured: Option<f64>, figure: &dyn Fn(&Electrolyte) -> Option<Figure>| {
            let Some(value) = measured else {
                return Some(None);
            };
            let [from, to] = [figure(before)?, figure(after)?].map(|f| f.value);
            Some(Some(value * to / from))
        };
        let given = &self.given;
        let difference = [before, after].map(|bath| bath.liquid.density_difference);
        let difference = difference[0].zip(difference[1]).map(|(from, to)| to / from);
        Some(Given {
            conductivity_s_per_m: moved(given.conductivity_s_per_m, &|b| Some(b.conductivity))?,
            concentration_mol_per_m3: moved(given.concentration_mol_per_m3, &|b| b.concentration)?,
            diffusion_m2_per_s: moved(given.diffusion_m2_per_s, &|b| b.diffusion)?,
            density_kg_per_m3: moved(given.density_kg_per_m3, &|b| b.fluid.density)?,
            viscosity_pa_s: moved(given.viscosity_pa_s, &|b| b.fluid.viscosity)?,
            limiting_current_a_per_m2: moved(given.limiting_current_a_per_m2, &|b| {
                b.limiting_current
            })?,
            density_difference: match given.density_difference {
                Some(share) => Some(share * difference?),
                None => None,
            },
            ..*given
        })
    }
}

impl Electrolyte {
    /// How much there is of something, or how warm it is ([`Adjustment::unit`]); nothing where it is not known how
    /// such a bath follows it.
    pub fn adjustable(&self, what: Adjustment) -> Option<f64> {
        self.made_of.map(|mut made| *made.value(what))
    }

    /// The same bath with so much of something; nothing where it is not known how it follows, or nothing can be
    /// worked out there.
    pub fn remade(&self, what: Adjustment, value: f64) -> Option<Self> {
        let made = self.made_of?;
        let mut then = made;
        *then.value(what) = value;
        let alone = Given {
            agitation: made.given.agitation,
            ..Given::default()
        };
        let [before, after] = [made.bath(&alone).ok()?, then.bath(&alone).ok()?];
        let bath = then.bath(&made.measured(&before, &after)?).ok()?;
        Some(Self {
            // The deposit may have been measured too.
            metal: self.metal,
            ..bath
        })
    }

    /// The same bath with so much of something, as long as nothing is told beyond what is known of such baths.
    pub fn remade_within_range(&self, what: Adjustment, value: f64) -> Option<Self> {
        let bath = self.remade(what, value)?;
        let beyond = bath.warnings.iter().any(|w| w.what == what.name());
        (!beyond && bath.warnings.len() <= self.warnings.len()).then_some(bath)
    }

    /// The law of an electrode of this bath in a [remade](Self::remade) one: it follows in what it has from the bath
    /// and in its temperature.
    pub fn law_in(&self, remade: &Self, kinetics: &Kinetics) -> Kinetics {
        match kinetics {
            Kinetics::Primary | Kinetics::Own(_) => kinetics.clone(),
            Kinetics::Law(law) => Kinetics::Law(self.polarisation_in(remade, *law)),
        }
    }

    fn polarisation_in(&self, remade: &Self, law: Polarisation) -> Polarisation {
        let own = |bath: &Self| {
            let works = bath.polarisation.map(|law| law.transfer());
            [works, bath.anode.map(|anode| anode.polarisation.transfer())]
        };
        let of_bath = law.transfer_from() == Origin::Bath;
        let mut both = own(self).into_iter().zip(own(remade));
        let same = both.find(|(from, _)| of_bath && *from == Some(law.transfer()));
        let transfer = match (same, law.transfer()) {
            (Some((_, Some(then))), _) => then,
            (
                _,
                Transfer::ButlerVolmer {
                    exchange_a_per_m2,
                    alpha_a,
                    alpha_c,
                    ..
                },
            ) => Transfer::ButlerVolmer {
                exchange_a_per_m2,
                alpha_a,
                alpha_c,
                temperature_k: remade.temperature_k,
            },
            (_, other) => other,
        };
        let hydrogen = match law.hydrogen() == self.hydrogen {
            true => remade.hydrogen,
            false => law.hydrogen(),
        };
        let limit_times = match law.limit_from() {
            Origin::Bath => self.limit_ratio(remade),
            Origin::Job => 1.0,
        };
        let warmer = remade.temperature_k / self.temperature_k;
        law.moved_to(transfer, hydrogen, limit_times, warmer)
    }

    /// Limiting current of a [remade](Self::remade) bath over that of this one; 1 where none is known.
    pub fn limit_ratio(&self, remade: &Self) -> f64 {
        let both = self.limiting_current.zip(remade.limiting_current);
        both.map_or(1.0, |(from, to)| to.value / from.value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::electrolyte::{AcidCopper, CopperSalt};
    use crate::transfer::Agitation;
    use approx::assert_relative_eq;

    fn given() -> Given {
        Given {
            agitation: Some(Agitation::Air),
            ..Given::default()
        }
    }

    fn bath(salt: f64, acid: f64, celsius: f64, given: &Given) -> Electrolyte {
        let amounts = AcidCopper::given(CopperSalt::Pentahydrate(salt), acid);
        Electrolyte::acid_copper(amounts, celsius, given).unwrap()
    }

    #[test]
    fn a_remade_bath_is_the_one_made_with_that_amount() {
        let now = bath(200.0, 60.0, 25.0, &given());
        for (what, value, then) in [
            (
                Adjustment::Temperature,
                30.0,
                bath(200.0, 60.0, 30.0, &given()),
            ),
            (
                Adjustment::CopperSulfate,
                220.0,
                bath(220.0, 60.0, 25.0, &given()),
            ),
            (
                Adjustment::SulfuricAcid,
                66.0,
                bath(200.0, 66.0, 25.0, &given()),
            ),
        ] {
            let remade = now.remade(what, value).unwrap();
            assert_eq!(remade, then);
            let law = Kinetics::Law(now.polarisation.unwrap());
            assert_eq!(
                now.law_in(&remade, &law),
                Kinetics::Law(then.polarisation.unwrap())
            );
        }
    }

    /// What was measured moves by as much as what is worked out.
    #[test]
    fn measured_figures_follow_the_relations() {
        let measured = Given {
            conductivity_s_per_m: Some(30.0),
            limiting_current_a_per_m2: Some(900.0),
            ..given()
        };
        let now = bath(200.0, 60.0, 25.0, &measured);
        let warm = now.remade(Adjustment::Temperature, 30.0).unwrap();
        let plain = [25.0, 30.0].map(|celsius| bath(200.0, 60.0, celsius, &given()));
        let times = |of: fn(&Electrolyte) -> f64| of(&plain[1]) / of(&plain[0]);
        let conductivity = 30.0 * times(|b| b.conductivity.value);
        assert_relative_eq!(warm.conductivity.value, conductivity, max_relative = 1e-12);
        assert!(conductivity > 31.0);
        let limit = 900.0 * times(|b| b.limiting_current.unwrap().value);
        let found = warm.limiting_current.unwrap();
        assert_relative_eq!(found.value, limit, max_relative = 1e-12);
        // A limit that the job gives an electrode of its own stays.
        let own = now.polarisation.unwrap().with_limit_from(Origin::Job);
        let Kinetics::Law(then) = now.law_in(&warm, &Kinetics::Law(own)) else {
            panic!("a law");
        };
        assert_eq!(then.limit(), own.limit());
        assert_ne!(then.transfer(), own.transfer());
    }

    #[test]
    fn nothing_is_told_beyond_the_range_or_of_other_baths() {
        let now = bath(200.0, 60.0, 38.0, &given());
        assert!(now.remade(Adjustment::Temperature, 43.0).is_some());
        assert!(
            now.remade_within_range(Adjustment::Temperature, 43.0)
                .is_none()
        );
        assert!(
            now.remade_within_range(Adjustment::SulfuricAcid, 66.0)
                .is_some()
        );
        assert!(now.remade(Adjustment::CopperSulfate, 500.0).is_none());
        let conducting = Given {
            conductivity_s_per_m: Some(15.0),
            ..Given::default()
        };
        let custom = Electrolyte::custom(crate::metal::COPPER, 25.0, &conducting).unwrap();
        assert!(
            Adjustment::ALL
                .iter()
                .all(|what| custom.adjustable(*what).is_none())
        );
    }
}
