//! Named figures, so that one number can move several things:
//!
//! ```toml
//! [figures]
//! distance = "180 mm"     # from pattern to anodes
//!
//! [[anode]]
//! shape.box = { from = "50 mm + distance x 30 mm x 30 mm", to = "60 mm + distance x 80 mm x 190 mm" }
//! ```
//! Wherever the job takes a quantity, a sum may stand whose terms are quantities, figures, and
//! figures times or over a plain number:
//!
//! ```text
//! sum   =  term { (" + " | " - ") term }          (spaces around the sign)
//! term  =  quantity | ["-"] name | number * name | name * number | name / number
//! ```
//! A figure is text that is read where it is used, in the units of that place; it may use other
//! figures.

use crate::fault::Fault;
use crate::suggest;
use crate::unit::{Dimension, UnitError, split};
use ionfall_model::NamedFigure;
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// The table's key.
pub(crate) const KEY: &str = "figures";

/// Figures that use figures that use figures ... at most.
const DEEPEST: usize = 100;

/// The figures of a job.
#[derive(Debug, Default)]
pub(crate) struct Figures {
    list: BTreeMap<String, (String, Range<usize>)>,
    used: RefCell<BTreeSet<String>>,
    /// What figures are worth where a dimension, or a plain number, is wanted.
    known: RefCell<Known>,
}

