//! What a sheet says of a bath, and what follows from it: density and viscosity of its salts, diffusion of
//! its metal, equilibrium of oxygen above the metal.
//!
//! Density and viscosity are those of the salts at the middle of their ranges ([`crate::mixture`]; boric acid and
//! additives are left out, 2 and 15 % are put down for them), or recalled at 25 degC, where the viscosity goes with
//! that of water. The diffusion coefficient is taken to the bath like that of copper ([`crate::transfer`]). The
//! figures of charge transfer are those of the middle of the working temperatures.

use crate::anode::Habits;
use crate::anode::passivation::Passivation;
use crate::caution::Caution;
use crate::figure::{Figure, Grade, Range};
use crate::metal::Metal;
use crate::mixture::{self, Solute, water_viscosity_mpa_s};
use crate::parameter::Parameter;
use crate::transfer::{Ion, SCALED, scaled_diffusion_m2_per_s};
use serde::Serialize;

/// What is known of a bath.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Sheet {
    /// Name in the job file.
    pub name: &'static str,
    /// Metal deposited.
    pub metal: Metal,
    /// Dissolved metal, g/L.
    pub metal_g_per_l: Range,
    /// Constituents.
    pub composition: &'static [(&'static str, Range)],
    /// Working temperature, degC.
    pub temperature_c: Range,
    /// Usual cathode current density, A/dm2.
    pub current_a_per_dm2: Range,
    /// Conductivity, S/m.
    pub conductivity_s_per_m: Range,
    /// Cathode current efficiency, fraction.
    pub efficiency: Range,
    /// What brings the metal to the work.
    pub carrier: Carrier,
    /// Density and viscosity.
    pub makeup: Makeup,
    /// Figures of the charge transfer of deposition.
    pub transfer_figures: &'static [(Parameter, Figure)],
    /// Equilibrium of the metal in the bath, V against the hydrogen electrode.
    pub metal_v: Figure,
    /// pH, for the equilibrium of oxygen.
    pub ph: f64,
    /// The usual anodes.
    pub anode: Dissolving,
    /// What insoluble anodes do to this bath beside taking its metal.
    pub insoluble_caution: Option<&'static str>,
    /// Cautions.
    pub cautions: &'static [Caution],
}

/// The usual dissolving anodes of a bath.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Dissolving {
    /// What they are made of, and what becomes of them.
    pub habits: Habits,
    /// Figures of their charge transfer.
    pub figures: &'static [(Parameter, Figure)],
    /// Usual current density, A/dm2.
    pub usual_current: Range,
    /// How they passivate.
    pub passivation: Passivation,
}

/// Figures of a charge transfer in both directions: exchange current density, transfer coefficients of the
/// anodic and of the cathodic direction.
pub(super) const fn both_ways(
    [exchange, anodic, cathodic]: [Figure; 3],
) -> [(Parameter, Figure); 3] {
    [
        (Parameter::Exchange, exchange),
        (Parameter::AnodicTransfer, anodic),
        (Parameter::CathodicTransfer, cathodic),
    ]
}

/// What brings the metal to the work.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Carrier {
    /// An ion whose mobility is tabulated, and how far the diffusion coefficient worked out from it may be off,
    /// as factors below and above.
    Ion(Ion, [f64; 2]),
    /// A diffusion coefficient at infinite dilution and 25 degC, m2/s.
    Recalled(Figure),
}

/// What density and viscosity follow from.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Makeup {
    /// The salts.
    Salts(&'static [Dissolved]),
    /// Recalled figures at 25 degC.
    Recalled {
        /// Density, kg/m3.
        density: Figure,
        /// Dynamic viscosity, Pa s.
        viscosity: Figure,
        /// Share of its density by which the bath is heavier than without its metal.
        lighter: f64,
    },
}

/// A constituent as a salt of known density.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Dissolved {
    /// Its name in the composition.
    pub of: &'static str,
    /// The salt.
    pub salt: Solute,
    /// Mass of the salt without water over that of the constituent.
    pub share: f64,
    /// Is it a salt of the metal?
    pub of_metal: bool,
}

/// Density, kg/m3, dynamic viscosity, Pa s, and the share of the density that goes with the metal.
pub(crate) struct Properties {
    pub density: Figure,
    pub viscosity: Figure,
    pub density_difference: f64,
}

const LALIBERTE: &str = "Laliberte 2009, J. Chem. Eng. Data 54, 1725, without boric acid";

impl Sheet {
    /// Density and viscosity at a temperature, degC.
    pub(crate) fn properties(&self, t: f64) -> Properties {
        match self.makeup {
            Makeup::Recalled {
                density,
                viscosity,
                lighter,
            } => {
                let thinner = water_viscosity_mpa_s(t) / water_viscosity_mpa_s(25.0);
                Properties {
                    density,
                    viscosity: viscosity.scaled(thinner, viscosity.unit),
                    density_difference: lighter,
                }
            }
            Makeup::Salts(salts) => {
                let solutes = |without_metal: bool| -> Vec<(Solute, f64)> {
                    let kept = salts.iter().filter(|s| !(without_metal && s.of_metal));
                    kept.map(|s| (s.salt, s.share * self.amount(s.of)))
                        .collect()
                };
                let all = solutes(false);
                let density = mixture::density_kg_per_m3(&all, t);
                let viscosity = mixture::viscosity_pa_s(&all, density, t);
                let without = mixture::density_kg_per_m3(&solutes(true), t);
                let computed = |value, unit| Figure::new(value, unit, Grade::Computed, LALIBERTE);
                Properties {
                    density: computed(density, "kg/m3").uncertain(0.02),
                    viscosity: computed(viscosity, "Pa s").uncertain(0.15),
                    density_difference: 1.0 - without / density,
                }
            }
        }
    }

