//! Anodes that do not dissolve: oxygen is evolved on them.
//!
//! ```text
//! 2 H2O -> O2 + 4 H+ + 4 e           E = 1.229 V - (RT ln 10/F) pH     against the hydrogen electrode
//! i = i0 exp((u - back)/b)           back = E - E_metal
//! ```
//! `u` is the drop from the equilibrium of the metal of the bath, as for all laws, so that the back voltage
//! stands in full between anode and work before any current flows. Exchange current densities and slopes
//! are from memory, with wide bands: they fit about 0.6 V of overpotential on lead alloys, 0.7 V on platinised
//! titanium and 0.3 V on oxides of iridium at 3 A/dm2 in sulfuric acid. The standard potential is that of
//! every table of electrode potentials (recalled). In baths with chloride part of the gas is chlorine, which is
//! not counted apart.
//!
//! What such anodes do to a bath says [`crate::electrolyte`].

use crate::constants::{ZERO_CELSIUS_K, thermal_voltage_v};
use crate::error::BathError;
use crate::figure::{Figure, Grade, Origin, Range};
use crate::kinetics::{Branch, Polarisation, Transfer};
use serde::Serialize;
use std::f64::consts::LN_10;

/// Standard potential of oxygen, V against the hydrogen electrode.
const OXYGEN_V: f64 = 1.229;

/// A kind of anode that does not dissolve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Insoluble {
    /// Name in the job file.
    pub name: &'static str,
    /// Exchange current density of oxygen on it.
    pub exchange: Figure,
    /// Tafel slope of oxygen on it, V per decade.
    pub slope: Figure,
    /// Usual current density, A/dm2.
    pub usual_current: Range,
    /// What to know of it.
    pub habit: &'static str,
}

const fn recalled(low: f64, high: f64) -> Range {
    Range::new(low, high, "A/dm2", Grade::Memory, "")
}

const fn exchange(value: f64) -> Figure {
    Figure::new(value, "A/m2", Grade::Memory, "oxygen in sulfuric acid").within_factor(10.0)
}

const fn slope(value: f64, low: f64, high: f64) -> Figure {
    Figure::new(value, "V/decade", Grade::Memory, "oxygen in sulfuric acid").between(low, high)
}

/// The kinds.
pub static INSOLUBLE: [Insoluble; 3] = [
    Insoluble {
        name: "lead alloy",
        exchange: exchange(3e-3),
        slope: slope(0.12, 0.1, 0.14),
        usual_current: recalled(1.0, 5.0),
        habit: "for sulfate baths only; sheds lead oxide, and lead must not reach the work",
    },
    Insoluble {
        name: "platinised titanium",
        exchange: exchange(5e-4),
        slope: slope(0.12, 0.1, 0.14),
        usual_current: recalled(1.0, 20.0),
        habit: "current that turns round, fluoride and organic additives wear the platinum",
    },
    Insoluble {
        name: "mixed metal oxide",
        exchange: exchange(3e-3),
        slope: slope(0.06, 0.05, 0.075),
        usual_current: recalled(1.0, 30.0),
        habit: "current that turns round destroys the coating; additives are used up on it",
    },
];

impl Insoluble {
    /// Finds a kind by name.
    pub fn find(name: &str) -> Option<&'static Self> {
        INSOLUBLE.iter().find(|kind| kind.name == name)
    }

    /// Its law over a back voltage, V.
    ///
    /// # Errors
    /// A back voltage that is not greater than zero.
    pub fn law(&self, back_v: f64) -> Result<Polarisation, BathError> {
        evolving_oxygen(self.exchange.value, self.slope.value / LN_10, back_v)
            .map(|law| law.with_transfer_from(Origin::Bath))
    }
}

/// The law of an insoluble anode of known figures: exchange current density, A/m2, natural-logarithm
/// Tafel slope, V, back voltage, V.
///
/// # Errors
/// Figures that are not greater than zero.
pub fn evolving_oxygen(
    exchange_a_per_m2: f64,
    slope_v: f64,
    back_v: f64,
) -> Result<Polarisation, BathError> {
    let transfer = Transfer::Tafel {
        branch: Branch::Anodic,
        exchange_a_per_m2,
        slope_v,
    };
    Polarisation::evolving_gas(transfer, back_v)
}

/// Equilibrium of oxygen above that of a metal, V, from the pH and the metal's own potential against the
/// hydrogen electrode.
pub(crate) fn back_voltage(temperature_c: f64, ph: f64, metal: Figure) -> Figure {
    let decade_v = LN_10 * thermal_voltage_v(temperature_c + ZERO_CELSIUS_K);
    let value = OXYGEN_V - decade_v * ph - metal.value;
    let source = "1.229 V less 59 mV a unit of pH, less the equilibrium of the metal in the bath";
    Figure::new(value, "V", Grade::Memory, source).between(value - 0.1, value + 0.1)
}
