//! A complete polarisation law: charge transfer, limiting current, film overpotential, hydrogen
//! beside the metal.
//!
//! Without a film overpotential the law is [`Transfer`] alone. With one, the drop is shared,
//!
//! ```text
//! drop = u + v ln(1 + i(u)/i_L),     v = RT/(nF)
//! ```
//! and `u` is found by Newton's method inside a bracket: the logarithm grows with `u`, so the root
//! lies between `drop` and `drop - v ln(1 + i(drop)/i_L)`.
//!
//! An insoluble anode evolves gas instead of dissolving; its drop counts from the same equilibrium of the
//! metal, which lies lower by the back voltage.
//!
//! With hydrogen beside the metal (see [`Hydrogen`]) and metal deposited, the drop at a current `i`
//! is bracketed by giving all of it, or half of it, to each of the two:
//!
//! ```text
//! max(m(i), h(i)) <= u <= max(m(i/2), h(i/2))       m, h: inverses of metal and hydrogen
//! ```

use super::hydrogen::Hydrogen;
use super::limit::Limit;
use super::transfer::{Branch, Transfer};
use crate::error::{BathError, positive};
use crate::figure::Origin;
use crate::subject::Subject;
use ionfall_numerics::law::Response;
use serde::Serialize;

/// A monotone law between drop and current density.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Polarisation {
    transfer: Transfer,
    limit: Option<Limit>,
    hydrogen: Option<Hydrogen>,
    transfer_from: Origin,
    limit_from: Origin,
    /// Of an anode that evolves gas: equilibrium of the gas above that of the metal, V.
    back_v: Option<f64>,
}

impl Polarisation {
    /// A law of the job, with a cathodic limiting current density or without.
    ///
    /// # Errors
    /// Any parameter that is not a positive number; a limit on an anodic Tafel law.
    pub fn new(transfer: Transfer, limit: Option<Limit>) -> Result<Self, BathError> {
        transfer.check()?;
        if let Some(limit) = limit {
            positive(Subject::Limit, limit.current_a_per_m2)?;
            if let Some(volts) = limit.film_voltage_v {
                positive(Subject::FilmVoltage, volts)?;
            }
            if transfer.is_anodic_only() {
                return Err(BathError::LimitOnAnodic);
            }
        }
        Ok(Self {
            transfer,
            limit,
            hydrogen: None,
            transfer_from: Origin::Job,
            limit_from: Origin::Job,
            back_v: None,
        })
    }

    /// The law of an anode that does not dissolve: gas is evolved on it, whose equilibrium lies `back_v`
    /// volts above that of the metal, so that
    ///
    /// ```text
    /// i = i0 exp((u - back)/b)
    /// ```
    ///
    /// # Errors
    /// A law with a cathodic side; a back voltage that is not greater than zero.
    pub fn evolving_gas(transfer: Transfer, back_v: f64) -> Result<Self, BathError> {
        if !transfer.is_anodic_only() {
            return Err(BathError::GasOnCathodic);
        }
        positive(Subject::BackVoltage, back_v)?;
        Ok(Self {
            back_v: Some(back_v),
            ..Self::new(transfer, None)?
        })
    }

    /// Equilibrium of the gas that an insoluble anode evolves above that of the metal, V; nothing where
    /// metal dissolves.
    pub fn back_v(&self) -> Option<f64> {
        self.back_v
    }

    /// The same with hydrogen evolved beside the metal.
    ///
    /// # Errors
    /// An anodic Tafel law.
    pub fn with_hydrogen(self, hydrogen: Hydrogen) -> Result<Self, BathError> {
        if self.transfer.is_anodic_only() {
            return Err(BathError::HydrogenOnAnodic);
        }
        Ok(Self {
            hydrogen: Some(hydrogen),
            ..self
        })
    }

    /// The same with the figures of its charge transfer said by `origin`.
    pub fn with_transfer_from(self, origin: Origin) -> Self {
        Self {
            transfer_from: origin,
            ..self
        }
    }