    /// The middle of the range of a constituent; nought of what is not in it.
    fn amount(&self, name: &str) -> f64 {
        let mut constituents = self.composition.iter();
        let found = constituents.find(|(constituent, _)| *constituent == name);
        found.map_or(0.0, |(_, range)| range.middle().value)
    }

    /// Diffusion coefficient of what carries the metal at a temperature, degC, and a viscosity, Pa s.
    pub(crate) fn diffusion(&self, t: f64, viscosity_pa_s: f64) -> Figure {
        let scaled = |dilute| scaled_diffusion_m2_per_s(dilute, t, viscosity_pa_s);
        match self.carrier {
            Carrier::Ion(ion, [below, above]) => {
                let value = scaled(ion.diffusion_dilute_m2_per_s());
                Figure::new(value, "m2/s", Grade::Computed, SCALED)
                    .between(below * value, above * value)
            }
            Carrier::Recalled(dilute) => {
                let figure = dilute.scaled(scaled(dilute.value) / dilute.value, "m2/s");
                Figure {
                    source: SCALED,
                    ..figure
                }
            }
        }
    }
}

/// From a named publication.
pub(super) const fn seen(low: f64, high: f64, unit: &'static str, source: &'static str) -> Range {
    Range::new(low, high, unit, Grade::Seen, source)
}

/// Seen in a data sheet or an article that cannot be cited.
pub(super) const fn uncited(
    low: f64,
    high: f64,
    unit: &'static str,
    source: &'static str,
) -> Range {
    Range::new(low, high, unit, Grade::Uncited, source)
}

/// From memory.
pub(super) const fn recalled(low: f64, high: f64, unit: &'static str) -> Range {
    Range::new(low, high, unit, Grade::Memory, "")
}

/// A figure from memory.
pub(super) const fn memory(value: f64, unit: &'static str) -> Figure {
    Figure::new(value, unit, Grade::Memory, "")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::SHEETS;
    use approx::assert_relative_eq;

    fn sheet(name: &str) -> Sheet {
        Sheet::find(name).unwrap()
    }

    #[test]
    fn every_salt_is_a_constituent() {
        for sheet in SHEETS {
            if let Makeup::Salts(salts) = sheet.makeup {
                for salt in salts {
                    assert!(sheet.amount(salt.of) > 0.0, "{} {}", sheet.name, salt.of);
                }
                let metal = salts.iter().any(|s| s.of_metal);
                assert!(metal, "{}", sheet.name);
            }
        }
    }

    /// The metal by its salts is that of the sheet: 250 g/L of NiSO4 6H2O hold 55.8 g/L of nickel, 30 g/L of
    /// NiCl2 6H2O 7.4 g/L (atomic weights).
    #[test]
    fn nickel_by_its_salts() {
        let watts = sheet("nickel watts");
        let nickel = 58.6934;
        let held = watts.amount("NiSO4 6H2O") * nickel / 262.85
            + watts.amount("NiCl2 6H2O") * nickel / 237.69;
        let told = watts.metal_g_per_l.middle().value;
        assert_relative_eq!(held, told, max_relative = 2e-3);
    }

    /// Watts nickel at 55 degC: 1.2 kg/L within 5 %, about the viscosity of water at room temperature, nickel
    /// diffuses at 5e-10 to 1e-9 m2/s (from memory); without its salts it is water.
    #[test]
    fn watts_nickel_as_a_liquid() {
        let watts = sheet("nickel watts");
        let p = watts.properties(55.0);
        assert_relative_eq!(p.density.value, 1156.1, max_relative = 1e-4);
        assert_relative_eq!(1e3 * p.viscosity.value, 1.0027, max_relative = 1e-3);
        assert_relative_eq!(
            p.density_difference,
            1.0 - 985.7 / 1156.1,
            max_relative = 1e-3
        );
        let d = watts.diffusion(55.0, p.viscosity.value);
        assert!((5e-10..1e-9).contains(&d.value), "{d}");
    }

    #[test]
    fn warmer_baths_are_thinner_and_faster() {
        for sheet in SHEETS {
            let [cool, warm] = [20.0, 40.0].map(|t| {
                let p = sheet.properties(t);
                let d = sheet.diffusion(t, p.viscosity.value);
                let [low, high] = d.band.unwrap();
                assert!(low < d.value && d.value < high);
                assert!(
                    (0.01..0.3).contains(&p.density_difference),
                    "{}",
                    sheet.name
                );
                [p.viscosity.value, d.value]
            });
            assert!(cool[0] > warm[0] && cool[1] < warm[1], "{}", sheet.name);
        }
    }
}
