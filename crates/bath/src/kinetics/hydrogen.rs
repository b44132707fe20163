//! Hydrogen evolved beside the metal.
//!
//! Both reactions feel the same drop `u` (metal less solution less equilibrium drop of the metal),
//! so their currents add:
//!
//! ```text
//! i(u)   = i_metal(u) + i_H(u)
//! i_H(u) = -i0_H exp(-(u - u_H)/b_H),      u_H = E_H - E_metal
//! share  = i_metal / i                     local efficiency of the metal
//! ```
//! The metal has its limiting current, hydrogen has none: past the limit the rest of the current
//! makes gas. The sum is strictly monotone, so its inverse is unique.

use super::exponential;
use crate::error::{BathError, positive};
use crate::subject::Subject;
use ionfall_numerics::law::Response;
use serde::Serialize;

/// Tafel law of hydrogen evolution.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Hydrogen {
    exchange_a_per_m2: f64,
    slope_v: f64,
    equilibrium_v: f64,
}

impl Hydrogen {
    /// Exchange current density, A/m2; natural-logarithm Tafel slope, V (decade slope over
    /// ln 10); equilibrium potential of hydrogen less that of the metal, V (negative for a metal
    /// nobler than hydrogen).
    ///
    /// # Errors
    /// An exchange current density or a slope that is not greater than zero; an equilibrium that
    /// is no number.
    pub fn new(
        exchange_a_per_m2: f64,
        slope_v: f64,
        equilibrium_v: f64,
    ) -> Result<Self, BathError> {
        positive(Subject::Exchange, exchange_a_per_m2)?;
        positive(Subject::TafelSlope, slope_v)?;
        crate::error::within(Subject::HydrogenEquilibrium, equilibrium_v, -5.0, 5.0)?;
        Ok(Self {
            exchange_a_per_m2,
            slope_v,
            equilibrium_v,
        })
    }

    /// Exchange current density, A/m2.
    pub fn exchange_a_per_m2(&self) -> f64 {
        self.exchange_a_per_m2
    }

    /// Natural-logarithm Tafel slope, V.
    pub fn slope_v(&self) -> f64 {
        self.slope_v
    }

    /// Equilibrium potential of hydrogen less that of the metal, V.
    pub fn equilibrium_v(&self) -> f64 {
        self.equilibrium_v
    }

    /// Current density (negative) and slope at a drop.
    pub fn at_drop(&self, drop_v: f64) -> Response {
        let (e, slope) = exponential::exp((self.equilibrium_v - drop_v) / self.slope_v);
        Response {
            current_a_per_m2: -self.exchange_a_per_m2 * e,
            slope_s_per_m2: self.exchange_a_per_m2 * slope / self.slope_v,
        }
    }

    /// The drop at a current density below zero.
    pub(super) fn drop_at(&self, current_a_per_m2: f64) -> f64 {
        let ratio = -current_a_per_m2 / self.exchange_a_per_m2;
        self.equilibrium_v - self.slope_v * exponential::ln(ratio)
    }
}
