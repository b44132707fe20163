//! Bodies: how they are drawn, placed, moved and repeated, and what coats them.

use super::bath::metals;
use super::value::{
    corners, direction, either, length, link, list, number, outline, point, points, quantity,
    share, table, text, words,
};
use crate::drawing::Drawing;
use crate::flat::Flat;
use crate::spatial::Spatial;
use crate::unit::Dimension;
use serde_json::Value;

pub(super) fn travels() -> Value {
    table(
        &[
            ("by", point("way of a rod from end to end")),
            (
                "turn",
                quantity(Dimension::Angle, "from one place of a carousel to the next"),
            ),
            ("about", direction()),
            ("at", point("point of the carousel's axis")),
            ("count", number("positions that metal is the mean over")),
        ],
        &[],
    )
}

pub(super) fn turns() -> Value {
    table(
        &[
            (
                "about",
                text("axis it turns about, like z; none in the plane"),
            ),
            ("at", text("a point of the axis")),
        ],
        &["at"],
    )
}

/// A step that makes copies.
pub(super) fn repeat() -> Value {
    let counts = either(&[
        text("how many along each axis, as \"1 x 3 x 2\""),
        list(number("along an axis")),
        number("along the one axis of the pitch, or around"),
    ]);
    table(
        &[
            ("pitch", point("from one copy to the next")),
            ("turn", quantity(Dimension::Angle, "from one to the next")),
            ("mirror", direction()),
            ("count", counts),
            ("about", direction()),
            ("at", point("point of the axis or of the mirror")),
        ],
        &[],
    )
}

pub(super) fn place() -> Value {
    list(table(
        &[
            ("move", point("shift")),
            ("turn", quantity(Dimension::Angle, "by the right-hand rule")),
            ("about", direction()),
            ("mirror", direction()),
            ("scale", number("factor")),
            ("at", point("point that stays")),
        ],
        &[],
    ))
}

pub(super) fn shape() -> Value {
    let mut keys: Vec<_> = Spatial::KINDS
        .iter()
        .chain(Flat::KINDS)
        .map(|kind| (*kind, figures(kind)))
        .collect();
    keys.push(("place", link("place")));
    table(&keys, &[])
}

/// The figures of a kind of shape.
pub(super) fn figures(kind: &str) -> Value {
    let round = |more: &[(&'static str, Value)]| {
        let mut keys = vec![
            ("radius", length("radius")),
            ("diameter", length("diameter")),
        ];
        keys.extend(more.iter().cloned());
        keys
    };
    let standing = |mut keys: Vec<(&'static str, Value)>| {
        keys.push(("at", point("foot")));
        keys.push(("axis", direction()));
        keys
    };
    let holes = || ("holes", list(outline("corner")));
    let centre = || ("centre", point("middle"));
    let height = || ("height", length("height"));
    let keys = match kind {
        "union" | "intersection" | "difference" => return list(link("shape")),
        "shell" => vec![
            ("of", link("shape")),
            ("wall", length("thickness of the wall")),
        ],
        "ball" | "circle" => round(&[centre()]),
        "ellipsoid" | "ellipse" => vec![("semi_axes", point("semi-axes")), centre()],
        "half_space" | "half_plane" => vec![("outward", direction()), ("at", point("on it"))],
        "polygon" => vec![("points", outline("corner")), holes()],
        "wire" => round(&[("points", points("point of the way"))]),
        "cylinder" => standing(round(&[height()])),
        "frustum" => standing(vec![
            ("bottom_radius", length("at the foot")),
            ("top_radius", length("at the top")),
            height(),
        ]),
        "torus" => standing(vec![
            ("ring_radius", length("of the middle line")),
            ("tube_radius", length("of the section")),
        ]),
        "extruded" => standing(vec![("outline", outline("corner")), holes(), height()]),
        "revolved" => standing(vec![("profile", outline("corner, r x z")), holes()]),
        "mesh" => vec![
            ("file", text("closed triangle mesh: .stl, .obj, .ply")),
            ("unit", words(&["mm", "cm", "m", "um", "in", "ft"])),
        ],
        "relief" => standing(vec![
            ("picture", text("grey picture: .png")),
            ("width", length("along x")),
            height(),
            ("depth", length("from black to white")),
            ("base", length("plate under the relief")),
            ("high", words(&["white", "black"])),
        ]),
        _ => corners(),
    };
    table(&keys, &[])
}

pub(super) fn sheet() -> Value {
    let mut keys = corners();
    keys.extend([
        ("outline", outline("corner")),
        ("holes", list(outline("corner"))),
        (
            "points",
            points("of a line, in planar and axisymmetric jobs"),
        ),
        ("place", link("place")),
        (
            "open_area",
            share("open area over whole area; all of it is no sheet"),
        ),
        ("thickness", length("thickness")),
    ]);
    table(&keys, &["thickness"])
}

pub(super) fn coat() -> Value {
    table(
        &[
            (
                "sheet_resistance",
                quantity(Dimension::SheetResistance, "of a square"),
            ),
            ("thickness", length("instead of its sheet resistance")),
            (
                "resistivity",
                quantity(
                    Dimension::Resistivity,
                    "of what it is made of, with its thickness",
                ),
            ),
            ("metal", words(&metals())),
            ("islands", length("deposit that does not conduct yet")),
            ("shape", link("shape")),
            ("place", link("place")),
        ],
        &[],
    )
}

pub(super) fn contact() -> Value {
    table(
        &[
            ("name", text("name, for messages")),
            ("shape", link("shape")),
            ("place", link("place")),
            (
                "resistance",
                quantity(Dimension::Resistance, "between lead and coat"),
            ),
        ],
        &["shape"],
    )
}
