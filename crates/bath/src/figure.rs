//! A number with its unit, its source and how far it can be trusted.

use ionfall_numerics::number::significant;
use serde::Serialize;
use std::fmt;

/// How well a figure is founded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Grade {
    /// Seen in the named publication, or in a named work that quotes it.
    Seen,
    /// Seen in a general table, a data sheet or a summary that cannot be cited as a publication.
    Uncited,
    /// From a named publication, but recalled, not seen. Not a published value for a report.
    Recalled,
    /// From memory, no source.
    Memory,
    /// Common practice of the trade, no source.
    Practice,
    /// Worked out here from other figures.
    Computed,
    /// Given by the user.
    Given,
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Seen => "published",
            Self::Uncited => "seen, not citable",
            Self::Recalled => "recalled from a publication, not checked",
            Self::Memory => "from memory",
            Self::Practice => "common practice, no source",
            Self::Computed => "worked out here",
            Self::Given => "given",
        })
    }
}

impl Grade {
    /// Does a figure of this grade name a work, or only remark on where it comes from?
    pub fn cites(self) -> bool {
        matches!(self, Self::Seen | Self::Uncited | Self::Recalled)
    }
}

/// Who says a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Origin {
    /// The job: taken at its word.
    Job,
    /// What is known of the bath, within its band.
    Bath,
}

/// A value with its unit and origin.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Figure {
    /// The number, in `unit`.
    pub value: f64,
    /// Unit as printed.
    pub unit: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// How well it is founded.
    pub grade: Grade,
    /// Half-width of its uncertainty as a fraction of the value, where one can be named; of a
    /// figure known to within a factor, that factor less one.
    pub relative_uncertainty: Option<f64>,
    /// Lowest and highest value the uncertainty allows, in `unit`.
    pub band: Option<[f64; 2]>,
}

impl Figure {
    /// Who says it.
    pub fn origin(&self) -> Origin {
        match self.grade {
            Grade::Given => Origin::Job,
            _ => Origin::Bath,
        }
    }

    /// A figure without a stated uncertainty.
    pub const fn new(value: f64, unit: &'static str, grade: Grade, source: &'static str) -> Self {
        Self {
            value,
            unit,
            source,
            grade,
            relative_uncertainty: None,
            band: None,
        }
    }

    /// A figure the user gave.
    pub const fn given(value: f64, unit: &'static str) -> Self {
        Self::new(value, unit, Grade::Given, "job")
    }

    /// The same with an uncertainty of so much (fraction of the value) to either side.
    pub const fn uncertain(mut self, relative: f64) -> Self {
        self.relative_uncertainty = Some(relative);
        self.band = Some([self.value * (1.0 - relative), self.value * (1.0 + relative)]);
        self
    }

    /// The same, known to within a factor: from `value / factor` to `value * factor`.
    pub const fn within_factor(mut self, factor: f64) -> Self {
        self.relative_uncertainty = Some(factor - 1.0);
        self.band = Some([self.value / factor, self.value * factor]);
        self
    }

    /// The same between two ends that need not lie evenly about the value.
    pub const fn between(mut self, low: f64, high: f64) -> Self {
        self.relative_uncertainty = Some(0.5 * (high - low) / self.value);
        self.band = Some([low, high]);
        self
    }

    /// The same in another unit: the value and its band times `factor`.
    pub fn scaled(self, factor: f64, unit: &'static str) -> Self {
        Self {
            value: self.value * factor,
            unit,
            band: self.band.map(|ends| ends.map(|x| x * factor)),
            ..self
        }
    }

    /// How far the value may be off, as factors below and above; one each without a band.
    pub fn factors(&self) -> [f64; 2] {
        self.band
            .map_or([1.0, 1.0], |ends| ends.map(|x| x / self.value))
    }

