//! One bath at one temperature: every figure a computation needs, each with its grade.

use crate::caution::{ACID_COPPER, Caution, ELECTRICAL};
use crate::conductivity;
use crate::constants::ZERO_CELSIUS_K;
use crate::error::{BathError, positive, within};
use crate::figure::{Figure, Grade};
use crate::kinetics::{Limit, Polarisation, Transfer};
use crate::metal::{COPPER, Metal};
use crate::recipe::Recipe;
use crate::sheet::Sheet;
use crate::solution::Solution;
use crate::transfer::{Agitation, copper_diffusion, limiting_current_a_per_m2};
use serde::Serialize;

/// A bath ready for use.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Electrolyte {
    /// What it is called.
    pub name: String,
    /// Metal deposited.
    pub metal: Metal,
    /// Temperature, K.
    pub temperature_k: f64,
    /// Constituents, g/L.
    pub composition: Vec<(&'static str, Figure)>,
    /// Current efficiency of deposition, fraction.
    pub efficiency: Figure,
    /// Conductivity, S/m.
    pub conductivity: Figure,
    /// Density, kg/m3.
    pub density: Option<Figure>,
    /// Dynamic viscosity, Pa s.
    pub viscosity: Option<Figure>,
    /// Concentration of the metal, mol/m3.
    pub concentration: Option<Figure>,
    /// Diffusion coefficient of the metal ion, m2/s.
    pub diffusion: Option<Figure>,
    /// Diffusion film on the work, m.
    pub film: Option<Figure>,
    /// Limiting current density of deposition, A/m2; none where the agitation is unknown.
    pub limiting_current: Option<Figure>,
    /// Polarisation of the work, where one is known.
    pub polarisation: Option<Polarisation>,
    /// Figures behind the polarisation.
    pub polarisation_figures: Vec<(&'static str, Figure)>,
    /// Cautions.
    pub cautions: &'static [Caution],
}

/// What the user knows better than the tables. Each figure replaces the built-in one.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Given {
    /// Agitation; without it no limiting current is assumed.
    pub agitation: Option<Agitation>,
    /// Measured conductivity, S/m.
    pub conductivity_s_per_m: Option<f64>,
    /// Current efficiency of deposition, fraction.
    pub efficiency: Option<f64>,
    /// Concentration of the metal, mol/m3.
    pub concentration_mol_per_m3: Option<f64>,
    /// Diffusion coefficient of the metal ion, m2/s.
    pub diffusion_m2_per_s: Option<f64>,
    /// Limiting current density of deposition, A/m2.
    pub limiting_current_a_per_m2: Option<f64>,
}

/// Amounts of an acid copper bath.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AcidCopper {
    /// CuSO4 5H2O, g/L.
    pub copper_sulfate_g_per_l: Figure,
    /// H2SO4, g/L.
    pub acid_g_per_l: Figure,
}

impl AcidCopper {
    /// The middle of a recipe.
    pub fn of_recipe(recipe: &Recipe) -> Self {
        Self {
            copper_sulfate_g_per_l: recipe.copper_sulfate_g_per_l.middle(),
            acid_g_per_l: recipe.acid_g_per_l.middle(),
        }
    }

    /// Amounts the user gave, g/L.
    pub fn given(copper_sulfate_g_per_l: f64, acid_g_per_l: f64) -> Self {
        Self {
            copper_sulfate_g_per_l: Figure::given(copper_sulfate_g_per_l, "g/L"),
            acid_g_per_l: Figure::given(acid_g_per_l, "g/L"),
        }
    }
}

/// Exchange current density of copper in a 1 mol/L bath without additives, A/m2.
const COPPER_EXCHANGE: Figure = Figure::new(
    10.0,
    "A/m2",
    Grade::Memory,
    "textbook figure at 1 mol/L; measured values spread from 0.3 to 100",
);
const COPPER_ALPHA_A: Figure = Figure::new(1.5, "", Grade::Memory, "");
const COPPER_ALPHA_C: Figure = Figure::new(0.5, "", Grade::Memory, "");
/// Exponent of the exchange current density in the copper concentration, from memory.
const COPPER_ORDER: f64 = 0.42;

