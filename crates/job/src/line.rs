//! Lines along which the thickness is wanted: from here to here on the face of a work.
//!
//! ```toml
//! [[line]]
//! name = "across the face"
//! on = "pattern"                    # may be left out where there is one work
//! from = "48 x 40 x 90 mm"
//! to = "48 x 160 x 90 mm"           # or: points = ["...", "...", "..."] for a line with corners
//! ```

use crate::named::named;
use crate::reader::Table;
use crate::unit::Dimension;
use ionfall_mesh::solid::Point;
use ionfall_model::{Electrode, Line, Role};

/// Key of the tables.
pub(crate) const KEY: &str = "line";

/// Reads the lines of a job.
pub(crate) fn read<const D: usize>(
    job: &Table,
    electrodes: Option<&[Electrode]>,
) -> Option<Vec<Line<D>>> {
    job.each(KEY, |table, n| line(table, n, electrodes))
}

fn line<const D: usize>(
    table: &Table,
    n: usize,
    electrodes: Option<&[Electrode]>,
) -> Option<Line<D>> {
    let name = match table.get("name") {
        Some(item) => item.text()?.to_owned(),
        None => format!("line {}", n + 1),
    };
    let on = match table.get("on") {
        Some(item) => {
            let (found, electrodes) = (named(&item, electrodes)?, electrodes?);
            if found.len() > 1 {
                item.fault(
                    format!(
                        "{} is {} copies, and a line lies on one",
                        item.name(),
                        found.len()
                    ),
                    format!("name one of them: on = \"{}\"", electrodes[found[0]].name),
                );
            }
            let electrode = &electrodes[found[0]];
            if electrode.role == Role::Anode {
                item.fault(
                    format!("`{}` is an anode, on which nothing grows", electrode.name),
                    "name a work",
                );
            }
            Some(found[0])
        }
        None => None,
    };
    let points = match table.get("points") {
        Some(item) => {
            let read: Vec<Option<Point<D>>> = item
                .list()
                .iter()
                .map(|i| i.vector(Dimension::Length))
                .collect();
            let points: Vec<Point<D>> = read.into_iter().collect::<Option<_>>()?;
            if points.len() < 2 {
                item.fault(
                    format!("{} needs at least two points", item.name()),
                    "write the points along the line, or from and to",
                );
            }
            points
        }
        None => {
            let (from, to) = (table.need_point("from"), table.need_point("to"));
            vec![from?, to?]
        }
    };
    if points.len() > 1 && points.iter().all(|p| *p == points[0]) {
        table.fault(
            "the line has no length",
            "let it go from one place to another",
        );
    }
    table.finish();
    Some(Line { name, on, points })
}
