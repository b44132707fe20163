//! Metals and Faraday's law.
//!
//! A current density `i` deposits, at current efficiency `e`, the thickness per time
//!
//! ```text
//! dh/dt = e i M / (z F rho)        mass per charge = M / (z F)
//! ```
//! with atomic weight `M`, electrons per atom `z`, Faraday constant `F`, density `rho`. Densities
//! are those of the bulk metal near 20 degC, of which tables differ by a tenth of a percent (nickel 8902
//! here, 8908 elsewhere; silver 10 500, 10 490; zinc 7133, 7140; the textbook's cases state their own).
//! Deposits can be 0 to 2 % lighter (common practice, no source).

use crate::constants::FARADAY_C_PER_MOL;
use crate::figure::{Figure, Grade};
use serde::Serialize;

/// A metal that is deposited.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Metal {
    /// Chemical symbol.
    pub symbol: &'static str,
    /// English name, lower case.
    pub name: &'static str,
    /// Bath and valence meant by `electrons_per_atom`.
    pub bath: &'static str,
    /// Atomic weight, g/mol.
    pub atomic_weight: Figure,
    /// Density, kg/m3.
    pub density: Figure,
    /// Electrons per deposited atom.
    pub electrons_per_atom: Figure,
    /// Resistivity of the bulk metal at 20 degC, ohm m.
    pub resistivity: Figure,
}

const WEIGHTS: &str =
    "IUPAC commission on isotopic abundances and atomic weights, as an open-source table quotes it";
const DENSITIES: &str = "specific gravities at 20 degC of an open-source element table";
const RESISTIVITIES: &str = "general resistivity table at 20 degC, two copies";

const fn metal(
    symbol: &'static str,
    name: &'static str,
    bath: &'static str,
    [weight_g_per_mol, density_kg_per_m3, electrons]: [f64; 3],
    resistivity: Figure,
) -> Metal {
    Metal {
        symbol,
        name,
        bath,
        atomic_weight: Figure::new(weight_g_per_mol, "g/mol", Grade::Seen, WEIGHTS),
        density: Figure::new(density_kg_per_m3, "kg/m3", Grade::Uncited, DENSITIES),
        electrons_per_atom: Figure::new(electrons, "", Grade::Practice, ""),
        resistivity,
    }
}

const fn seen_ohm_m(value: f64) -> Figure {
    Figure::new(value, "ohm m", Grade::Uncited, RESISTIVITIES)
}

const fn recalled_ohm_m(value: f64) -> Figure {
    Figure::new(value, "ohm m", Grade::Memory, "")
}

/// Copper, divalent (acid sulfate).
pub const COPPER: Metal = metal(
    "Cu",
    "copper",
    "acid sulfate, divalent",
    [63.546, 8960.0, 2.0],
    seen_ohm_m(1.68e-8),
);

/// Nickel, divalent (Watts, sulfamate).
pub const NICKEL: Metal = metal(
    "Ni",
    "nickel",
    "Watts or sulfamate, divalent",
    [58.6934, 8902.0, 2.0],
    seen_ohm_m(6.99e-8),
);

/// Silver, monovalent (cyanide).
pub const SILVER: Metal = metal(
    "Ag",
    "silver",
    "cyanide, monovalent",
    [107.8682, 10_500.0, 1.0],
    seen_ohm_m(1.59e-8),
);

/// Gold, monovalent (cyanide).
pub const GOLD: Metal = metal(
    "Au",
    "gold",
    "Au(I) cyanide, monovalent",
    [196.966_57, 19_300.0, 1.0],
    seen_ohm_m(2.44e-8),
);

/// Zinc, divalent.
pub const ZINC: Metal = metal(
    "Zn",
    "zinc",
    "acid chloride, sulfate or alkaline, divalent",
    [65.38, 7133.0, 2.0],
    seen_ohm_m(5.90e-8),
);

/// Tin, divalent (acid stannous).
pub const TIN: Metal = metal(
    "Sn",
    "tin",
    "acid stannous, divalent",
    [118.71, 7310.0, 2.0],
    seen_ohm_m(1.09e-7),
);

/// Iron, divalent.
pub const IRON: Metal = metal(
    "Fe",
    "iron",
    "ferrous chloride or sulfate, divalent",
    [55.845, 7874.0, 2.0],
    seen_ohm_m(1.0e-7),
);

/// Chromium, hexavalent (chromic acid).
pub const CHROMIUM: Metal = metal(
    "Cr",
    "chromium",
    "chromic acid, hexavalent",
    [51.9961, 7190.0, 6.0],
    recalled_ohm_m(1.25e-7),
);

/// Cobalt, divalent.
pub const COBALT: Metal = metal(
    "Co",
    "cobalt",
    "sulfate or sulfamate, divalent",
    [58.933_194, 8900.0, 2.0],
    recalled_ohm_m(6.24e-8),
);

impl Metal {
    /// Every metal known here.
    pub const ALL: [Metal; 9] = [
        COPPER, NICKEL, SILVER, GOLD, ZINC, TIN, IRON, CHROMIUM, COBALT,
    ];

    /// Finds a metal by symbol or English name, in any case.
    pub fn find(word: &str) -> Option<Metal> {
        Self::ALL
            .into_iter()
            .find(|m| m.symbol.eq_ignore_ascii_case(word) || m.name.eq_ignore_ascii_case(word))
    }

