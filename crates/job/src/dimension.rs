//! The kinds of quantities, and for each the units in which it may be written.

/// What kind of quantity is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dimension {
    /// Metres.
    Length,
    /// Seconds.
    Time,
    /// Amperes.
    Current,
    /// A/m2.
    CurrentDensity,
    /// Volts.
    Voltage,
    /// Kelvin.
    Temperature,
    /// S/m.
    Conductivity,
    /// Ohm m2.
    AreaResistance,
    /// Ohm.
    Resistance,
    /// Ohm, of a square of a thin layer.
    SheetResistance,
    /// Ohm m.
    Resistivity,
    /// Coulombs.
    Charge,
    /// Grams per litre.
    Content,
    /// Grams per litre of sulfuric acid, also as volume of concentrated acid.
    AcidContent,
    /// mol/m3.
    Concentration,
    /// m2/s.
    Diffusion,
    /// Radians.
    Angle,
    /// A fraction of one.
    Share,
    /// m/s.
    Speed,
    /// Radians a second.
    Rotation,
    /// kg/m3.
    Density,
    /// Pa s.
    Viscosity,
    /// Money a kilogram.
    PriceOfMass,
    /// Money a joule.
    PriceOfEnergy,
    /// Money a second.
    PriceOfTime,
}

/// Name, other spellings, factor and offset to SI.
pub struct Unit {
    /// As listed in messages.
    pub symbol: &'static str,
    pub(crate) also: &'static [&'static str],
    pub(crate) factor: f64,
    pub(crate) offset: f64,
}

const fn unit(symbol: &'static str, factor: f64) -> Unit {
    spelt(symbol, &[], factor)
}

