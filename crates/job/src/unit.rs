//! Units as the trade writes them: `"50 mm"`, `"3 A/dm2"`, `"25 degC"` to SI numbers and back.
//!
//! A quantity is a number, an optional space and a unit. Exponents may be written `2`, `^2` or
//! the raised figure, micro as `u` or the Greek letter, degrees as `degC` or with the ring.
//! `SI value = number * factor + offset` (the offset is for temperatures only).

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
}

/// Name, other spellings, factor and offset to SI.
pub struct Unit {
    /// As listed in messages.
    pub symbol: &'static str,
    also: &'static [&'static str],
    factor: f64,
    offset: f64,
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
/// One avoirdupois ounce per US gallon in g/L (both exact by definition).
const OUNCE_PER_GALLON: f64 = 28.349_523_125 / 3.785_411_784;
/// Grams of H2SO4 in a millilitre of concentrated acid (96 %, 1.84 g/mL; from memory).
const CONCENTRATED_ACID_G_PER_ML: f64 = 0.96 * 1.84;
const DEGREE: f64 = std::f64::consts::PI / 180.0;

impl Dimension {
    const ALL: [Self; 22] = [
        Self::Length,
        Self::Time,
        Self::Current,
        Self::CurrentDensity,
        Self::Voltage,
        Self::Temperature,
        Self::Conductivity,
        Self::AreaResistance,
        Self::Resistance,
        Self::SheetResistance,
        Self::Resistivity,
        Self::Charge,
        Self::Content,
        Self::AcidContent,
        Self::Concentration,
        Self::Diffusion,
        Self::Angle,
        Self::Share,
        Self::Speed,
        Self::Rotation,
        Self::Density,
        Self::Viscosity,
    ];

