//! Electrodes called by their names: one by its own, all copies of one by that of the body that was drawn.

use crate::reader::Item;
use crate::suggest;
use ionfall_mesh::solid::Placement;
use ionfall_model::{Electrode, Role};

/// The electrodes in the tank, each with the way to it from where it was drawn.
#[derive(Clone, Copy)]
pub(crate) struct Hung<'e, const D: usize> {
    pub electrodes: &'e [Electrode],
    pub moved: &'e [Placement<D>],
}

/// An electrode on which something is drawn.
pub(crate) struct On<const D: usize> {
    /// Number of the electrode.
    pub electrode: usize,
    /// From where the thing is drawn to where it is.
    pub moved: Placement<D>,
    /// What tells the things on copies apart: the numbers of the copy.
    pub ending: String,
}

/// The numbers of the electrodes that an item names. With faulty bodies the list is not the whole one: without
/// it nothing is found, and no second message is given about them.
pub(crate) fn named(item: &Item, electrodes: Option<&[Electrode]>) -> Option<Vec<usize>> {
    let (name, electrodes) = (item.text()?, electrodes?);
    let meant = |n: &usize| electrodes[*n].answers_to(name);
    let found: Vec<usize> = (0..electrodes.len()).filter(meant).collect();
    if found.is_empty() {
        let mut names: Vec<_> = electrodes
            .iter()
            .filter_map(|e| e.copy_of.as_deref())
            .collect();
        names.dedup();
        names.extend(electrodes.iter().map(|e| e.name.as_str()));
        item.lacks(
            &Role::ALL.map(Role::key),
            format!("no electrode is named `{name}`"),
            suggest::help(name, &names),
        );
        return None;
    }
    Some(found)
}

/// The electrodes on which something lies that an item names: on all copies alike where it names what was drawn
/// for them, as it is drawn where it names one.
pub(crate) fn on<const D: usize>(item: &Item, hung: Option<Hung<'_, D>>) -> Option<Vec<On<D>>> {
    let Hung { electrodes, moved } = hung?;
    let name = item.text()?;
    let place = |n: usize| {
        let copied = electrodes[n].name != name;
        On {
            electrode: n,
            moved: if copied {
                moved[n]
            } else {
                Placement::identity()
            },
            ending: match electrodes[n].name.strip_prefix(name) {
                Some(ending) if copied => ending.to_owned(),
                _ => String::new(),
            },
        }
    };
    let found = named(item, Some(electrodes))?;
    Some(found.into_iter().map(place).collect())
}

/// The name of a work or of its copies. With faulty bodies the list is not the whole one: without it the name is
/// taken as it stands, so that there is no second message about them.
pub(crate) fn work(item: &Item, electrodes: Option<&[Electrode]>) -> Option<String> {
    let name = item.text()?;
    if let Some(electrodes) = electrodes {
        let found = named(item, Some(electrodes))?;
        let role = electrodes[*found.first()?].role;
        if role != Role::Work {
            item.fault(
                format!("`{name}` is {}, not work", role.word()),
                "name a work",
            );
        }
    }
    Some(name.to_owned())
}
