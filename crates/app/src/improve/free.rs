//! `--free KEY=FROM..TO UNIT`: a key of the job, and between which values it may lie.
//!
//! The search sees a share `s` from 0 to 1; the job gets `from + s (to - from)`, on a decimal step of
//! at most a thousandth of the range, so that a job can be set up with it and a case is known again.

use super::error::ImproveError;
use crate::trials::quantity;
use std::fmt;

/// Steps that a range has at the least.
const STEPS: f64 = 1000.0;

/// A key that may be changed.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Free {
    pub key: String,
    pub unit: String,
    pub from: f64,
    pub to: f64,
    /// Where the job stands: a share of the range, and how the job says it.
    start: (f64, String),
}

impl Free {
    /// The same, beginning at the job's own value.
    pub fn beginning_with(mut self, value: &str, asked: &str) -> Result<Self, ImproveError> {
        let Some(share) = self.share(value) else {
            return Err(ImproveError::Outside {
                range: asked.to_owned(),
                key: self.key,
                value: value.to_owned(),
            });
        };
        self.start = (share, value.to_owned());
        Ok(self)
    }

    /// The share at which the job stands.
    pub const fn start(&self) -> f64 {
        self.start.0
    }

    /// Reads one.
    pub fn new(text: &str) -> Result<Self, ImproveError> {
        let no_range = || ImproveError::NoRange(text.to_owned());
        let (key, range) = text.split_once('=').ok_or_else(no_range)?;
        let (from, rest) = range.split_once("..").ok_or_else(no_range)?;
        let ends = quantity(from.trim()).zip(quantity(rest.trim()));
        let ends = ends.filter(|((from, _), (to, _))| from != to);
        let ((from, _), (to, unit)) =
            ends.ok_or_else(|| ImproveError::NoNumbers(text.to_owned()))?;
        match key.trim() {
            "" => Err(no_range()),
            key => Ok(Self {
                key: key.into(),
                unit: unit.into(),
                from,
                to,
                start: (f64::NAN, String::new()),
            }),
        }
    }

    /// The value at a share of the range.
    pub fn value(&self, share: f64) -> f64 {
        self.rounded(self.from + share * (self.to - self.from))
    }

    /// The step of the range's values.
    pub fn step(&self) -> f64 {
        let range = self.to - self.from;
        10f64.powf((range.abs() / STEPS).log10().floor())
    }

    fn rounded(&self, value: f64) -> f64 {
        let step = self.step();
        let value = (value / step).round() * step;
        // Without the crumbs of binary arithmetic.
        format!("{value:.11e}").parse().unwrap_or(value)
    }

    /// The value at a share of the range, as it stands in a job.
    pub fn text(&self, share: f64) -> String {
        if share == self.start.0 {
            return self.start.1.clone();
        }
        self.text_of(self.value(share))
    }

    /// A value, as it stands in a job.
    pub fn text_of(&self, value: f64) -> String {
        format!("{} {}", self.rounded(value), self.unit)
            .trim()
            .to_owned()
    }

    /// The share at which a value of the job lies, if it is of the same unit and in the range.
    fn share(&self, value: &str) -> Option<f64> {
        let (number, unit) = quantity(value)?;
        let share = (number - self.from) / (self.to - self.from);
        (unit == self.unit && (0.0..=1.0).contains(&share)).then_some(share)
    }
}

impl fmt::Display for Free {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} from {} to {}", self.key, self.from, self.text(1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_as_people_type_them() {
        let free = Free::new("distance = 100..200 mm").unwrap();
        assert_eq!((free.key.as_str(), free.unit.as_str()), ("distance", "mm"));
        assert_eq!(free.text(0.1234), "112.3 mm");
        assert_eq!(free.text(1.0), "200 mm");
        assert_eq!(free.share("125 mm"), Some(0.25));
        assert_eq!(free.share("0.125 m"), None);
        assert_eq!(free.share("90 mm"), None);
        assert_eq!(Free::new("k=0.3..-0.3").unwrap().text(0.5), "0");
        for (text, word) in [
            ("distance", "equals sign"),
            ("=1..2 mm", "equals sign"),
            ("a=1,2 mm", "range"),
            ("a=x..2 mm", "number"),
            ("a=2..2 mm", "another"),
        ] {
            let error = Free::new(text).unwrap_err().to_string();
            assert!(error.contains(word), "{error}");
        }
        let begun = |text: &str| {
            let free = Free::new(text).unwrap();
            free.beginning_with("1.2345678 mm", text)
        };
        for (text, word) in [
            ("b=2..3 mm", "is 1.2345678 mm in the job"),
            ("b=0..3 cm", "does not lie in that range"),
        ] {
            let error = begun(text).unwrap_err().to_string();
            assert!(error.contains(word), "{error}");
        }
        // Where the job stands is said as the job says it.
        let free = begun("a=1..2 mm").unwrap();
        assert_eq!(free.text(free.start()), "1.2345678 mm");
    }
}
