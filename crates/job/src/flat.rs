//! Shapes of planar and axisymmetric jobs, in two coordinates: (x, y), or (r, z).
//!
//! An outline is a list of corners. An entry `{ curve = [...] }` in it is a smooth curve through the
//! points it lists, joined to its neighbours by straight lines.

use crate::curve;
use crate::draw::{self, points};
use crate::drawing::Drawing;
use crate::named_files::NamedFiles;
use crate::place::{self, accept};
use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_mesh::solid::{Ball, Ellipsoid, Placement, Polygon, Sheet, Solid};

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

    const ELSEWHERE: &'static str = "a shape of jobs in space, and this one is drawn in a plane";

    const INSTEAD: &'static [(&'static str, &'static str)] = &[
        ("ball", "`circle`"),
        ("box", "`rectangle`"),
        (
            "cylinder",
            "`circle`, or `rectangle` if you see it from the side",
        ),
        ("wire", "`circle`, its section, or `rectangle`"),
        ("torus", "`circle`, its section"),
        ("ellipsoid", "`ellipse`"),
        ("frustum", "`polygon`"),
        ("extruded", "`polygon`"),
        (
            "revolved",
            "`polygon`, in a job with space = \"axisymmetric\"",
        ),
        ("half_space", "`half_plane`"),
        ("mesh", "`polygon`"),
        ("relief", "`polygon`"),
    ];

    fn draw(kind: &str, item: &Item, _files: &dyn NamedFiles) -> Option<Solid<2>> {
        match kind {
            "circle" => {
                let (centre, radius) = draw::ball(item)?;
                accept(item, Ball::<2>::new(centre, radius)).map(Solid::new)
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
    let outline = item.as_ref().and_then(corners);
    let holes = table.get("holes").map_or(Some(Vec::new()), |holes| {
        let read: Vec<_> = holes.list().iter().map(corners).collect();
        read.into_iter().collect()
    });
    accept(&item?, Polygon::new(outline?, holes?))
}

/// The corners of an outline; curves are followed by short straight lines.
fn corners(item: &Item) -> Option<Vec<[f64; 2]>> {
    let read: Vec<Option<Vec<[f64; 2]>>> = item
        .list()
        .iter()
        .map(|entry| {
            if !entry.is_table() {
                return Some(vec![entry.vector(Dimension::Length)?]);
            }
            let table = entry.table()?;
            let list = table.need("curve", "[\"0 x 0 mm\", \"5 x 1 mm\", \"10 x 0 mm\"]");
            table.finish();
            let way = curve::through(&points::<2>(&list?)?);
            if way.is_none() {
                entry.fault(
                    "a curve needs two points or more, and no point twice in a row",
                    "leave out the double point",
                );
            }
            way
        })
        .collect();
    let pieces: Option<Vec<_>> = read.into_iter().collect();
    Some(pieces?.concat())
}
