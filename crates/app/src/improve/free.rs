//! `--free KEY=FROM..TO UNIT`: a key of the job, and between which values it may lie.
//!
//! The search sees a share `s` from 0 to 1; the job gets `from + s (to - from)`, on a decimal step of
//! at most a thousandth of the range, so that a job can be set up with it and a case is known again.

use super::error::ImproveError;
use crate::error::AppError;
use crate::trials::quantity;
use ionfall_job::VaryError;
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
    /// Reads all of them; `said` gives the value of a key in the job.
    pub fn all(
        texts: &[String],
        said: impl Fn(&str) -> Result<String, VaryError>,
    ) -> Result<Vec<Self>, AppError> {
        let mut all: Vec<Self> = Vec::new();
        for text in texts {
            let mut free = Self::new(text)?;
            if all.iter().any(|f| f.key == free.key) {
                return Err(ImproveError::Twice(text.clone()).into());
            }
            let value = said(&free.key)?;
            let value = value.trim_matches('"');
            let outside = || ImproveError::Outside {
                range: text.clone(),
                key: free.key.clone(),
                value: value.to_owned(),
            };
            free.start = (free.share(value).ok_or_else(outside)?, value.to_owned());
            all.push(free);
        }
        Ok(all)
    }

    /// The share at which the job stands.
    pub const fn start(&self) -> f64 {
        self.start.0
    }

    fn new(text: &str) -> Result<Self, ImproveError> {
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
        let range = self.to - self.from;
        let step = 10f64.powf((range.abs() / STEPS).log10().floor());
        let value = ((self.from + share * range) / step).round() * step;
        // Without the crumbs of binary arithmetic.
        format!("{value:.11e}").parse().unwrap_or(value)
    }

    /// The value at a share of the range, as it stands in a job.
    pub fn text(&self, share: f64) -> String {
        if share == self.start.0 {
            return self.start.1.clone();
        }
        format!("{} {}", self.value(share), self.unit)
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
        let all = |texts: [&str; 2]| {
            let texts = texts.map(str::to_owned);
            Free::all(&texts, |_| Ok("\"1.2345678 mm\"".to_owned()))
        };
        for (texts, word) in [
            (["a=1..2 mm", "a=1..3 mm"], "free already"),
            (["a=1..2 mm", "b=2..3 mm"], "is 1.2345678 mm in the job"),
            (["a=1..2 mm", "b=0..3 cm"], "does not lie in that range"),
        ] {
            let error = all(texts).unwrap_err().to_string();
            assert!(error.contains(word), "{error}");
        }
        // Where the job stands is said as the job says it.
        let free = &all(["a=1..2 mm", "b=1..3 mm"]).unwrap()[0];
        assert_eq!(free.text(free.start()), "1.2345678 mm");
    }
}
