//! Silver from cyanide, zinc from acid chloride, tin from acid sulfate.
//!
//! * Silver comes as Ag(CN)2-, an anion that the field drives away from the work: only diffusion and stirring bring
//!   it. Its anodes need two free cyanide ions for each atom.
//! * Zinc and tin ions are fast by themselves; the brighteners and wetting agents that make their deposits usable
//!   slow them down by a factor that nobody tabulates, hence the widest bands here. Without additives tin grows in
//!   needles at any current density. The same figures serve methane sulfonate in place of sulfate, which holds as
//!   much tin (from memory).
//!
//! Figures of charge transfer are from memory: about 0.15 to 0.2 V of overpotential at the usual current densities.

use super::kind::{
    Carrier, Dissolved, Dissolving, Makeup, Sheet, both_ways, memory, recalled, seen,
};
use crate::anode::Habits;
use crate::anode::passivation::Passivation;
use crate::caution::{ACID_MIST, CYANIDE, CYANIDE_PRACTICE, DILUTION, ELECTRICAL, HYDROGEN};
use crate::figure::Figure;
use crate::metal::{SILVER, TIN, ZINC};
use crate::mixture::{POTASSIUM_CHLORIDE, ZINC_CHLORIDE};
use crate::parameter::Parameter;
use crate::transfer::Ion;

const SILVER_CHAPTER: &str =
    "A. Blair, Silver Plating, Metal Finishing Guidebook 2011-2012, p. 240";

/// Molar mass of KCN, g/mol (from atomic weights).
const CYANIDE_G_PER_MOL: f64 = 65.116;
/// The middle of the free cyanide of the sheet, g/L.
const FREE_CYANIDE_G_PER_L: f64 = 66.0;

/// A step of one electron, symmetric.
const SYMMETRIC: Figure = memory(0.5, "").between(0.35, 0.65);
const ONE_ELECTRON: [(Parameter, Figure); 3] = both_ways([
    memory(5.0, "A/m2").within_factor(10.0),
    SYMMETRIC,
    SYMMETRIC,
]);
const TWO_ELECTRONS: [(Parameter, Figure); 3] = both_ways([
    memory(10.0, "A/m2").between(0.5, 200.0),
    memory(1.5, "").between(1.35, 1.65),
    SYMMETRIC,
]);

/// Silver from cyanide.
pub const SILVER_CYANIDE: Sheet = Sheet {
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
    conductivity_s_per_m: recalled(8.0, 15.0, "S/m"),
    efficiency: recalled(0.98, 1.0, ""),
    carrier: Carrier::Ion(Ion::SILVER_CYANIDE, [0.6, 1.2]),
    makeup: Makeup::Recalled {
        density: memory(1080.0, "kg/m3").between(1040.0, 1130.0),
        viscosity: memory(1.05e-3, "Pa s").within_factor(1.2),
        lighter: 0.025,
    },
    transfer_figures: &ONE_ELECTRON,
    // -0.31 V at 1 mol/L of all (recalled), at the middle of the composition.
    metal_v: memory(-0.34, "V").between(-0.4, -0.25),
    ph: 11.5,
    anode: Dissolving {
        habits: Habits {
            material: "silver",
            passive: "free cyanide may run short in front of it and passivate it",
            too_much: "too much blackens it and uses up cyanide; use more anode area",
            too_little: "little is no harm to it",
        },
        figures: &ONE_ELECTRON,
        usual_current: recalled(0.0, 1.5, "A/dm2"),
        passivation: Passivation::Cyanide {
            free_mol_per_m3: 1e3 * FREE_CYANIDE_G_PER_L / CYANIDE_G_PER_MOL,
        },
    },
    insoluble_caution: Some(
        "an insoluble anode uses up alkali and destroys cyanide: pH and free cyanide fall; leave this to licensed \
         practice",
    ),
    cautions: &[CYANIDE, CYANIDE_PRACTICE, ELECTRICAL],
};

