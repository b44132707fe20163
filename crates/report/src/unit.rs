//! Units: plain, as files and the terminal have them, and in their own letters, as pages print them.

use serde::{Serialize, Serializer};
use std::fmt;

/// Parts of units that have letters of their own.
#[cfg(feature = "pages")]
const SIGNS: [(&str, &str); 9] = [
    ("um", "\u{b5}m"),
    ("dm2", "dm\u{b2}"),
    ("m2", "m\u{b2}"),
    ("m3", "m\u{b3}"),
    ("cm2", "cm\u{b2}"),
    ("degC", "\u{b0}C"),
    ("A/dm2", "A/dm\u{b2}"),
    ("A/m2", "A/m\u{b2}"),
    ("+-", "\u{b1}"),
];

/// The unit of a figure that is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// A plain number.
    One,
    /// Per cent.
    Percent,
    /// Micrometres.
    Um,
    /// Millimetres.
    Mm,
    /// Minutes.
    Min,
    /// Hours.
    H,
    /// Grams.
    G,
    /// Volts.
    V,
    /// Amperes.
    A,
    /// Amperes per square decimetre.
    APerDm2,
    /// Kilowatt hours.
    KWh,
    /// Money, in the currency of the job.
    Money,
}

impl Unit {
    /// In letters that every file takes; empty for a plain number.
    pub const fn plain(self) -> &'static str {
        match self {
            Self::One | Self::Money => "",
            Self::Percent => "%",
            Self::Um => "um",
            Self::Mm => "mm",
            Self::Min => "min",
            Self::H => "h",
            Self::G => "g",
            Self::V => "V",
            Self::A => "A",
            Self::APerDm2 => "A/dm2",
            Self::KWh => "kWh",
        }
    }

    /// In its own letters.
    #[cfg(feature = "pages")]
    pub(crate) fn printed(self) -> String {
        printed(self.plain())
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.plain())
    }
}

impl Serialize for Unit {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.plain())
    }
}

/// A sentence with its units in their own letters. Names are left alone,
/// because a unit follows a number, a space, a comma or a stroke and ends there.
#[cfg(feature = "pages")]
pub(crate) fn printed(plain: &str) -> String {
    let word = |w: &str| -> String {
        let core = w.trim_end_matches([',', '.', ';', ':', ')']);
        let tail = &w[core.len()..];
        if let Some(number) = core.strip_prefix("+-") {
            return format!("\u{b1}{number}{tail}");
        }
        let (over, under) = core.rsplit_once('/').unwrap_or(("", core));
        match SIGNS.iter().find(|(sign, _)| *sign == under) {
            Some((_, printed)) if over.is_empty() => format!("{printed}{tail}"),
            Some((_, printed)) => format!("{over}/{printed}{tail}"),
            None => w.into(),
        }
    };
    plain.split(' ').map(word).collect::<Vec<_>>().join(" ")
}

#[cfg(all(test, feature = "pages"))]
mod tests {
    use super::*;

    #[test]
    fn units_have_their_letters_and_names_keep_theirs() {
        assert_eq!(printed("300 um, 2 A/dm2."), "300 \u{b5}m, 2 A/dm\u{b2}.");
        assert_eq!(printed("drum +-20 %"), "drum \u{b1}20 %");
        assert_eq!(printed("kg/m3 at 25 degC"), "kg/m\u{b3} at 25 \u{b0}C");
        assert_eq!(Unit::APerDm2.printed(), "A/dm\u{b2}");
        assert_eq!(Unit::One.printed(), "");
    }
}
