//! When a solve stops.

/// When to stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Imbalance of the nodes, relative to the currents of the facets (both as root of the sum of
    /// squares).
    pub tolerance: f64,
    /// Newton steps after which the attempt is given up.
    pub max_newton_steps: usize,
}

impl Default for Settings {
    /// 1e-10, far below what any electrode law is known to, so that currents balance to every
    /// digit printed; 30 steps, two to ten being usual.
    fn default() -> Self {
        Settings {
            tolerance: 1e-10,
            max_newton_steps: 30,
        }
    }
}
