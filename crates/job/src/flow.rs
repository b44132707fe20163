//! Which way the liquid moves along the faces: keys of a bath's agitation.
//!
//! ```toml
//! agitation = { still = "300 mm", up = "y" }                             # in space z is up, unless it is said
//! agitation = { rod = "3 m/min", length = "100 mm", along = "x" }
//! agitation = { flow = "0.5 m/s", gap = "20 mm", length = "100 mm", along = "-z" }
//! agitation = { jet = "2 m/s", nozzle = "5 mm", distance = "30 mm", radius = "30 mm", along = "-x", at = "0 x 50 x 50 mm" }
//! ```
//! Without them films keep their mean. In two dimensions the last coordinate is up where the tank has a level.

use crate::place::direction;
use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_mesh::grid::Space;
use ionfall_model::Flow;
use ionfall_numerics::vector::norm;

/// The keys.
pub(crate) const KEYS: [&str; 3] = ["up", "along", "at"];

/// The flow of a job; the outer none where it could not be read.
pub(crate) fn read<const D: usize>(
    job: &Table,
    space: Space,
    has_level: bool,
) -> Option<Option<Flow<D>>> {
    let up = || (D == 3 || has_level).then(Flow::up);
    let agitation = job.table("bath").and_then(|bath| bath.get("agitation"));
    let Some(table) = agitation.filter(Item::is_table).and_then(|i| i.table()) else {
        return Some(None);
    };
    if table.has("still") {
        return match table.get("up") {
            Some(item) => along(&item).map(|up| Some(Flow::new(up, [0.0; D]))),
            None => Some(up()),
        };
    }
    let Some(item) = table.get("along") else {
        return Some(None);
    };
    let direction = along(&item)?;
    if !table.has("jet") {
        return Some(Some(Flow::new(direction, [0.0; D])));
    }
    let on_axis = space == Space::Axisymmetric;
    let at = match table.get("at") {
        _ if matches!(space, Space::Planar { .. }) || (on_axis && direction[0] != 0.0) => {
            item.fault(
                "a round jet has its axis in space, or along the axis of revolution",
                "leave out `along`: the film then keeps its mean",
            );
            return None;
        }
        Some(at) => at.vector(Dimension::Length)?,
        None if on_axis => [0.0; D],
        None => table
            .need("at", "\"0 x 50 x 50 mm\"")?
            .vector(Dimension::Length)?,
    };
    Some(Some(Flow::new(direction, at)))
}

fn along<const D: usize>(item: &Item) -> Option<[f64; D]> {
    let found = direction::<D>(item)?;
    if norm(&found) > 0.0 {
        return Some(found);
    }
    item.fault("this is no direction", "write an axis like \"x\" or \"-z\"");
    None
}
