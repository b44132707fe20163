//! What an electrode is for: the one place for the words of a role.

use serde::de::{Deserialize, Deserializer, Error};
use serde::{Serialize, Serializer};

/// What an electrode is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// Positive side, dissolves or gasses.
    Anode,
    /// Negative side, to be plated.
    Work,
    /// Negative side, takes current away from edges of the work.
    Thief,
    /// Connected to nothing: current enters at one side and leaves at the other.
    Floating,
}

impl Role {
    /// All, in the order in which a job is read.
    pub const ALL: [Self; 4] = [Self::Anode, Self::Work, Self::Thief, Self::Floating];

    /// Does it hang on the negative side?
    pub fn is_cathode(self) -> bool {
        matches!(self, Self::Work | Self::Thief)
    }

    /// Key of its tables in the job file.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Anode => "anode",
            Self::Work => "work",
            Self::Thief => "thief",
            Self::Floating => "floating",
        }
    }

    /// Trade word, as it is printed and written.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Anode | Self::Work | Self::Thief => self.key(),
            Self::Floating => "floating metal",
        }
    }

    /// The role of a word.
    pub fn find(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.word() == word)
    }
}

/// As its word.
impl Serialize for Role {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}

impl<'de> Deserialize<'de> for Role {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let word = String::deserialize(deserializer)?;
        Self::find(&word).ok_or_else(|| {
            let known = Self::ALL.map(Self::word).join("`, `");
            D::Error::custom(format!("no role `{word}`: it is one of `{known}`"))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_read_back() {
        for role in Role::ALL {
            assert_eq!(Role::find(role.word()), Some(role));
            let text = serde_json::to_string(&role).unwrap();
            assert_eq!(text, format!("\"{}\"", role.word()));
            assert_eq!(serde_json::from_str::<Role>(&text).unwrap(), role);
        }
        let error = serde_json::from_str::<Role>("\"floating\"").unwrap_err();
        assert!(error.to_string().contains("`floating metal`"), "{error}");
    }
}
