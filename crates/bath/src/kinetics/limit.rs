//! What mass transfer lets through.

use serde::Serialize;

/// The largest cathodic current density that mass transfer can feed.
///
/// The surface concentration falls as `1 - i_c / i_L` (Nernst film); each law says how that
/// slows it down.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Limit {
    /// Limiting current density `i_L` (magnitude), A/m2.
    pub current_a_per_m2: f64,
    /// `RT/(nF)` in volts, when a separate concentration overpotential
    /// `(RT/nF) ln(1 - i_c / i_L)` is to stand in series with the law; none otherwise.
    pub film_voltage_v: Option<f64>,
}
