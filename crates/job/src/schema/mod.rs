//! The JSON schema of the job file, for completion and checking in editors.

mod bath;
mod bodies;
mod plan;
mod value;

use crate::unit::Dimension;
use crate::{face, figures, insoluble, line, reading, repeat, travel, wall, zone};
use bath::{bath, law, oxygen, stirring};
use bodies::{coat, contact, place, repeat, shape, sheet, travels, turns};
use ionfall_model::{Output, Role};
use plan::{plan, prices, supply, wanted};
use serde_json::{Value, json};
use value::{
    corners, either, length, link, list, number, point, points, quantity, several, share, table,
    text, words,
};

/// The schema (JSON Schema, draft 2020-12).
pub fn schema() -> Value {
    let body = |more: &[(&str, Value)]| {
        let mut keys = vec![
            ("name", text("name, for messages and files")),
            ("shape", link("shape")),
            ("place", link("place")),
            ("finest", length("largest cell at its surface")),
            ("edge", length("largest cell at its sharp edges")),
        ];
        keys.extend(more.iter().cloned());
        table(&keys, &[])
    };
    let repeated = || (repeat::KEY, several(repeat()));
    let lead = || ("lead", quantity(Dimension::Resistance, "of its lead"));
    let film = || {
        let what = "of a layer on its surface, in series with its law: a film or a membrane";
        ("film_resistance", quantity(Dimension::AreaResistance, what))
    };
    let side = || {
        let mut sides = words(&wall::SIDES);
        sides["description"] = json!(format!(
            "wall of the tank that it is, instead of a shape, by the axis out of it: {}",
            wall::SIDES.join(", ")
        ));
        (wall::KEY, sides)
    };
    let cathode = || {
        body(&[
            ("law", law()),
            side(),
            film(),
            lead(),
            repeated(),
            ("turns", turns()),
            (travel::KEY, travels()),
            ("coat", several(coat())),
            ("contact", several(contact())),
        ])
    };
    let mut schema = table(
        &[
            ("title", text("what the job is called")),
            (figures::KEY, named_figures()),
            ("space", words(&["tank", "planar", "axisymmetric"])),
            ("depth", length("depth of a planar job")),
            ("tank", tank()),
            ("bath", bath()),
            (
                Role::Anode.key(),
                several(body(&[
                    ("law", law()),
                    (insoluble::KEY, oxygen()),
                    side(),
                    film(),
                    lead(),
                    repeated(),
                ])),
            ),
            (Role::Work.key(), several(cathode())),
            (Role::Thief.key(), several(cathode())),
            (
                Role::Floating.key(),
                several(body(&[("law", law()), side(), film(), repeated()])),
            ),
            ("shield", several(body(&[("sheet", sheet()), repeated()]))),
            (
                "stop_off",
                several(body(&[
                    ("on", text("electrode it covers, or all copies of one")),
                    repeated(),
                ])),
            ),
            (
                zone::KEY,
                several(body(&[
                    ("agitation", stirring()),
                    ("limiting_current_share", share("over that of the bath")),
                ])),
            ),
            (line::KEY, several(named_line())),
            (face::KEY, several(named_face())),
            (reading::KEY, several(point_read())),
            ("supply", several(supply())),
            ("plan", plan()),
            ("wanted", wanted()),
            ("prices", prices()),
            ("grid", grid()),
            ("save", save()),
        ],
        &["tank", "bath", "anode", "work", "supply"],
    );
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!("Plating job");
    schema["$defs"] = json!({ "shape": shape(), "place": place() });
    schema
}

fn named_figures() -> Value {
    json!({
        "type": "object",
        "description": "quantities with a name, to be used in other places, alone or in sums",
        "properties": {},
        "required": [],
        "additionalProperties": either(&[text("a quantity"), number("or a number")]),
    })
}

fn named_line() -> Value {
    table(
        &[
            ("name", text("name, for charts and tables")),
            ("on", text("work it lies on")),
            ("from", point("one end")),
            ("to", point("other end")),
            ("points", points("point of a line with corners")),
        ],
        &[],
    )
}

fn named_face() -> Value {
    let mut sides = words(&wall::SIDES);
    sides["description"] = json!(format!(
        "what looks most to this side, by the axis to it: {}",
        wall::SIDES.join(", ")
    ));
    table(
        &[
            ("name", text("name, for tables")),
            ("on", text("electrode whose surface it is part of")),
            (face::SIDE, sides),
            ("shape", link("shape")),
            ("place", link("place")),
        ],
        &["on"],
    )
}

fn point_read() -> Value {
    table(
        &[
            ("name", text("name, for tables")),
            ("at", point("where values are read")),
        ],
        &["at"],
    )
}

fn tank() -> Value {
    let mut keys = corners();
    keys.extend([
        ("shape", link("shape")),
        ("place", link("place")),
        ("liquid_level", length("height of the liquid")),
    ]);
    table(&keys, &[])
}

fn grid() -> Value {
    let region = table(
        &[
            ("shape", link("shape")),
            ("place", link("place")),
            ("finest", length("largest cell in it")),
        ],
        &["shape", "finest"],
    );
    table(
        &[
            (
                "accuracy",
                quantity(
                    Dimension::Share,
                    "largest plus-minus of the works' thinnest, mean and thickest and of the volts; `ionfall run` makes \
                     cells smaller where they are off, and `finest` is then the smallest that it may make",
                ),
            ),
            ("finest", length("largest cell at electrodes")),
            ("edge", length("largest cell at sharp edges")),
            ("coarsest", length("largest cell anywhere")),
            ("wall", length("largest cell at the walls")),
            ("region", several(region)),
        ],
        &[],
    )
}

fn save() -> Value {
    let kinds = Output::ALL.map(|(word, _)| word);
    table(
        &[
            ("what", list(words(&kinds))),
            ("where", text("folder")),
            (
                "at",
                list(quantity(
                    Dimension::Time,
                    "when surfaces and tables of facets are saved too; 0 s is before any metal",
                )),
            ),
        ],
        &[],
    )
}