impl Electrolyte {
    /// Acid copper sulfate.
    ///
    /// Polarisation of the work: Butler-Volmer with `alpha_a` 1.5, `alpha_c` 0.5 and
    /// `i0 = 10 A/m2 (c / 1 mol/L)^0.42` (form of E. Mattsson, J. O'M. Bockris, Trans. Faraday Soc.
    /// 55 (1959) 1586, recalled; figures from memory), with the limiting current of the film.
    ///
    /// # Errors
    /// Amounts or temperature outside the data; a given figure that makes no sense.
    pub fn acid_copper(
        amounts: AcidCopper,
        temperature_c: f64,
        given: &Given,
    ) -> Result<Self, BathError> {
        positive(
            "copper sulfate in g/L",
            amounts.copper_sulfate_g_per_l.value,
        )?;
        let solution = Solution::new(
            amounts.copper_sulfate_g_per_l.value,
            amounts.acid_g_per_l.value,
            temperature_c,
        )?;
        let conductivity = match given.conductivity_s_per_m {
            Some(_) => None,
            None => Some(conductivity::estimate(&solution)?),
        };
        let laliberte = "Laliberte 2009, J. Chem. Eng. Data 54, 1725";
        let concentration = given_or(
            "copper concentration in mol/m3",
            given.concentration_mol_per_m3,
            "mol/m3",
            Some(Figure::new(
                solution.copper_mol_per_m3(),
                "mol/m3",
                Grade::Computed,
                "from the composition",
            )),
        )?;
        let concentration_mol_per_m3 = concentration.map_or(0.0, |c| c.value);
        let exchange = Figure {
            value: COPPER_EXCHANGE.value * (1e-3 * concentration_mol_per_m3).powf(COPPER_ORDER),
            ..COPPER_EXCHANGE
        };
        let bath = Self {
            name: "acid copper".into(),
            composition: vec![
                ("CuSO4 5H2O", amounts.copper_sulfate_g_per_l),
                ("H2SO4", amounts.acid_g_per_l),
            ],
            density: Some(Figure::new(
                solution.density_kg_per_m3(),
                "kg/m3",
                Grade::Computed,
                laliberte,
            )),
            viscosity: Some(Figure::new(
                solution.viscosity_pa_s(),
                "Pa s",
                Grade::Computed,
                laliberte,
            )),
            concentration,
            diffusion: Some(copper_diffusion(&solution)),
            polarisation_figures: vec![
                ("exchange current density", exchange),
                ("anodic transfer coefficient", COPPER_ALPHA_A),
                ("cathodic transfer coefficient", COPPER_ALPHA_C),
            ],
            cautions: ACID_COPPER,
            ..Self::bare(
                COPPER,
                temperature_c,
                given,
                Some(Figure::new(
                    1.0,
                    "",
                    Grade::Seen,
                    "essentially 100 %: Surface Finishing Guidebook 2011-2012, p. 206",
                )),
                conductivity,
            )?
        };
        let transfer = Transfer::ButlerVolmer {
            exchange_a_per_m2: exchange.value,
            alpha_a: COPPER_ALPHA_A.value,
            alpha_c: COPPER_ALPHA_C.value,
            temperature_k: bath.temperature_k,
        };
        bath.finished(given, Some(transfer))
    }

