//! Polarisation laws: current density of an electrode against its potential drop.
//!
//! Convention for all of them: the argument is the drop `u`, metal potential less solution
//! potential less equilibrium drop, volts; the result is the current density from metal into
//! solution, A/m2, so anodic positive, cathodic negative. Every law is monotone.
//!
//! The laws (see [`transfer`] for the formulae) are linear, Tafel and Butler-Volmer, each with an
//! optional cathodic limiting current density `i_L` (see [`Limit`]) and optional hydrogen beside
//! the metal (see [`Hydrogen`]).
//!
//! Source of the forms: J. Newman and K. E. Thomas-Alyea, Electrochemical Systems, 3rd ed., Wiley
//! 2004 (from memory).

mod exponential;
mod hydrogen;
mod law;
mod limit;
mod own;
mod polarisation;
pub mod transfer;

pub use hydrogen::Hydrogen;
pub use ionfall_numerics::law::{Law, Response};
pub use limit::Limit;
pub use own::OwnLaw;
pub use polarisation::Polarisation;
pub use transfer::{Branch, Transfer};

use serde::Serialize;

/// What an electrode surface asks of the current that crosses it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kinetics {
    /// Nothing: the solution at the surface is at the potential of the metal (primary
    /// distribution).
    Primary,
    /// A drop that follows a law.
    Law(Polarisation),
    /// A drop that follows a law of a program's own.
    Own(OwnLaw),
}

impl From<Polarisation> for Kinetics {
    fn from(law: Polarisation) -> Self {
        Self::Law(law)
    }
}

impl From<OwnLaw> for Kinetics {
    fn from(law: OwnLaw) -> Self {
        Self::Own(law)
    }
}

impl Kinetics {
    /// Does metal dissolve where current leaves it, rather than gas be evolved?
    pub fn dissolves(&self) -> bool {
        match self {
            Self::Primary | Self::Own(_) => true,
            Self::Law(law) => law.back_v().is_none(),
        }
    }

    /// Has it no polarisation, so that nothing is known of the volts it takes?
    pub fn is_primary(&self) -> bool {
        matches!(self, Self::Primary)
    }

    /// The largest cathodic current density that mass transfer can feed, A/m2, if there is one; of an
    /// own law the end of its range.
    pub fn limit_a_per_m2(&self) -> Option<f64> {
        match self {
            Self::Primary => None,
            Self::Law(law) => law.limit().map(|l| l.current_a_per_m2),
            Self::Own(law) => {
                let (low, _) = law.range_a_per_m2();
                (low.is_finite() && low < 0.0).then_some(-low)
            }
        }
    }

    /// Current density that deposits (negative) or dissolves metal at a drop, A/m2. Nothing for a
    /// primary distribution, whose drop is always zero: there all of the current is metal.
    pub fn metal_current_a_per_m2(&self, drop_v: f64) -> Option<f64> {
        match self {
            Self::Primary => None,
            Self::Law(law) => Some(law.metal_current_a_per_m2(drop_v)),
            Self::Own(law) => Some(law.at_drop(drop_v).current_a_per_m2),
        }
    }

    /// Share of the current at a drop that is metal (local efficiency beside hydrogen), from 0 to
    /// 1; all of it with an own law. The current density of the metal is this times the whole.
    pub fn metal_share(&self, drop_v: f64) -> f64 {
        match self {
            Self::Primary | Self::Own(_) => 1.0,
            Self::Law(law) => law.metal_share(drop_v),
        }
    }

    /// The same with the limiting current times `factor`; see [`Polarisation::with_limit_times`]. An own
    /// law stays as it is.
    pub fn with_limit_times(&self, factor: f64) -> Self {
        match self {
            Self::Primary => Self::Primary,
            Self::Law(law) => Self::Law(law.with_limit_times(factor)),
            Self::Own(law) => Self::Own(law.clone()),
        }
    }
}
