//! A small typed reader over a parsed TOML document.
//!
//! It notes every fault with its place and goes on reading, so that one pass shows them all. A
//! table remembers which keys were asked for: those are the known ones, and
//! [`Table::finish`] reports every other key.

use crate::collector::Collector;
use crate::excerpt::is_unprintable;
use crate::fault::Fault;
use crate::figures;
use crate::suggest;
use crate::unit::{Dimension, UnitError};
use ionfall_numerics::number::significant;
use std::cell::RefCell;
use std::ops::{Deref, Range};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Longest title, name or path, in letters.
const LONGEST_TEXT: usize = 1000;

/// A table being read.
pub(crate) struct Table<'a> {
    entries: &'a DeTable<'a>,
    spot: Spot<'a>,
    is_root: bool,
    asked: RefCell<Vec<&'static str>>,
    /// Unknown keys that a fault has been noted for.
    told: RefCell<Vec<&'static str>>,
}

/// A value being read.
#[derive(Clone)]
pub(crate) struct Item<'a> {
    value: &'a DeValue<'a>,
    spot: Spot<'a>,
}

/// Where in the document something is, what it is called, and where its faults are noted.
#[derive(Clone)]
pub(crate) struct Spot<'a> {
    span: Range<usize>,
    name: String,
    faults: &'a Collector,
}

impl<'a> Deref for Table<'a> {
    type Target = Spot<'a>;

    fn deref(&self) -> &Spot<'a> {
        &self.spot
    }
}

impl<'a> Deref for Item<'a> {
    type Target = Spot<'a>;

    fn deref(&self) -> &Spot<'a> {
        &self.spot
    }
}

impl Spot<'_> {
    /// Another spot of the same document.
    fn spot(&self, span: Range<usize>, name: String) -> Self {
        Self {
            span,
            name,
            faults: self.faults,
        }
    }

    /// Where it begins and ends.
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// What it is called in messages.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Notes a fault here: of a table, at its head.
    pub fn fault(&self, message: impl Into<String>, help: impl Into<String>) {
        self.faults
            .add([Fault::new(self.span(), message, "here", Some(help.into()))]);
    }

    /// Notes a fault here that goes away if one of some keys, or tables of the job, is there, misspelt.
    pub fn lacks(
        &self,
        keys: &[&'static str],
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        let fault = Fault::new(self.span(), message, "here", Some(help.into()));
        self.faults.add([Fault {
            missing: keys.to_vec(),
            ..fault
        }]);
    }

    /// Notes something worth telling that is no fault.
    pub fn note(&self, text: String) {
        self.faults.note(text);
    }
}

impl<'a> Table<'a> {
    /// The whole document.
    pub fn root(document: &'a Spanned<DeTable<'a>>, faults: &'a Collector) -> Self {
        Self {
            entries: document.get_ref(),
            spot: Spot {
                span: 0..0,
                name: "the job".into(),
                faults,
            },
            is_root: true,
            asked: RefCell::default(),
            told: RefCell::default(),
        }
    }

    /// Is nothing wrong with the job so far?
    pub fn is_faultless(&self) -> bool {
        self.faults.is_empty()
    }

