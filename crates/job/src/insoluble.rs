//! Anodes that do not dissolve.
//!
//! ```toml
//! [[anode]]
//! insoluble = "lead alloy"              # or "platinised titanium", "mixed metal oxide"
//!
//! [[anode]]                             # measured, or of another make
//! insoluble = { exchange_current_density = "0.001 A/m2", slope_per_decade = "110 mV", back_voltage = "0.9 V" }
//! ```
//! Oxygen is evolved on them instead of metal being dissolved; `back_voltage` is its equilibrium above that of
//! the metal of the bath. What they do to the bath is noted.

use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_bath::anode::{INSOLUBLE, Insoluble, evolving_oxygen};
use ionfall_bath::{BathError, Electrolyte, Kinetics, Polarisation};
use std::f64::consts::LN_10;

/// The key.
pub(crate) const KEY: &str = "insoluble";

/// Usual back voltages, V.
const BACK_V: [f64; 2] = [0.3, 2.5];

/// The words.
pub(crate) fn words() -> Vec<&'static str> {
    INSOLUBLE.iter().map(|kind| kind.name).collect()
}

/// Reads the key of an anode in a bath, if that is right; nothing if what it says cannot be understood.
pub(crate) fn read(item: &Item, anode: &Table, bath: Option<&Electrolyte>) -> Option<Kinetics> {
    if anode.has("law") {
        item.fault(
            "the anode has both a law and `insoluble`, which is one",
            "keep one of them; figures of an insoluble anode stand in insoluble = { ... }",
        );
        return None;
    }
    let said = if item.is_text() {
        Said::Kind(Insoluble::find(item.choice(&words())?)?)
    } else {
        figures(&item.table()?)?
    };
    // Of a faulty bath nothing more can be said.
    let Some(bath) = bath else {
        return Some(Kinetics::Primary);
    };
    match said.law(bath) {
        Ok(law) => {
            said.tell(item, bath);
            Some(Kinetics::Law(law))
        }
        Err(error) => {
            item.fault(
                error.to_string(),
                "write insoluble = { exchange_current_density = \"0.003 A/m2\", slope_per_decade = \"120 mV\", \
                 back_voltage = \"0.9 V\" }",
            );
            None
        }
    }
}

/// What the job says.
enum Said {
    /// What it is made of.
    Kind(&'static Insoluble),
    /// Its figures.
    Figures {
        exchange_a_per_m2: f64,
        /// Per factor e.
        slope_v: f64,
        back_v: f64,
    },
}

impl Said {
    fn law(&self, bath: &Electrolyte) -> Result<Polarisation, BathError> {
        match self {
            Self::Kind(kind) => bath.insoluble(kind),
            Self::Figures {
                exchange_a_per_m2,
                slope_v,
                back_v,
            } => evolving_oxygen(*exchange_a_per_m2, *slope_v, *back_v),
        }
    }

    /// Notes what it does to the bath.
    fn tell(&self, item: &Item, bath: &Electrolyte) {
        for words in bath.insoluble_words() {
            item.note(format!("insoluble anode: {words}"));
        }
        if let Self::Kind(kind) = self {
            let usual = kind.usual_current;
            item.note(format!(
                "insoluble anode of {}, usually at {usual} ({}): {}",
                kind.name, usual.grade, kind.habit
            ));
        }
    }
}

/// Reads figures.
fn figures(table: &Table) -> Option<Said> {
    let exchange = table.need_positive(
        "exchange_current_density",
        "\"0.003 A/m2\"",
        Dimension::CurrentDensity,
    );
    let slope = table.need_positive("slope_per_decade", "\"120 mV\"", Dimension::Voltage);
    let back = table.need("back_voltage", "\"0.9 V\"").and_then(|i| {
        let volts = i.positive(Dimension::Voltage)?;
        i.usual(Dimension::Voltage, volts, BACK_V, "V");
        Some(volts)
    });
    table.finish();
    Some(Said::Figures {
        exchange_a_per_m2: exchange?,
        slope_v: slope? / LN_10,
        back_v: back?,
    })
}
