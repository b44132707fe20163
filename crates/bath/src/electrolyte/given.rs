//! What the user knows better than the tables.

use crate::kinetics::Hydrogen;
use crate::transfer::Agitation;

/// What the user knows better than the tables. Each figure replaces the built-in one.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Given {
    /// Agitation; without it no limiting current is assumed.
    pub agitation: Option<Agitation>,
    /// Radius of the smallest hollows that stirring reaches, m.
    pub stirring_radius_m: Option<f64>,
    /// Measured conductivity, S/m.
    pub conductivity_s_per_m: Option<f64>,
    /// Current efficiency of deposition, fraction.
    pub efficiency: Option<f64>,
    /// Concentration of the metal, mol/m3.
    pub concentration_mol_per_m3: Option<f64>,
    /// Diffusion coefficient of the metal ion, m2/s.
    pub diffusion_m2_per_s: Option<f64>,
    /// Density, kg/m3.
    pub density_kg_per_m3: Option<f64>,
    /// Dynamic viscosity, Pa s.
    pub viscosity_pa_s: Option<f64>,
    /// Share of its density by which the bath is heavier than without its metal.
    pub density_difference: Option<f64>,
    /// Limiting current density of deposition, A/m2.
    pub limiting_current_a_per_m2: Option<f64>,
    /// Hydrogen beside the metal; without it none is counted.
    pub hydrogen: Option<Evolution>,
}

/// Hydrogen that is to be counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Evolution {
    /// With the figures the bath knows.
    Usual,
    /// With figures of its own.
    Law(Hydrogen),
}