    /// What it is called in messages, with its article.
    pub fn name(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Time => "a time",
            Self::Current => "a current",
            Self::CurrentDensity => "a current density",
            Self::Voltage => "a voltage",
            Self::Temperature => "a temperature",
            Self::Conductivity => "a conductivity",
            Self::AreaResistance => "a resistance of surface",
            Self::Resistance => "a resistance",
            Self::SheetResistance => "a sheet resistance",
            Self::Resistivity => "a resistivity",
            Self::Charge => "a charge",
            Self::Content => "an amount per volume of bath",
            Self::AcidContent => "an amount of acid per volume of bath",
            Self::Concentration => "a concentration",
            Self::Diffusion => "a diffusion coefficient",
            Self::Angle => "an angle",
            Self::Share => "a share",
            Self::Speed => "a speed",
            Self::Rotation => "a speed of rotation",
            Self::Density => "a density",
            Self::Viscosity => "a viscosity",
        }
    }

    /// Accepted units.
    pub fn units(self) -> &'static [Unit] {
        match self {
            Self::Length => {
                &const {
                    [
                        unit("mm", 1e-3),
                        unit("cm", 1e-2),
                        unit("m", 1.0),
                        unit("um", 1e-6),
                        spelt("in", &["inch"], INCH_M),
                        unit("ft", FOOT_M),
                        unit("mil", 1e-3 * INCH_M),
                    ]
                }
            }
            Self::Time => {
                &const {
                    [
                        unit("s", 1.0),
                        unit("ms", 1e-3),
                        unit("min", 60.0),
                        spelt("h", &["hour", "hours"], 3600.0),
                        spelt("d", &["day", "days"], 86_400.0),
                    ]
                }
            }
            Self::Current => &const { [unit("A", 1.0), unit("mA", 1e-3), unit("kA", 1e3)] },
            Self::CurrentDensity => {
                &const {
                    [
                        spelt("A/dm2", &["ASD"], 100.0),
                        unit("A/m2", 1.0),
                        unit("mA/cm2", 10.0),
                        spelt("A/ft2", &["ASF", "A/sqft"], 1.0 / (FOOT_M * FOOT_M)),
                    ]
                }
            }
            Self::Voltage => &const { [unit("V", 1.0), unit("mV", 1e-3)] },
            Self::Temperature => {
                &const {
                    [
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
                    ]
                }
            }
            Self::Conductivity => {
                &const { [unit("S/m", 1.0), unit("mS/cm", 0.1), unit("S/cm", 100.0)] }
            }
            Self::AreaResistance => {
                &const {
                    [
                        spelt("ohm m2", &["ohm*m2", "ohm.m2"], 1.0),
                        spelt("ohm cm2", &["ohm*cm2", "ohm.cm2"], 1e-4),
                        spelt("ohm dm2", &["ohm*dm2", "ohm.dm2"], 1e-2),
                    ]
                }
            }
            Self::Resistance => {
                &const { [unit("ohm", 1.0), unit("mohm", 1e-3), unit("kohm", 1e3)] }
            }
            Self::SheetResistance => {
                &const {
                    [
                        spelt("ohm/sq", &["ohm"], 1.0),
                        spelt("mohm/sq", &["mohm"], 1e-3),
                        spelt("kohm/sq", &["kohm"], 1e3),
                    ]
                }
            }
            Self::Resistivity => {
                &const {
                    [
                        unit("ohm m", 1.0),
                        unit("uohm cm", 1e-8),
                        unit("nohm m", 1e-9),
                    ]
                }
            }
            Self::Charge => &const { [spelt("A h", &["A.h", "A*h"], 3600.0), unit("C", 1.0)] },
            Self::Content => {
                &const {
                    [
                        spelt("g/L", &["g/l"], 1.0),
                        unit("kg/m3", 1.0),
                        unit("oz/gal", OUNCE_PER_GALLON),
                    ]
                }
            }
            Self::AcidContent => {
                &const {
                    [
                        spelt("g/L", &["g/l"], 1.0),
                        unit("kg/m3", 1.0),
                        unit("oz/gal", OUNCE_PER_GALLON),
                        spelt("mL/L", &["ml/l"], CONCENTRATED_ACID_G_PER_ML),
                    ]
                }
            }
            Self::Concentration => {
                &const { [spelt("mol/L", &["mol/l", "M"], 1e3), unit("mol/m3", 1.0)] }
            }
            Self::Diffusion => &const { [unit("m2/s", 1.0), unit("cm2/s", 1e-4)] },
            Self::Angle => {
                &const {
                    [
                        spelt("deg", &["degree", "degrees"], DEGREE),
                        unit("rad", 1.0),
                    ]
                }
            }
            Self::Share => &const { [unit("%", 0.01)] },
            Self::Speed => {
                &const {
                    [
                        unit("m/s", 1.0),
                        unit("m/min", 1.0 / 60.0),
                        unit("cm/s", 0.01),
                        unit("ft/min", FOOT_M / 60.0),
                    ]
                }
            }
            Self::Rotation => {
                &const {
                    [
                        spelt("rev/min", &["rpm", "1/min"], std::f64::consts::PI / 30.0),
                        spelt("rev/s", &["1/s"], 2.0 * std::f64::consts::PI),
                        unit("rad/s", 1.0),
                    ]
                }
            }
            Self::Density => {
                &const {
                    [
                        unit("kg/m3", 1.0),
                        unit("g/cm3", 1e3),
                        spelt("kg/L", &["kg/l"], 1e3),
                    ]
                }
            }
            Self::Viscosity => {
                &const {
                    [
                        spelt("mPa s", &["mPa*s", "mPa.s"], 1e-3),
                        spelt("Pa s", &["Pa*s", "Pa.s"], 1.0),
                        unit("cP", 1e-3),
                    ]
                }
            }
        }
    }

    /// Accepted units, for a message.
    pub fn list(self) -> String {
        let symbols: Vec<_> = self.units().iter().map(|u| u.symbol).collect();
        symbols.join(", ")
    }

    fn find(self, symbol: &str) -> Option<&'static Unit> {
        let compact = symbol.replace(' ', "");
        self.units()
            .iter()
            .find(|u| u.symbol.replace(' ', "") == compact || u.also.contains(&compact.as_str()))
    }

    /// A quantity in SI units.
    ///
    /// # Errors
    /// No number, no unit, a unit of another kind.
    pub fn parse(self, text: &str) -> Result<f64, UnitError> {
        let (number, symbol) = split(text)?;
        self.convert(number, symbol)
    }

    /// Writes an SI value in one of the accepted units, if `symbol` is one.
    pub fn write(self, si: f64, symbol: &str) -> Option<String> {
        let unit = self.find(symbol)?;
        Some(format!(
            "{} {}",
            (si - unit.offset) / unit.factor,
            unit.symbol
        ))
    }

    /// A number of a unit in SI units.
    pub(crate) fn convert(self, number: f64, symbol: &str) -> Result<f64, UnitError> {
        if symbol.is_empty() {
            return Err(UnitError::NoUnit);
        }
        let clean = normalised(symbol);
        match self.find(&clean) {
            Some(unit) => Ok(number * unit.factor + unit.offset),
            None => Err(UnitError::WrongUnit {
                symbol: symbol.into(),
                kind: Self::ALL
                    .into_iter()
                    .find(|d| d.find(&clean).is_some())
                    .map(Self::name),
            }),
        }
    }
}

