//! Points where values are read: the potential of the bath there, and what grows if an electrode is there.
//!
//! ```toml
//! [[reading]]
//! name = "foot of the A"
//! at = "12 x 30 x 4 mm"
//! ```

use crate::reader::Table;
use ionfall_mesh::solid::Solid;
use ionfall_model::Reading;

/// Key of the tables.
pub(crate) const KEY: &str = "reading";

/// Reads the readings of a job; `liquid` is where they must lie, if it could be read.
pub(crate) fn read<const D: usize>(
    job: &Table,
    liquid: Option<&Solid<D>>,
) -> Option<Vec<Reading<D>>> {
    job.each(KEY, |table, n| reading(table, n, liquid))
}

fn reading<const D: usize>(
    table: &Table,
    n: usize,
    liquid: Option<&Solid<D>>,
) -> Option<Reading<D>> {
    let name = match table.get("name") {
        Some(item) => item.text().map(str::to_owned),
        None => Some(format!("{KEY} {}", n + 1)),
    };
    let at = table.need_point("at");
    table.finish();
    let reading = Reading {
        name: name?,
        at: at?,
    };
    if liquid.is_some_and(|liquid| !reading.lies_in(liquid)) {
        table.fault(
            format!("`{}` lies outside the liquid", reading.name),
            "move the point into the tank, below the liquid level",
        );
    }
    Some(reading)
}
