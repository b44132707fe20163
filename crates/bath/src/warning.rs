//! Warnings: a figure used outside the range it is good for.

use crate::figure::Range;
use ionfall_numerics::number::significant;
use serde::Serialize;
use std::fmt;

/// Something lies outside its range. The computation goes on, with less to stand on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Warning {
    /// What lies outside.
    pub what: &'static str,
    /// Its value, in the unit of the range.
    pub value: f64,
    /// The range, with its source and grade.
    pub range: Range,
    /// What that means.
    pub meaning: &'static str,
}

impl Warning {
    /// A warning if the value lies outside the range.
    pub fn unless_within(
        what: &'static str,
        value: f64,
        range: Range,
        meaning: &'static str,
    ) -> Option<Self> {
        (!range.contains(value)).then_some(Self {
            what,
            value,
            range,
            meaning,
        })
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} of {}", self.what, significant(self.value, 4))?;
        if !self.range.unit.is_empty() {
            write!(f, " {}", self.range.unit)?;
        }
        let end = |x: f64| significant(x, 4);
        match (self.range.low, self.range.high) {
            (low, f64::INFINITY) => write!(f, " is below {}", end(low))?,
            (f64::NEG_INFINITY, high) => write!(f, " is above {}", end(high))?,
            (low, high) => write!(f, " is outside {} to {}", end(low), end(high))?,
        }
        write!(f, " ({}", self.range.grade)?;
        if !self.range.source.is_empty() {
            write!(f, ": {}", self.range.source)?;
        }
        write!(f, "): {}", self.meaning)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::Grade;

    #[test]
    fn names_value_range_and_meaning() {
        let range = Range::new(15.0, 60.0, "degC", Grade::Seen, "a table");
        let check = |t| Warning::unless_within("temperature", t, range, "extrapolated");
        assert_eq!(check(60.0), None);
        assert_eq!(
            check(70.0).unwrap().to_string(),
            "temperature of 70 degC is outside 15 to 60 (published: a table): extrapolated"
        );
        let open = Range::new(4e13, f64::INFINITY, "", Grade::Recalled, "");
        let text = Warning::unless_within("Rayleigh number", 1e9, open, "unsure").unwrap();
        assert_eq!(
            text.to_string(),
            "Rayleigh number of 1.000e9 is below 4.000e13 (recalled from a publication, not \
             checked): unsure"
        );
    }
}
