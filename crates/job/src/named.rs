//! Electrodes called by their names.

use crate::reader::Item;
use crate::suggest;
use ionfall_model::{Electrode, Role};

/// The electrode an item names.
pub(crate) fn named<'e>(item: &Item, electrodes: &'e [Electrode]) -> Option<&'e Electrode> {
    let name = item.text()?;
    let found = electrodes.iter().find(|e| e.name == name);
    if found.is_none() {
        let names: Vec<_> = electrodes.iter().map(|e| e.name.as_str()).collect();
        item.lacks(
            &Role::ALL.map(Role::key),
            format!("no electrode is named `{name}`"),
            suggest::help(name, &names),
        );
    }
    found
}

/// The name of a work. With faulty bodies the list is not the whole one: without it the name is taken as it
/// stands, so that there is no second message about them.
pub(crate) fn work(item: &Item, electrodes: Option<&[Electrode]>) -> Option<String> {
    let name = item.text()?;
    if let Some(electrodes) = electrodes {
        let found = named(item, electrodes)?;
        if found.role != Role::Work {
            item.fault(
                format!("`{name}` is {}, not work", found.role.word()),
                "name a work",
            );
        }
    }
    Some(name.to_owned())
}
