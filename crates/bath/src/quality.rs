//! How a deposit is likely to look, from the share of the local limiting current.
//!
//! Bands, not promises: dust, additives and thickness matter as much. Uniform thickness and a
//! smooth surface ask for different shares: the most uniform deposits were found at 0.4 to 0.5, where
//! roughening begins ("Throwing power of a dilute sulfuric acid copper-plating electrolyte during
//! intensive electrodeposition", abstract; journal and year not seen).

use crate::figure::{Figure, Grade, Range};
use serde::{Deserialize, Serialize};

/// Share of the limiting current from which mass transfer takes hold and deposits roughen.
const ROUGH_SHARE: Figure = Figure::new(
    0.4,
    "",
    Grade::Seen,
    "Gas sparging during copper electrolysis, J. Appl. Electrochem. 20 (1990), abstract; Trans. IMF 49 (1971) 17, abstract",
);

/// Share of the limiting current from which trees and dendrites grow; in deposits under 2 um they
/// show only close to the limit.
const TREE_SHARE: Figure = Figure::new(
    0.7,
    "",
    Grade::Seen,
    "Trans. IMF 48 (1970) 35, summary, and 49 (1971) 17, abstract: acid copper",
);

/// Share to stay under at the worst edge of a thick shell, because thick deposits make roughness
/// grow.
pub const THICK_SHELL_SHARE: Range = Range::new(0.2, 0.35, "", Grade::Practice, "");

/// What to expect of a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Quality {
    /// Well under the limit.
    Sound,
    /// Roughness likely.
    Rough,
    /// Trees and burning likely.
    Trees,
}

impl Quality {
    /// All, from sound to trees.
    pub const ALL: [Self; 3] = [Self::Sound, Self::Rough, Self::Trees];

    /// The share of the limiting current from which it is to be expected, with its source.
    pub const fn begins(self) -> Figure {
        match self {
            Self::Sound => Figure::new(0.0, "", Grade::Computed, "no current"),
            Self::Rough => ROUGH_SHARE,
            Self::Trees => TREE_SHARE,
        }
    }

    /// The same as a number.
    pub const fn from_share(self) -> f64 {
        self.begins().value
    }

    /// Of a share of the limiting current of the metal.
    pub fn of(share: f64) -> Self {
        if share >= Self::Trees.from_share() {
            Self::Trees
        } else if share >= Self::Rough.from_share() {
            Self::Rough
        } else {
            Self::Sound
        }
    }

    /// The metal to be expected.
    pub fn metal(self) -> &'static str {
        match self {
            Self::Sound => "smooth metal",
            Self::Rough => "roughness",
            Self::Trees => "trees and burning",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_begin_at_their_share() {
        for (share, quality) in [
            (0.0, Quality::Sound),
            (0.399, Quality::Sound),
            (0.4, Quality::Rough),
            (0.7, Quality::Trees),
            (1.0, Quality::Trees),
        ] {
            assert_eq!(Quality::of(share), quality);
        }
        assert!(Quality::Sound < Quality::Trees);
    }
}