    /// The uncertainty in words: nothing, `+-20 %` or the two ends.
    pub fn band_text(&self) -> String {
        let Some([low, high]) = self.band else {
            return String::new();
        };
        let (below, above) = (self.value - low, high - self.value);
        if (above - below).abs() <= 1e-9 * self.value.abs() {
            format!("+-{} %", significant(100.0 * above / self.value, 2))
        } else {
            format!("{} to {}", significant(low, 2), significant(high, 2))
        }
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&significant(self.value, 4))?;
        if !self.unit.is_empty() {
            write!(f, " {}", self.unit)?;
        }
        match self.band_text() {
            band if band.is_empty() => {}
            band if band.starts_with('+') => write!(f, " {band}")?,
            band => write!(f, ", {band}")?,
        }
        write!(f, " ({}", self.grade)?;
        if self.grade != Grade::Given && !self.source.is_empty() {
            write!(f, ": {}", self.source)?;
        }
        f.write_str(")")
    }
}

/// A span of values with unit and origin.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Range {
    /// Smallest usual value.
    pub low: f64,
    /// Largest usual value.
    pub high: f64,
    /// Unit as printed.
    pub unit: &'static str,
    /// How well it is founded.
    pub grade: Grade,
    /// Where it comes from.
    pub source: &'static str,
}

impl Range {
    /// A range.
    pub const fn new(
        low: f64,
        high: f64,
        unit: &'static str,
        grade: Grade,
        source: &'static str,
    ) -> Self {
        Self {
            low,
            high,
            unit,
            grade,
            source,
        }
    }

    /// The arithmetic middle, with half the width as uncertainty.
    pub fn middle(&self) -> Figure {
        let middle = 0.5 * (self.low + self.high);
        let figure = Figure::new(middle, self.unit, self.grade, self.source);
        if self.low == self.high {
            figure
        } else {
            figure.uncertain((self.high - self.low) / (self.low + self.high))
        }
    }

    /// Does a value lie in it, ends included?
    pub fn contains(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }

    /// The geometric middle of a range that spans a factor, with that factor as uncertainty.
    pub fn geometric_middle(&self) -> Figure {
        Figure::new(
            (self.low * self.high).sqrt(),
            self.unit,
            self.grade,
            self.source,
        )
        .within_factor((self.high / self.low).sqrt())
    }
}

impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&significant(self.low, 4))?;
        if self.high != self.low {
            write!(f, " to {}", significant(self.high, 4))?;
        }
        if !self.unit.is_empty() {
            write!(f, " {}", self.unit)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prints_value_unit_uncertainty_and_origin() {
        let kappa = Figure::new(14.1234, "S/m", Grade::Computed, "own estimate").uncertain(0.2);
        assert_eq!(
            kappa.to_string(),
            "14.12 S/m +-20 % (worked out here: own estimate)"
        );
        assert_eq!(
            Figure::given(4.0e-10, "m2/s").to_string(),
            "4.000e-10 m2/s (given)"
        );
        assert_eq!(
            Figure::given(1150.0, "kg/m3").to_string(),
            "1150 kg/m3 (given)"
        );
        assert_eq!(Figure::given(0.97, "").to_string(), "0.97 (given)");
    }

    #[test]
    fn bands_follow_the_unit_and_say_their_kind() {
        let film = Figure::new(2e-4, "m", Grade::Memory, "").within_factor(2.0);
        let film = film.scaled(1e3, "mm");
        assert_eq!(film.band, Some([0.1, 0.4]));
        assert_eq!(film.factors(), [0.5, 2.0]);
        assert_eq!(film.to_string(), "0.2 mm, 0.1 to 0.4 (from memory)");
        let lopsided = Figure::new(10.0, "A/m2", Grade::Memory, "").between(0.3, 100.0);
        assert_eq!(lopsided.factors(), [0.03, 10.0]);
        assert_eq!(Figure::given(1.0, "V").factors(), [1.0, 1.0]);
    }

    #[test]
    fn middles_carry_the_width() {
        let r = Range::new(2.0, 8.0, "S/m", Grade::Memory, "");
        assert_eq!(r.middle().value, 5.0);
        assert_eq!(r.middle().relative_uncertainty, Some(0.6));
        assert_eq!(r.geometric_middle().value, 4.0);
        assert_eq!(r.geometric_middle().relative_uncertainty, Some(1.0));
        assert_eq!(r.geometric_middle().band, Some([2.0, 8.0]));
        assert_eq!(r.to_string(), "2 to 8 S/m");
        assert!(r.contains(8.0) && !r.contains(8.1));
    }
}
