//! Shapes of planar and axisymmetric jobs, in two coordinates: (x, y), or (r, z).

use crate::draw::{self, Drawing, points, radius};
use crate::place::{self, accept};
use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_mesh::solid::{Ball, Ellipsoid, Placement, Polygon, Sheet, Solid};
use std::path::Path;

/// Two dimensions.
pub(crate) struct Flat;

impl Drawing<2> for Flat {
    const KINDS: &'static [&'static str] = &[
        "circle",
        "ellipse",
        "rectangle",
        "polygon",
        "half_plane",
        "union",
        "difference",
        "intersection",
        "shell",
    ];

    fn draw(kind: &str, item: &Item, _folder: &Path) -> Option<Solid<2>> {
        match kind {
            "circle" => {
                let table = item.table()?;
                let (radius, centre) = (radius(&table), table.point("centre"));
                table.finish();
                accept(item, Ball::<2>::new(centre?, radius?)).map(Solid::new)
            }
            "ellipse" => {
                let (centre, axes) = draw::ellipsoid(item)?;
                accept(item, Ellipsoid::<2>::new(centre, axes)).map(Solid::new)
            }
            "polygon" => polygon(item).map(Solid::new),
            "half_plane" => draw::half_space(item),
            _ => draw::cuboid(item),
        }
    }

    fn turn(_step: &Table, value: &Item) -> Option<Placement<2>> {
        let angle = value.quantity(Dimension::Angle)?;
        accept(value, Placement::<2>::rotation(angle))
    }

    fn sheet(table: &Table, item: &Item) -> Option<Sheet<2>> {
        let placement = place::read::<2, Self>(table);
        let points = table
            .need("points", "[\"0 x 0 mm\", \"0 x 50 mm\"]")
            .and_then(|i| points::<2>(&i));
        let (open, thickness) = draw::openness(table);
        let placement = placement?;
        let placed: Vec<_> = points?.iter().map(|p| placement.apply(p)).collect();
        accept(item, Sheet::polyline(&placed, open?, thickness?))
    }
}

/// A filled outline, `points` in turning order, with `holes`.
fn polygon(item: &Item) -> Option<Polygon> {
    let table = item.table()?;
    let outline = outline(&table, "points");
    table.finish();
    outline
}

/// The outline under a key with the `holes` beside it.
pub(crate) fn outline(table: &Table, key: &'static str) -> Option<Polygon> {
    let item = table.need(key, "[\"0 x 0 mm\", \"10 x 0 mm\", \"10 x 5 mm\"]");
    let outline = item.as_ref().and_then(points::<2>);
    let holes = table.get("holes").map_or(Some(Vec::new()), |holes| {
        let read: Vec<_> = holes.list().iter().map(points::<2>).collect();
        read.into_iter().collect()
    });
    accept(&item?, Polygon::new(outline?, holes?))
}
