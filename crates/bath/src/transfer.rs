//! Mass transfer: diffusion, diffusion film, limiting current density.
//!
//! ```text
//! D0  = R T lambda / (|z| F^2)                 Nernst-Einstein, infinite dilution
//! D   = D0 (T/298.15 K) mu_water(25 degC)/mu   Stokes-Einstein scaling, an estimate
//! i_L = z F D c / delta                        Nernst film of thickness delta
//! ```
//! `i_L` takes the supporting acid for granted: without acid divide by one minus the transport
//! number of copper (0.35 to 0.4 in neutral copper sulfate, from memory).

use crate::constants::{FARADAY_C_PER_MOL, GRAVITY_M_PER_S2, ZERO_CELSIUS_K, thermal_voltage_v};
use crate::error::{BathError, positive};
use crate::figure::{Figure, Grade, Range};
use crate::solution::{Solution, water_viscosity_mpa_s};
use serde::Serialize;

/// Equivalent ionic conductivity of Cu2+ at infinite dilution and 25 degC, S m2/mol per
/// equivalent (CRC Handbook, read from the data file of an open-source library that names it).
const COPPER_ION_S_M2_PER_MOL: f64 = 0.005_36;

/// Diffusion coefficient of Cu2+ at infinite dilution and 25 degC, m2/s.
pub fn copper_diffusion_dilute_m2_per_s() -> f64 {
    thermal_voltage_v(298.15) * COPPER_ION_S_M2_PER_MOL / (2.0 * FARADAY_C_PER_MOL)
}

/// Estimated diffusion coefficient of copper in an acid copper bath.
pub fn copper_diffusion(bath: &Solution) -> Figure {
    let warmth = (bath.temperature_c() + ZERO_CELSIUS_K) / 298.15;
    let thinness = 1e-3 * water_viscosity_mpa_s(25.0) / bath.viscosity_pa_s();
    Figure::new(
        copper_diffusion_dilute_m2_per_s() * warmth * thinness,
        "m2/s",
        Grade::Computed,
        "own estimate, Stokes-Einstein scaling of the value at infinite dilution",
    )
    .uncertain(0.25)
}

/// How the solution is moved past the work.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Agitation {
    /// Not at all: free convection.
    Still,
    /// Cathode rod movement of 2 to 5 m/min.
    Rod,
    /// Air sparging from below.
    Air,
    /// Pumped or eductor flow past the face.
    Pumped,
    /// A fast channel or jet, 1 to 3 m/s.
    Jet,
    /// A diffusion film of known thickness, m.
    Film(f64),
}

impl Agitation {
    /// The settings by name, each with the range of its film in millimetres (all from memory;
    /// local values: blind recesses keep the film of a still bath under any of them).
    pub const NAMED: [(&'static str, Agitation, Range); 5] = [
        ("still", Agitation::Still, film_mm(0.15, 0.5)),
        ("rod", Agitation::Rod, film_mm(0.06, 0.15)),
        ("air", Agitation::Air, film_mm(0.03, 0.1)),
        ("pumped", Agitation::Pumped, film_mm(0.02, 0.08)),
        ("jet", Agitation::Jet, film_mm(0.005, 0.03)),
    ];

    /// Thickness of the diffusion film, m: geometric middle of the range of the setting.
    ///
    /// # Errors
    /// A given film that is not greater than zero.
    pub fn film(&self) -> Result<Figure, BathError> {
        if let Self::Film(thickness_m) = *self {
            positive("diffusion film in m", thickness_m)?;
            return Ok(Figure::given(thickness_m, "m"));
        }
        let range = Self::NAMED
            .iter()
            .find(|(_, setting, _)| setting == self)
            .map(|(_, _, range)| range)
            .ok_or(BathError::Missing {
                what: "diffusion film",
            })?;
        let middle = range.geometric_middle();
        Ok(Figure {
            value: 1e-3 * middle.value,
            unit: "m",
            ..middle
        })
    }
}

const fn film_mm(low: f64, high: f64) -> Range {
    Range::new(low, high, "mm", Grade::Memory, "")
}

/// Limiting current density `z F D c / delta`, A/m2.
pub fn limiting_current_a_per_m2(
    electrons: f64,
    diffusion_m2_per_s: f64,
    concentration_mol_per_m3: f64,
    film_m: f64,
) -> f64 {
    electrons * FARADAY_C_PER_MOL * diffusion_m2_per_s * concentration_mol_per_m3 / film_m
}

/// Mean film and limiting current of a vertical plate in a still bath.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FreeConvection {
    /// Rayleigh number `g (delta rho/rho) H^3 / (nu D)` of the height.
    pub rayleigh: f64,
    /// Film by the laminar formula `Sh = 0.67 Ra^0.25`, m (C. R. Wilke, M. Eisenberg,
    /// C. W. Tobias, J. Electrochem. Soc. 100 (1953) 513, recalled; 0.66 is quoted as well).
    pub laminar_film_m: f64,
    /// Film by the turbulent formula `Sh = 0.31 Ra^0.28`, m (M. G. Fouad, N. Ibl, Electrochim.
    /// Acta 3 (1960) 233, recalled), meant for `Ra` above about 4e13.
    pub turbulent_film_m: f64,
}

