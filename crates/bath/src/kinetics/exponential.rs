//! An exponential that never overflows: `exp(x)` up to a cap, its tangent beyond. Convex, smooth to
//! first order, strictly increasing, so laws stay monotone for any drop a solver may try.

/// Exponent beyond which the tangent takes over. `e^200` is 7e86: no current density in a tank
/// comes near, and squares of it are still finite.
const CAP: f64 = 200.0;

/// Value and derivative.
pub(super) fn exp(x: f64) -> (f64, f64) {
    let slope = x.min(CAP).exp();
    (slope * (1.0 + (x - CAP).max(0.0)), slope)
}

/// Inverse of [`exp`].
pub(super) fn ln(y: f64) -> f64 {
    let x = y.ln();
    if x <= CAP {
        x
    } else {
        CAP + y / CAP.exp() - 1.0
    }
}