/// Why a text is no quantity of the wanted kind.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum UnitError {
    /// Does not begin with a number.
    #[error("no number in front")]
    NoNumber,
    /// A comma inside the number.
    #[error("a decimal comma; write a decimal point")]
    Comma,
    /// Number without a unit.
    #[error("the unit is missing")]
    NoUnit,
    /// A unit that does not fit.
    #[error("`{symbol}` {}", .kind.map_or("is no unit known here".into(), |k| format!("measures {k}")))]
    WrongUnit {
        /// As written.
        symbol: String,
        /// What it measures, if it is a unit of something else.
        kind: Option<&'static str>,
    },
    /// A name that is no figure of the job.
    #[error("no figure is called `{name}`; {help}")]
    NoFigure {
        /// As written.
        name: String,
        /// The nearest figure, or all.
        help: String,
    },
    /// More than a quantity of its kind may be here.
    #[error("more than {most}, which is beyond all tanks")]
    Beyond {
        /// The most there may be, in trade units.
        most: &'static str,
    },
    /// Figures that use each other.
    #[error("it goes round in a circle")]
    Circle,
    /// Sums and multiples of temperatures.
    #[error("temperatures cannot be added or multiplied")]
    Temperatures,
    /// A figure that does not fit where it is used.
    #[error("figure `{name}` is \"{text}\": {error}")]
    Figure {
        /// Which.
        name: String,
        /// What it says.
        text: String,
        /// Why it does not fit.
        error: Box<UnitError>,
    },
}

/// Longest length, or farthest coordinate, in a job, m. Far beyond it the digits of a number no longer
/// tell the places in a tank apart.
const FARTHEST_M: f64 = 1000.0;
/// What no other quantity reaches in any unit.
const LARGEST: f64 = 1e30;

impl Dimension {
    /// A quantity in SI units, if it is not beyond everything.
    pub(crate) fn bounded(self, value: f64) -> Result<f64, UnitError> {
        let (most, told) = match self {
            Self::Length => (FARTHEST_M, "1 km"),
            _ => (LARGEST, "1e30 in any unit"),
        };
        if value.abs() <= most {
            Ok(value)
        } else {
            Err(UnitError::Beyond { most: told })
        }
    }
}

/// Splits into number and unit.
pub(crate) fn split(text: &str) -> Result<(f64, &str), UnitError> {
    let text = text.trim();
    let numeric = |c: char| c.is_ascii_digit() || "+-.eE".contains(c);
    let end = text.find(|c| !numeric(c)).unwrap_or(text.len());
    // Shorten until it is a number: "5e" of "5 ells" is not.
    let (number, length) = (1..=end)
        .rev()
        .find_map(|n| Some((text[..n].parse::<f64>().ok()?, n)))
        .filter(|(number, _)| number.is_finite())
        .ok_or(UnitError::NoNumber)?;
    let rest = &text[length..];
    if rest.starts_with(',') {
        return Err(UnitError::Comma);
    }
    Ok((number, rest.trim_start()))
}

