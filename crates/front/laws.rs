//! Electrode laws in a line each.
//!
//! The drop is metal less solution; anodic current is positive. A law of another form implements
//! [`Law`] and becomes that of an electrode by [`own`]; see the example `own_law`.
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
pub use ionfall_bath::kinetics::{Branch, Law, Response};
use ionfall_bath::kinetics::{Limit, Transfer};
pub use ionfall_bath::{BathError, Kinetics, OwnLaw};

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

/// A law of one's own. All of its current deposits or dissolves metal, as far as the bath's efficiency
/// lets it; the end of its range, if there is one, counts as its limiting current.
///
/// ```
/// use ionfall::laws::{Law, Response, own};
/// use ionfall::{Tank, run, solids::cuboid};
///
/// /// `i = 1000 u + 10000 u |u|`
/// #[derive(Debug)]
/// struct Film;
///
/// impl Law for Film {
///     fn at_drop(&self, drop_v: f64) -> Response {
///         Response {
///             current_a_per_m2: 1e3 * drop_v + 1e4 * drop_v * drop_v.abs(),
///             slope_s_per_m2: 1e3 + 2e4 * drop_v.abs(),
///         }
///     }
///     fn drop_at(&self, current_a_per_m2: f64) -> f64 {
///         let size = ((1e6 + 4e4 * current_a_per_m2.abs()).sqrt() - 1e3) / 2e4;
///         size.copysign(current_a_per_m2)
///     }
/// }
///
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let model = Tank::planar(cuboid([0.0, 0.0], [0.1, 0.05])?, 0.1)
///     .conductivity_s_per_m(20.0)
///     .anode("anode", cuboid([-0.01, 0.0], [0.0, 0.05])?)
///     .work("work", cuboid([0.1, 0.0], [0.11, 0.05])?)
///     .law(own(Film))
///     .current_a(0.5)
///     .model()?;
/// // 100 A/m2 through 0.1 m of 20 S/m and the film.
/// let volts = run(&model)?.voltage_v();
/// assert!((volts - 0.5 + Film.drop_at(-100.0)).abs() < 1e-6, "{volts}");
/// # Ok(())
/// # }
/// ```
pub fn own(law: impl Law + 'static) -> OwnLaw {
    OwnLaw::new(law)
}
