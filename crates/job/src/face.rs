//! Faces: parts of the surface of an electrode whose area and current are told.
//!
//! ```toml
//! [[face]]
//! name = "back"
//! on = "plate"
//! side = "-x"                # what looks most to this side, and, or, what lies in a `shape`
//! ```
//! Every place of a surface looks to one side, so that all sides of a body together are the body. On a body that is
//! repeated, side and shape are those of the part that is drawn, and move with each copy.

use crate::draw;
use crate::drawing::Drawing;
use crate::named::{self, Hung, On};
use crate::named_files::NamedFiles;
use crate::reader::Table;
use crate::wall;
use ionfall_mesh::solid::Solid;
use ionfall_model::{Face, Wall};
use std::collections::HashSet;

/// Key of the tables.
pub(crate) const KEY: &str = "face";

/// Key of the side.
pub(crate) const SIDE: &str = "side";

/// Most faces that copies make of those of a job.
const MOST: usize = 2000;

/// Reads the faces of a job. One on a body that is repeated is one on each copy, drawn as on the first.
pub(crate) fn read<const D: usize, W: Drawing<D>>(
    job: &Table,
    hung: Option<Hung<'_, D>>,
    files: &dyn NamedFiles,
) -> Option<Vec<Face<D>>> {
    let tables = job.tables(KEY);
    let read: Vec<_> = tables
        .iter()
        .enumerate()
        .map(|(n, table)| face::<D, W>(table, n, hung, files))
        .collect();
    let drawn: Vec<Drawn<D>> = read.into_iter().collect::<Option<_>>()?;
    let found: usize = drawn.iter().map(|d| d.on.len()).sum();
    if found > MOST.max(drawn.len()) {
        let longest = (0..drawn.len()).max_by_key(|n| drawn[*n].on.len())?;
        tables[longest].fault(
            format!("{found} faces are too many: {MOST} are allowed on copies"),
            "name one of the copies, `on` = \"... 1.1\"",
        );
        return None;
    }
    let faces = drawn.iter().enumerate();
    let faces: Vec<(usize, Face<D>)> = faces
        .flat_map(|(n, drawn)| drawn.faces().map(move |face| (n, face)))
        .collect();
    let mut names = HashSet::new();
    for (n, face) in &faces {
        if !names.insert(face.name.as_str()) {
            tables[*n].fault(
                format!("two faces are named `{}`", face.name),
                "give each a name of its own",
            );
        }
    }
    Some(faces.into_iter().map(|(_, face)| face).collect())
}

/// A face as a table says it.
struct Drawn<const D: usize> {
    name: String,
    on: Vec<On<D>>,
    side: Option<Wall>,
    region: Option<Solid<D>>,
}

impl<const D: usize> Drawn<D> {
    /// The same on each electrode that is named.
    fn faces(&self) -> impl Iterator<Item = Face<D>> {
        self.on.iter().map(|on| Face {
            name: format!("{}{}", self.name, on.ending),
            on: on.electrode,
            side: self.side,
            region: self.region.clone(),
            moved: on.moved,
        })
    }
}

fn face<const D: usize, W: Drawing<D>>(
    table: &Table,
    n: usize,
    hung: Option<Hung<'_, D>>,
    files: &dyn NamedFiles,
) -> Option<Drawn<D>> {
    let name = match table.get("name") {
        Some(item) => item.text().map(str::to_owned),
        None => Some(format!("{KEY} {}", n + 1)),
    };
    let on = table
        .need("on", "\"plate\"")
        .and_then(|item| named::on(&item, hung));
    let side = table.get(SIDE).map(|item| wall::side::<D>(&item));
    let region = draw::is_drawn::<D, W>(table).then(|| draw::body::<D, W>(table, files));
    if side.is_none() && region.is_none() {
        table.lacks(
            &[SIDE, "shape"],
            format!("{} says neither side nor shape", table.name()),
            format!("name the side that it looks to, {SIDE} = \"x\", or draw where it lies"),
        );
    }
    table.finish();
    Some(Drawn {
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
