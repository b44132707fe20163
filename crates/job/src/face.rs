//! Faces: parts of the surface of an electrode whose area and current are told.
//!
//! ```toml
//! [[face]]
//! name = "back"
//! on = "plate"
//! side = "-x"                # what looks most to this side, and, or, what lies in a `shape`
//! ```
//! Every place of a surface looks to one side, so that all sides of a body together are the body.

use crate::draw;
use crate::drawing::Drawing;
use crate::named::named;
use crate::reader::Table;
use crate::wall;
use ionfall_model::{Electrode, Face};
use std::path::Path;

/// Key of the tables.
pub(crate) const KEY: &str = "face";

/// Key of the side.
pub(crate) const SIDE: &str = "side";

/// Reads the faces of a job.
pub(crate) fn read<const D: usize, W: Drawing<D>>(
    job: &Table,
    electrodes: Option<&[Electrode]>,
    folder: &Path,
) -> Option<Vec<Face<D>>> {
    let tables = job.tables(KEY);
    let read: Vec<_> = tables
        .iter()
        .enumerate()
        .map(|(n, table)| face::<D, W>(table, n, electrodes, folder))
        .collect();
    let faces: Vec<Face<D>> = read.into_iter().collect::<Option<_>>()?;
    for (n, face) in faces.iter().enumerate() {
        if faces[..n].iter().any(|f| f.name == face.name) {
            tables[n].fault(
                format!("two faces are named `{}`", face.name),
                "give each a name of its own",
            );
        }
    }
    Some(faces)
}

fn face<const D: usize, W: Drawing<D>>(
    table: &Table,
    n: usize,
    electrodes: Option<&[Electrode]>,
    folder: &Path,
) -> Option<Face<D>> {
    let name = match table.get("name") {
        Some(item) => item.text().map(str::to_owned),
        None => Some(format!("{KEY} {}", n + 1)),
    };
    let on = table.need("on", "\"plate\"").and_then(|item| {
        let found = named(&item, electrodes)?;
        electrodes?.iter().position(|e| e.name == found.name)
    });
    let side = table.get(SIDE).map(|item| wall::side::<D>(&item));
    let region = draw::is_drawn::<D, W>(table).then(|| draw::body::<D, W>(table, folder));
    if side.is_none() && region.is_none() {
        table.lacks(
            &[SIDE, "shape"],
            format!("{} says neither side nor shape", table.name()),
            format!("name the side that it looks to, {SIDE} = \"x\", or draw where it lies"),
        );
    }
    table.finish();
    Some(Face {
        name: name?,
        on: on?,
        side: match side {
            Some(read) => Some(read?),
            None => None,
        },
        region: match region {
            Some(drawn) => Some(drawn?),
            None => None,
        },
    })
}
