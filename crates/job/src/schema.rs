//! The JSON schema of the job file, for completion and checking in editors.

use crate::bath::{SALTS, kinds};
use crate::drawing::Drawing;
use crate::flat::Flat;
use crate::spatial::Spatial;
use crate::unit::Dimension;
use crate::{agitation, face, figures, insoluble, line, reading, repeat, travel, wall, zone};
use ionfall_bath::Metal;
use ionfall_bath::recipe::RECIPES;
use ionfall_model::{Output, Role};
use serde_json::{Map, Value, json};

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

fn table(keys: &[(&str, Value)], required: &[&str]) -> Value {
    let properties: Map<_, _> = keys.iter().map(|(k, v)| ((*k).into(), v.clone())).collect();
    json!({
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

fn link(definition: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{definition}") })
}

fn text(description: &str) -> Value {
    json!({ "type": "string", "description": description })
}

fn words(words: &[&str]) -> Value {
    json!({ "enum": words })
}

fn number(description: &str) -> Value {
    let plain = json!({ "type": "number", "description": description });
    either(&[plain, text("a figure that is a number")])
}

fn either(choices: &[Value]) -> Value {
    json!({ "anyOf": choices })
}

fn list(items: Value) -> Value {
    json!({ "type": "array", "items": items })
}

fn several(table: Value) -> Value {
    either(&[list(table.clone()), table])
}

fn quantity(dimension: Dimension, description: &str) -> Value {
    text(&format!("{description}; units: {}", dimension.list()))
}

fn length(description: &str) -> Value {
    quantity(Dimension::Length, description)
}

fn point(description: &str) -> Value {
    either(&[
        length(&format!("{description}, as \"10 x 20 x 30 mm\"")),
        list(length("coordinate")),
    ])
}

fn points(description: &str) -> Value {
    list(point(description))
}

/// Corners, with smooth curves among them.
fn outline(description: &str) -> Value {
    let curve = ("curve", points("point of a smooth curve"));
    list(either(&[point(description), table(&[curve], &["curve"])]))
}

fn direction() -> Value {
    either(&[
        words(&["x", "y", "z", "-x", "-y", "-z"]),
        list(number("component")),
    ])
}

fn corners() -> Vec<(&'static str, Value)> {
    vec![
        ("size", point("sides")),
        ("at", point("low corner")),
        ("centre", point("middle")),
        ("from", point("one corner")),
        ("to", point("opposite corner")),
    ]
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

fn bath() -> Value {
    let recipes: Vec<_> = RECIPES.iter().map(|r| r.name).collect();
    let mut amounts: Vec<_> = SALTS
        .iter()
        .zip(["CuSO4 5H2O", "CuSO4 5H2O", "CuSO4", "Cu"])
        .map(|(key, what)| (*key, quantity(Dimension::Content, what)))
        .collect();
    amounts.push(("sulfuric_acid", quantity(Dimension::AcidContent, "H2SO4")));
    let mut keys = vec![
        ("kind", words(&kinds())),
        ("recipe", words(&recipes)),
        ("composition", table(&amounts, &["sulfuric_acid"])),
        ("metal", words(&metals())),
        ("agitation", stirring()),
        (
            "stirring_radius",
            length("of a ball that stirring moves: hollows it does not enter may stand still"),
        ),
        ("hydrogen", hydrogen()),
        ("efficiency", share("current efficiency of deposition")),
        ("limiting_current_density", limit()),
    ];
    keys.extend(
        [
            ("temperature", Dimension::Temperature, "of the bath"),
            ("conductivity", Dimension::Conductivity, "measured"),
            ("concentration", Dimension::Concentration, "of the metal"),
            ("diffusion", Dimension::Diffusion, "of the metal ion"),
            ("density", Dimension::Density, "of the bath"),
            (
                "deposit_density",
                Dimension::Density,
                "of the metal as it grows",
            ),
            (
                "deposit_resistivity",
                Dimension::Resistivity,
                "of the metal as it grows",
            ),
            ("viscosity", Dimension::Viscosity, "of the bath"),
            (
                "density_difference",
                Dimension::Share,
                "by which the bath is heavier than without its metal",
            ),
        ]
        .map(|(key, dimension, what)| (key, quantity(dimension, what))),
    );
    table(&keys, &["kind"])
}

fn metals() -> Vec<&'static str> {
    Metal::ALL.iter().flat_map(|m| [m.name, m.symbol]).collect()
}

fn stirring() -> Value {
    let mut keys: Vec<_> = agitation::WAYS
        .iter()
        .map(|way| {
            let figure = match *way {
                "still" => length("height of the face"),
                "rod" => quantity(Dimension::Speed, "of the rod"),
                "air" => quantity(Dimension::Share, "gas in the bath"),
                "jet" => quantity(Dimension::Speed, "in the nozzle of a jet onto the face"),
                "flow" => quantity(Dimension::Speed, "mean, past the face"),
                "film" => length("diffusion film"),
                _ => quantity(Dimension::Rotation, "of the work"),
            };
            (*way, figure)
        })
        .collect();
    keys.extend([
        ("length", length("of the face along the movement")),
        ("gap", length("to the opposite wall")),
        ("width", length("of the channel")),
        ("diameter", length("of the work")),
        ("nozzle", length("diameter of the jet's nozzle")),
        ("distance", length("of the nozzle from the face")),
        ("radius", length("of the face about the jet's axis")),
        ("up", direction()),
        ("along", direction()),
        ("at", point("of the jet's axis")),
    ]);
    either(&[words(&agitation::words()), table(&keys, &[])])
}

fn hydrogen() -> Value {
    let volts = |what| quantity(Dimension::Voltage, what);
    let figures = [
        (
            "exchange_current_density",
            quantity(Dimension::CurrentDensity, "i0"),
        ),
        ("slope_per_decade", volts("Tafel slope")),
        (
            "above_metal",
            volts("equilibrium potential less that of the metal"),
        ),
    ];
    let required = figures.each_ref().map(|(key, _)| *key);
    either(&[json!({ "type": "boolean" }), table(&figures, &required)])
}

fn share(description: &str) -> Value {
    either(&[
        quantity(Dimension::Share, description),
        number("or a fraction"),
    ])
}

fn travels() -> Value {
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

fn turns() -> Value {
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
fn repeat() -> Value {
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

fn ratio(description: &str) -> Value {
    either(&[
        quantity(Dimension::Share, description),
        number("or a plain number"),
    ])
}

fn limit() -> Value {
    quantity(Dimension::CurrentDensity, "largest the solution can feed")
}

fn law() -> Value {
    let figures = |keys: &[(&'static str, Value)]| {
        let mut keys = keys.to_vec();
        keys.push(("limiting_current_density", limit()));
        keys.push(("concentration_overpotential", json!({ "type": "boolean" })));
        table(&keys, &[])
    };
    let exchange = (
        "exchange_current_density",
        quantity(Dimension::CurrentDensity, "i0"),
    );
    let volts = |what| quantity(Dimension::Voltage, what);
    let resistance = quantity(Dimension::AreaResistance, "polarisation resistance");
    let laws = table(
        &[
            ("linear", figures(&[("resistance", resistance)])),
            (
                "tafel",
                figures(&[
                    exchange.clone(),
                    ("slope", volts("per factor e")),
                    ("slope_per_decade", volts("per factor ten")),
                ]),
            ),
            (
                "butler_volmer",
                figures(&[
                    exchange,
                    ("alpha_a", number("anodic transfer coefficient")),
                    ("alpha_c", number("cathodic transfer coefficient")),
                ]),
            ),
        ],
        &[],
    );
    either(&[words(&["primary", "bath"]), laws])
}

/// Anodes that do not dissolve.
fn oxygen() -> Value {
    let volts = |what| quantity(Dimension::Voltage, what);
    let figures = [
        (
            "exchange_current_density",
            quantity(Dimension::CurrentDensity, "of oxygen"),
        ),
        ("slope_per_decade", volts("Tafel slope of oxygen")),
        (
            "back_voltage",
            volts("equilibrium of oxygen above that of the metal"),
        ),
    ];
    let required = figures.each_ref().map(|(key, _)| *key);
    let mut kinds = words(&insoluble::words());
    kinds["description"] = json!(format!(
        "an anode on which oxygen is evolved instead of metal dissolved, instead of a law: {}",
        insoluble::words().join(", ")
    ));
    either(&[kinds, table(&figures, &required)])
}

fn place() -> Value {
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

fn shape() -> Value {
    let mut keys: Vec<_> = Spatial::KINDS
        .iter()
        .chain(Flat::KINDS)
        .map(|kind| (*kind, figures(kind)))
        .collect();
    keys.push(("place", link("place")));
    table(&keys, &[])
}

/// The figures of a kind of shape.
fn figures(kind: &str) -> Value {
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

fn sheet() -> Value {
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

fn coat() -> Value {
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

fn contact() -> Value {
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

/// What can be held constant.
fn holds() -> Vec<(&'static str, Value)> {
    vec![
        ("current", quantity(Dimension::Current, "held constant")),
        ("voltage", quantity(Dimension::Voltage, "held constant")),
        (
            "mean_current_density",
            quantity(Dimension::CurrentDensity, "on the work, held constant"),
        ),
    ]
}

fn supply() -> Value {
    let mut keys = holds();
    keys.extend([
        ("name", text("name, for messages")),
        (
            "voltage_limit",
            quantity(Dimension::Voltage, "most it can give"),
        ),
        (
            "current_limit",
            quantity(
                Dimension::Current,
                "most it can give where it holds a voltage",
            ),
        ),
        (
            "ammeter",
            quantity(Dimension::Share, "by which its ammeter may be off"),
        ),
        ("anodes", list(text("anode on it"))),
        ("thieves", list(text("thief on it"))),
    ]);
    table(&keys, &[])
}

fn plan() -> Value {
    let time = |what| quantity(Dimension::Time, what);
    let pulse = table(
        &[
            ("on", time("forward time of a cycle")),
            ("off", time("time without current")),
            ("reverse", time("reverse time of a cycle")),
            ("reverse_share", ratio("reverse over forward current")),
        ],
        &["on"],
    );
    let mut keys = holds();
    keys.extend([
        ("name", text("name, for messages")),
        ("to", text("where a ramp ends, in the unit it begins with")),
        ("rest", json!({ "type": "boolean" })),
        ("off", list(text("supply beside the main one that is off"))),
        ("pulse", pulse),
        ("time", time("how long")),
        ("charge", quantity(Dimension::Charge, "until it has flowed")),
        ("thickness", length("until the thinnest place has it")),
        ("mean_thickness", length("until the mean reaches it")),
        ("on", text("on which work")),
        ("at_most", time("longest time")),
    ]);
    table(
        &[
            ("time", time("plating time")),
            ("step", several(table(&keys, &[]))),
        ],
        &[],
    )
}

fn wanted() -> Value {
    table(
        &[
            ("thickness", length("least thickness")),
            ("at_most", length("largest thickness, anywhere on the work")),
            ("on", text("which work, or all copies of one")),
            ("face", text("only this face needs the least thickness")),
            ("covered", length("thickness that counts as covered")),
        ],
        &[],
    )
}

fn prices() -> Value {
    table(
        &[
            ("currency", text("name of the currency")),
            (
                "metal",
                quantity(Dimension::PriceOfMass, "of metal on works and thieves"),
            ),
            (
                "energy",
                quantity(Dimension::PriceOfEnergy, "of the supplies' energy"),
            ),
            (
                "time",
                quantity(Dimension::PriceOfTime, "of the tank's time"),
            ),
            (
                "acid",
                quantity(
                    Dimension::PriceOfMass,
                    "of sulfuric acid that hydrogen takes, a mole for each mole of it",
                ),
            ),
        ],
        &[],
    )
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