type Known = BTreeMap<(String, Option<&'static str>), f64>;

/// How the text of a sum is read.
struct Reading<'a, 't> {
    /// Name of what is wanted; nothing for a plain number.
    wanted: Option<&'static str>,
    leaf: Leaf<'a>,
    /// The figures that lead to where it is read now.
    way: Vec<&'t str>,
}

/// Turns a number and its unit (empty if there is none) into a value; told whether it stands in a
/// figure, which has units of its own.
type Leaf<'a> = &'a dyn Fn(f64, &str, bool) -> Result<f64, UnitError>;

impl Figures {
    /// Reads the table of a document, if it has one; and what is wrong with it.
    pub fn read(document: &DeTable) -> (Self, Vec<Fault>) {
        let mut figures = Self::default();
        let mut faults = Vec::new();
        let Some(table) = document.get(KEY) else {
            return (figures, faults);
        };
        let DeValue::Table(entries) = table.get_ref() else {
            let help = "write [figures] and below it lines like: distance = \"180 mm\"";
            let message = "`figures` is not a table";
            faults.push(Fault::new(table.span(), message, "here", Some(help.into())));
            return (figures, faults);
        };
        for (key, value) in entries {
            let name = key.get_ref().as_ref();
            let text = match value.get_ref() {
                DeValue::String(text) => text.to_string(),
                DeValue::Integer(i) => i.as_str().to_owned(),
                DeValue::Float(f) => f.as_str().to_owned(),
                _ => {
                    let message = format!("figure `{name}` is neither a quantity nor a number");
                    let help = "write a number and a unit in quotes, or a plain number";
                    faults.push(Fault::new(value.span(), message, "here", Some(help.into())));
                    continue;
                }
            };
            if !is_name(name) {
                let message = format!("a figure cannot be called `{name}`");
                let help = "use letters, digits and _, a letter first";
                faults.push(Fault::new(key.span(), message, "here", Some(help.into())));
            }
            figures.list.insert(name.to_owned(), (text, value.span()));
        }
        (figures, faults)
    }

    /// Those that are a number and perhaps a unit, not a sum of others.
    pub fn named(&self) -> Vec<NamedFigure> {
        let read = |(name, (text, _)): (&String, &(String, Range<usize>))| {
            let (value, unit) = split(text).ok()?;
            terms(text).nth(1).is_none().then(|| NamedFigure {
                name: name.clone(),
                value,
                unit: unit.into(),
            })
        };
        self.list.iter().filter_map(read).collect()
    }

    /// Where a figure stands.
    pub fn span(&self, name: &str) -> Option<Range<usize>> {
        self.list.get(name).map(|(_, span)| span.clone())
    }

    /// The figures that nothing uses, as faults.
    pub fn unused(&self) -> Vec<Fault> {
        let used = self.used.borrow();
        let unused = self.list.iter().filter(|(name, _)| !used.contains(*name));
        let fault = |(name, (_, span)): (&String, &(String, Range<usize>))| {
            let message = format!("figure `{name}` is not used anywhere");
            let help = format!("write {name} where a quantity stands, or take the figure out");
            Fault::new(span.clone(), message, "not used", Some(help))
        };
        unused.map(fault).collect()
    }

    /// A quantity in SI units.
    pub fn quantity(&self, dimension: Dimension, text: &str) -> Result<f64, UnitError> {
        self.one(dimension, text, "")
    }

    /// Quantities like `"600 x 300 x 400 mm"` in SI units: numbers without a unit have the last one
    /// of the row.
    pub fn row(&self, dimension: Dimension, text: &str) -> Result<Vec<f64>, UnitError> {
        let pieces: Vec<&str> = text.split(" x ").collect();
        let units = pieces.iter().rev().flat_map(|piece| terms(piece));
        let unit = units
            .filter_map(|(_, term)| Some(split(term).ok()?.1))
            .find(|unit| !unit.is_empty());
        let one = |piece: &&str| self.one(dimension, piece, unit.unwrap_or_default());
        pieces.iter().map(one).collect()
    }

    /// A plain number, if the text has figures in it.
    pub fn number(&self, text: &str) -> Option<Result<f64, UnitError>> {
        let has_figure = terms(text).any(|(_, term)| figure(term).is_some());
        (has_figure && !self.list.is_empty()).then(|| {
            let plain = |number: f64, unit: &str, _: bool| match unit {
                "" => Ok(number),
                unit => Err(UnitError::WrongUnit {
                    symbol: unit.into(),
                    kind: Some("a quantity, and a plain number is wanted"),
                }),
            };
            let mut reading = Reading {
                wanted: None,
                leaf: &plain,
                way: Vec::new(),
            };
            self.sum(text, &mut reading)
        })
    }

    fn one(&self, dimension: Dimension, text: &str, unit: &str) -> Result<f64, UnitError> {
        let leaf = |number: f64, own: &str, in_figure: bool| {
            let shares_unit = own.is_empty() && !in_figure;
            dimension.convert(number, if shares_unit { unit } else { own })
        };
        let shifted = dimension == Dimension::Temperature;
        let single = |text: &str| {
            let mut terms = terms(text);
            let whole = terms.next().is_none_or(|(sign, term)| {
                sign > 0.0 && figure(term).is_none_or(|(factor, _)| factor == 1.0)
            });
            whole && terms.next().is_none()
        };
        if shifted && !single(text) {
            return Err(UnitError::Temperatures);
        }
        let mut reading = Reading {
            wanted: Some(dimension.name()),
            leaf: &leaf,
            way: Vec::new(),
        };
        dimension.bounded(self.sum(text, &mut reading)?)
    }

    fn sum<'t>(&'t self, text: &'t str, reading: &mut Reading<'_, 't>) -> Result<f64, UnitError> {
        let mut sum = 0.0;
        for (sign, term) in terms(text) {
            sum += sign * self.term(term, reading)?;
        }
        Ok(sum)
    }

    fn term<'t>(&'t self, term: &'t str, reading: &mut Reading<'_, 't>) -> Result<f64, UnitError> {
        let Some((factor, name)) = figure(term).filter(|_| !self.list.is_empty()) else {
            let (number, unit) = split(term)?;
            let found = (reading.leaf)(number, unit, !reading.way.is_empty());
            return found.map_err(|error| self.meant(number, error));
        };
        let Some((text, _)) = self.list.get(name) else {
            let names: Vec<&str> = self.list.keys().map(String::as_str).collect();
            return Err(UnitError::NoFigure {
                name: name.into(),
                help: suggest::help(name, &names),
            });
        };
        self.used.borrow_mut().insert(name.to_owned());
        let key = (name.to_owned(), reading.wanted);
        if let Some(value) = self.known.borrow().get(&key) {
            return Ok(factor * value);
        }
        let value = if reading.way.contains(&name) {
            Err(UnitError::Circle)
        } else if reading.way.len() == DEEPEST {
            Err(UnitError::Deep { most: DEEPEST })
        } else {
            reading.way.push(name);
            let value = self.sum(text, reading);
            reading.way.pop();
            value
        };
        match value {
            Ok(value) => {
                self.known.borrow_mut().insert(key, value);
                Ok(factor * value)
            }
            // The innermost figure is the one to be mended.
            Err(inner @ UnitError::Figure { .. }) => Err(inner),
            Err(error) => Err(UnitError::Figure {
                name: name.into(),
                text: text.clone(),
                error: Box::new(error),
            }),
        }
    }
}

