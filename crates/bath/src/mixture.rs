//! Density and viscosity of water with salts and acids.
//!
//! M. Laliberte, "A Model for Calculating the Heat Capacity of Aqueous Solutions, with Updated
//! Density and Viscosity Data", J. Chem. Eng. Data 54 (2009) 1725-1760, doi 10.1021/je8008123
//! (equations and coefficients read from an open-source library that cites the paper). With mass
//! fractions `w`, temperature `t` in degC, densities in kg/m3, viscosities in mPa s:
//!
//! ```text
//! 1/rho  = w_w/rho_w + sum w_i/rho_i
//! rho_i  = (c0 (1-w_w) + c1) exp(1e-6 (t+c4)^2) / ((1-w_w) + c2 + c3 t)
//! ln mu  = w_w ln mu_w + sum w_i ln mu_i
//! mu_i   = exp((v1 (1-w_w)^v2 + v3)/(v4 t + 1)) / (v5 (1-w_w)^v6 + 1)
//! ```
//! A recipe is written per volume, so mass fractions follow from `w_i = c_i / rho` by iteration.

use serde::Serialize;

/// Coefficients of one solute, counted without crystal water.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Solute {
    density: [f64; 5],
    viscosity: [f64; 6],
}

/// CuSO4.
pub const COPPER_SULFATE: Solute = Solute {
    density: [
        -1.12078294150285e-06,
        6.06850590612117e-07,
        -0.118863232463814,
        0.00378050075860551,
        4763.96073964247,
    ],
    viscosity: [
        -129.887304522306,
        4.03019620382679,
        10.0198805903145,
        0.0610164993094959,
        -2125.99296251778,
        9.16965653838287,
    ],
};

/// H2SO4.
pub const SULFURIC_ACID: Solute = Solute {
    density: [
        70.8395152347122,
        142.352693909248,
        0.68779459618793,
        0.00649299683206703,
        1667.23864629522,
    ],
    viscosity: [
        7.77699477516578,
        1.23443056779035,
        1.91643392633129,
        0.00563631536944214,
        46.0065393457232,
        2.83071965329322,
    ],
};

/// NiSO4; data up to 35 % and from 15 to 60 degC.
pub const NICKEL_SULFATE: Solute = Solute {
    density: [
        -0.0401410237214016,
        0.222743683226075,
        -0.144336817253579,
        0.000986517827689712,
        3072.83762271097,
    ],
    viscosity: [
        26.187439990599,
        1.8869958550977,
        5.31082558854858,
        0.0102519361469226,
        -0.314588064937243,
        0.414650939570491,
    ],
};

/// NiCl2; data up to 41 % and from 15 to 50 degC (density to 75).
pub const NICKEL_CHLORIDE: Solute = Solute {
    density: [
        639.415869392635,
        424.594017007811,
        0.1040336744447,
        0.000749998743310398,
        1235.74452374578,
    ],
    viscosity: [
        59.3549674953021,
        3.81649629479918,
        5.72113412213212,
        0.0087645991700653,
        0.451772192574947,
        -0.936508514878937,
    ],
};

/// ZnCl2; data up to 52 % and from 15 to 75 degC, of the viscosity at 25 degC only.
pub const ZINC_CHLORIDE: Solute = Solute {
    density: [
        2048.25617083301,
        367.89930516684,
        -0.00687080489664351,
        0.00118355512010183,
        505.031662947486,
    ],
    viscosity: [
        12.6973981828472,
        2.82446113664577,
        2.81954626448774,
        0.00837125445019256,
        7.38504679431372,
        2.06966863585972,
    ],
};

/// KCl; data up to 26 % and from 5 to 125 degC.
pub const POTASSIUM_CHLORIDE: Solute = Solute {
    density: [
        -0.855928945959145,
        6.04073571306402,
        2.81787416217166,
        0.0253924645877338,
        2681.61723465886,
    ],
    viscosity: [
        6.48805967116487,
        1.31753131265255,
        -0.777820552977139,
        0.0927156022360008,
        -1.30020256174307,
        2.08120731758225,
    ],
};

/// Density of water with so many g/L of each solute, kg/m3, `t` in degC.
pub fn density_kg_per_m3(solutes: &[(Solute, f64)], t: f64) -> f64 {
    let mut density = 1000.0;
    // Contracts by about a tenth a pass: the density depends only weakly on the fractions.
    for _ in 0..60 {
        let (share, volume) = mixed(solutes, density, |s, w, all| {
            w / s.density_kg_per_m3(all, t)
        });
        density = 1.0 / ((1.0 - share) / water_density_kg_per_m3(t) + volume);
    }
    density
}

