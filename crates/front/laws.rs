//! Electrode laws in a line each.
//!
//! The drop is metal less solution; anodic current is positive. A law of another form can be
//! given to a network of one's own: see the example `own_law`.
//!
//! ```
//! use ionfall::laws::{Branch, limited, tafel};
//!
//! let law = limited(tafel(Branch::Cathodic, 1.0, 0.05)?, 500.0)?;
//! let at_limit = law.at_drop(-2.0).current_a_per_m2;
//! assert!((at_limit + 500.0).abs() < 1e-6, "{at_limit}");
//! # Ok::<(), ionfall::laws::BathError>(())
//! ```

use ionfall_bath::Polarisation;
pub use ionfall_bath::kinetics::Branch;
use ionfall_bath::kinetics::{Limit, Transfer};
pub use ionfall_bath::{BathError, Kinetics};

/// None: the solution at the surface is at the potential of the metal.
pub const PRIMARY: Kinetics = Kinetics::Primary;

/// A polarisation resistance.
///
/// # Errors
/// A resistance that is not positive.
///
/// ```
/// let law = ionfall::laws::linear(0.002)?;
/// assert!((law.at_drop(0.1).current_a_per_m2 - 50.0).abs() < 1e-9);
/// # Ok::<(), ionfall::laws::BathError>(())
/// ```
pub fn linear(resistance_ohm_m2: f64) -> Result<Polarisation, BathError> {
    Polarisation::new(Transfer::Linear { resistance_ohm_m2 }, None)
}

/// Tafel: `exchange exp(|u| / slope)`, one way only; the slope per factor e.
///
/// # Errors
/// A figure that is not positive.
pub fn tafel(
    branch: Branch,
    exchange_a_per_m2: f64,
    slope_v: f64,
) -> Result<Polarisation, BathError> {
    let transfer = Transfer::Tafel {
        branch,
        exchange_a_per_m2,
        slope_v,
    };
    Polarisation::new(transfer, None)
}

/// Butler-Volmer with its transfer coefficients, anodic and cathodic.
///
/// # Errors
/// A figure that is not positive.
///
/// ```
/// let law = ionfall::laws::butler_volmer(10.0, [1.5, 0.5], 298.15)?;
/// let small = law.at_drop(1e-6);
/// // `i0 (alpha_a + alpha_c) F / (R T)` at rest.
/// let slope = 10.0 * 2.0 / 0.025_693;
/// assert!((small.slope_s_per_m2 / slope - 1.0).abs() < 1e-3);
/// # Ok::<(), ionfall::laws::BathError>(())
/// ```
pub fn butler_volmer(
    exchange_a_per_m2: f64,
    [alpha_a, alpha_c]: [f64; 2],
    temperature_k: f64,
) -> Result<Polarisation, BathError> {
    let transfer = Transfer::ButlerVolmer {
        exchange_a_per_m2,
        alpha_a,
        alpha_c,
        temperature_k,
    };
    Polarisation::new(transfer, None)
}

/// The same law with a limiting current density of deposition.
///
/// # Errors
/// A limit that is not positive; an anodic law.
pub fn limited(law: Polarisation, current_a_per_m2: f64) -> Result<Polarisation, BathError> {
    let limit = Limit {
        current_a_per_m2,
        film_voltage_v: None,
    };
    Polarisation::new(law.transfer(), Some(limit))
}
