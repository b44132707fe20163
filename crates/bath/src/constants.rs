//! Constants of nature and definitions.

/// Faraday constant, C/mol (CODATA 2018, exact in the revised SI: e N_A = 96485.33212...).
pub const FARADAY_C_PER_MOL: f64 = 96_485.332_12;

/// Molar gas constant, J/(mol K) (CODATA 2018, exact: 8.314462618...).
pub const GAS_J_PER_MOL_K: f64 = 8.314_462_618;

/// 0 degC in kelvin (definition).
pub const ZERO_CELSIUS_K: f64 = 273.15;

/// Standard acceleration of gravity, m/s2 (definition).
pub const GRAVITY_M_PER_S2: f64 = 9.806_65;

/// `RT/F` at a temperature, volts.
pub fn thermal_voltage_v(temperature_k: f64) -> f64 {
    GAS_J_PER_MOL_K * temperature_k / FARADAY_C_PER_MOL
}
