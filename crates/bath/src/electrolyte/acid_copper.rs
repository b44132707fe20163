//! Acid copper sulfate: properties from composition and temperature.
//!
//! Copper dissolves and deposits in two steps, of which `Cu2+ + e -> Cu+` is the slow one
//! (abstract of a galvanostatic study at pH 1, not citable). The slow step makes the law Butler-Volmer with
//! unequal coefficients that add up to two:
//!
//! ```text
//! i  = i0 [exp(1.5 F u/RT) - (1 - i_c/i_L) exp(-0.5 F u/RT)]     i0 = 10 A/m2 (c / 1 mol/L)^0.42
//! ```
//! Form: E. Mattsson, J. O'M. Bockris, Trans. Faraday Soc. 55 (1959) 1586 (recalled); figures from
//! memory. Measured exchange current densities spread from 0.3 to 100 A/m2; one pulse study found
//! 0.34 and 0.24 A/m2 for the two steps (doi 10.1007/bf00620584, abstract seen). Below about 0.6
//! A/dm2 the polarisation depends on the starting surface (doi 10.1139/cjr43a-003, abstract seen).
//!
//! Hydrogen stands 0.342 V (recalled) below copper at 1 mol/L, and shifts with copper by
//! `RT/(2F) ln c`.

use super::amounts::{AcidCopper, CRYSTALS_PER_COPPER, CRYSTALS_PER_POWDER, Made};
use super::given::Given;
use super::ready::{Electrolyte, Fluid, Surfaces};
use crate::anode::Anode;
use crate::anode::dissolving::{COPPER_ANODE, COPPER_HABITS};
use crate::anode::insoluble::back_voltage;
use crate::anode::passivation;
use crate::caution::ACID_COPPER;
use crate::conductivity;
use crate::constants::thermal_voltage_v;
use crate::error::{BathError, positive};
use crate::figure::{Figure, Grade, Origin, Range};
use crate::kinetics::{Hydrogen, Polarisation, Transfer};
use crate::metal::COPPER;
use crate::parameter::Parameter;
use crate::solution::{Solution, TEMPERATURES};
use crate::subject::Subject;
use crate::transfer::{Liquid, copper_diffusion};
use crate::warning::Warning;
use std::f64::consts::LN_10;

/// Exchange current density of copper in a 1 mol/L bath without additives, A/m2.
const COPPER_EXCHANGE: Figure = Figure::new(
    10.0,
    "A/m2",
    Grade::Memory,
    "textbook figure at 1 mol/L, no additives",
)
.between(0.3, 100.0);
const COPPER_ALPHA_A: Figure = Figure::new(1.5, "", Grade::Memory, "");
/// From the slopes of 100 to 150 mV a decade that are told of baths without additives.
const COPPER_ALPHA_C: Figure = Figure::new(0.5, "", Grade::Memory, "").between(0.4, 0.6);
/// Exponent of the exchange current density in the copper concentration, from memory.
const COPPER_ORDER: f64 = 0.42;
/// Standard potential of Cu2+/Cu, V against the hydrogen electrode (CRC Handbook, recalled).
const COPPER_STANDARD_V: f64 = 0.342;
/// Exchange current density of hydrogen on copper, order of magnitude, A/m2.
const HYDROGEN_EXCHANGE: Figure =
    Figure::new(1e-3, "A/m2", Grade::Memory, "order of magnitude").within_factor(10.0);
/// Tafel slope of hydrogen on copper, V per decade.
const HYDROGEN_SLOPE: Figure = Figure::new(0.12, "V/decade", Grade::Memory, "");

/// Usual temperatures.
const USUAL_C: Range = Range::new(18.0, 40.0, "degC", Grade::Memory, "");
const RECIPES: &str = "Metal Finishing Guidebook 2011-2012, p. 206, and the other recipes here";
/// Salt in the recipes seen.
const USUAL_SALT: Range = Range::new(60.0, 248.0, "g/L", Grade::Seen, RECIPES);
/// Acid in the recipes seen.
const USUAL_ACID: Range = Range::new(11.0, 225.0, "g/L", Grade::Seen, RECIPES);
const LALIBERTE: &str = "Laliberte 2009, J. Chem. Eng. Data 54, 1725";

