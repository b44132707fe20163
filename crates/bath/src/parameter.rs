//! The figures behind a polarisation law, by type: the one place for their names; and the law they make.

use crate::figure::Figure;
use crate::kinetics::{Branch, Transfer};
use serde::{Serialize, Serializer};
use std::f64::consts::LN_10;

/// A figure behind the polarisation of the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Parameter {
    /// Exchange current density of the metal.
    Exchange,
    /// Tafel slope of the metal.
    TafelSlope,
    /// Anodic transfer coefficient.
    AnodicTransfer,
    /// Cathodic transfer coefficient.
    CathodicTransfer,
    /// Exchange current density of hydrogen.
    HydrogenExchange,
    /// Tafel slope of hydrogen.
    HydrogenSlope,
}

impl Parameter {
    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Exchange => "exchange current density",
            Self::TafelSlope => "Tafel slope",
            Self::AnodicTransfer => "anodic transfer coefficient",
            Self::CathodicTransfer => "cathodic transfer coefficient",
            Self::HydrogenExchange => "hydrogen: exchange current density",
            Self::HydrogenSlope => "hydrogen: Tafel slope",
        }
    }

    /// The same of the anodes.
    pub const fn name_of_anode(self) -> &'static str {
        match self {
            Self::Exchange => "anode: exchange current density",
            Self::TafelSlope => "anode: Tafel slope",
            Self::AnodicTransfer => "anode: anodic transfer coefficient",
            Self::CathodicTransfer => "anode: cathodic transfer coefficient",
            Self::HydrogenExchange | Self::HydrogenSlope => self.name(),
        }
    }
}

/// The charge transfer that figures make: Butler-Volmer if both coefficients are known, else a Tafel line of
/// deposition, else nothing.
pub fn transfer(figures: &[(Parameter, Figure)], temperature_k: f64) -> Option<Transfer> {
    let value = |wanted| {
        let found = figures.iter().find(|(name, _)| *name == wanted);
        found.map(|(_, figure)| figure.value)
    };
    let exchange_a_per_m2 = value(Parameter::Exchange)?;
    let both = value(Parameter::AnodicTransfer).zip(value(Parameter::CathodicTransfer));
    match both {
        Some((alpha_a, alpha_c)) => Some(Transfer::ButlerVolmer {
            exchange_a_per_m2,
            alpha_a,
            alpha_c,
            temperature_k,
        }),
        None => Some(Transfer::Tafel {
            branch: Branch::Cathodic,
            exchange_a_per_m2,
            slope_v: value(Parameter::TafelSlope)? / LN_10,
        }),
    }
}

/// As its name.
impl Serialize for Parameter {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}