/// One spelling for raised figures, micro, ring and ohm sign.
fn normalised(symbol: &str) -> String {
    symbol
        .replace('^', "")
        .replace('\u{b2}', "2")
        .replace('\u{b3}', "3")
        .replace(['\u{b5}', '\u{3bc}'], "u")
        .replace('\u{b0}', "deg")
        .replace(['\u{3a9}', '\u{2126}'], "ohm")
        .replace('\u{b7}', " ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::Figures;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    #[test]
    fn trade_units() {
        for (dimension, text, si) in [
            (Dimension::Length, "50 mm", 0.05),
            (Dimension::Length, "50mm", 0.05),
            (Dimension::Length, "-2.5e1 \u{b5}m", -2.5e-5),
            (Dimension::Length, "1 ft", 0.3048),
            (Dimension::Time, "8 h", 28_800.0),
            (Dimension::CurrentDensity, "3 A/dm2", 300.0),
            (Dimension::CurrentDensity, "3 A/dm\u{b2}", 300.0),
            (Dimension::CurrentDensity, "10 A/ft^2", 107.639_104_167),
            (Dimension::Temperature, "25 \u{b0}C", 298.15),
            (Dimension::Temperature, "77 degF", 298.15),
            (Dimension::Conductivity, "19 mS/cm", 1.9),
            (Dimension::AreaResistance, "20 ohm cm2", 2e-3),
            (Dimension::Content, "1 oz/gal", 7.489_151_707),
            (Dimension::Concentration, "0.8 mol/L", 800.0),
            (Dimension::Angle, "90 deg", std::f64::consts::FRAC_PI_2),
            (Dimension::Share, "97 %", 0.97),
            (Dimension::Speed, "3 m/min", 0.05),
            (Dimension::Rotation, "500 rpm", 52.359_877_56),
            (Dimension::Density, "1.15 kg/L", 1150.0),
            (Dimension::Viscosity, "1.5 mPa s", 1.5e-3),
            (Dimension::AcidContent, "10 mL/L", 17.664),
        ] {
            assert_relative_eq!(dimension.parse(text).unwrap(), si, max_relative = 1e-9);
        }
    }

    /// Transactions of the IMF 48 (1970) 35-42 prints one limiting current density both ways:
    /// 174 mA/cm2 (162 A/sq ft).
    #[test]
    fn a_published_pair_of_units() {
        let metric = Dimension::CurrentDensity.parse("174 mA/cm2").unwrap();
        let imperial = Dimension::CurrentDensity.parse("162 A/sq ft").unwrap();
        assert_relative_eq!(metric, imperial, max_relative = 0.01);
    }

    #[test]
    fn what_is_wrong_is_said() {
        let length = Dimension::Length;
        assert_eq!(length.parse("50"), Err(UnitError::NoUnit));
        assert_eq!(length.parse("wide"), Err(UnitError::NoNumber));
        assert_eq!(length.parse("inf mm"), Err(UnitError::NoNumber));
        assert_eq!(length.parse("2,5 mm"), Err(UnitError::Comma));
        assert_eq!(
            length.parse("3 A/dm2").unwrap_err().to_string(),
            "`A/dm2` measures a current density"
        );
        assert_eq!(
            length.parse("3 ells").unwrap_err().to_string(),
            "`ells` is no unit known here"
        );
    }

    proptest! {
        #[test]
        fn every_unit_there_and_back(
            dimension in prop::sample::select(Dimension::ALL.to_vec()),
            pick in 0_usize..100,
            number in -1e6..1e6_f64,
        ) {
            let units = dimension.units();
            let symbol = units[pick % units.len()].symbol;
            let si = dimension.parse(&format!("{number} {symbol}")).unwrap();
            let written = dimension.write(si, symbol).unwrap();
            let back = dimension.parse(&written).unwrap();
            prop_assert!((back - si).abs() <= 1e-14 * (si.abs() + 1e3), "{written}");
        }

        #[test]
        fn any_text_is_a_number_or_a_reason(text in ".*") {
            for dimension in Dimension::ALL {
                let finite = Figures::default().row(dimension, &text).map_or(true, |row| row.iter().all(|x| x.is_finite()));
                prop_assert!(finite);
            }
        }
    }
}
