//! Electrodes called by their names.

use crate::reader::Item;
use crate::suggest;
use ionfall_model::{Electrode, Role};

/// The electrode an item names. With faulty bodies the list is not the whole one: without it nothing is
/// found, and no second message is given about them.
pub(crate) fn named<'e>(item: &Item, electrodes: Option<&'e [Electrode]>) -> Option<&'e Electrode> {
    let (name, electrodes) = (item.text()?, electrodes?);
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
    if electrodes.is_some() {
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
