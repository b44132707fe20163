//! Values: quantities, numbers, words, lists and tables, each with its faults.

use super::{Item, Table};
use crate::excerpt::is_unprintable;
use crate::fault::Fault;
use crate::suggest;
use crate::unit::{Dimension, UnitError};
use ionfall_numerics::number::significant;
use std::cell::RefCell;
use toml::de::DeValue;

/// Longest title, name or path, in letters.
const LONGEST_TEXT: usize = 1000;

impl<'a> Item<'a> {
    /// Takes the content of a file that the job names into its fingerprint.
    pub fn mark(&self, content: &[u8]) {
        self.faults.mark(content);
    }

    fn wrong_type(&self, wanted: &str) {
        self.fault(
            format!("{} is {}", self.name, with_article(self.value.type_str())),
            format!("write {wanted}"),
        );
    }

    /// A quantity in SI units.
    pub fn quantity(&self, dimension: Dimension) -> Option<f64> {
        match self.value {
            DeValue::String(text) => match self.faults.figures().quantity(dimension, text) {
                Ok(si) => Some(si),
                Err(error) => self.no_quantity(dimension, &error),
            },
            DeValue::Integer(_) | DeValue::Float(_) => {
                self.no_quantity(dimension, &UnitError::NoUnit)
            }
            _ => {
                self.wrong_type(&format!("{} in quotes with its unit", dimension.name()));
                None
            }
        }
    }

    fn no_quantity<T>(&self, dimension: Dimension, error: &UnitError) -> Option<T> {
        let help = format!(
            "write a number and a unit in quotes; units accepted here: {}",
            dimension.list()
        );
        let message = format!("{} is not {}: {error}", self.name, dimension.name());
        self.no_value(message, help, error)
    }

    /// Notes a fault here, or at the figure that is wrong in itself.
    fn no_value<T>(&self, message: String, help: String, error: &UnitError) -> Option<T> {
        let at_figure = match error {
            UnitError::Figure { name, .. } if error.figure().is_some() => {
                self.faults.figures().span(name)
            }
            _ => None,
        };
        let span = at_figure.unwrap_or(self.span());
        let fault = Fault::new(span, message, "here", Some(help));
        self.faults.add([Fault {
            figure: error.figure().map(str::to_owned),
            ..fault
        }]);
        None
    }

    /// A quantity greater than zero.
    pub fn positive(&self, dimension: Dimension) -> Option<f64> {
        let value = self.quantity(dimension)?;
        if value > 0.0 {
            Some(value)
        } else {
            self.fault(
                format!("{} must be greater than zero", self.name),
                format!("write {} above zero", dimension.name()),
            );
            None
        }
    }

    /// A quantity that is zero or more.
    pub fn not_negative(&self, dimension: Dimension) -> Option<f64> {
        let value = self.quantity(dimension)?;
        if value >= 0.0 {
            return Some(value);
        }
        self.fault(
            format!("{} must not be negative", self.name),
            format!("write {} of zero or more", dimension.name()),
        );
        None
    }

    /// Several quantities: an array, or one text like `"600 x 300 x 400 mm"`.
    pub fn vector<const N: usize>(&self, dimension: Dimension) -> Option<[f64; N]> {
        let values = match self.value {
            DeValue::String(text) => match self.faults.figures().row(dimension, text) {
                Ok(row) => row,
                Err(error) => return self.no_quantity(dimension, &error),
            },
            DeValue::Array(_) => {
                let read: Vec<_> = self.list().iter().map(|i| i.quantity(dimension)).collect();
                read.into_iter().collect::<Option<_>>()?
            }
            DeValue::Integer(_) | DeValue::Float(_) => {
                return self.no_quantity(dimension, &UnitError::NoUnit);
            }
            _ => {
                self.wrong_type(&format!("{N} quantities"));
                return None;
            }
        };
        let found = values.len();
        values.try_into().ok().or_else(|| {
            self.fault(
                format!("{} needs {N} numbers, found {found}", self.name),
                if N == 2 {
                    "a planar or axisymmetric job is drawn in two coordinates: \"10 x 20 mm\""
                } else {
                    "a tank is drawn in three coordinates: \"10 x 20 x 30 mm\""
                },
            );
            None
        })
    }

