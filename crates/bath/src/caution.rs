//! What can hurt people, goods and water around a bath.
//!
//! Exposure limits change and differ by country: check the current table of your own. Not legal
//! advice.

use crate::figure::Grade;
use serde::Serialize;

/// One caution.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Caution {
    /// Subject.
    pub about: &'static str,
    /// The text.
    pub text: &'static str,
    /// How well it is founded.
    pub grade: Grade,
    /// Where it comes from.
    pub source: &'static str,
}

/// Low voltage, large current.
pub const ELECTRICAL: Caution = practice(
    "current",
    "the voltage is low, but a short circuit passes all the rectifier can give: hot contacts, arcs. \
     Earth the frame; never bridge bus bars",
);

/// Mixing acid.
pub const DILUTION: Caution = practice(
    "acid",
    "add acid to water, never water to acid; mixing heats",
);

/// Copper in drains.
pub const COPPER_IN_WATER: Caution = practice(
    "copper salts",
    "copper sulfate is very toxic to water life; keep it out of drains",
);

/// Acid mist.
pub const ACID_MIST: Caution = Caution {
    about: "sulfuric acid mist",
    text: "permissible level 1 mg/m3 over 8 h (USA), 0.05 mg/m3 (EU); strong acid mists are \
           classed as carcinogenic to humans (IARC Group 1)",
    grade: Grade::Uncited,
    source: "study of personal exposure to sulfuric acid in the electroplating industry, reprinted",
};

/// Nickel compounds.
pub const NICKEL_SALTS: Caution = Caution {
    about: "nickel",
    text: "nickel compounds are known human carcinogens and nickel sensitises the skin; OSHA \
           1 mg/m3 as Ni, NIOSH 0.015 mg/m3",
    grade: Grade::Seen,
    source: "US National Toxicology Program, Report on Carcinogens, 15th ed.; a safety data sheet",
};

/// Hydrogen.
pub const HYDROGEN: Caution = Caution {
    about: "hydrogen",
    text: "evolved beside the metal in this bath; flammable from 4 % by volume in air: ventilate",
    grade: Grade::Memory,
    source: "",
};

/// Cyanide.
pub const CYANIDE: Caution = practice(
    "CYANIDE",
    "Never acidify and never let any acid bath, rinse or drip mix with it: hydrogen cyanide gas, \
     lethal. Keep acid and cyanide lines, tanks, drains and ventilation apart, keep the pH above \
     11, have an antidote plan, never work alone",
);

/// Who may work with cyanide.
pub const CYANIDE_PRACTICE: Caution = practice(
    "licence",
    "cyanide baths belong to licensed practice: local codes for poison, stock, waste and exhaust come first",
);

const fn practice(about: &'static str, text: &'static str) -> Caution {
    Caution {
        about,
        text,
        grade: Grade::Practice,
        source: "",
    }
}

/// Cautions of an acid copper sulfate bath.
pub const ACID_COPPER: &[Caution] = &[ACID_MIST, DILUTION, COPPER_IN_WATER, ELECTRICAL];