    /// The same with its limiting current said by `origin`.
    pub fn with_limit_from(self, origin: Origin) -> Self {
        Self {
            limit_from: origin,
            ..self
        }
    }

    /// Who says the figures of the charge transfer.
    pub fn transfer_from(&self) -> Origin {
        self.transfer_from
    }

    /// Who says the limiting current.
    pub fn limit_from(&self) -> Origin {
        self.limit_from
    }

    /// The same with the limiting current times `factor` (greater than zero), as where the film is
    /// that much thinner.
    pub fn with_limit_times(self, factor: f64) -> Self {
        let limit = self.limit.map(|limit| Limit {
            current_a_per_m2: limit.current_a_per_m2 * factor,
            ..limit
        });
        Self { limit, ..self }
    }

    /// The same with the exchange current density times `factor` (greater than zero); a linear law
    /// has its resistance divided by it.
    pub fn with_exchange_times(self, factor: f64) -> Self {
        Self {
            transfer: self.transfer.with_exchange_times(factor),
            ..self
        }
    }

    /// The same, flatter or steeper: a Tafel slope times `factor` (greater than zero), or the cathodic
    /// transfer coefficient over it, with the sum of both kept; a linear law stays as it is.
    pub fn with_slope_times(self, factor: f64) -> Self {
        Self {
            transfer: self.transfer.with_slope_times(factor),
            ..self
        }
    }

    /// The same in another bath: with its charge transfer and hydrogen, the limiting current times a factor, at
    /// `warmer` times the temperature.
    pub(crate) fn moved_to(
        self,
        transfer: Transfer,
        hydrogen: Option<Hydrogen>,
        limit_times: f64,
        warmer: f64,
    ) -> Self {
        let limit = self.limit.map(|limit| Limit {
            current_a_per_m2: limit.current_a_per_m2 * limit_times,
            film_voltage_v: limit.film_voltage_v.map(|volts| volts * warmer),
        });
        Self {
            transfer,
            hydrogen,
            limit,
            ..self
        }
    }

    /// The charge transfer.
    pub fn transfer(&self) -> Transfer {
        self.transfer
    }

    /// The limiting current, if any.
    pub fn limit(&self) -> Option<Limit> {
        self.limit
    }

    /// The hydrogen beside the metal, if any.
    pub fn hydrogen(&self) -> Option<Hydrogen> {
        self.hydrogen
    }

    /// Open interval of the current densities the law can carry, A/m2 (anodic positive). With
    /// hydrogen there is no lower end.
    pub fn range_a_per_m2(&self) -> (f64, f64) {
        let (low, high) = self.metal_range_a_per_m2();
        match self.hydrogen {
            Some(_) => (f64::NEG_INFINITY, high),
            None => (low, high),
        }
    }

    /// Current density and slope at a drop, V: metal and hydrogen together.
    pub fn at_drop(&self, drop_v: f64) -> Response {
        let metal = self.metal_at_drop(drop_v);
        match self.hydrogen.map(|h| h.at_drop(drop_v)) {
            Some(gas) => Response {
                current_a_per_m2: metal.current_a_per_m2 + gas.current_a_per_m2,
                slope_s_per_m2: metal.slope_s_per_m2 + gas.slope_s_per_m2,
            },
            None => metal,
        }
    }

    /// The drop at a current density, V; nothing outside the open range of the law.
    pub fn drop_at(&self, current_a_per_m2: f64) -> Option<f64> {
        let (low, high) = self.range_a_per_m2();
        (low < current_a_per_m2 && current_a_per_m2 < high).then(|| match self.hydrogen {
            Some(hydrogen) => self.shared_drop(current_a_per_m2, hydrogen),
            None => self.metal_drop(current_a_per_m2),
        })
    }

    /// Current density that deposits or dissolves metal at a drop, A/m2; all of it without
    /// hydrogen.
    pub fn metal_current_a_per_m2(&self, drop_v: f64) -> f64 {
        match self.back_v {
            Some(_) => 0.0,
            None => self.metal_at_drop(drop_v).current_a_per_m2,
        }
    }

