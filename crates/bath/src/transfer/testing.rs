//! A liquid for the tests of films.

use super::Liquid;

/// Near to an acid copper bath at 25 degC.
pub(super) fn liquid() -> Liquid {
    Liquid {
        diffusion_m2_per_s: Some(6e-10),
        viscosity_m2_per_s: Some(1.1e-6),
        density_difference: Some(0.03),
    }
}