    /// A bath known only by its sheet, at the middle of its ranges.
    ///
    /// # Errors
    /// A conductivity neither known nor given; a figure that makes no sense.
    pub fn of_sheet(
        sheet: &Sheet,
        temperature_c: Option<f64>,
        given: &Given,
    ) -> Result<Self, BathError> {
        let bath = Self {
            name: sheet.name.into(),
            composition: sheet
                .composition
                .iter()
                .map(|(name, range)| (*name, range.middle()))
                .collect(),
            cautions: sheet.cautions,
            ..Self::bare(
                sheet.metal,
                temperature_c.unwrap_or(sheet.temperature_c.middle().value),
                given,
                Some(sheet.efficiency.middle()),
                sheet.conductivity_s_per_m.map(|r| r.middle()),
            )?
        };
        bath.finished(given, sheet.transfer)
    }

    /// A bath of which everything is given: at least the conductivity. Without an efficiency the
    /// deposit is taken to use all the current.
    ///
    /// # Errors
    /// No conductivity; a figure that makes no sense.
    pub fn custom(metal: Metal, temperature_c: f64, given: &Given) -> Result<Self, BathError> {
        let full = Figure::new(1.0, "", Grade::Computed, "assumed: nothing given");
        let bath = Self {
            name: "custom".into(),
            ..Self::bare(metal, temperature_c, given, Some(full), None)?
        };
        bath.finished(given, None)
    }

    /// The part common to all baths, other fields empty.
    fn bare(
        metal: Metal,
        temperature_c: f64,
        given: &Given,
        efficiency: Option<Figure>,
        conductivity: Option<Figure>,
    ) -> Result<Self, BathError> {
        within("temperature in degC", temperature_c, 0.0, 120.0)?;
        let required = |figure: Option<Figure>, what| figure.ok_or(BathError::Missing { what });
        let efficiency = required(
            given_or("current efficiency", given.efficiency, "", efficiency)?,
            "current efficiency",
        )?;
        if efficiency.value > 1.0 {
            within("current efficiency", efficiency.value, 0.0, 1.0)?;
        }
        let conductivity = required(
            given_or(
                "conductivity in S/m",
                given.conductivity_s_per_m,
                "S/m",
                conductivity,
            )?,
            "conductivity",
        )?;
        Ok(Self {
            name: String::new(),
            metal,
            temperature_k: temperature_c + ZERO_CELSIUS_K,
            composition: Vec::new(),
            efficiency,
            conductivity,
            density: None,
            viscosity: None,
            concentration: None,
            diffusion: None,
            film: None,
            limiting_current: None,
            polarisation: None,
            polarisation_figures: Vec::new(),
            cautions: &[ELECTRICAL],
        })
    }

    /// Adds what follows from the rest: film, limiting current, polarisation.
    fn finished(mut self, given: &Given, transfer: Option<Transfer>) -> Result<Self, BathError> {
        self.concentration = given_or(
            "metal concentration in mol/m3",
            given.concentration_mol_per_m3,
            "mol/m3",
            self.concentration,
        )?;
        self.diffusion = given_or(
            "diffusion coefficient in m2/s",
            given.diffusion_m2_per_s,
            "m2/s",
            self.diffusion,
        )?;
        self.film = given.agitation.map(|a| a.film()).transpose()?;
        self.limiting_current = given_or(
            "limiting current density in A/m2",
            given.limiting_current_a_per_m2,
            "A/m2",
            self.film_limit(),
        )?;
        let limit = self.limiting_current.map(|figure| Limit {
            current_a_per_m2: figure.value,
            film_voltage_v: None,
        });
        self.polarisation = transfer
            .map(|transfer| Polarisation::new(transfer, limit))
            .transpose()?;
        Ok(self)
    }

    /// Limiting current of the film, with the uncertainties of its factors added in quadrature.
    fn film_limit(&self) -> Option<Figure> {
        let (concentration, diffusion, film) = (self.concentration?, self.diffusion?, self.film?);
        let spread = [concentration, diffusion, film]
            .iter()
            .map(|f| f.relative_uncertainty.unwrap_or(0.0).powi(2))
            .sum::<f64>()
            .sqrt();
        let value = limiting_current_a_per_m2(
            self.metal.electrons_per_atom.value,
            diffusion.value,
            concentration.value,
            film.value,
        );
        let figure = Figure::new(value, "A/m2", Grade::Computed, "z F D c / film");
        Some(if spread > 0.0 {
            figure.uncertain(spread)
        } else {
            figure
        })
    }
}