    /// Share of the current at a drop that deposits metal: 1 without hydrogen, falling towards
    /// zero past the limiting current. Not meant for drops at which no metal is deposited: there
    /// it is 1. On an insoluble anode it is zero.
    pub fn metal_share(&self, drop_v: f64) -> f64 {
        if self.back_v.is_some() {
            return 0.0;
        }
        let Some(hydrogen) = self.hydrogen else {
            return 1.0;
        };
        let metal = self.metal_current_a_per_m2(drop_v);
        if metal < 0.0 {
            metal / (metal + hydrogen.at_drop(drop_v).current_a_per_m2)
        } else {
            1.0
        }
    }

    /// Slope of the drop against the current density, ohm m2, at a current density: the
    /// polarisation resistance of the Wagner number. Nothing outside the range.
    pub fn resistance_ohm_m2(&self, current_a_per_m2: f64) -> Option<f64> {
        let drop_v = self.drop_at(current_a_per_m2)?;
        Some(1.0 / self.at_drop(drop_v).slope_s_per_m2)
    }

    fn metal_range_a_per_m2(&self) -> (f64, f64) {
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

    /// What passes but hydrogen: metal, or the gas of an insoluble anode.
    fn metal_at_drop(&self, drop_v: f64) -> Response {
        let drop_v = drop_v - self.back_v.unwrap_or(0.0);
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

    /// The drop of the metal alone at a current density inside its range.
    fn metal_drop(&self, current_a_per_m2: f64) -> f64 {
        let limit = self.limit_a_per_m2();
        self.back_v.unwrap_or(0.0)
            + self.transfer.drop_at(current_a_per_m2, limit)
            + self.film_voltage_v() * (current_a_per_m2 / limit).ln_1p()
    }

    /// The drop of the metal alone; past its limit no drop is low enough.
    fn metal_drop_or_none(&self, current_a_per_m2: f64) -> f64 {
        if current_a_per_m2 > self.metal_range_a_per_m2().0 {
            self.metal_drop(current_a_per_m2)
        } else {
            f64::NEG_INFINITY
        }
    }

    /// The drop at which metal and hydrogen carry a current density together.
    fn shared_drop(&self, current: f64, hydrogen: Hydrogen) -> f64 {
        let at_rest = hydrogen.at_drop(0.0).current_a_per_m2;
        let (low, high) = if current <= at_rest || self.metal_range_a_per_m2().1 <= 0.0 {
            let either = |i: f64| self.metal_drop_or_none(i).max(hydrogen.drop_at(i));
            (either(current), either(0.5 * current))
        } else {
            // Metal dissolves and makes up for the gas, of which there is ever less at higher
            // drops.
            let low = self.metal_drop(current.max(0.0));
            let gas = hydrogen.at_drop(low).current_a_per_m2;
            (low, self.metal_drop(current - gas))
        };
        bracketed(low, high, |u| {
            let r = self.at_drop(u);
            (r.current_a_per_m2 - current, r.slope_s_per_m2)
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
        bracketed(drop.min(far), drop.max(far), |u| {
            let detail = self.transfer.at_drop(u, limit);
            (
                u + film * detail.ln_share - drop,
                1.0 + film * detail.ln_share_slope,
            )
        })
    }
}

/// Root of an increasing function, given with its slope, inside a bracket: Newton's steps, halving
/// where they leave the bracket or do not shrink it.
fn bracketed(mut low: f64, mut high: f64, f: impl Fn(f64) -> (f64, f64)) -> f64 {
    let mut u = high;
    let (mut last, mut before) = (f64::INFINITY, f64::INFINITY);
    for _ in 0..200 {
        let (excess, slope) = f(u);
        if excess < 0.0 {
            low = u;
        } else {
            high = u;
        }
        let newton = u - excess / slope;
        let sound = low <= newton && newton <= high && (newton - u).abs() <= 0.5 * before;
        let next = if sound { newton } else { 0.5 * (low + high) };
        (before, last) = (last, (next - u).abs());
        u = next;
        if last <= 1e-15 * (1.0 + u.abs()) {
            break;
        }
    }
    u
}
