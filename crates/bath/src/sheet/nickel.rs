//! Nickel: the Watts bath and the sulfamate bath.
//!
//! Sulfamate and Watts nickel throw about equally, moderately (J. Metal Finishing Soc. Japan 21,
//! no. 5, p. 286, abstract). A measured conductivity is always better than these ranges.
//!
//! Nickel is slow: deposition follows a Tafel line of about 0.12 V a decade with 0.5 to 0.7 V of overpotential at
//! the usual current densities (from memory; exchange current densities in the literature spread over decades).
//! Nearly all of the current is carried without a supporting salt, so that migration helps: the limiting current
//! is up to `1/(1 - t)` = 1.7 times that of diffusion (transport number 0.4, from memory), which is in the
//! band of the diffusion coefficient. Long before it the pH at the work rises and hydroxide is built in: burnt
//! deposits begin sooner than by depletion alone.
//!
//! Anodes are of nickel with a little sulfur, which stays active; pure nickel in a bath with little chloride
//! turns passive and evolves oxygen, of which sulfamate decomposes (from memory).

use super::kind::{
    Carrier, Dissolved, Dissolving, Makeup, Sheet, both_ways, memory, recalled, uncited,
};
use crate::anode::Habits;
use crate::anode::passivation::Passivation;
use crate::caution::{ELECTRICAL, HYDROGEN, NICKEL_SALTS};
use crate::figure::{Figure, Grade, Range};
use crate::metal::NICKEL;
use crate::mixture::{NICKEL_CHLORIDE, NICKEL_SULFATE};
use crate::parameter::Parameter;
use crate::transfer::Ion;

const SULFAMATE_SHEET: &str = "supplier's data sheet for a nickel sulfamate concentrate, undated";
const WATTS_ARTICLE: &str =
    "community-written encyclopaedia article on nickel electroplating, citing trade handbooks";

/// Ni2+ without a supporting salt: migration in the band.
const CARRIER: Carrier = Carrier::Ion(Ion::NICKEL, [0.7, 1.8]);
const SLOPE: Figure = memory(0.12, "V/decade").between(0.1, 0.14);
/// -0.257 V at 1 mol/L (CRC Handbook, recalled).
const METAL_V: Figure = memory(-0.25, "V").between(-0.27, -0.23);
const CHLORINE: &str = "of the chloride in the bath CHLORINE is made on insoluble anodes, which is poisonous: only in \
                        a bath without chloride, or behind a membrane, and under an exhaust";

const ANODE: Dissolving = Dissolving {
    habits: Habits {
        material: "nickel with sulfur",
        passive: "it may turn passive and evolve oxygen (pure nickel and baths with little chloride sooner)",
        too_much: "too much turns it passive; use more anode area, sulfur-bearing nickel, enough chloride",
        too_little: "little is no harm to it",
    },
    figures: &both_ways([
        memory(1.0, "A/m2").within_factor(10.0),
        memory(0.7, "").between(0.5, 1.0),
        memory(0.5, "").between(0.3, 0.7),
    ]),
    usual_current: recalled(0.0, 3.0, "A/dm2"),
    passivation: Passivation::From(memory(400.0, "A/m2").within_factor(2.0)),
};

/// Nickel sulfamate.
pub const SULFAMATE: Sheet = Sheet {
    name: "nickel sulfamate",
    metal: NICKEL,
    metal_g_per_l: uncited(75.0, 100.0, "g/L", SULFAMATE_SHEET),
    composition: &[
        (
            "nickel as metal",
            uncited(75.0, 100.0, "g/L", SULFAMATE_SHEET),
        ),
        ("NiCl2", uncited(15.0, 30.0, "g/L", SULFAMATE_SHEET)),
        ("H3BO3", uncited(26.0, 35.0, "g/L", SULFAMATE_SHEET)),
        ("pH", uncited(3.5, 4.5, "", SULFAMATE_SHEET)),
    ],
    temperature_c: uncited(40.0, 50.0, "degC", SULFAMATE_SHEET),
    current_a_per_dm2: uncited(2.0, 8.0, "A/dm2", SULFAMATE_SHEET),
    conductivity_s_per_m: recalled(5.0, 9.0, "S/m"),
    efficiency: recalled(0.95, 0.98, ""),
    carrier: CARRIER,
    // About 30 degrees Baume.
    makeup: Makeup::Recalled {
        density: memory(1250.0, "kg/m3").between(1200.0, 1300.0),
        viscosity: memory(2.2e-3, "Pa s").within_factor(1.3),
        lighter: 0.18,
    },
    transfer_figures: &[
        (
            Parameter::Exchange,
            memory(1e-3, "A/m2").within_factor(10.0),
        ),
        (Parameter::TafelSlope, SLOPE),
    ],
    metal_v: METAL_V,
    ph: 4.0,
    anode: ANODE,
    insoluble_caution: Some(CHLORINE),
    cautions: &[NICKEL_SALTS, HYDROGEN, ELECTRICAL],
};

/// Watts nickel; what is not said is as in sulfamate: the ion, its equilibrium, anodes, cautions.
pub const WATTS: Sheet = Sheet {
    name: "nickel watts",
    metal: NICKEL,
    metal_g_per_l: Range::new(57.6, 78.1, "g/L", Grade::Computed, "from the two salts"),
    composition: &[
        ("NiSO4 6H2O", uncited(225.0, 300.0, "g/L", WATTS_ARTICLE)),
        ("NiCl2 6H2O", uncited(30.0, 45.0, "g/L", WATTS_ARTICLE)),
        ("H3BO3", uncited(37.0, 52.0, "g/L", WATTS_ARTICLE)),
        (
            "pH (recalled for electroforming: 3.0 to 4.5)",
            uncited(4.7, 5.1, "", WATTS_ARTICLE),
        ),
    ],
    temperature_c: uncited(40.0, 65.0, "degC", WATTS_ARTICLE),
    current_a_per_dm2: uncited(2.0, 10.0, "A/dm2", WATTS_ARTICLE),
    conductivity_s_per_m: recalled(6.0, 11.0, "S/m"),
    efficiency: recalled(0.93, 0.97, ""),
    makeup: Makeup::Salts(&[
        Dissolved {
            of: "NiSO4 6H2O",
            salt: NICKEL_SULFATE,
            share: 154.756 / 262.848,
            of_metal: true,
        },
        Dissolved {
            of: "NiCl2 6H2O",
            salt: NICKEL_CHLORIDE,
            share: 129.599 / 237.691,
            of_metal: true,
        },
    ]),
    transfer_figures: &[
        (
            Parameter::Exchange,
            memory(3e-3, "A/m2").within_factor(10.0),
        ),
        (Parameter::TafelSlope, SLOPE),
    ],
    ..SULFAMATE
};