    /// Reports keys that belong somewhere else, each with what is wrong with them here and what to
    /// write; true if there are any.
    pub fn strays(&self, what: &str, elsewhere: &[(&'static str, String)]) -> bool {
        let mut any = false;
        for key in self.entries.keys() {
            let word = key.get_ref().as_ref();
            if let Some((word, here)) = elsewhere.iter().find(|(w, _)| *w == word) {
                let message = format!("`{word}` is {what}");
                let help = format!("write {here}");
                let fault = Fault::new(key.span(), message, "not here", Some(help));
                self.faults.add([fault]);
                self.told.borrow_mut().push(word);
                any = true;
            }
        }
        any
    }

    /// Notes a fault at another place.
    pub fn fault_at(
        &self,
        span: Range<usize>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        let fault = Fault::new(span, message, "here", Some(help.into()));
        self.faults.add([fault]);
    }

    /// The value of a key, if it is there.
    pub fn get(&self, key: &'static str) -> Option<Item<'a>> {
        self.asked.borrow_mut().push(key);
        self.entries.get(key).map(|value| Item {
            value: value.get_ref(),
            spot: self.spot(
                value.span(),
                if self.is_root {
                    format!("`{key}`")
                } else {
                    format!("`{key}` of {}", self.name)
                },
            ),
        })
    }

    /// Is the key there?
    pub fn has(&self, key: &'static str) -> bool {
        self.get(key).is_some()
    }

    /// The value of a key; a fault if it is missing.
    pub fn need(&self, key: &'static str, example: &str) -> Option<Item<'a>> {
        let item = self.get(key);
        if item.is_none() {
            self.lacks(
                &[key],
                format!("`{key}` is missing in {}", self.name),
                format!("add a line like: {key} = {example}"),
            );
        }
        item
    }

    /// The one key of several alternatives that is there; a fault if there is none or more.
    pub fn one_of(&self, keys: &[&'static str]) -> Option<(&'static str, Item<'a>)> {
        let found: Vec<_> = keys
            .iter()
            .filter_map(|key| Some((*key, self.get(key)?)))
            .collect();
        let names = format!("`{}`", keys.join("`, `"));
        match found.len() {
            1 => found.into_iter().next(),
            0 => {
                self.lacks(
                    keys,
                    format!("{} needs one of {names}", self.name),
                    "give exactly one of them",
                );
                None
            }
            _ => {
                for (key, item) in &found[1..] {
                    item.fault(
                        format!("{} has both `{}` and `{key}`", self.name, found[0].0),
                        format!("keep exactly one of {names}"),
                    );
                }
                None
            }
        }
    }

    /// The tables of an array of tables (or a single one); none if the key is missing.
    pub fn tables(&self, key: &'static str) -> Vec<Table<'a>> {
        let Some(item) = self.get(key) else {
            return Vec::new();
        };
        match item.value {
            DeValue::Array(_) => {
                let mut list = item.list();
                if let [only] = list.as_mut_slice() {
                    only.spot.name = item.name.clone();
                }
                list.into_iter().filter_map(|i| i.table()).collect()
            }
            _ => item.table().into_iter().collect(),
        }
    }

    /// A sub-table with the name its messages use.
    pub fn table(&self, key: &'static str) -> Option<Table<'a>> {
        self.get(key)?.table()
    }

    /// The only entry of a table that chooses among kinds, as in `shape.box = {...}`.
    pub fn choose(&self, kinds: &[&'static str], help: &str) -> Option<(&'static str, Item<'a>)> {
        self.asked.borrow_mut().extend(kinds);
        let mut known = Vec::new();
        for (key, value) in self.entries {
            if let Some(kind) = kinds.iter().find(|k| **k == key.get_ref().as_ref()) {
                known.push((
                    *kind,
                    Item {
                        value: value.get_ref(),
                        spot: self.spot(key.span(), format!("`{kind}`")),
                    },
                ));
            }
        }
        if known.len() > 1 {
            let (kind, item) = &known[1];
            item.fault(
                format!("{} is both `{}` and `{kind}`", self.name, known[0].0),
                "keep one of them",
            );
        } else if known.is_empty() && self.entries.is_empty() {
            self.fault(format!("{} is empty", self.name), help);
        }
        self.finish();
        (known.len() == 1).then(|| known.remove(0))
    }

    /// Reports figures that nothing has used; the last thing to be done with a document.
    pub fn finish_figures(&self) {
        self.get(figures::KEY);
        // Other faults keep things from being read, and figures from being used.
        if self.faults.is_empty() {
            self.faults.add(self.faults.figures().unused());
        }
    }

    /// Reports every key that was never asked for.
    pub fn finish(&self) {
        let (asked, told) = (self.asked.borrow(), self.told.borrow());
        for key in self.entries.keys() {
            let word = key.get_ref().as_ref();
            if !asked.contains(&word) && !told.contains(&word) {
                let message = format!("`{word}` is not known in {}", self.name);
                let help = suggest::help(word, &asked);
                if let Some(near) = suggest::nearest(word, asked.iter().copied()) {
                    let span = (!self.is_root).then_some(&self.span);
                    self.faults.found(span, near);
                }
                let fault = Fault::new(key.span(), message, "unknown", Some(help));
                self.faults.add([fault]);
            }
        }
    }

    /// A length that must be positive.
    pub fn length(&self, key: &'static str) -> Option<f64> {
        self.get(key)?.positive(Dimension::Length)
    }

    /// A length that must be there and positive.
    pub fn need_length(&self, key: &'static str) -> Option<f64> {
        self.need(key, "\"10 mm\"")?.positive(Dimension::Length)
    }

    /// A point, the origin if it is missing.
    pub fn point<const N: usize>(&self, key: &'static str) -> Option<[f64; N]> {
        match self.get(key) {
            Some(item) => item.vector(Dimension::Length),
            None => Some([0.0; N]),
        }
    }

    /// A point that must be there.
    pub fn need_point<const N: usize>(&self, key: &'static str) -> Option<[f64; N]> {
        let example = if N == 2 {
            "\"10 x 20 mm\""
        } else {
            "\"10 x 20 x 30 mm\""
        };
        self.need(key, example)?.vector(Dimension::Length)
    }
}

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
