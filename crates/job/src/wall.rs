//! Electrodes that are a wall of the tank: `wall = "-x"`.
//!
//! ```toml
//! [[anode]]
//! name = "left wall"
//! wall = "-x"                # or x, y, -y, and -z, the floor
//! ```

use crate::draw;
use crate::drawing::Drawing;
use crate::named_files::NamedFiles;
use crate::reader::{Item, Table};
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::Solid;
use ionfall_model::Wall;

/// The key.
pub(crate) const KEY: &str = "wall";

/// Sides by the axis that points out of the liquid there.
pub(crate) const SIDES: [&str; 6] = ["x", "y", "z", "-x", "-y", "-z"];

/// The tank as far as its walls are concerned.
pub(crate) struct Room<'a, const D: usize> {
    pub space: Space,
    /// The liquid, if it could be read.
    pub liquid: Option<&'a Solid<D>>,
    /// Is it a box, filled to its brim or not?
    pub is_box: bool,
    /// Does a level end it at the top?
    pub has_level: bool,
}

/// Draws an electrode: a shape, or a wall of the room.
pub(crate) fn body<const D: usize, W: Drawing<D>>(
    table: &Table,
    room: &Room<'_, D>,
    files: &dyn NamedFiles,
) -> Option<Solid<D>> {
    let Some(item) = table.get(KEY) else {
        return draw::body::<D, W>(table, files);
    };
    if let Some(shape) = table.get("shape") {
        shape.fault(
            format!("{} and `shape` at once", item.name()),
            "keep one of them: a wall has its shape from the tank",
        );
        return None;
    }
    slab(&item, room)
}

/// A side by the axis that points to it.
pub(crate) fn side<const D: usize>(item: &Item) -> Option<Wall> {
    let sides: Vec<_> = (SIDES.into_iter())
        .filter(|w| D == 3 || !w.ends_with('z'))
        .collect();
    let word = item.choice(&sides)?;
    let axis = SIDES.iter().position(|w| *w == word)?;
    Some(Wall {
        axis: axis % 3,
        high: axis < 3,
    })
}

fn slab<const D: usize>(item: &Item, room: &Room<'_, D>) -> Option<Solid<D>> {
    let wall = side::<D>(item)?;
    if !room.is_box {
        item.fault(
            "this tank has a shape of its own, whose walls have no names",
            "draw the electrode with `shape`, flush with the wall or a little into it",
        );
        return None;
    }
    if room.has_level && wall.high && wall.axis + 1 == D {
        item.fault(
            "the surface of the liquid is no wall",
            "name a side wall or the floor, or leave out `liquid_level` if the tank is closed and full",
        );
        return None;
    }
    wall.slab(room.space, room.liquid?)
        .map_err(|error| item.fault(error.to_string(), "name another wall"))
        .ok()
}