/// Zinc from acid chloride.
pub const ZINC_ACID: Sheet = Sheet {
    name: "acid zinc",
    metal: ZINC,
    metal_g_per_l: recalled(20.0, 40.0, "g/L"),
    composition: &[
        ("zinc", recalled(20.0, 40.0, "g/L")),
        ("KCl", recalled(185.0, 265.0, "g/L")),
        ("H3BO3", recalled(20.0, 35.0, "g/L")),
        ("pH", recalled(4.8, 5.8, "")),
    ],
    temperature_c: recalled(20.0, 35.0, "degC"),
    current_a_per_dm2: recalled(1.0, 6.0, "A/dm2"),
    conductivity_s_per_m: recalled(10.0, 20.0, "S/m"),
    efficiency: recalled(0.93, 0.98, ""),
    // Mostly as chloride complexes, which are slower or faster than Zn2+ by what is not known.
    carrier: Carrier::Ion(Ion::ZINC, [0.6, 1.6]),
    makeup: Makeup::Salts(&[
        Dissolved {
            of: "zinc",
            salt: ZINC_CHLORIDE,
            share: 136.28 / 65.38,
            of_metal: true,
        },
        Dissolved {
            of: "KCl",
            salt: POTASSIUM_CHLORIDE,
            share: 1.0,
            of_metal: false,
        },
    ]),
    transfer_figures: &TWO_ELECTRONS,
    // -0.762 V at 1 mol/L (CRC Handbook, recalled).
    metal_v: memory(-0.78, "V").between(-0.85, -0.76),
    ph: 5.3,
    anode: Dissolving {
        habits: Habits {
            material: "zinc",
            passive: "",
            too_much: "too much makes it crumble; use more anode area",
            too_little: "it dissolves in the bath without current, too: take it out when idle",
        },
        figures: &TWO_ELECTRONS,
        usual_current: recalled(0.0, 4.0, "A/dm2"),
        passivation: Passivation::Hardly,
    },
    insoluble_caution: Some(
        "in a chloride bath CHLORINE comes off insoluble anodes, which is poisonous: do not use them here",
    ),
    cautions: &[HYDROGEN, ELECTRICAL],
};

/// Tin from acid sulfate or methane sulfonate.
pub const TIN_ACID: Sheet = Sheet {
    name: "acid tin",
    metal: TIN,
    metal_g_per_l: recalled(15.0, 45.0, "g/L"),
    composition: &[
        ("tin", recalled(15.0, 45.0, "g/L")),
        ("H2SO4", recalled(120.0, 200.0, "g/L")),
    ],
    temperature_c: recalled(15.0, 25.0, "degC"),
    current_a_per_dm2: recalled(1.0, 4.0, "A/dm2"),
    conductivity_s_per_m: recalled(25.0, 55.0, "S/m"),
    efficiency: recalled(0.9, 1.0, ""),
    carrier: Carrier::Recalled(memory(7e-10, "m2/s").within_factor(1.5)),
    makeup: Makeup::Recalled {
        density: memory(1140.0, "kg/m3").between(1100.0, 1180.0),
        viscosity: memory(1.3e-3, "Pa s").within_factor(1.2),
        lighter: 0.035,
    },
    transfer_figures: &TWO_ELECTRONS,
    // -0.1375 V at 1 mol/L (CRC Handbook, recalled).
    metal_v: memory(-0.155, "V").between(-0.18, -0.13),
    ph: 0.0,
    anode: Dissolving {
        habits: Habits {
            material: "tin",
            passive: "it may turn passive and make stannic tin",
            too_much: "too much makes stannic tin, which clouds the bath; use more anode area",
            too_little: "little is no harm to it",
        },
        figures: &TWO_ELECTRONS,
        usual_current: recalled(0.0, 2.5, "A/dm2"),
        passivation: Passivation::From(memory(400.0, "A/m2").within_factor(2.0)),
    },
    insoluble_caution: Some(
        "an insoluble anode turns stannous tin into stannic tin, which clouds the bath and is not plated",
    ),
    cautions: &[ACID_MIST, DILUTION, ELECTRICAL],
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn free_cyanide_is_the_middle_of_the_sheet() {
        let (_, range) = SILVER_CYANIDE.composition[1];
        assert_eq!(range.middle().value, FREE_CYANIDE_G_PER_L);
    }
}