    /// Is it a list, or a text like `"3 x 2"`?
    pub fn is_row(&self) -> bool {
        let text = self.value.as_str();
        matches!(self.value, DeValue::Array(_)) || text.is_some_and(|text| text.contains(" x "))
    }

    /// Several plain numbers: an array, or one text like `"1 x 3 x 2"`, in which figures may stand.
    pub fn numbers<const N: usize>(&self) -> Option<[f64; N]> {
        let numbers: Vec<f64> = match self.value {
            DeValue::String(text) => {
                let one = |piece: &str| match self.faults.figures().number(piece) {
                    Some(Ok(number)) => Some(number),
                    Some(Err(error)) => {
                        let message = format!("{} is no row of numbers: {error}", self.name);
                        let help = "write numbers with x between them".into();
                        self.no_value(message, help, &error)
                    }
                    None => {
                        let number = piece.trim().parse().ok().filter(|x: &f64| x.is_finite());
                        if number.is_none() {
                            self.wrong_type("numbers with x between them");
                        }
                        number
                    }
                };
                text.split(" x ").map(one).collect::<Option<_>>()?
            }
            _ => {
                let read: Vec<_> = self.list().iter().map(Item::number).collect();
                read.into_iter().collect::<Option<_>>()?
            }
        };
        let found = numbers.len();
        numbers.try_into().ok().or_else(|| {
            self.fault(
                format!("{} needs {N} numbers, found {found}", self.name),
                "write one number for each coordinate",
            );
            None
        })
    }

    /// A plain number.
    pub fn number(&self) -> Option<f64> {
        let digits = match self.value {
            DeValue::Integer(i) if i.radix() == 10 => i.as_str(),
            DeValue::Float(f) => f.as_str(),
            DeValue::String(text) => match self.faults.figures().number(text) {
                Some(Ok(number)) => return Some(number),
                Some(Err(error)) => {
                    let message = format!("{} is not a number: {error}", self.name);
                    let help = "write a number without quotes, or a figure that is one".into();
                    return self.no_value(message, help, &error);
                }
                None => {
                    self.wrong_type("a number without quotes");
                    return None;
                }
            },
            _ => {
                self.wrong_type("a number without quotes");
                return None;
            }
        };
        let number = digits.parse().ok().filter(|x: &f64| x.is_finite());
        if number.is_none() {
            self.wrong_type("a finite number");
        }
        number
    }

    /// A number greater than zero.
    pub fn positive_number(&self) -> Option<f64> {
        let number = self.number()?;
        if number > 0.0 {
            return Some(number);
        }
        self.fault(
            format!("{} must be greater than zero", self.name),
            "write a number above zero",
        );
        None
    }

    /// A share between 0 and 1: a number or per cent in quotes.
    pub fn share(&self) -> Option<f64> {
        let share = self.ratio()?;
        if (0.0..=1.0).contains(&share) {
            return Some(share);
        }
        self.fault(
            format!("{} must lie between 0 and 100 %", self.name),
            "write \"97 %\" or 0.97",
        );
        None
    }

    /// Is it a share that is all? What is no share is not, and no fault is noted.
    pub fn is_all(&self) -> bool {
        let figures = self.faults.figures();
        let number = |digits: &str| digits.parse().ok();
        let share: Option<f64> = match self.value {
            DeValue::String(text) => match figures.number(text) {
                Some(Ok(share)) => Some(share),
                _ => figures.quantity(Dimension::Share, text).ok(),
            },
            DeValue::Integer(i) => number(i.as_str()),
            DeValue::Float(f) => number(f.as_str()),
            _ => None,
        };
        share == Some(1.0)
    }

    /// How much of something, `"300 %"` or 3.
    pub fn ratio(&self) -> Option<f64> {
        match self.value {
            DeValue::String(text) => match self.faults.figures().number(text) {
                // A figure that is a plain number.
                Some(Ok(number)) => Some(number),
                _ => self.quantity(Dimension::Share),
            },
            _ => self.number(),
        }
    }