const fn spelt(symbol: &'static str, also: &'static [&'static str], factor: f64) -> Unit {
    Unit {
        symbol,
        also,
        factor,
        offset: 0.0,
    }
}

const INCH_M: f64 = 0.0254;
const FOOT_M: f64 = 0.3048;
/// An avoirdupois pound (exact by definition).
const POUND_KG: f64 = 0.453_592_37;
/// One avoirdupois ounce per US gallon in g/L (both exact by definition).
const OUNCE_PER_GALLON: f64 = 28.349_523_125 / 3.785_411_784;
/// Grams of H2SO4 in a millilitre of concentrated acid (96 %, 1.84 g/mL; from memory).
const CONCENTRATED_ACID_G_PER_ML: f64 = 0.96 * 1.84;
const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// Each kind of quantity: what it is called in messages, with its article, and its units.
const KINDS: [(Dimension, &str, &[Unit]); 25] = [
    (
        Dimension::Length,
        "a length",
        &[
            unit("mm", 1e-3),
            unit("cm", 1e-2),
            unit("m", 1.0),
            unit("um", 1e-6),
            spelt("in", &["inch"], INCH_M),
            unit("ft", FOOT_M),
            unit("mil", 1e-3 * INCH_M),
        ],
    ),
    (
        Dimension::Time,
        "a time",
        &[
            unit("s", 1.0),
            unit("ms", 1e-3),
            unit("min", 60.0),
            spelt("h", &["hour", "hours"], 3600.0),
            spelt("d", &["day", "days"], 86_400.0),
        ],
    ),
    (
        Dimension::Current,
        "a current",
        &[unit("A", 1.0), unit("mA", 1e-3), unit("kA", 1e3)],
    ),
    (
        Dimension::CurrentDensity,
        "a current density",
        &[
            spelt("A/dm2", &["ASD"], 100.0),
            unit("A/m2", 1.0),
            unit("mA/cm2", 10.0),
            spelt("A/ft2", &["ASF", "A/sqft"], 1.0 / (FOOT_M * FOOT_M)),
        ],
    ),
    (
        Dimension::Voltage,
        "a voltage",
        &[unit("V", 1.0), unit("mV", 1e-3)],
    ),
    (
        Dimension::Temperature,
        "a temperature",
        &[
            Unit {
                symbol: "degC",
                also: &["C"],
                factor: 1.0,
                offset: 273.15,
            },
            unit("K", 1.0),
            Unit {
                symbol: "degF",
                also: &["F"],
                factor: 5.0 / 9.0,
                offset: 459.67 * 5.0 / 9.0,
            },
        ],
    ),
    (
        Dimension::Conductivity,
        "a conductivity",
        &[unit("S/m", 1.0), unit("mS/cm", 0.1), unit("S/cm", 100.0)],
    ),
    (
        Dimension::AreaResistance,
        "a resistance of surface",
        &[
            spelt("ohm m2", &["ohm*m2", "ohm.m2"], 1.0),
            spelt("ohm cm2", &["ohm*cm2", "ohm.cm2"], 1e-4),
            spelt("ohm dm2", &["ohm*dm2", "ohm.dm2"], 1e-2),
        ],
    ),
    (
        Dimension::Resistance,
        "a resistance",
        &[unit("ohm", 1.0), unit("mohm", 1e-3), unit("kohm", 1e3)],
    ),
    (
        Dimension::SheetResistance,
        "a sheet resistance",
        &[
            spelt("ohm/sq", &["ohm"], 1.0),
            spelt("mohm/sq", &["mohm"], 1e-3),
            spelt("kohm/sq", &["kohm"], 1e3),
        ],
    ),
    (
        Dimension::Resistivity,
        "a resistivity",
        &[
            unit("ohm m", 1.0),
            unit("uohm cm", 1e-8),
            unit("nohm m", 1e-9),
        ],
    ),
    (
        Dimension::Charge,
        "a charge",
        &[spelt("A h", &["A.h", "A*h"], 3600.0), unit("C", 1.0)],
    ),
    (
        Dimension::Content,
        "an amount per volume of bath",
        &[
            spelt("g/L", &["g/l"], 1.0),
            unit("kg/m3", 1.0),
            unit("oz/gal", OUNCE_PER_GALLON),
        ],
    ),
    (
        Dimension::AcidContent,
        "an amount of acid per volume of bath",
        &[
            spelt("g/L", &["g/l"], 1.0),
            unit("kg/m3", 1.0),
            unit("oz/gal", OUNCE_PER_GALLON),
            spelt("mL/L", &["ml/l"], CONCENTRATED_ACID_G_PER_ML),
        ],
    ),
    (
        Dimension::Concentration,
        "a concentration",
        &[spelt("mol/L", &["mol/l", "M"], 1e3), unit("mol/m3", 1.0)],
    ),
    (
        Dimension::Diffusion,
        "a diffusion coefficient",
        &[unit("m2/s", 1.0), unit("cm2/s", 1e-4)],
    ),
    (
        Dimension::Angle,
        "an angle",
        &[
            spelt("deg", &["degree", "degrees"], DEGREE),
            unit("rad", 1.0),
        ],
    ),
    (Dimension::Share, "a share", &[unit("%", 0.01)]),
    (
        Dimension::Speed,
        "a speed",
        &[
            unit("m/s", 1.0),
            unit("m/min", 1.0 / 60.0),
            unit("cm/s", 0.01),
            unit("ft/min", FOOT_M / 60.0),
        ],
    ),
    (
        Dimension::Rotation,
        "a speed of rotation",
        &[
            spelt("rev/min", &["rpm", "1/min"], std::f64::consts::PI / 30.0),
            spelt("rev/s", &["1/s"], 2.0 * std::f64::consts::PI),
            unit("rad/s", 1.0),
        ],
    ),
    (
        Dimension::Density,
        "a density",
        &[
            unit("kg/m3", 1.0),
            unit("g/cm3", 1e3),
            spelt("kg/L", &["kg/l"], 1e3),
        ],
    ),
    (
        Dimension::Viscosity,
        "a viscosity",
        &[
            spelt("mPa s", &["mPa*s", "mPa.s"], 1e-3),
            spelt("Pa s", &["Pa*s", "Pa.s"], 1.0),
            unit("cP", 1e-3),
        ],
    ),
    (
        Dimension::PriceOfMass,
        "a price of metal",
        &[
            spelt("per kg", &["/kg"], 1.0),
            spelt("per g", &["/g"], 1e3),
            spelt("per lb", &["/lb"], 1.0 / POUND_KG),
        ],
    ),
    (
        Dimension::PriceOfEnergy,
        "a price of energy",
        &[
            spelt("per kWh", &["/kWh"], 1.0 / 3.6e6),
            spelt("per MJ", &["/MJ"], 1e-6),
        ],
    ),
    (
        Dimension::PriceOfTime,
        "a price of time",
        &[
            spelt("per h", &["/h", "per hour"], 1.0 / 3600.0),
            spelt("per d", &["/d", "per day"], 1.0 / 86_400.0),
        ],
    ),
];

impl Dimension {
    /// All kinds.
    pub(crate) fn all() -> impl Iterator<Item = Self> {
        KINDS.iter().map(|(kind, ..)| *kind)
    }

    /// What it is called in messages, with its article.
    pub fn name(self) -> &'static str {
        KINDS[self as usize].1
    }

    /// Accepted units.
    pub fn units(self) -> &'static [Unit] {
        KINDS[self as usize].2
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_in_the_order_of_the_kinds() {
        for (n, kind) in Dimension::all().enumerate() {
            assert_eq!(kind as usize, n, "{kind:?}");
        }
    }
}
