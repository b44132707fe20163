//! The corner rule: near a corner of interior angle `beta` (in the electrolyte) the primary current
//! density goes as `r^p` with `p = pi/beta - 1` between two faces at one potential, and
//! `p = pi/(2 beta) - 1` where an electrode meets an insulator. Separation of variables in polar
//! coordinates; discussed in Newman, Electrochemical Systems.

/// The exponent `p` for an interior angle in degrees; `electrodes`: two faces at one potential.
pub fn exponent(degrees: f64, electrodes: bool) -> f64 {
    let order = 180.0 / degrees;
    if electrodes {
        order - 1.0
    } else {
        0.5 * order - 1.0
    }
}