    /// Electrochemical equivalent `M/(zF)` at full efficiency, kg/C.
    pub fn equivalent_kg_per_c(&self) -> f64 {
        1e-3 * self.atomic_weight.value / (self.electrons_per_atom.value * FARADAY_C_PER_MOL)
    }

    /// Resistivity of the bulk metal at 20 degC, ohm m. A fresh deposit is more resistive: copper
    /// by up to a quarter, nickel that holds sulfur by up to a half (from memory).
    pub fn resistivity_ohm_m(&self) -> f64 {
        self.resistivity.value
    }

    /// Sheet resistance of so much bulk metal, ohm per square.
    pub fn sheet_resistance_ohm(&self, thickness_m: f64) -> f64 {
        self.resistivity_ohm_m() / thickness_m
    }

    /// Growth of the deposit, m/s, at a current density (magnitude, A/m2) and current efficiency
    /// (fraction).
    pub fn thickness_rate_m_per_s(&self, current_a_per_m2: f64, efficiency: f64) -> f64 {
        efficiency * current_a_per_m2 * self.equivalent_kg_per_c() / self.density.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const GRAM_PER_AH: f64 = 1e3 * 3600.0;
    const MICROMETRE_PER_HOUR: f64 = 1e6 * 3600.0;

    /// Symbol; density in kg/m3 used for the rate; g/Ah; um/h at 1 A/dm2; the two published
    /// figures: g/Ah and um/min at 1 A/dm2.
    ///
    /// Computed columns: eight digits from `M 3600/(zF)` and `i M/(z F rho)`. Published: a trade
    /// table of electrochemical equivalents and a surface-finishing tutorial table (2013) of
    /// theoretical plating rates, both seen.
    const TABLE: [(&str, f64, [f64; 4]); 8] = [
        ("Cu", 8960.0, [1.18549418, 13.2309619, 1.186, 0.222]),
        ("Ni", 8908.0, [1.0949656, 12.2919354, 1.095, 0.205]),
        ("Ag", 10490.0, [4.0247104, 38.3671154, 4.024, 0.639]),
        ("Au", 19300.0, [7.34909272, 38.0782006, 7.348, 0.635]),
        ("Zn", 7140.0, [1.21970871, 17.082755, 1.219, 0.286]),
        ("Sn", 7310.0, [2.21461641, 30.2957101, 2.214, 0.506]),
        ("Cr", 7190.0, [0.323340961, 4.49709264, 0.323, 0.076]),
        ("Fe", 7874.0, [1.04182675, 13.2312262, 1.042, 0.22]),
    ];

    #[test]
    fn equivalents_and_rates_agree_with_computed_and_published_tables() {
        for (symbol, density, [g_per_ah, um_per_h, published_g, published_um]) in TABLE {
            let mut metal = Metal::find(symbol).expect("a known metal");
            metal.density.value = density;
            let equivalent = metal.equivalent_kg_per_c() * GRAM_PER_AH;
            let rate = metal.thickness_rate_m_per_s(100.0, 1.0) * MICROMETRE_PER_HOUR;
            assert_relative_eq!(equivalent, g_per_ah, max_relative = 1e-8);
            assert_relative_eq!(rate, um_per_h, max_relative = 1e-8);
            // The table rounds or truncates to three decimals and rests on older constants.
            assert!((equivalent - published_g).abs() < 1.5e-3, "{symbol}");
            // The tutorial table uses rounder densities (Cr 7.1, Zn 7.1, Cu 8.92).
            assert_relative_eq!(rate / 60.0, published_um, max_relative = 0.015);
        }
    }

    /// "Electrotyping", Encyclopaedia Britannica, 11th ed. (1911), vol. 9: 10 A per square foot
    /// grows copper by 0.000563 inch an hour.
    #[test]
    fn copper_grows_as_the_1911_encyclopaedia_says() {
        let foot_m = 0.3048;
        let current = 10.0 / (foot_m * foot_m);
        let inch_per_h = COPPER.thickness_rate_m_per_s(current, 1.0) * 3600.0 / 0.0254;
        assert_relative_eq!(inch_per_h, 0.000563, max_relative = 0.01);
    }

    /// Worked example: nickel rack, 50 A for 1800 s at 95 %, two zones of 0.2 and 0.1 m2.
    #[test]
    fn charge_and_mass_balance_on_two_zones() {
        let mut nickel = NICKEL;
        nickel.density.value = 8908.0;
        let mass = 0.95 * 50.0 * 1800.0 * nickel.equivalent_kg_per_c();
        assert_relative_eq!(mass, 0.026005433104, max_relative = 1e-10);
        let first = 1800.0 * nickel.thickness_rate_m_per_s(125.0, 0.95);
        let second = 1800.0 * nickel.thickness_rate_m_per_s(250.0, 0.95);
        assert_relative_eq!(first, 7.2983366368e-6, max_relative = 1e-10);
        assert_relative_eq!(
            (0.2 * first + 0.1 * second) * nickel.density.value,
            mass,
            max_relative = 1e-14
        );
    }

    /// A micrometre of copper is 0.0168 ohm per square.
    #[test]
    fn a_thin_film_of_copper() {
        assert_relative_eq!(
            COPPER.sheet_resistance_ohm(1e-6),
            0.0168,
            max_relative = 1e-12
        );
    }

    #[test]
    fn found_by_symbol_or_name() {
        assert_eq!(Metal::find("copper"), Some(COPPER));
        assert_eq!(Metal::find("CU"), Some(COPPER));
        assert_eq!(Metal::find("unobtainium"), None);
    }
}
