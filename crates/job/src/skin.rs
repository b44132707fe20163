//! Conducting skins and where the current is led into them.
//!
//! ```toml
//! [[work]]
//! coat = { sheet_resistance = "40 ohm/sq" }            # all over
//! contact = { shape.ball = { centre = "0 x 0 x 90 mm", radius = "3 mm" } }
//! ```
//! `coat = { thickness = "0.5 um", metal = "silver" }` (or a `resistivity`) says the same by what it is.
//! `islands = "0.5 um"` says how much metal grows in islands that do not touch before it conducts.
//! Several: `[[work.coat]]`, each with a `shape` of its own; the last one that covers a place
//! counts. Where no coat is, nothing conducts.

use crate::draw;
use crate::drawing::Drawing;
use crate::named_files::NamedFiles;
use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_bath::Metal;
use ionfall_model::{Coat, Contact};
use ionfall_numerics::number::significant;

/// The coats and contacts of an electrode's table.
pub(crate) struct Skin<const D: usize> {
    pub coats: Vec<Coat<D>>,
    pub contacts: Vec<Contact<D>>,
}

/// Reads the `coat` and `contact` of the electrode of this number and name.
pub(crate) fn read<const D: usize, W: Drawing<D>>(
    table: &Table,
    electrode: usize,
    name: &str,
    files: &dyn NamedFiles,
) -> Skin<D> {
    let tables = table.tables("coat");
    let coats: Vec<_> = tables
        .iter()
        .filter_map(|coat| {
            let region = if draw::is_drawn::<D, W>(coat) {
                Some(draw::body::<D, W>(coat, files))
            } else {
                None
            };
            let sheet_resistance_ohm = sheet_resistance(coat, name);
            let islands_m = match coat.get("islands") {
                Some(item) => item.not_negative(Dimension::Length),
                None => Some(0.0),
            };
            coat.finish();
            Some(Coat {
                electrode,
                region: match region {
                    Some(drawn) => Some(drawn?),
                    None => None,
                },
                sheet_resistance_ohm: sheet_resistance_ohm?,
                islands_m: islands_m?,
            })
        })
        .collect();
    let found = table.tables("contact");
    let contacts: Vec<_> = found
        .iter()
        .enumerate()
        .filter_map(|(n, contact)| {
            let named = contact.get("name").and_then(|i| i.text());
            let name = match named {
                Some(own) => own.to_owned(),
                None if found.len() > 1 => format!("contact {} of {name}", n + 1),
                None => format!("contact of {name}"),
            };
            let resistance_ohm = match contact.get("resistance") {
                Some(item) => item.not_negative(Dimension::Resistance),
                None => Some(0.0),
            };
            let region = draw::body::<D, W>(contact, files);
            contact.finish();
            Some(Contact {
                electrode,
                name,
                region: region?,
                resistance_ohm: resistance_ohm?,
            })
        })
        .collect();
    if !tables.is_empty() && found.is_empty() {
        table.lacks(
            &["contact"],
            format!("the coat of `{name}` has no contact"),
            "say where the wire or clamp touches it: contact = { shape.ball = { centre = \"...\", \
             radius = \"3 mm\" } }",
        );
    }
    if tables.is_empty() && !found.is_empty() {
        table.lacks(
            &["coat"],
            format!("`{name}` has a contact but no coat"),
            "metal conducts everywhere: leave out `contact`, or add coat = { sheet_resistance = \
             \"...\" }",
        );
    }
    Skin { coats, contacts }
}

/// Resistance of a square, ohm: as it is said, or resistivity over thickness.
fn sheet_resistance(coat: &Table, name: &str) -> Option<f64> {
    let of = ["resistivity", "metal"];
    let (key, item) = coat
        .one_of(&["sheet_resistance", "thickness"])
        .or_else(|| {
            // Known all the same.
            of.iter().for_each(|key| drop(coat.get(key)));
            None
        })?;
    if key == "sheet_resistance" {
        if let Some(other) = of.into_iter().find_map(|key| coat.get(key)) {
            other.fault(
                format!("{} beside the resistance of a square", other.name()),
                "it goes with a `thickness`: keep one or the other",
            );
        }
        return item.positive(Dimension::SheetResistance);
    }
    let thickness_m = item.positive(Dimension::Length);
    let (key, what) = coat.one_of(&of)?;
    if key == "resistivity" {
        return Some(what.positive(Dimension::Resistivity)? / thickness_m?);
    }
    let metal = metal(&what)?;
    let sheet_ohm = metal.sheet_resistance_ohm(thickness_m?);
    item.note(format!(
        "the coat of `{name}` is taken to conduct like solid {} ({:.3} uohm cm; {}), {} ohm/sq; thin and \
         chemically deposited films conduct worse, often several times (from memory): measure the \
         resistance of a square and write sheet_resistance",
        metal.name,
        1e8 * metal.resistivity_ohm_m(),
        metal.resistivity.grade,
        significant(sheet_ohm, 3),
    ));
    Some(sheet_ohm)
}

fn metal(item: &Item) -> Option<Metal> {
    let found = Metal::find(item.text()?);
    if found.is_none() {
        let names: Vec<_> = Metal::ALL.iter().map(|m| m.name).collect();
        item.fault(
            format!("{} is no metal known here", item.name()),
            format!("name one of {}, or give its resistivity", names.join(", ")),
        );
    }
    found
}
