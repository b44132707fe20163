//! Tables: the keys that are asked for, and those that nobody asked for.

use super::{Item, Spot, Table};
use crate::collector::Collector;
use crate::fault::Fault;
use crate::figures;
use crate::suggest;
use crate::unit::Dimension;
use std::cell::RefCell;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

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

    /// What each table of an array is read as, with its number; nothing if one is wrong. The faults of all are noted.
    pub fn each<T>(
        &self,
        key: &'static str,
        mut read: impl FnMut(&Table<'a>, usize) -> Option<T>,
    ) -> Option<Vec<T>> {
        let tables = self.tables(key).into_iter().enumerate();
        let all: Vec<Option<T>> = tables.map(|(n, table)| read(&table, n)).collect();
        all.into_iter().collect()
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

    /// A quantity that must be there and positive.
    pub fn need_positive(
        &self,
        key: &'static str,
        example: &str,
        dimension: Dimension,
    ) -> Option<f64> {
        self.need(key, example)?.positive(dimension)
    }

    /// A length that must be there and positive.
    pub fn need_length(&self, key: &'static str) -> Option<f64> {
        self.need_positive(key, "\"10 mm\"", Dimension::Length)
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