    /// A text: one line of printable signs.
    pub fn text(&self) -> Option<&'a str> {
        let Some(text) = self.value.as_str() else {
            self.wrong_type("a text in quotes");
            return None;
        };
        if let Some(sign) = text.chars().find(|c| is_unprintable(*c)) {
            self.fault(
                format!(
                    "{} holds a sign that cannot be printed (U+{:04X})",
                    self.name,
                    u32::from(sign)
                ),
                "write it in one line, without control characters",
            );
            return None;
        }
        let length = text.chars().count();
        if length > LONGEST_TEXT {
            self.fault(
                format!(
                    "{} is {length} letters long, and {LONGEST_TEXT} are allowed",
                    self.name
                ),
                "write it shorter",
            );
            return None;
        }
        Some(text)
    }

    /// Is it a list of nothing?
    pub fn is_empty_list(&self) -> bool {
        matches!(self.value, DeValue::Array(array) if array.is_empty())
    }

    /// Notes a quantity outside of what is usual in the trade: it may be meant, but more often a unit is
    /// wrong. `usual` is in SI units, told in `unit`; all these ranges are from memory, and wide on purpose.
    pub fn usual(&self, dimension: Dimension, value: f64, usual: [f64; 2], unit: &str) {
        if let Some(text) = unusual(dimension, value, usual, unit) {
            self.note(format!("{}: {text}", self.name));
        }
    }

    /// True or false.
    pub fn flag(&self) -> Option<bool> {
        let flag = self.value.as_bool();
        if flag.is_none() {
            self.wrong_type("true or false");
        }
        flag
    }

    /// One of a few words.
    pub fn choice(&self, words: &[&'static str]) -> Option<&'static str> {
        let text = self.text()?;
        let word = words.iter().find(|w| **w == text).copied();
        if word.is_none() {
            self.fault(
                format!("{} is `{text}`, which is not known", self.name),
                suggest::help(text, words),
            );
        }
        word
    }

    /// Is it a text?
    pub fn is_text(&self) -> bool {
        self.value.is_str()
    }

    /// Is it a table?
    pub fn is_table(&self) -> bool {
        matches!(self.value, DeValue::Table(_))
    }

    /// The elements of an array.
    pub fn list(&self) -> Vec<Item<'a>> {
        match self.value {
            DeValue::Array(array) => array
                .iter()
                .enumerate()
                .map(|(n, value)| Item {
                    value: value.get_ref(),
                    spot: self.spot(value.span(), format!("number {} of {}", n + 1, self.name)),
                })
                .collect(),
            _ => {
                self.wrong_type("a list in square brackets");
                Vec::new()
            }
        }
    }

    /// A table.
    pub fn table(&self) -> Option<Table<'a>> {
        match self.value {
            DeValue::Table(entries) => Some(Table {
                entries,
                spot: self.spot(
                    self.span(),
                    match entries.get("name").and_then(|n| n.get_ref().as_str()) {
                        Some(own) => format!("`{own}`"),
                        None => self.name.clone(),
                    },
                ),
                is_root: false,
                asked: RefCell::default(),
                told: RefCell::default(),
            }),
            _ => {
                self.wrong_type("a table in braces");
                None
            }
        }
    }
}

/// By how much a quantity is outside of what is usual, if it is.
pub(crate) fn unusual(
    dimension: Dimension,
    value: f64,
    [low, high]: [f64; 2],
    unit: &str,
) -> Option<String> {
    let (times, than) = if value > high {
        (value / high, "times the most")
    } else if value < low {
        (low / value, "times less than the least")
    } else {
        return None;
    };
    let scale = dimension.convert(1.0, unit).unwrap_or(1.0);
    let [value, low, high] = [value, low, high].map(|x| significant(x / scale, 3));
    Some(format!(
        "{value} {unit} is {} {than} that is usual ({low} to {high} {unit}); is the unit right?",
        significant(times, 2)
    ))
}

fn with_article(word: &str) -> String {
    let article = if word.starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {word}")
}
