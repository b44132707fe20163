//! What a thing that is drawn is: the one place for the words of what is no electrode.

use ionfall_model::Role;
use serde::{Serialize, Serializer};

/// What a thing that is drawn is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The walls of the tank.
    Tank,
    /// What the current goes around.
    Shield,
    /// Where current is led into a coat.
    Contact,
    /// An electrode.
    Electrode(Role),
}

impl Kind {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Tank => "tank",
            Self::Shield => "shield",
            Self::Contact => "contact",
            Self::Electrode(role) => role.word(),
        }
    }
}

/// As its word.
impl Serialize for Kind {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}
