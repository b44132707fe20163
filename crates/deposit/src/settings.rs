//! How a run is to go.

use crate::cause::Cause;

/// Limits and tolerances of a run.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Memory the run may take, bytes.
    pub memory_bytes: u64,
    /// Of the solver.
    pub field: ionfall_field::Settings,
    /// Largest error of a time step: of the thickness, as a share of it and of the thickness that
    /// conducts as well as the coat.
    pub time_tolerance: f64,
    /// Least number of time steps on a ramp.
    pub ramp_steps: f64,
    /// What the run is to know its [sensitivities](crate::sensitivity) of.
    pub causes: Vec<Cause>,
}

impl Settings {
    /// Time steps as much coarser as the cells.
    pub(crate) fn coarser(&self, factor: f64) -> Self {
        Self {
            time_tolerance: self.time_tolerance * factor,
            ramp_steps: self.ramp_steps / factor,
            causes: Vec::new(),
            ..self.clone()
        }
    }
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            memory_bytes: 8 << 30,
            field: ionfall_field::Settings::default(),
            time_tolerance: 5e-3,
            ramp_steps: 16.0,
            causes: Vec::new(),
        }
    }
}
