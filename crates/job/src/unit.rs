//! Units as the trade writes them: `"50 mm"`, `"3 A/dm2"`, `"25 degC"` to SI numbers and back.
//!
//! A quantity is a number, an optional space and a unit. Exponents may be written `2`, `^2` or
//! the raised figure, micro as `u` or the Greek letter, degrees as `degC` or with the ring.
//! `SI value = number * factor + offset` (the offset is for temperatures only).

pub use crate::dimension::{Dimension, Unit};

impl Dimension {
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
                kind: Self::all()
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
    /// A multiple of a figure, written like a row or like a unit.
    #[error(
        "it reads as {factor} times `{name}`; write \"{factor} * {name}\"{}",
        if *.known { String::new() } else { format!(" and say under [figures] how large `{name}` is") }
    )]
    Times {
        /// The number in front.
        factor: f64,
        /// The figure.
        name: String,
        /// Is there a figure of this name?
        known: bool,
    },
    /// Several quantities where one is wanted.
    #[error("one quantity is wanted here, and this is a row of several")]
    Row,
    /// More than a quantity of its kind may be here.
    #[error("more than {most}, which is beyond all tanks")]
    Beyond {
        /// The most there may be, in trade units.
        most: &'static str,
    },
    /// Figures that use each other.
    #[error("it goes round in a circle")]
    Circle,
    /// Figures that use figures, too many of them.
    #[error("it uses figures that use figures, more than {most} deep")]
    Deep {
        /// So many may be.
        most: usize,
    },
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

impl UnitError {
    /// The figure that has to be mended, wherever it is used.
    pub(crate) fn figure(&self) -> Option<&str> {
        match self {
            Self::NoFigure { name, .. } => Some(name),
            Self::Figure { name, error, .. } => match &**error {
                // It may fit elsewhere.
                Self::WrongUnit { kind: Some(_), .. } => None,
                inner => inner.figure().or(Some(name)),
            },
            _ => None,
        }
    }
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

/// Longest number, in signs.
const LONGEST_NUMBER: usize = 400;

/// Splits into number and unit.
pub(crate) fn split(text: &str) -> Result<(f64, &str), UnitError> {
    let text = text.trim();
    let numeric = |c: char| c.is_ascii_digit() || "+-.eE".contains(c);
    let end = text.find(|c| !numeric(c)).unwrap_or(text.len());
    let end = end.min(LONGEST_NUMBER);
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
            dimension in prop::sample::select(Dimension::all().collect::<Vec<_>>()),
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
            for dimension in Dimension::all() {
                let finite = Figures::default().row(dimension, &text).map_or(true, |row| row.iter().all(|x| x.is_finite()));
                prop_assert!(finite);
            }
        }
    }
}
