//! Resistive strips and disks fed at one place, locally one-dimensional electrolyte.
//!
//! With the sheet resistance `Rs`, the area resistance `r` of law and electrolyte and the voltage `V`:
//! strip `i = (V/r) cosh(beta (1 - x/L))/cosh(beta)`, `beta = L sqrt(Rs/r)` (Tobias and Wijsman 1953,
//! citation from memory, re-derived); disk fed at its rim `i = (V/r) I0(beta r/a)/I0(beta)`. With Tafel
//! kinetics of slope `b` and no electrolyte resistance: strip `i = i_far sec^2(theta (1 - x/L))`,
//! `theta tan(theta) = Rs I L/(2 b)`, I per width; disk `i = i_c/(1 - s (r/a)^2)^2`, `s = X/(1 + X)`,
//! `X = Rs I/(8 pi b)` (Liouville's equation, own derivation).

use std::f64::consts::PI;

/// Strip fed at x = 0, linear law.
pub fn linear(length: f64, sheet_ohm: f64, area_ohm_m2: f64, volts: f64, x: f64) -> f64 {
    let beta = length * (sheet_ohm / area_ohm_m2).sqrt();
    volts / area_ohm_m2 * (beta * (1.0 - x / length)).cosh() / beta.cosh()
}

/// Strip fed at x = 0 with this current per width (A/m), Tafel law.
pub fn tafel(length: f64, sheet_ohm: f64, slope_v: f64, amps_per_m: f64, x: f64) -> f64 {
    let k = sheet_ohm * amps_per_m * length / (2.0 * slope_v);
    let (mut low, mut high) = (0.0, 0.5 * PI);
    for _ in 0..60 {
        let middle: f64 = 0.5 * (low + high);
        if middle * middle.tan() < k {
            low = middle;
        } else {
            high = middle;
        }
    }
    let theta: f64 = low;
    let far = amps_per_m / length * theta / theta.tan();
    far / (theta * (1.0 - x / length)).cos().powi(2)
}

/// Modified Bessel function `I0` of moderate arguments, by its series.
fn bessel_i0(x: f64) -> f64 {
    let (mut term, mut sum) = (1.0, 1.0);
    for k in 1..60 {
        term *= (0.5 * x / f64::from(k)).powi(2);
        sum += term;
    }
    sum
}

/// Disk fed all round its rim, linear law.
pub fn disk(radius: f64, sheet_ohm: f64, area_ohm_m2: f64, volts: f64, r: f64) -> f64 {
    let beta = radius * (sheet_ohm / area_ohm_m2).sqrt();
    volts / area_ohm_m2 * bessel_i0(beta * r / radius) / bessel_i0(beta)
}

/// Disk fed all round its rim with this current (A), Tafel law.
pub fn disk_tafel(radius: f64, sheet_ohm: f64, slope_v: f64, amps: f64, r: f64) -> f64 {
    let x = sheet_ohm * amps / (8.0 * PI * slope_v);
    let s = x / (1.0 + x);
    let centre = amps / (PI * radius * radius) * (1.0 - s);
    centre / (1.0 - s * (r / radius).powi(2)).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::expected;
    use approx::assert_relative_eq;

    #[test]
    fn tied_to_the_table() {
        let check = |found: f64, id: &str, place: &str| {
            let stated = expected(id, "current density", place);
            assert_relative_eq!(found, stated, max_relative = 1e-9);
        };
        check(linear(0.2, 0.05, 0.002, 0.5, 0.05), "R01", "x = 0.25 L");
        check(tafel(0.2, 0.05, 0.05, 60.0, 0.1), "R02", "x = L/2");
        check(tafel(0.2, 0.05, 0.05, 60.0, 0.0), "R02", "contact");
        check(disk(0.1, 0.1, 0.0015, 0.4, 0.05), "R03", "r = 0.5 a");
        check(disk_tafel(0.1, 0.1, 0.05, 10.0, 0.05), "R03b", "r = a/2");
    }
}