/// The given figure if there is one (and it is positive), else the built-in one.
fn given_or(
    what: &'static str,
    given: Option<f64>,
    unit: &'static str,
    builtin: Option<Figure>,
) -> Result<Option<Figure>, BathError> {
    match given {
        Some(value) => Ok(Some(Figure::given(positive(what, value)?, unit))),
        None => Ok(builtin),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::metal::SILVER;
    use crate::recipe::RECIPES;
    use crate::sheet::SHEETS;
    use approx::assert_relative_eq;

    fn standard(given: &Given) -> Electrolyte {
        Electrolyte::acid_copper(AcidCopper::given(200.0, 50.0), 25.0, given).unwrap()
    }

    #[test]
    fn still_acid_copper_has_a_limit_and_a_law() {
        let bath = standard(&Given {
            agitation: Some(Agitation::Film(1.67e-4)),
            ..Given::default()
        });
        let limit = bath.limiting_current.unwrap();
        // The film of laminar free convection on 0.3 m gives 381 A/m2 (worked out independently).
        assert_relative_eq!(limit.value, 381.0, max_relative = 5e-3);
        assert_relative_eq!(limit.relative_uncertainty.unwrap(), 0.25);
        let law = bath.polarisation.unwrap();
        assert_eq!(law.limit().unwrap().current_a_per_m2, limit.value);
        assert!(law.at_drop(-0.1).current_a_per_m2 < 0.0);
    }

    #[test]
    fn no_agitation_no_limit() {
        let bath = standard(&Given::default());
        assert_eq!(bath.limiting_current, None);
        assert_eq!(bath.polarisation.unwrap().limit(), None);
    }

    #[test]
    fn given_figures_win() {
        let bath = standard(&Given {
            conductivity_s_per_m: Some(15.5),
            efficiency: Some(0.97),
            ..Given::default()
        });
        assert_eq!(bath.conductivity, Figure::given(15.5, "S/m"));
        assert_eq!(bath.efficiency.grade, Grade::Given);
    }

    #[test]
    fn every_recipe_and_sheet_can_be_used() {
        let measured = Given {
            conductivity_s_per_m: Some(10.0),
            ..Given::default()
        };
        for recipe in RECIPES {
            let amounts = AcidCopper::of_recipe(&recipe);
            assert!(Electrolyte::acid_copper(amounts, 25.0, &measured).is_ok());
        }
        for sheet in SHEETS {
            assert!(Electrolyte::of_sheet(&sheet, None, &measured).is_ok());
        }
        let tin = Sheet::find("acid tin").unwrap();
        assert_eq!(
            Electrolyte::of_sheet(&tin, None, &Given::default()),
            Err(BathError::Missing {
                what: "conductivity"
            })
        );
    }

    #[test]
    fn the_cyanide_bath_warns_first_of_cyanide() {
        let silver = Sheet::find("silver cyanide").unwrap();
        let bath = Electrolyte::of_sheet(&silver, None, &Given::default()).unwrap();
        assert!(bath.cautions[0].text.contains("Never acidify"));
    }

    #[test]
    fn custom_baths_need_a_conductivity_and_sense() {
        assert!(Electrolyte::custom(SILVER, 25.0, &Given::default()).is_err());
        let given = |efficiency| Given {
            conductivity_s_per_m: Some(12.0),
            efficiency: Some(efficiency),
            ..Given::default()
        };
        assert!(Electrolyte::custom(SILVER, 25.0, &given(1.2)).is_err());
        assert!(Electrolyte::custom(SILVER, 25.0, &given(0.98)).is_ok());
    }
}
