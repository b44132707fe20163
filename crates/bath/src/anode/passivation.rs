//! From which current density an anode may stop dissolving.
//!
//! Copper passivates when the copper sulfate in front of it no longer dissolves: a salt film of
//! CuSO4 5H2O forms, then Cu2O (a summary of work on refinery electrolyte, not citable). Silver in cyanide
//! takes two cyanide ions for each atom: where diffusion brings no more of them, it goes black and passive.
//! Film models give the current densities at which that begins:
//!
//! ```text
//! copper   i_p = z F D (c_s - c)/delta        c_s = (1400 - 3 a)(1 + 0.017 (t - 25)) mol/m3
//! silver   i_p = F D_CN c_CN / (2 delta)
//! ```
//! with `a` g/L of acid and `t` in degC. The solubility is from memory, hence a band of a factor
//! of two. Other metals have a figure of their own, or none.

use crate::figure::{Figure, Grade};
use crate::solution::Solution;
use crate::transfer::{Ion, limiting_current_a_per_m2, scaled_diffusion_m2_per_s};
use serde::Serialize;

/// How the anodes of a bath passivate.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Passivation {
    /// From about a current density, A/m2.
    From(Figure),
    /// Where free cyanide runs short, of which the bath holds so much, mol/m3.
    Cyanide {
        /// Free cyanide, mol/m3.
        free_mol_per_m3: f64,
    },
    /// Not at current densities that are used.
    Hardly,
}

impl Passivation {
    /// Does the film in front of the anode decide?
    pub(crate) fn goes_by_film(&self) -> bool {
        matches!(self, Self::Cyanide { .. })
    }

    /// The current density, A/m2, in a bath of a temperature, viscosity and film; nothing where it is not
    /// known or does not matter.
    pub(crate) fn at(
        &self,
        temperature_c: f64,
        viscosity_pa_s: Option<f64>,
        film: Option<Figure>,
    ) -> Option<Figure> {
        match *self {
            Self::From(figure) => Some(figure),
            Self::Hardly => None,
            Self::Cyanide { free_mol_per_m3 } => {
                let dilute = Ion::CYANIDE.diffusion_dilute_m2_per_s();
                let d = scaled_diffusion_m2_per_s(dilute, temperature_c, viscosity_pa_s?);
                Some(cyanide(d, free_mol_per_m3, film?.value))
            }
        }
    }
}

/// Current density at which free cyanide runs short on silver, behind a diffusion film.
fn cyanide(diffusion_m2_per_s: f64, free_mol_per_m3: f64, film_m: f64) -> Figure {
    Figure::new(
        limiting_current_a_per_m2(0.5, diffusion_m2_per_s, free_mol_per_m3, film_m),
        "A/m2",
        Grade::Computed,
        "two cyanide ions for each atom of silver, behind the film of the work",
    )
    .within_factor(2.0)
}

/// How much copper sulfate dissolves beside so much acid, mol/m3.
fn soluble_mol_per_m3(acid_g_per_l: f64, temperature_c: f64) -> f64 {
    let warmth = 1.0 + 0.017 * (temperature_c - 25.0);
    (1400.0 - 3.0 * acid_g_per_l).max(0.0) * warmth
}

/// Current density at which a salt film forms on copper, behind a diffusion film.
pub(crate) fn copper(bath: &Solution, diffusion: Figure, film: Figure) -> Figure {
    let soluble = soluble_mol_per_m3(bath.acid_g_per_l(), bath.temperature_c());
    let room = (soluble - bath.copper_mol_per_m3()).max(0.0);
    Figure::new(
        limiting_current_a_per_m2(2.0, diffusion.value, room, film.value),
        "A/m2",
        Grade::Memory,
        "film model with a recalled solubility",
    )
    .within_factor(2.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Handbooks give 1.26 mol of copper sulfate a kg of water at 20 degC and 1.502 mol at 30 degC (from memory);
    /// a kg of water makes about a litre of solution. 3 %.
    #[test]
    fn copper_sulfate_in_water() {
        for (celsius, molal) in [(20.0, 1.26), (30.0, 1.502)] {
            let found = soluble_mol_per_m3(0.0, celsius);
            assert_relative_eq!(found, 1e3 * molal, max_relative = 0.03);
        }
    }

    /// In a still bath of 200/50 the salt film begins within the usual range of densities.
    #[test]
    fn passivation_of_a_still_bath() {
        let bath = Solution::new(200.0, 50.0, 25.0).unwrap();
        let d = Figure::given(4.12e-10, "m2/s");
        let film = Figure::given(1.7e-4, "m");
        let limit = copper(&bath, d, film).value;
        assert!((100.0..300.0).contains(&limit), "{limit}");
        // More copper or more acid leaves less room.
        let richer = Solution::new(240.0, 50.0, 25.0).unwrap();
        let sourer = Solution::new(200.0, 150.0, 25.0).unwrap();
        assert!(copper(&richer, d, film).value < limit);
        assert!(copper(&sourer, d, film).value < limit);
    }

    /// Two moles of cyanide a mole of silver: at 1 mol/L, 2e-9 m2/s and 0.1 mm, 9.65 A/dm2.
    #[test]
    fn silver_takes_two_cyanides() {
        assert_relative_eq!(
            cyanide(2e-9, 1000.0, 1e-4).value,
            964.85,
            max_relative = 1e-4
        );
        let rule = Passivation::Cyanide {
            free_mol_per_m3: 1000.0,
        };
        let film = Some(Figure::given(1e-4, "m"));
        // The still bath of a word needs a film, and a viscosity to scale with.
        assert!(rule.at(25.0, Some(1e-3), film).is_some());
        assert_eq!(rule.at(25.0, Some(1e-3), None), None);
        assert_eq!(rule.at(25.0, None, film), None);
    }
}
