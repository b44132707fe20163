//! The figures behind a polarisation law, by type: the one place for their names.

use serde::{Serialize, Serializer};

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
}

/// As its name.
impl Serialize for Parameter {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}