/// Dynamic viscosity of a solution of known density, Pa s, `t` in degC.
pub fn viscosity_pa_s(solutes: &[(Solute, f64)], density_kg_per_m3: f64, t: f64) -> f64 {
    let (share, dissolved) = mixed(solutes, density_kg_per_m3, |s, w, all| {
        w * s.viscosity_mpa_s(all, t).ln()
    });
    1e-3 * ((1.0 - share) * water_viscosity_mpa_s(t).ln() + dissolved).exp()
}

/// Mass fraction of all solutes, and the sum over them of something that depends on the solute, its
/// fraction and that of all.
fn mixed(
    solutes: &[(Solute, f64)],
    density: f64,
    part: impl Fn(&Solute, f64, f64) -> f64,
) -> (f64, f64) {
    let fractions = || solutes.iter().map(|(s, g_per_l)| (s, g_per_l / density));
    let all: f64 = fractions().map(|(_, w)| w).sum();
    let there = fractions().filter(|(_, w)| *w > 0.0);
    (all, there.map(|(s, w)| part(s, w, all)).sum())
}

impl Solute {
    /// Apparent density among solutes of total mass fraction `s`.
    fn density_kg_per_m3(&self, s: f64, t: f64) -> f64 {
        let [c0, c1, c2, c3, c4] = self.density;
        (c0 * s + c1) * (1e-6 * (t + c4).powi(2)).exp() / (s + c2 + c3 * t)
    }

    /// Apparent viscosity among solutes of total mass fraction `s`.
    fn viscosity_mpa_s(&self, s: f64, t: f64) -> f64 {
        let [v1, v2, v3, v4, v5, v6] = self.viscosity;
        ((v1 * s.powf(v2) + v3) / (v4 * t + 1.0)).exp() / (v5 * s.powf(v6) + 1.0)
    }
}

/// Density of water, kg/m3, `t` in degC (as quoted by Laliberte 2009).
fn water_density_kg_per_m3(t: f64) -> f64 {
    (((((-2.8054253e-10 * t + 1.0556302e-7) * t - 4.6170461e-5) * t - 0.0079870401) * t
        + 16.945176)
        * t
        + 999.83952)
        / (1.0 + 0.01687985 * t)
}

/// Viscosity of water, mPa s, `t` in degC (Laliberte 2009).
pub(crate) fn water_viscosity_mpa_s(t: f64) -> f64 {
    (t + 246.0) / ((0.05594 * t + 5.2842) * t + 137.37)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Solutions of one salt at 20 degC: mass per cent and density, kg/m3 (CRC Handbook, "Concentrative
    /// properties of aqueous solutions", from memory, 0.3 %).
    #[test]
    fn densities_of_single_salts() {
        for (solute, percent, density) in [
            (NICKEL_SULFATE, 6.0, 1060.4),
            (ZINC_CHLORIDE, 2.0, 1016.7),
            (ZINC_CHLORIDE, 20.0, 1186.7),
            (POTASSIUM_CHLORIDE, 10.0, 1063.3),
            (SULFURIC_ACID, 10.0, 1066.1),
        ] {
            let g_per_l = 0.01 * percent * density;
            let found = density_kg_per_m3(&[(solute, g_per_l)], 20.0);
            assert_relative_eq!(found, density, max_relative = 3e-3);
        }
    }

    /// Worked out independently with the same formulae: density, viscosity in mPa s.
    #[test]
    fn worked_examples() {
        let watts = [(NICKEL_SULFATE, 154.545), (NICKEL_CHLORIDE, 20.447)];
        let zinc = [(ZINC_CHLORIDE, 62.542), (POTASSIUM_CHLORIDE, 225.998)];
        for (solutes, t, density, viscosity) in [
            (watts, 25.0, 1168.40, 1.8539),
            (watts, 52.5, 1157.34, 1.0465),
            (zinc, 25.0, 1177.01, 1.0580),
        ] {
            let found = density_kg_per_m3(&solutes, t);
            assert_relative_eq!(found, density, max_relative = 1e-5);
            let found = 1e3 * viscosity_pa_s(&solutes, found, t);
            assert_relative_eq!(found, viscosity, max_relative = 1e-4);
        }
    }
}
