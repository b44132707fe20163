//! What the solver asks of an electrode law.

use std::fmt::Debug;

/// Answer of an electrode element to its driving voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Response {
    /// Current density from metal into electrolyte (anodic positive), A/m2.
    pub current_a_per_m2: f64,
    /// Its slope against the driving voltage, S/m2; never negative.
    pub slope_s_per_m2: f64,
}

/// A monotone law: current density against the drop `metal potential - solution potential`.
pub trait Law: Send + Sync + Debug {
    /// Current density and slope at a drop in volts, no series resistance.
    fn at_drop(&self, drop_v: f64) -> Response;

    /// Open interval of the current densities the law can carry, A/m2 (anodic positive).
    fn range_a_per_m2(&self) -> (f64, f64) {
        (f64::NEG_INFINITY, f64::INFINITY)
    }

    /// The drop at a given current density inside the range, volts.
    fn drop_at(&self, current_a_per_m2: f64) -> f64;

    /// Solves `i = law(drive - series * i)`: the element of law and series resistance
    /// (ohm m2, electrolyte between probe and surface). The default is a safeguarded Newton
    /// iteration on [`Law::at_drop`]; an equipotential law overrides it.
    fn respond(&self, drive_v: f64, series_ohm_m2: f64) -> Response;
}
