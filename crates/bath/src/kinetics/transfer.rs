//! Charge transfer at the surface, without a separate concentration overpotential.
//!
//! With drop `u`, exchange current density `i0`, limiting current density `i_L` and
//! `q = i0 / i_L` (zero without a limit):
//!
//! ```text
//! linear           i = u / R                              u >= 0
//!                  i = (u/R) / (1 + |u| / (R i_L))        u < 0, that is u = R i / (1 - i_c/i_L)
//! Tafel, anodic    i =  i0 exp(u/b)
//! Tafel, cathodic  i = -i0 exp(-u/b) / (1 + q exp(-u/b)), that is 1/i_c = 1/i_L + 1/(i0 e^(-u/b))
//! Butler-Volmer    i = i0 [e_a - (1 + i/i_L) e_c] = i0 (e_a - e_c) / (1 + q e_c)
//!                  e_a = exp(alpha_a F u / RT),  e_c = exp(-alpha_c F u / RT)
//! ```
//! The remaining share of the surface concentration, `s = 1 + i/i_L`, has a form free of
//! cancellation in each, which keeps the laws accurate right up to the limit.

use super::exponential;
use crate::constants::thermal_voltage_v;
use crate::error::{BathError, positive, within};
use crate::subject::Subject;
use ionfall_numerics::law::Response;
use serde::Serialize;

/// Side of a Tafel law.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Branch {
    /// Dissolution only, current positive.
    Anodic,
    /// Deposition only, current negative.
    Cathodic,
}

/// The law of charge transfer.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Transfer {
    /// A plain resistance.
    Linear {
        /// Polarisation resistance, ohm m2.
        resistance_ohm_m2: f64,
    },
    /// One exponential branch.
    Tafel {
        /// Which one.
        branch: Branch,
        /// Exchange current density, A/m2.
        exchange_a_per_m2: f64,
        /// Natural-logarithm Tafel slope `b` of `i = i0 exp(eta/b)`, V (decade slope over ln 10).
        slope_v: f64,
    },
    /// Both branches.
    ButlerVolmer {
        /// Exchange current density, A/m2.
        exchange_a_per_m2: f64,
        /// Anodic transfer coefficient.
        alpha_a: f64,
        /// Cathodic transfer coefficient.
        alpha_c: f64,
        /// Temperature, K.
        temperature_k: f64,
    },
}

/// Response with the share of the surface concentration that is left, and its logarithmic slope.
pub(super) struct Detailed {
    pub response: Response,
    /// `ln(1 + i/i_L)`; zero without a limit.
    pub ln_share: f64,
    /// Its slope against the drop, 1/V.
    pub ln_share_slope: f64,
}

impl Transfer {
    /// Are the parameters usable?
    pub(super) fn check(&self) -> Result<(), BathError> {
        match *self {
            Self::Linear { resistance_ohm_m2 } => {
                positive(Subject::Resistance, resistance_ohm_m2)?;
            }
            Self::Tafel {
                exchange_a_per_m2,
                slope_v,
                ..
            } => {
                positive(Subject::Exchange, exchange_a_per_m2)?;
                positive(Subject::TafelSlope, slope_v)?;
            }
            Self::ButlerVolmer {
                exchange_a_per_m2,
                alpha_a,
                alpha_c,
                temperature_k,
            } => {
                positive(Subject::Exchange, exchange_a_per_m2)?;
                positive(Subject::AnodicTransfer, alpha_a)?;
                positive(Subject::CathodicTransfer, alpha_c)?;
                within(Subject::AbsoluteTemperature, temperature_k, 200.0, 500.0)?;
            }
        }
        Ok(())
    }

    /// Has it no cathodic side?
    pub(super) fn is_anodic_only(&self) -> bool {
        matches!(
            self,
            Self::Tafel {
                branch: Branch::Anodic,
                ..
            }
        )
    }

    /// The same law with the exchange current density times `factor`.
    pub(super) fn with_exchange_times(mut self, factor: f64) -> Self {
        match &mut self {
            Self::Linear { resistance_ohm_m2 } => *resistance_ohm_m2 /= factor,
            Self::Tafel {
                exchange_a_per_m2, ..
            }
            | Self::ButlerVolmer {
                exchange_a_per_m2, ..
            } => *exchange_a_per_m2 *= factor,
        }
        self
    }

    /// The same law, flatter or steeper: a Tafel slope times `factor`, or the cathodic transfer coefficient
    /// over it, where the sum of both coefficients, the number of electrons, stays. A linear law stays as it
    /// is.
    pub(super) fn with_slope_times(mut self, factor: f64) -> Self {
        match &mut self {
            Self::Linear { .. } => {}
            Self::Tafel { slope_v, .. } => *slope_v *= factor,
            Self::ButlerVolmer {
                alpha_a, alpha_c, ..
            } => {
                let electrons = *alpha_a + *alpha_c;
                // An anodic branch stays, however far the band reaches.
                let most = 1.0 - 1e-3;
                *alpha_c = (*alpha_c / factor).min(most * electrons);
                *alpha_a = electrons - *alpha_c;
            }
        }
        self
    }

