//! What a bath is made of: amounts by what was weighed, and what of them a shop may change.

use super::given::Given;
use crate::figure::{Figure, Grade, Range};
use crate::metal::COPPER;
use crate::recipe::Recipe;
use crate::solution::{COPPER_SULFATE_G_PER_MOL, COPPER_SULFATE_PENTAHYDRATE_G_PER_MOL};
use serde::Serialize;

/// An amount of copper in the bath, g/L, by what was weighed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CopperSalt {
    /// CuSO4 5H2O, the blue crystals.
    Pentahydrate(f64),
    /// CuSO4 without water, the pale powder.
    Anhydrous(f64),
    /// Copper as metal, from an analysis.
    Metal(f64),
}

impl CopperSalt {
    /// The same amount as blue crystals, g/L.
    pub fn pentahydrate_g_per_l(self) -> f64 {
        match self {
            Self::Pentahydrate(amount) => amount,
            Self::Anhydrous(amount) => amount * CRYSTALS_PER_POWDER,
            Self::Metal(amount) => amount * CRYSTALS_PER_COPPER,
        }
    }

    fn figure(self) -> Figure {
        let value = self.pentahydrate_g_per_l();
        match self {
            Self::Pentahydrate(_) => Figure::given(value, "g/L"),
            Self::Anhydrous(_) => Figure::new(
                value,
                "g/L",
                Grade::Computed,
                "from the anhydrous salt given",
            ),
            Self::Metal(_) => Figure::new(value, "g/L", Grade::Computed, "from the copper given"),
        }
    }
}

pub(super) const CRYSTALS_PER_POWDER: f64 =
    COPPER_SULFATE_PENTAHYDRATE_G_PER_MOL / COPPER_SULFATE_G_PER_MOL;
pub(super) const CRYSTALS_PER_COPPER: f64 =
    COPPER_SULFATE_PENTAHYDRATE_G_PER_MOL / COPPER.atomic_weight.value;

/// Amounts of an acid copper bath.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AcidCopper {
    /// CuSO4 5H2O, g/L.
    pub copper_sulfate_g_per_l: Figure,
    /// H2SO4, g/L.
    pub acid_g_per_l: Figure,
    /// Chloride of the recipe, ppm. It changes how additives work and is not computed with.
    pub chloride_ppm: Option<Range>,
    /// Usual cathode current density of the recipe, A/dm2.
    pub usual_current: Option<Range>,
}

impl AcidCopper {
    /// The middle of a recipe.
    pub fn of_recipe(recipe: &Recipe) -> Self {
        Self {
            copper_sulfate_g_per_l: recipe.copper_sulfate_g_per_l.middle(),
            acid_g_per_l: recipe.acid_g_per_l.middle(),
            chloride_ppm: recipe.chloride_ppm,
            usual_current: recipe.current_a_per_dm2,
        }
    }

    /// Amounts the user gave; acid in g/L of H2SO4.
    pub fn given(salt: CopperSalt, acid_g_per_l: f64) -> Self {
        Self {
            copper_sulfate_g_per_l: salt.figure(),
            acid_g_per_l: Figure::given(acid_g_per_l, "g/L"),
            chloride_ppm: None,
            usual_current: None,
        }
    }
}

/// What of a bath a shop changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Adjustment {
    /// Its temperature.
    Temperature,
    /// CuSO4 5H2O.
    CopperSulfate,
    /// H2SO4.
    SulfuricAcid,
}

impl Adjustment {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Temperature, Self::CopperSulfate, Self::SulfuricAcid];

    /// Its name, as warnings have it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::CopperSulfate => "copper sulfate",
            Self::SulfuricAcid => "sulfuric acid",
        }
    }

    /// Unit of [`Electrolyte::adjustable`](super::Electrolyte::adjustable).
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Temperature => "degC",
            Self::CopperSulfate | Self::SulfuricAcid => "g/L",
        }
    }
}

/// What a bath was made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Made {
    pub amounts: AcidCopper,
    pub temperature_c: f64,
    pub given: Given,
}

impl Made {
    /// The number of something, to be read or changed.
    pub fn value(&mut self, what: Adjustment) -> &mut f64 {
        match what {
            Adjustment::Temperature => &mut self.temperature_c,
            Adjustment::CopperSulfate => &mut self.amounts.copper_sulfate_g_per_l.value,
            Adjustment::SulfuricAcid => &mut self.amounts.acid_g_per_l.value,
        }
    }
}
