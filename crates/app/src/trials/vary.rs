//! `--vary KEY=VALUES`: a list or a range.
//!
//! ```text
//! plan.time=2 h,4 h,8 h          three values
//! distance=100,140,180 mm        the last unit counts for all
//! distance=100..200/5 mm         five values, evenly from 100 to 200 mm
//! bath.agitation=still,{ air = "2 %" }
//! ```

use ionfall_report::trials::Axis;
use thiserror::Error;

/// Most values of one key.
const MOST: usize = 10_000;

/// Why `--vary` makes no sense.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ValuesError {
    /// No key, or nothing after the sign.
    #[error("--vary \"{0}\": a key, an equals sign and values are needed")]
    NoValues(String),
    /// A range without a count, or a wrong one.
    #[error("--vary \"{0}\": a range says how many values it has, from 2 to {MOST}")]
    NoCount(String),
    /// A range between texts.
    #[error("--vary \"{0}\": a range goes from a number to a number")]
    NoRange(String),
    /// The same value twice.
    #[error("--vary \"{0}\": the value {1} comes twice")]
    Twice(String, String),
}

/// Reads one `--vary`.
pub(super) fn axis(text: &str) -> Result<Axis, ValuesError> {
    let whole = || text.to_owned();
    let (key, values) = text
        .split_once('=')
        .map(|(key, values)| (key.trim(), values.trim()))
        .filter(|(key, values)| !key.is_empty() && !values.is_empty())
        .ok_or_else(|| ValuesError::NoValues(whole()))?;
    let axis = match values.split_once("..") {
        Some((from, rest)) if !values.contains([',', '{', '"']) => range(text, from, rest)?,
        _ => list(values),
    };
    for (n, value) in axis.values.iter().enumerate() {
        if value.is_empty() {
            return Err(ValuesError::NoValues(whole()));
        }
        if axis.values[..n].contains(value) {
            return Err(ValuesError::Twice(whole(), value.clone()));
        }
    }
    Ok(Axis {
        key: key.into(),
        ..axis
    })
}

fn range(whole: &str, from: &str, rest: &str) -> Result<Axis, ValuesError> {
    let no_range = || ValuesError::NoRange(whole.into());
    let no_count = || ValuesError::NoCount(whole.into());
    let (to, rest) = rest.split_once('/').ok_or_else(no_count)?;
    let number = |text: &str| {
        let number = text.trim().parse::<f64>().ok();
        number.filter(|x| x.is_finite()).ok_or_else(no_range)
    };
    let (from, to) = (number(from)?, number(to)?);
    let rest = rest.trim();
    let digits = rest
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(rest.len());
    let count: usize = rest[..digits].parse().map_err(|_| no_count())?;
    if !(2..=MOST).contains(&count) {
        return Err(no_count());
    }
    let numbers: Vec<f64> = (0..count)
        .map(|n| {
            let share = n as f64 / (count - 1) as f64;
            clean(from + share * (to - from))
        })
        .collect();
    Ok(of_numbers(numbers, rest[digits..].trim()))
}

/// A number without the crumbs of binary arithmetic.
fn clean(x: f64) -> f64 {
    format!("{x:.11e}").parse().unwrap_or(x)
}

fn of_numbers(numbers: Vec<f64>, unit: &str) -> Axis {
    Axis {
        key: String::new(),
        unit: unit.into(),
        values: numbers
            .iter()
            .map(|x| format!("{x} {unit}").trim().to_owned())
            .collect(),
        numbers: Some(numbers),
    }
}

fn list(values: &str) -> Axis {
    let pieces = split(values);
    let parsed: Vec<Option<(f64, &str)>> = pieces.iter().map(|p| quantity(p)).collect();
    let unit = parsed
        .last()
        .copied()
        .flatten()
        .map_or("", |(_, unit)| unit);
    let of_one_unit: Option<Vec<f64>> = parsed
        .iter()
        .map(|p| {
            p.filter(|(_, own)| own.is_empty() || *own == unit)
                .map(|(x, _)| x)
        })
        .collect();
    match of_one_unit {
        Some(numbers) => of_numbers(numbers, unit),
        None => Axis {
            key: String::new(),
            unit: String::new(),
            values: pieces.into_iter().map(str::to_owned).collect(),
            numbers: None,
        },
    }
}

/// A number and a unit, which does not begin with a digit and holds no other number.
pub(crate) fn quantity(text: &str) -> Option<(f64, &str)> {
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || "+-.".contains(c)))
        .unwrap_or(text.len());
    let number: f64 = text[..end].parse().ok()?;
    let unit = text[end..].trim();
    let is_unit = !unit.contains(" x ") && !unit.contains(" + ") && !unit.contains(" - ");
    (number.is_finite() && is_unit).then_some((number, unit))
}

/// Splits at commas outside of brackets and quotes.
fn split(values: &str) -> Vec<&str> {
    let mut pieces = Vec::new();
    let (mut depth, mut quoted, mut start) = (0_i32, false, 0);
    for (at, c) in values.char_indices() {
        match c {
            '"' => quoted = !quoted,
            '{' | '[' if !quoted => depth += 1,
            '}' | ']' if !quoted => depth -= 1,
            ',' if !quoted && depth == 0 => {
                pieces.push(values[start..at].trim());
                start = at + 1;
            }
            _ => {}
        }
    }
    pieces.push(values[start..].trim());
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values(text: &str) -> (Vec<String>, String, bool) {
        let axis = axis(text).unwrap();
        (axis.values, axis.unit, axis.numbers.is_some())
    }

    #[test]
    fn lists_and_ranges() {
        for (text, expected, unit, numbers) in [
            (
                "d=100..200/5 mm",
                &["100 mm", "125 mm", "150 mm", "175 mm", "200 mm"][..],
                "mm",
                true,
            ),
            ("d=0.1..0.3/3", &["0.1", "0.2", "0.3"], "", true),
            (
                "d = -1..1/3 A/dm2",
                &["-1 A/dm2", "0 A/dm2", "1 A/dm2"],
                "A/dm2",
                true,
            ),
            ("plan.time=2 h,4 h", &["2 h", "4 h"], "h", true),
            ("d=100,140 mm", &["100 mm", "140 mm"], "mm", true),
            ("t=30 min,2 h", &["30 min", "2 h"], "", false),
            (
                "bath.agitation=still,{ rod = \"3 m/min\", length = \"10 mm\" }",
                &["still", "{ rod = \"3 m/min\", length = \"10 mm\" }"],
                "",
                false,
            ),
            (
                "size=1 x 2 mm,3 x 4 mm",
                &["1 x 2 mm", "3 x 4 mm"],
                "",
                false,
            ),
        ] {
            let (found, found_unit, found_numbers) = values(text);
            assert_eq!(found, expected, "{text}");
            assert_eq!(
                (found_unit.as_str(), found_numbers),
                (unit, numbers),
                "{text}"
            );
        }
    }

    #[test]
    fn what_makes_no_sense_is_said() {
        for (text, word) in [
            ("plan.time", "equals sign"),
            ("=1,2", "equals sign"),
            ("a=1,,2", "equals sign"),
            ("a=1..5 mm", "how many"),
            ("a=1..5/1 mm", "how many"),
            ("a=x..5/3 mm", "from a number"),
            ("a=1 mm,1 mm", "twice"),
        ] {
            let error = axis(text).unwrap_err().to_string();
            assert!(error.contains(word), "{error}");
        }
    }
}