/// Free convection of an acid copper bath along a vertical plate; the density difference is that
/// between the bath and the same acid without copper. Migration of the acid towards the cathode is
/// left out, so the limiting current leans high.
///
/// # Errors
/// A height that is not greater than zero.
pub fn free_convection(bath: &Solution, height_m: f64) -> Result<FreeConvection, BathError> {
    positive("height of the plate in m", height_m)?;
    let density = bath.density_kg_per_m3();
    let lighter = (density - bath.acid_alone().density_kg_per_m3()) / density;
    let viscosity = bath.viscosity_pa_s() / density;
    let diffusion = copper_diffusion(bath).value;
    let rayleigh = GRAVITY_M_PER_S2 * lighter * height_m.powi(3) / (viscosity * diffusion);
    Ok(FreeConvection {
        rayleigh,
        laminar_film_m: height_m / (0.67 * rayleigh.powf(0.25)),
        turbulent_film_m: height_m / (0.31 * rayleigh.powf(0.28)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Nernst-Einstein from the handbook's ionic conductivity: 7.136e-10 m2/s, 0.5 %.
    #[test]
    fn diffusion_at_infinite_dilution() {
        let d = copper_diffusion_dilute_m2_per_s();
        assert_relative_eq!(d, 7.136e-10, max_relative = 5e-3);
    }

    /// The estimate as worked out independently, three digits.
    #[test]
    fn diffusion_estimate() {
        for (salt, acid, t, d) in [
            (200.0, 50.0, 25.0, 4.12e-10),
            (150.0, 50.0, 20.0, 3.86e-10),
            (220.0, 60.0, 30.0, 4.58e-10),
            (70.0, 200.0, 25.0, 4.09e-10),
            (125.0, 150.0, 25.0, 4.02e-10),
        ] {
            let bath = Solution::new(salt, acid, t).unwrap();
            assert_relative_eq!(copper_diffusion(&bath).value, d, max_relative = 2e-3);
        }
    }

    /// Nernst film: n = 2, 250 mol/m3, 6e-10 m2/s, 0.1 mm.
    #[test]
    fn limiting_current_of_a_film() {
        let i = limiting_current_a_per_m2(2.0, 6e-10, 250.0, 1e-4);
        assert_relative_eq!(i, 289.45599636, max_relative = 1e-10);
    }

    /// Standard bath 200/50 at 25 degC on a plate 0.3 m high, worked out independently, 2 %:
    /// Ra 5.11e13, films 0.167 and 0.140 mm, limits 381 and 454 A/m2.
    #[test]
    fn free_convection_on_a_plate() {
        let bath = Solution::new(200.0, 50.0, 25.0).unwrap();
        let free = free_convection(&bath, 0.3).unwrap();
        assert_relative_eq!(free.rayleigh, 5.11e13, max_relative = 0.02);
        assert_relative_eq!(free.laminar_film_m, 0.167e-3, max_relative = 0.02);
        assert_relative_eq!(free.turbulent_film_m, 0.140e-3, max_relative = 0.02);
        let (d, c) = (copper_diffusion(&bath).value, bath.copper_mol_per_m3());
        let limit = |film| limiting_current_a_per_m2(2.0, d, c, film);
        assert_relative_eq!(limit(free.laminar_film_m), 381.0, max_relative = 0.02);
        assert_relative_eq!(limit(free.turbulent_film_m), 454.0, max_relative = 0.02);
        assert!(free_convection(&bath, 0.0).is_err());
    }

    #[test]
    fn films_by_agitation() {
        let air = Agitation::Air.film().unwrap();
        assert_relative_eq!(
            air.value,
            (0.03e-3 * 0.1e-3_f64).sqrt(),
            max_relative = 1e-12
        );
        assert_eq!(air.grade, Grade::Memory);
        assert_eq!(Agitation::Film(1e-4).film().unwrap().grade, Grade::Given);
        assert!(Agitation::Film(0.0).film().is_err());
    }
}
