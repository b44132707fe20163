//! Electrodes called by their names.

use crate::reader::Item;
use crate::suggest;
use ionfall_model::Electrode;

/// The electrode an item names.
pub(crate) fn named<'e>(item: &Item, electrodes: &'e [Electrode]) -> Option<&'e Electrode> {
    let name = item.text()?;
    let found = electrodes.iter().find(|e| e.name == name);
    if found.is_none() {
        let names: Vec<_> = electrodes.iter().map(|e| e.name.as_str()).collect();
        item.fault(
            format!("no electrode is named `{name}`"),
            suggest::help(name, &names),
        );
    }
    found
}
