//! Baths other than acid copper, as data: ranges with their sources, no property formulae.
//!
//! Sulfamate and Watts nickel throw about equally, moderately (J. Metal Finishing Soc. Japan 21,
//! no. 5, p. 286, abstract). A measured conductivity is always better than these ranges.

use crate::caution::{CYANIDE, Caution, DILUTION, ELECTRICAL, HYDROGEN, NICKEL_SALTS};
use crate::figure::{Figure, Grade, Range};
use crate::kinetics::{Branch, Transfer};
use crate::metal::{Metal, NICKEL, SILVER, TIN, ZINC};
use crate::parameter::Parameter;
use serde::Serialize;
use std::f64::consts::LN_10;

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
    /// Conductivity, S/m, where any figure is known.
    pub conductivity_s_per_m: Option<Range>,
    /// Cathode current efficiency, fraction.
    pub efficiency: Range,
    /// Exchange current density and Tafel slope of deposition, where any figure is known.
    pub transfer_figures: &'static [(Parameter, Figure)],
    /// Cautions.
    pub cautions: &'static [Caution],
}

const SULFAMATE: &str = "supplier's data sheet for a nickel sulfamate concentrate, undated";
const WATTS: &str =
    "community-written encyclopaedia article on nickel electroplating, citing trade handbooks";
const SILVER_CHAPTER: &str =
    "A. Blair, Silver Plating, Metal Finishing Guidebook 2011-2012, p. 240";

const fn seen(low: f64, high: f64, unit: &'static str, source: &'static str) -> Range {
    Range::new(low, high, unit, Grade::Seen, source)
}

/// Seen in a data sheet or an article that cannot be cited.
const fn uncited(low: f64, high: f64, unit: &'static str, source: &'static str) -> Range {
    Range::new(low, high, unit, Grade::Uncited, source)
}

const fn recalled(low: f64, high: f64, unit: &'static str) -> Range {
    Range::new(low, high, unit, Grade::Memory, "")
}

/// The sheets.
pub const SHEETS: [Sheet; 5] = [
    Sheet {
        name: "nickel sulfamate",
        metal: NICKEL,
        metal_g_per_l: uncited(75.0, 100.0, "g/L", SULFAMATE),
        composition: &[
            ("nickel as metal", uncited(75.0, 100.0, "g/L", SULFAMATE)),
            ("NiCl2", uncited(15.0, 30.0, "g/L", SULFAMATE)),
            ("H3BO3", uncited(26.0, 35.0, "g/L", SULFAMATE)),
            ("pH", uncited(3.5, 4.5, "", SULFAMATE)),
        ],
        temperature_c: uncited(40.0, 50.0, "degC", SULFAMATE),
        current_a_per_dm2: uncited(2.0, 8.0, "A/dm2", SULFAMATE),
        conductivity_s_per_m: Some(recalled(5.0, 9.0, "S/m")),
        efficiency: recalled(0.95, 0.98, ""),
        transfer_figures: &[
            (
                Parameter::Exchange,
                Figure::new(1e-3, "A/m2", Grade::Memory, "").within_factor(10.0),
            ),
            (
                Parameter::TafelSlope,
                Figure::new(0.12, "V/decade", Grade::Memory, ""),
            ),
        ],
        cautions: &[NICKEL_SALTS, HYDROGEN, ELECTRICAL],
    },
    Sheet {
        name: "nickel watts",
        metal: NICKEL,
        metal_g_per_l: Range::new(57.6, 78.1, "g/L", Grade::Computed, "from the two salts"),
        composition: &[
            ("NiSO4 6H2O", uncited(225.0, 300.0, "g/L", WATTS)),
            ("NiCl2 6H2O", uncited(30.0, 45.0, "g/L", WATTS)),
            ("H3BO3", uncited(37.0, 52.0, "g/L", WATTS)),
            (
                "pH (recalled for electroforming: 3.0 to 4.5)",
                uncited(4.7, 5.1, "", WATTS),
            ),
        ],
        temperature_c: uncited(40.0, 65.0, "degC", WATTS),
        current_a_per_dm2: uncited(2.0, 10.0, "A/dm2", WATTS),
        conductivity_s_per_m: Some(recalled(6.0, 11.0, "S/m")),
        efficiency: recalled(0.93, 0.97, ""),
        transfer_figures: &[],
        cautions: &[NICKEL_SALTS, HYDROGEN, ELECTRICAL],
    },
    Sheet {
        name: "silver cyanide",
        metal: SILVER,
        metal_g_per_l: seen(15.0, 40.0, "g/L", SILVER_CHAPTER),
        composition: &[
            (
                "silver as KAg(CN)2",
                seen(15.0, 40.0, "g/L", SILVER_CHAPTER),
            ),
            ("free KCN", seen(12.0, 120.0, "g/L", SILVER_CHAPTER)),
            ("K2CO3, at least", seen(15.0, 15.0, "g/L", SILVER_CHAPTER)),
        ],
        temperature_c: seen(20.0, 30.0, "degC", SILVER_CHAPTER),
        current_a_per_dm2: seen(0.5, 4.0, "A/dm2", SILVER_CHAPTER),
        conductivity_s_per_m: Some(recalled(8.0, 15.0, "S/m")),
        efficiency: recalled(0.98, 1.0, ""),
        transfer_figures: &[],
        cautions: &[CYANIDE, ELECTRICAL],
    },
    Sheet {
        name: "acid zinc",
        metal: ZINC,
        metal_g_per_l: recalled(20.0, 40.0, "g/L"),
        composition: &[
            ("zinc", recalled(20.0, 40.0, "g/L")),
            ("chloride", recalled(120.0, 160.0, "g/L")),
            ("H3BO3", recalled(20.0, 35.0, "g/L")),
        ],
        temperature_c: recalled(20.0, 35.0, "degC"),
        current_a_per_dm2: recalled(1.0, 6.0, "A/dm2"),
        conductivity_s_per_m: Some(recalled(10.0, 20.0, "S/m")),
        efficiency: recalled(0.93, 0.98, ""),
        transfer_figures: &[],
        cautions: &[HYDROGEN, ELECTRICAL],
    },
    Sheet {
        name: "acid tin",
        metal: TIN,
        metal_g_per_l: recalled(15.0, 45.0, "g/L"),
        composition: &[
            ("tin", recalled(15.0, 45.0, "g/L")),
            ("H2SO4", recalled(120.0, 200.0, "g/L")),
        ],
        temperature_c: recalled(15.0, 25.0, "degC"),
        current_a_per_dm2: recalled(1.0, 4.0, "A/dm2"),
        conductivity_s_per_m: None,
        efficiency: recalled(0.9, 1.0, ""),
        transfer_figures: &[],
        cautions: &[DILUTION, ELECTRICAL],
    },
];

impl Sheet {
    /// Cathodic charge transfer, if its two figures are known.
    pub fn transfer(&self) -> Option<Transfer> {
        let figure = |wanted| {
            let found = self
                .transfer_figures
                .iter()
                .find(|(name, _)| *name == wanted);
            found.map(|(_, figure)| figure.value)
        };
        Some(Transfer::Tafel {
            branch: Branch::Cathodic,
            exchange_a_per_m2: figure(Parameter::Exchange)?,
            slope_v: figure(Parameter::TafelSlope)? / LN_10,
        })
    }

    /// Finds a sheet by name.
    pub fn find(name: &str) -> Option<Sheet> {
        SHEETS.into_iter().find(|s| s.name == name)
    }
}