    /// Current density, slope and surface share at a drop; `limit` is `i_L` (infinite for none).
    pub(super) fn at_drop(&self, u: f64, limit: f64) -> Detailed {
        match *self {
            Self::Linear { resistance_ohm_m2 } => linear(u, 1.0 / resistance_ohm_m2, limit),
            Self::Tafel {
                branch: Branch::Anodic,
                exchange_a_per_m2,
                slope_v,
            } => {
                let (e, de) = exponential::exp(u / slope_v);
                Detailed {
                    response: Response {
                        current_a_per_m2: exchange_a_per_m2 * e,
                        slope_s_per_m2: exchange_a_per_m2 * de / slope_v,
                    },
                    ln_share: 0.0,
                    ln_share_slope: 0.0,
                }
            }
            Self::Tafel {
                branch: Branch::Cathodic,
                exchange_a_per_m2,
                slope_v,
            } => two_sided(exchange_a_per_m2, limit, (0.0, 0.0), {
                let (e, de) = exponential::exp(-u / slope_v);
                (e, de / slope_v)
            }),
            Self::ButlerVolmer {
                exchange_a_per_m2,
                alpha_a,
                alpha_c,
                temperature_k,
            } => {
                let (fa, fc) = per_volt(alpha_a, alpha_c, temperature_k);
                let (ea, dea) = exponential::exp(fa * u);
                let (ec, dec) = exponential::exp(-fc * u);
                two_sided(exchange_a_per_m2, limit, (ea, dea * fa), (ec, dec * fc))
            }
        }
    }

    /// The drop at a current density inside the open range of the law.
    pub(super) fn drop_at(&self, i: f64, limit: f64) -> f64 {
        match *self {
            Self::Linear { resistance_ohm_m2 } => {
                resistance_ohm_m2 * i / (1.0 + (i / limit).min(0.0))
            }
            Self::Tafel {
                branch: Branch::Anodic,
                exchange_a_per_m2,
                slope_v,
            } => slope_v * exponential::ln(i / exchange_a_per_m2),
            Self::Tafel {
                branch: Branch::Cathodic,
                exchange_a_per_m2,
                slope_v,
            } => -slope_v * exponential::ln(-i / exchange_a_per_m2 / (1.0 + i / limit)),
            Self::ButlerVolmer {
                exchange_a_per_m2,
                alpha_a,
                alpha_c,
                temperature_k,
            } => {
                let (fa, fc) = per_volt(alpha_a, alpha_c, temperature_k);
                let ratio = i.abs() / exchange_a_per_m2;
                if i >= 0.0 {
                    driving(fa, fc, i / limit, ratio)
                } else {
                    let share = 1.0 + i / limit;
                    -driving(fc, fa, -i / limit / share, ratio / share)
                }
            }
        }
    }
}

/// `alpha F / RT` of both branches, 1/V.
fn per_volt(alpha_a: f64, alpha_c: f64, temperature_k: f64) -> (f64, f64) {
    let thermal = thermal_voltage_v(temperature_k);
    (alpha_a / thermal, alpha_c / thermal)
}

/// The linear law of conductance `g`, S/m2.
fn linear(u: f64, g: f64, limit: f64) -> Detailed {
    let reach = g * u / limit;
    let brake = 1.0 + (-reach).max(0.0);
    Detailed {
        response: Response {
            current_a_per_m2: g * u / brake,
            slope_s_per_m2: g / (brake * brake),
        },
        ln_share: if u < 0.0 {
            -(-reach).ln_1p()
        } else {
            reach.ln_1p()
        },
        ln_share_slope: g / limit / (1.0 + reach.abs()),
    }
}

/// `i = i0 (e_a - e_c)/(1 + q e_c)`; each branch as (value, magnitude of its slope).
fn two_sided(i0: f64, limit: f64, (ea, dea): (f64, f64), (ec, dec): (f64, f64)) -> Detailed {
    let q = i0 / limit;
    let brake = 1.0 + q * ec;
    Detailed {
        response: Response {
            current_a_per_m2: i0 * (ea - ec) / brake,
            slope_s_per_m2: i0 * (dea * brake + dec * (1.0 + q * ea)) / (brake * brake),
        },
        ln_share: (q * ea).ln_1p() - (q * ec).ln_1p(),
        ln_share_slope: q * dea / (1.0 + q * ea) + q * dec / brake,
    }
}

/// The root `x >= 0` of `f x = ln((1 + k) e^(-g x) + r)`, with `k, r >= 0`.
///
/// The difference of both sides is increasing and concave and not positive at 0, so Newton's
/// steps from 0 climb to the root and never pass it.
fn driving(f: f64, g: f64, k: f64, r: f64) -> f64 {
    let mut x = 0.0_f64;
    for _ in 0..100 {
        let back = (1.0 + k) * (-g * x).exp();
        let excess = (k + (1.0 + k) * (-g * x).exp_m1() + r).ln_1p() - f * x;
        let step = excess / (f + g * back / (back + r));
        x += step;
        if step.abs() <= 1e-15 * x {
            break;
        }
    }
    x
}
