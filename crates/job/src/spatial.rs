//! Shapes of tanks, in three coordinates (x, y, z), z upwards.

use crate::draw::{self, points, radius};
use crate::drawing::Drawing;
use crate::files;
use crate::flat;
use crate::named_files::NamedFiles;
use crate::place::{self, accept, direction};
use crate::reader::{Item, Table};
use crate::unit::Dimension;
use ionfall_mesh::solid::{
    Ball, Ellipsoid, Extruded, Placement, Point, Polygon, Revolved, Sheet, Solid, SolidError,
    Torus, wire,
};

/// Three dimensions.
pub(crate) struct Spatial;

impl Drawing<3> for Spatial {
    const KINDS: &'static [&'static str] = &[
        "box",
        "ball",
        "ellipsoid",
        "cylinder",
        "frustum",
        "torus",
        "wire",
        "half_space",
        "extruded",
        "revolved",
        "mesh",
        "relief",
        "union",
        "difference",
        "intersection",
        "shell",
    ];

    const ELSEWHERE: &'static str =
        "a shape of planar and axisymmetric jobs, and this one is in space";

    const INSTEAD: &'static [(&'static str, &'static str)] = &[
        (
            "circle",
            "`ball`, `cylinder` or `torus`, or `revolved` with a profile",
        ),
        ("ellipse", "`ellipsoid`, or `revolved` with a profile"),
        ("rectangle", "`box`"),
        ("polygon", "`extruded` or `revolved`"),
        ("half_plane", "`half_space`"),
    ];

    fn draw(kind: &str, item: &Item, files: &dyn NamedFiles) -> Option<Solid<3>> {
        match kind {
            "ball" => {
                let (centre, radius) = draw::ball(item)?;
                accept(item, Ball::<3>::new(centre, radius)).map(Solid::new)
            }
            "ellipsoid" => {
                let (centre, axes) = draw::ellipsoid(item)?;
                accept(item, Ellipsoid::<3>::new(centre, axes)).map(Solid::new)
            }
            "half_space" => draw::half_space(item),
            "wire" => {
                let table = item.table()?;
                let radius = radius(&table);
                let way = table
                    .need("points", "[\"0 x 0 x 0 mm\", \"50 x 0 x 0 mm\"]")
                    .and_then(|i| points::<3>(&i));
                table.finish();
                accept(item, wire(&way?, radius?))
            }
            "cylinder" => standing(item, |table| {
                let (radius, height) = (radius(table), table.need_length("height"));
                Some(Revolved::cylinder(radius?, height?).map(Solid::new))
            }),
            "frustum" => standing(item, |table| {
                let [bottom, top] = ["bottom_radius", "top_radius"].map(|k| table.need_length(k));
                let height = table.need_length("height");
                Some(Revolved::frustum(bottom?, top?, height?).map(Solid::new))
            }),
            "torus" => standing(item, |table| {
                let [ring, tube] = ["ring_radius", "tube_radius"].map(|k| table.need_length(k));
                Some(Torus::new(ring?, tube?).map(Solid::new))
            }),
            "extruded" => standing(item, |table| {
                let outline = flat::outline(table, "outline");
                let height = table.need_length("height");
                Some(Extruded::new(outline?, height?).map(Solid::new))
            }),
            "revolved" => standing(item, |table| {
                let profile = flat::outline(table, "profile");
                Some(Revolved::new(profile?).map(Solid::new))
            }),
            "mesh" => files::mesh(item, files),
            "relief" => standing(item, |table| files::relief(table, files)),
            _ => draw::cuboid(item),
        }
    }

    fn turn(step: &Table, value: &Item) -> Option<Placement<3>> {
        let angle = value.quantity(Dimension::Angle);
        let axis = axis(step, "about");
        accept(value, Placement::<3>::rotation(axis?, angle?))
    }

    fn sheet(table: &Table, item: &Item) -> Option<Sheet<3>> {
        let placement = place::read::<3, Self>(table);
        let outline = if table.has("outline") {
            flat::outline(table, "outline")
        } else if !table.has("size") && !table.has("from") {
            // Known all the same.
            ["to", "centre", "at", "holes"]
                .iter()
                .for_each(|key| drop(table.get(key)));
            table.lacks(
                &["outline", "size", "from"],
                format!("{} needs one of `outline`, `size`, `from`", table.name()),
                "give exactly one of them",
            );
            None
        } else {
            draw::corners::<2>(table).and_then(|([x0, y0], [x1, y1])| {
                let ring = vec![[x0, y0], [x1, y0], [x1, y1], [x0, y1]];
                accept(item, Polygon::new(ring, Vec::new()))
            })
        };
        let (open, thickness) = draw::openness(table);
        accept(item, Sheet::flat(&outline?, &placement?, open?, thickness?))
    }
}

/// A shape drawn upright on the origin, then set on the point `at` with its z axis along `axis`.
fn standing(
    item: &Item,
    draw: impl Fn(&Table) -> Option<Result<Solid<3>, SolidError>>,
) -> Option<Solid<3>> {
    let table = item.table()?;
    let solid = draw(&table);
    let (axis, at) = (axis(&table, "axis"), table.point("at"));
    table.finish();
    let solid = accept(item, solid?)?;
    let upright = accept(item, Placement::z_to(axis?))?;
    let shift = accept(item, Placement::translation(at?))?;
    Some(solid.placed(&upright.then(&shift)))
}

/// A direction under a key, z if it is missing.
fn axis(table: &Table, key: &'static str) -> Option<Point<3>> {
    match table.get(key) {
        Some(item) => direction(&item),
        None => Some([0.0, 0.0, 1.0]),
    }
}