impl Electrolyte {
    /// Acid copper sulfate.
    ///
    /// # Errors
    /// Amounts or temperature beyond which nothing can be worked out; a given figure that makes no
    /// sense.
    pub fn acid_copper(
        amounts: AcidCopper,
        temperature_c: f64,
        given: &Given,
    ) -> Result<Self, BathError> {
        positive(Subject::CopperSulfate, amounts.copper_sulfate_g_per_l.value)?;
        let solution = Solution::new(
            amounts.copper_sulfate_g_per_l.value,
            amounts.acid_g_per_l.value,
            temperature_c,
        )?;
        let conductivity = match given.conductivity_s_per_m {
            Some(_) => None,
            None => Some(conductivity::estimate(&solution)?),
        };
        let efficiency = Figure::new(
            1.0,
            "",
            Grade::Seen,
            "Metal Finishing Guidebook 2011-2012, p. 206",
        );
        let bath = Self {
            name: "acid copper".into(),
            composition: composition(&amounts),
            usual_current: amounts.usual_current,
            fluid: fluid(&solution),
            concentration: Some(concentration(&amounts, &solution)),
            diffusion: Some(copper_diffusion(&solution)),
            liquid: Liquid {
                density_difference: Some(solution.density_difference()),
                ..Liquid::default()
            },
            warnings: warnings(&solution, given),
            cautions: ACID_COPPER,
            made_of: Some(Made {
                amounts,
                temperature_c,
                given: *given,
            }),
            ..Self::bare(COPPER, temperature_c, given, Some(efficiency), conductivity)?
        };
        let molar = 1e-3
            * given
                .concentration_mol_per_m3
                .unwrap_or(solution.copper_mol_per_m3());
        let exchange = COPPER_EXCHANGE.scaled(molar.powf(COPPER_ORDER), "A/m2");
        let transfer = Transfer::ButlerVolmer {
            exchange_a_per_m2: exchange.value,
            alpha_a: COPPER_ALPHA_A.value,
            alpha_c: COPPER_ALPHA_C.value,
            temperature_k: bath.temperature_k,
        };
        let shift = 0.5 * thermal_voltage_v(bath.temperature_k) * molar.ln();
        let surfaces = Surfaces {
            transfer: Some(transfer),
            hydrogen: Some(Hydrogen::new(
                HYDROGEN_EXCHANGE.value,
                HYDROGEN_SLOPE.value / LN_10,
                -COPPER_STANDARD_V - shift,
            )?),
        };
        let mut bath = bath.finished(given, surfaces)?;
        bath.polarisation_figures = vec![
            (Parameter::Exchange, exchange),
            (Parameter::AnodicTransfer, COPPER_ALPHA_A),
            (Parameter::CathodicTransfer, COPPER_ALPHA_C),
        ];
        if bath.hydrogen.is_some() && given.hydrogen == Some(super::given::Evolution::Usual) {
            bath.polarisation_figures.extend([
                (Parameter::HydrogenExchange, HYDROGEN_EXCHANGE),
                (Parameter::HydrogenSlope, HYDROGEN_SLOPE),
            ]);
        }
        let metal_v = Figure::new(COPPER_STANDARD_V + shift, "V", Grade::Recalled, "");
        // The second step of the acid is left out.
        let ph = -(1e-3 * solution.acid_mol_per_m3()).max(1e-7).log10();
        bath.back_voltage = Some(back_voltage(temperature_c, ph, metal_v));
        let films = bath.diffusion.zip(bath.film);
        bath.anode = Some(Anode {
            habits: COPPER_HABITS,
            polarisation: Polarisation::new(transfer, None)?.with_transfer_from(Origin::Bath),
            usual_current: COPPER_ANODE,
            passivation: films.map(|(d, film)| passivation::copper(&solution, d, film)),
            passivates_by_film: true,
            figures: &[],
        });
        Ok(bath)
    }
}

/// The amounts, with the salt by all its names.
fn composition(amounts: &AcidCopper) -> Vec<(&'static str, Figure)> {
    let salt = amounts.copper_sulfate_g_per_l;
    let same = |factor: f64| {
        let figure = salt.scaled(factor, "g/L");
        Figure {
            grade: Grade::Computed,
            source: "the same copper by another name",
            ..figure
        }
    };
    let mut list = vec![
        ("CuSO4 5H2O (blue crystals)", salt),
        ("= CuSO4 (anhydrous)", same(1.0 / CRYSTALS_PER_POWDER)),
        ("= copper", same(1.0 / CRYSTALS_PER_COPPER)),
        ("H2SO4", amounts.acid_g_per_l),
    ];
    list.extend(amounts.chloride_ppm.map(|c| ("chloride", c.middle())));
    list
}

/// Density and viscosity, as sure as the formulae.
fn fluid(solution: &Solution) -> Fluid {
    let figure = |value, unit| Figure::new(value, unit, Grade::Computed, LALIBERTE);
    Fluid {
        density: Some(figure(solution.density_kg_per_m3(), "kg/m3").uncertain(0.002)),
        viscosity: Some(figure(solution.viscosity_pa_s(), "Pa s").uncertain(0.05)),
    }
}

/// Copper in mol/m3, as sure as the amount of salt.
fn concentration(amounts: &AcidCopper, solution: &Solution) -> Figure {
    let value = solution.copper_mol_per_m3();
    let figure = Figure::new(value, "mol/m3", Grade::Computed, "from the composition");
    match amounts.copper_sulfate_g_per_l.relative_uncertainty {
        Some(relative) => figure.uncertain(relative),
        None => figure,
    }
}

fn warnings(solution: &Solution, given: &Given) -> Vec<Warning> {
    let unusual = "unusual for an acid copper bath";
    let t = solution.temperature_c();
    let extrapolated = "density, viscosity and diffusion are extrapolated";
    let mut warnings = Vec::new();
    warnings.extend(
        Warning::unless_within("temperature", t, TEMPERATURES, extrapolated)
            .or_else(|| Warning::unless_within("temperature", t, USUAL_C, unusual)),
    );
    if given.conductivity_s_per_m.is_none() {
        // The temperature has had its warning.
        let more = conductivity::warnings(solution);
        warnings.extend(more.into_iter().filter(|w| w.what != "temperature"));
    }
    for (what, amount, range) in [
        (
            "copper sulfate",
            solution.copper_sulfate_g_per_l(),
            USUAL_SALT,
        ),
        ("sulfuric acid", solution.acid_g_per_l(), USUAL_ACID),
    ] {
        if !warnings.iter().any(|w| w.what == what) {
            warnings.extend(Warning::unless_within(what, amount, range, unusual));
        }
    }
    warnings
}