/// What was meant by what is no unit.
impl Figures {
    /// `4 x cell` and `4 cell` for 4 times a figure; a row where one quantity is wanted.
    fn meant(&self, factor: f64, error: UnitError) -> UnitError {
        let UnitError::WrongUnit { symbol, kind: None } = &error else {
            return error;
        };
        let (name, times) = match symbol.strip_prefix("x ") {
            Some(rest) => (rest.trim(), true),
            None => (symbol.as_str(), false),
        };
        let known = self.list.contains_key(name);
        if is_name(name) && (known || times) {
            return UnitError::Times {
                factor,
                name: name.into(),
                known,
            };
        }
        if times { UnitError::Row } else { error }
    }
}

/// The terms of a sum with their signs.
fn terms(text: &str) -> impl Iterator<Item = (f64, &str)> {
    let mut rest = Some(text.trim());
    let mut sign = 1.0;
    std::iter::from_fn(move || {
        let text = rest?;
        let mark = |three: &[u8]| match three {
            b" + " => Some(1.0),
            b" - " => Some(-1.0),
            _ => None,
        };
        let next = (text.as_bytes().windows(3).enumerate())
            .find_map(|(at, three)| Some((at, mark(three)?)));
        let own = sign;
        Some(match next {
            Some((at, after)) => {
                rest = Some(text[at + 3..].trim_start());
                sign = after;
                (own, text[..at].trim())
            }
            None => {
                rest = None;
                (own, text)
            }
        })
    })
}

/// A term that is a figure: its factor and its name.
fn figure(term: &str) -> Option<(f64, &str)> {
    let number = |text: &str| text.trim().parse::<f64>().ok().filter(|x| x.is_finite());
    if is_name(term) {
        return Some((1.0, term));
    }
    if let Some(name) = term.strip_prefix('-').filter(|name| is_name(name)) {
        return Some((-1.0, name));
    }
    if let Some((a, b)) = term.split_once('*') {
        let (a, b) = (a.trim(), b.trim());
        return match (number(a), number(b)) {
            (Some(factor), None) if is_name(b) => Some((factor, b)),
            (None, Some(factor)) if is_name(a) => Some((factor, a)),
            _ => None,
        };
    }
    let (name, by) = term.split_once('/')?;
    let (name, by) = (name.trim(), number(by)?);
    (is_name(name) && by != 0.0).then_some((1.0 / by, name))
}

