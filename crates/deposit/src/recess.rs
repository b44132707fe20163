//! Sheltered places, and what they make of the answers ([`still`](crate::still)).

use crate::place::Place;
use serde::Serialize;

/// Sheltered places, and what they make of the answers.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Recesses {
    /// Radius of the ball that does not enter them, m.
    pub radius_m: f64,
    /// What that may be, m, where it is the usual one of the agitation rather than the job's.
    pub radius_band_m: Option<[f64; 2]>,
    /// Film of open flow, m.
    pub film_m: f64,
    /// Share of the limiting current that is left at each facet; 1 in the open.
    #[serde(skip)]
    pub shelter: Vec<f64>,
    /// Limiting current density of each facet then, A/m2; not a number where there is none.
    #[serde(skip)]
    pub limit_a_per_m2: Vec<f64>,
    /// The least of the shares.
    pub least_share: f64,
    /// The answers if nothing moves there; nothing where they are the same.
    pub still: Option<Still>,
}

/// The answers if the liquid in the recesses stands still.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Still {
    /// The cathodes.
    pub bodies: Vec<StillBody>,
    /// Voltage of the main supply at the end, V.
    pub voltage_v: Option<f64>,
    /// When the wanted thickness was or would be reached everywhere, s.
    pub wish_s: Option<f64>,
    /// Why there are none: the current cannot flow then.
    pub failure: Option<String>,
}

/// A cathode whose recesses stand still.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StillBody {
    /// Name.
    pub name: String,
    /// Thinnest place.
    pub thinnest: Option<Place>,
    /// Thickest place.
    pub thickest: Option<Place>,
    /// Largest share of the limiting current that a place has then.
    pub limit_share: Option<Place>,
}

impl Still {
    /// The cathode of a name.
    pub fn body(&self, name: &str) -> Option<&StillBody> {
        self.bodies.iter().find(|b| b.name == name)
    }
}
