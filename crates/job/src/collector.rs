//! What is gathered while a file is read: faults, notes, the fingerprint, the named figures.

use crate::fault::Fault;
use crate::figures::Figures;
use std::cell::{Cell, OnceCell, RefCell};
use std::ops::Range;

/// Collects faults and notes while a file is read.
#[derive(Debug, Default)]
pub(crate) struct Collector {
    faults: RefCell<Vec<Fault>>,
    notes: RefCell<Vec<String>>,
    fingerprint: Cell<u64>,
    figures: OnceCell<Figures>,
}

impl Collector {
    /// Takes what was read into the fingerprint of the job (FNV-1a, 64 bits).
    pub fn mark(&self, bytes: &[u8]) {
        const BASIS: u64 = 0xcbf2_9ce4_8422_2325;
        const PRIME: u64 = 0x0100_0000_01b3;
        let mixed = bytes
            .iter()
            .fold(self.fingerprint.get() ^ BASIS, |hash, byte| {
                (hash ^ u64::from(*byte)).wrapping_mul(PRIME)
            });
        self.fingerprint.set(mixed);
    }

    /// The named figures of the file, once they are known.
    pub fn figures(&self) -> &Figures {
        self.figures.get_or_init(Figures::default)
    }

    /// Makes the named figures known, before anything else is read.
    pub fn set_figures(&self, figures: Figures) {
        // A second table of the same name cannot be in a document.
        let _ = self.figures.set(figures);
    }

    /// The fingerprint so far.
    pub fn fingerprint(&self) -> u64 {
        self.fingerprint.get()
    }

    /// Notes faults.
    pub fn add(&self, faults: impl IntoIterator<Item = Fault>) {
        self.faults.borrow_mut().extend(faults);
    }

    /// Takes back that a key is missing in the table at `span` (of the job itself: anywhere): it is there,
    /// misspelt.
    pub fn found(&self, span: Option<&Range<usize>>, key: &str) {
        let mut faults = self.faults.borrow_mut();
        let here = |f: &Fault| span.is_none_or(|span| f.span == *span);
        faults.retain(|f| !here(f) || !f.missing.contains(&key));
    }

    /// Is nothing wrong so far?
    pub fn is_empty(&self) -> bool {
        self.faults.borrow().is_empty()
    }

    /// Notes something worth telling that is no fault.
    pub fn note(&self, text: String) {
        self.notes.borrow_mut().push(text);
    }

    /// Takes all that was noted.
    pub fn into_parts(self) -> (Vec<Fault>, Vec<String>) {
        (self.faults.into_inner(), self.notes.into_inner())
    }
}