fn is_name(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_alphabetic())
        && word.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn figures(list: &[(&str, &str)]) -> Figures {
        let entry = |(n, t): &(&str, &str)| ((*n).to_owned(), ((*t).to_owned(), 0..0));
        Figures {
            list: list.iter().map(entry).collect(),
            ..Figures::default()
        }
    }

    #[test]
    fn sums_of_quantities_and_figures() {
        let f = figures(&[("gap", "180 mm"), ("half", "gap / 2"), ("hot", "40 degC")]);
        for (text, metres) in [
            ("gap", 0.18),
            ("-gap", -0.18),
            ("gap + 1 cm", 0.19),
            ("50 mm + gap - half", 0.14),
            ("2 * gap", 0.36),
            ("gap*0.5", 0.09),
            ("10 mm + 5 mm", 0.015),
            ("25 mm", 0.025),
            ("-1e-1 m", -0.1),
        ] {
            let found = f.quantity(Dimension::Length, text).unwrap();
            assert_relative_eq!(found, metres, max_relative = 1e-12);
        }
        let row = f.row(Dimension::Length, "50 mm + gap x 30 x half");
        assert_relative_eq!(row.unwrap()[..], [0.23, 0.03, 0.09], max_relative = 1e-12);
        let row = f.row(Dimension::Length, "gap x 30 x 40 mm").unwrap();
        assert_relative_eq!(row[..], [0.18, 0.03, 0.04], max_relative = 1e-12);
        assert_relative_eq!(f.quantity(Dimension::Temperature, "hot").unwrap(), 313.15);
    }

    #[test]
    fn what_cannot_be_is_said() {
        let f = figures(&[("gap", "180"), ("a", "b"), ("b", "a"), ("hot", "40 degC")]);
        let said = |d: Dimension, text: &str| f.quantity(d, text).unwrap_err().to_string();
        let length = Dimension::Length;
        assert!(said(length, "gap").contains("the unit is missing"));
        assert!(said(length, "gpa + 1 mm").contains("no figure is called `gpa`"));
        assert!(
            said(length, "a").contains("circle"),
            "{}",
            said(length, "a")
        );
        assert!(said(length, "hot").contains("measures a temperature"));
        assert!(said(Dimension::Temperature, "hot + 5 K").contains("cannot be added"));
        assert!(said(Dimension::Temperature, "2 * hot").contains("cannot be added"));
        // Units with a stroke, a star or a blank are no figures.
        let area = Dimension::AreaResistance;
        assert_relative_eq!(f.quantity(area, "3 ohm*m2").unwrap(), 3.0);
        assert_relative_eq!(
            f.quantity(Dimension::CurrentDensity, "2 A/dm2").unwrap(),
            200.0
        );
    }

    /// Long chains are no circles, each figure is worked out once, and a sum takes a time that grows with its
    /// length only.
    #[test]
    fn chains_and_long_sums() {
        let name = |n: usize| format!("a{n}");
        let chain = |links: usize, text: &dyn Fn(&str) -> String| {
            let mut f = Figures::default();
            f.list.insert(name(0), ("1 mm".into(), 0..0));
            for n in 1..links {
                f.list.insert(name(n), (text(&name(n - 1)), 0..0));
            }
            f
        };
        let length = Dimension::Length;
        let plain = chain(60, &|before: &str| before.into());
        assert_relative_eq!(plain.quantity(length, "a59").unwrap(), 1e-3);
        let fourfold = |before: &str| [before; 4].join(" + ");
        let grown = chain(9, &fourfold).quantity(length, "a8 * 1e-4").unwrap();
        assert_relative_eq!(grown, 1e-7 * 4f64.powi(8), max_relative = 1e-12);
        assert!(
            chain(90, &fourfold).quantity(length, "a89").is_err(),
            "beyond all tanks"
        );
        let deep = chain(200, &|before: &str| before.into()).quantity(length, "a199");
        assert!(deep.unwrap_err().to_string().contains("100 deep"));
        let sum = vec!["a0"; 100_000].join(" + ") + " - 99999 mm";
        assert_relative_eq!(
            plain.quantity(length, &sum).unwrap(),
            1e-3,
            max_relative = 1e-6
        );
        let digits = "1".repeat(100_000) + &"e".repeat(100_000);
        assert!(Dimension::Length.parse(&digits).is_err());
    }

    #[test]
    fn what_is_beyond_all_tanks_is_refused() {
        let f = Figures::default();
        let beyond = |text| {
            matches!(
                f.row(Dimension::Length, text),
                Err(UnitError::Beyond { .. })
            )
        };
        assert!(!beyond("-1000 m x 1000 m"));
        for text in ["1e300 mm", "0 x -1e308 mm", "1000.1 m", "1 m + 1e300 m"] {
            assert!(beyond(text), "{text}");
        }
        assert!(f.row(Dimension::Length, "1e999 m").is_err());
        let charge = f.quantity(Dimension::Charge, "1e300 C");
        assert!(matches!(charge, Err(UnitError::Beyond { .. })));
    }

    #[test]
    fn rows_share_the_last_unit() {
        let row = |text: &str| Figures::default().row(Dimension::Length, text);
        assert_eq!(row("600 x 300 x 400 mm").unwrap(), [0.6, 0.3, 0.4]);
        assert_eq!(row("1 m x 300 mm").unwrap(), [1.0, 0.3]);
        assert_eq!(row("1 x 2"), Err(UnitError::NoUnit));
    }
}
