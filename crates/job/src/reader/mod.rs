//! A small typed reader over a parsed TOML document.
//!
//! It notes every fault with its place and goes on reading, so that one pass shows them all. A
//! table remembers which keys were asked for: those are the known ones, and
//! [`Table::finish`] reports every other key.

mod item;
mod table;

pub(crate) use item::unusual;

use crate::collector::Collector;
use crate::fault::Fault;
use std::cell::RefCell;
use std::ops::{Deref, Range};
use toml::de::{DeTable, DeValue};

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
