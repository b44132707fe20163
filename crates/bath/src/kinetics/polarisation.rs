//! A complete polarisation law: charge transfer, limiting current, film overpotential.
//!
//! Without a film overpotential the law is [`Transfer`] alone. With one, the drop is shared,
//!
//! ```text
//! drop = u + v ln(1 + i(u)/i_L),     v = RT/(nF)
//! ```
//! and `u` is found by Newton's method inside a bracket: the logarithm grows with `u`, so the root
//! lies between `drop` and `drop - v ln(1 + i(drop)/i_L)`.

use super::{Branch, Limit, Response, Transfer};
use crate::error::{BathError, positive};
use serde::Serialize;

/// A monotone law between drop and current density.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Polarisation {
    transfer: Transfer,
    limit: Option<Limit>,
}

impl Polarisation {
    /// A law, with a cathodic limiting current density or without.
    ///
    /// # Errors
    /// Any parameter that is not a positive number; a limit on an anodic Tafel law.
    pub fn new(transfer: Transfer, limit: Option<Limit>) -> Result<Self, BathError> {
        transfer.check()?;
        if let Some(limit) = limit {
            positive("limiting current density in A/m2", limit.current_a_per_m2)?;
            if let Some(volts) = limit.film_voltage_v {
                positive("RT/nF in V", volts)?;
            }
            if matches!(
                transfer,
                Transfer::Tafel {
                    branch: Branch::Anodic,
                    ..
                }
            ) {
                return Err(BathError::LimitOnAnodic);
            }
        }
        Ok(Self { transfer, limit })
    }

    /// The charge transfer.
    pub fn transfer(&self) -> Transfer {
        self.transfer
    }

    /// The limiting current, if any.
    pub fn limit(&self) -> Option<Limit> {
        self.limit
    }

    /// Open interval of the current densities the law can carry, A/m2 (anodic positive).
    pub fn range_a_per_m2(&self) -> (f64, f64) {
        let lowest = -self.limit_a_per_m2();
        match self.transfer {
            Transfer::Tafel {
                branch: Branch::Anodic,
                ..
            } => (0.0, f64::INFINITY),
            Transfer::Tafel {
                branch: Branch::Cathodic,
                ..
            } => (lowest, 0.0),
            _ => (lowest, f64::INFINITY),
        }
    }

    /// Current density and slope at a drop, V.
    pub fn at_drop(&self, drop_v: f64) -> Response {
        let limit = self.limit_a_per_m2();
        let film = self.film_voltage_v();
        if film == 0.0 {
            return self.transfer.at_drop(drop_v, limit).response;
        }
        let u = self.surface_drop(drop_v, limit, film);
        let detail = self.transfer.at_drop(u, limit);
        Response {
            slope_s_per_m2: detail.response.slope_s_per_m2 / (1.0 + film * detail.ln_share_slope),
            ..detail.response
        }
    }

    /// The drop at a current density, V; nothing outside the open range of the law.
    pub fn drop_at(&self, current_a_per_m2: f64) -> Option<f64> {
        let (low, high) = self.range_a_per_m2();
        (low < current_a_per_m2 && current_a_per_m2 < high).then(|| {
            let limit = self.limit_a_per_m2();
            self.transfer.drop_at(current_a_per_m2, limit)
                + self.film_voltage_v() * (current_a_per_m2 / limit).ln_1p()
        })
    }

    fn limit_a_per_m2(&self) -> f64 {
        self.limit.map_or(f64::INFINITY, |l| l.current_a_per_m2)
    }

    fn film_voltage_v(&self) -> f64 {
        self.limit.and_then(|l| l.film_voltage_v).unwrap_or(0.0)
    }

    /// Solves `u + film ln_share(u) = drop` to rounding.
    fn surface_drop(&self, drop: f64, limit: f64, film: f64) -> f64 {
        let far = drop - film * self.transfer.at_drop(drop, limit).ln_share;
        let (mut low, mut high) = (drop.min(far), drop.max(far));
        let mut u = drop;
        for _ in 0..200 {
            let detail = self.transfer.at_drop(u, limit);
            let excess = u + film * detail.ln_share - drop;
            if excess < 0.0 {
                low = u;
            } else {
                high = u;
            }
            let newton = u - excess / (1.0 + film * detail.ln_share_slope);
            let next = if low <= newton && newton <= high {
                newton
            } else {
                0.5 * (low + high)
            };
            let step = (next - u).abs();
            u = next;
            if step <= 1e-15 * (1.0 + u.abs()) {
                break;
            }
        }
        u
    }
}
