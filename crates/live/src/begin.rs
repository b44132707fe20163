//! The text of a new job, from a few answers: what hangs in which tank, in which bath, before how many anodes, at
//! what current, for how much metal.
//!
//! What the answers leave open is settled so that the job can be solved at once. The part hangs in the middle, or
//! before one anode a third into the tank; what lies flat as drawn is stood up, so that its broad side looks at the
//! anodes. The time is Faraday's for a mean of [`MEAN_OVER_WANTED`] times what is wanted at the thinnest place.
//! Cells are as small as the part asks for.

use crate::files::Files;
use crate::refusal::Refusal;
use ionfall_job::parse_with;
use ionfall_mesh::solid::Bounds;
use ionfall_model::{Hold, Known, Model, Parts};
use serde::Deserialize;
use std::fmt::Write;
use toml_edit::Value;

/// What is asked before there is a job.
#[derive(Debug, Deserialize)]
pub(crate) struct Answers {
    title: String,
    /// Inside, mm.
    tank: [f64; 3],
    bath: BathAnswer,
    agitation: String,
    work: WorkAnswer,
    anodes: usize,
    /// Mean current density, with its unit.
    current: String,
    /// Least thickness, with its unit.
    wanted: String,
}

/// A bath by its words in a job.
#[derive(Debug, Deserialize)]
struct BathAnswer {
    kind: String,
    recipe: Option<String>,
}

/// What hangs in the tank.
#[derive(Debug, Deserialize)]
#[serde(tag = "shape", rename_all = "lowercase")]
enum WorkAnswer {
    Plate,
    Ball,
    Tube,
    Medal,
    Mesh {
        file: String,
        unit: String,
    },
    Relief {
        file: String,
        width: String,
        depth: String,
    },
}

/// Mean thickness over the wanted one: what shapes without deep hollows usually need.
const MEAN_OVER_WANTED: f64 = 1.6;
/// How full the tank is.
const FULL: f64 = 0.9;
/// A shipped shape over the smaller side of the liquid.
const PART: f64 = 0.35;
/// Room between the part and wall or surface, mm, at least.
const ROOM_MM: f64 = 5.0;
/// What lies flat: height over the smaller side, at most.
const LIES: f64 = 0.5;
/// Base of a relief, mm, and the share of its depth that is painted with the sides.
const BASE_MM: f64 = 4.0;
const PAINTED: f64 = 0.1;
/// Half a tank in which whatever was drawn lies, mm.
const WIDE_MM: f64 = 1e5;
/// Name of the part.
const NAME: &str = "part";

/// Where things hang, and what follows from the part's size.
struct Layout {
    /// The axis along which the anodes look.
    axis: usize,
    /// Middle of the part, mm.
    middle: [f64; 3],
    /// How it is turned from how it was drawn, and moved, mm.
    turns: &'static [(&'static str, &'static str)],
    shift: Option<[f64; 3]>,
    /// Where the stop-off of a relief ends, mm.
    painted: f64,
    /// A tank so wide that whatever was drawn lies in it.
    is_wide: bool,
    finest: f64,
    hours: f64,
}

/// The text of a new job.
///
/// # Errors
/// An answer that a job cannot have; a part that does not fit into the tank.
pub(crate) fn begin(answers: &Answers, files: &Files) -> Result<String, Refusal> {
    if !answers.tank.iter().all(|side| (10.0..=1e5).contains(side)) {
        return Err(Refusal::plain(
            "a tank is between 10 mm and 100 m long, wide and high",
        ));
    }
    if !(1..=8).contains(&answers.anodes) {
        return Err(Refusal::plain("one to eight anodes"));
    }
    let mut layout = Layout {
        axis: 0,
        middle: [
            0.5 * answers.tank[0],
            0.5 * answers.tank[1],
            0.5 * FULL * answers.tank[2],
        ],
        turns: if answers.is_relief() { &UPRIGHT } else { &[] },
        shift: None,
        painted: 0.0,
        is_wide: true,
        finest: 2.0,
        hours: 1.0,
    };
    let (model, mut part) = drawn(answers, &layout, files)?;
    let size = sides(&part);
    if answers.is_mesh() && size[2] < LIES * size[0].min(size[1]) {
        layout.turns = &ON_EDGE;
        part = drawn(answers, &layout, files)?.1;
    }
    layout.place(answers, &part)?;
    layout.is_wide = false;
    layout.hours = hours(&model)?;
    Ok(answers.text(&layout))
}

/// A picture lies on its back as drawn; so it stands and looks along x.
const UPRIGHT: [(&str, &str); 2] = [("90 deg", "x"), ("90 deg", "z")];
/// Stands what lies flat on its edge.
const ON_EDGE: [(&str, &str); 1] = [("90 deg", "y")];

/// The job as it stands by now, and the box around its part, mm.
fn drawn(
    answers: &Answers,
    layout: &Layout,
    files: &Files,
) -> Result<(Model<Parts<3>>, Bounds<3>), Refusal> {
    let model = parse_with("the new job", &answers.text(layout), files)?;
    let Known::Solid(model) = model.known() else {
        return Err(Refusal::plain("a tank has three dimensions"));
    };
    let bodies = &model.geometry.domain.bodies;
    let part = bodies.iter().find(|body| body.name == NAME);
    let part = part.ok_or_else(|| Refusal::plain("the part is not in the job"))?;
    let bounds = part.solid.bounds();
    let mm = |x: [f64; 3]| x.map(|x| 1e3 * x);
    Ok((
        model,
        Bounds {
            low: mm(bounds.low),
            high: mm(bounds.high),
        },
    ))
}

fn sides(part: &Bounds<3>) -> [f64; 3] {
    std::array::from_fn(|k| part.high[k] - part.low[k])
}

/// Hours that the wanted thickness takes.
fn hours(model: &Model<Parts<3>>) -> Result<f64, Refusal> {
    let held = model.supplies.first().map(|supply| supply.hold);
    let (Some(Hold::MeanCurrentDensity(mean)), Some(wanted)) = (held, &model.wanted) else {
        return Err(Refusal::plain(
            "the current is to be a current density, such as 2 A/dm2",
        ));
    };
    let rate = model
        .bath
        .metal
        .thickness_rate_m_per_s(mean, model.bath.efficiency.value);
    Ok(MEAN_OVER_WANTED * wanted.thickness_m / rate / 3600.0)
}

impl Layout {
    /// Hangs the part into the tank.
    fn place(&mut self, answers: &Answers, part: &Bounds<3>) -> Result<(), Refusal> {
        let size = sides(part);
        let tank = [answers.tank[0], answers.tank[1], FULL * answers.tank[2]];
        self.axis = usize::from(!answers.is_relief() && size[1] < 0.9 * size[0]);
        let anode = anode_room(tank[self.axis]);
        for k in 0..3 {
            let beside = if k == self.axis {
                2.0 * (anode + ROOM_MM)
            } else {
                2.0 * ROOM_MM
            };
            if size[k] + beside > tank[k] {
                return Err(Refusal::plain(format!(
                    "the part is {} mm long along {}, and {} mm of the tank are free there; choose a larger tank, or \
                     another unit for the part",
                    rounded(size[k]),
                    ["x", "y", "z"][k],
                    rounded((tank[k] - beside).max(0.0))
                )));
            }
        }
        if answers.on_one_side() {
            let free = tank[self.axis] - anode - size[self.axis];
            self.middle[self.axis] =
                (0.5 * size[self.axis] + 0.3 * free).max(0.5 * size[self.axis] + ROOM_MM);
        }
        if answers.is_mesh() || answers.is_relief() {
            self.shift = Some(std::array::from_fn(|k| {
                tenth(self.middle[k] - 0.5 * (part.low[k] + part.high[k]))
            }));
        }
        let largest = size.into_iter().fold(0.0, f64::max);
        let least = size.into_iter().fold(f64::INFINITY, f64::min);
        self.finest = match answers.work {
            WorkAnswer::Relief { .. } => largest / 70.0,
            _ => (least / 3.0).clamp(largest / 90.0, largest / 30.0),
        };
        if let WorkAnswer::Relief { .. } = answers.work {
            let depth = size[0] - BASE_MM;
            self.painted = self.middle[0] - 0.5 * size[0] + BASE_MM + PAINTED * depth;
        }
        Ok(())
    }
}

/// What an anode takes of the tank along the axis in which it looks, with the room behind it, mm.
fn anode_room(length: f64) -> f64 {
    anode_gap(length) + anode_thickness(length)
}

fn anode_gap(length: f64) -> f64 {
    (0.05 * length).clamp(2.0, 20.0)
}

fn anode_thickness(length: f64) -> f64 {
    (0.03 * length).clamp(2.0, 10.0)
}

impl Answers {
    fn is_relief(&self) -> bool {
        matches!(self.work, WorkAnswer::Relief { .. })
    }

    fn is_mesh(&self) -> bool {
        matches!(self.work, WorkAnswer::Mesh { .. })
    }

    /// Do all anodes hang on one side of the part?
    fn on_one_side(&self) -> bool {
        self.is_relief() || self.anodes == 1
    }

    fn text(&self, layout: &Layout) -> String {
        let [length, width, height] = self.tank.map(rounded);
        let tank = match layout.is_wide {
            true => format!(
                "from = \"{0} x {0} x {0} mm\"\nto = \"{1} x {1} x {1} mm\"",
                -WIDE_MM, WIDE_MM
            ),
            false => {
                let level = rounded(FULL * self.tank[2]);
                format!(
                    "size = \"{length} x {width} x {height} mm\"\nliquid_level = \"{level} mm\""
                )
            }
        };
        let bath = match &self.bath.recipe {
            Some(recipe) => format!(
                "kind = {}\nrecipe = {}",
                quoted(&self.bath.kind),
                quoted(recipe)
            ),
            None => format!("kind = {}", quoted(&self.bath.kind)),
        };
        let coarsest = (self.tank.into_iter().fold(0.0, f64::max) / 25.0).max(4.0 * layout.finest);
        let (finest, coarsest) = (rounded(layout.finest), rounded(coarsest));
        let mut text = format!(
            "title = {}\n\n\
             # The tank inside: length (x), width (y), height (z is up), and how high the bath stands in it.\n\
             [tank]\n{tank}\n\n\
             [bath]\n{bath}\nagitation = {}\n",
            quoted(&self.title.replace(char::is_control, " ")),
            quoted(&self.agitation)
        );
        text += &self.anodes_text(layout);
        text += &self.work_text(layout);
        let _ = write!(
            text,
            "\n# On average over the part.\n[supply]\nmean_current_density = {}\n\n\
             # As Faraday has it for {MEAN_OVER_WANTED} times the wanted thickness on average.\n\
             [plan]\ntime = \"{}\"\n\n\
             # At the thinnest place, at least.\n[wanted]\nthickness = {}\n\n\
             # Smaller cells see more and take longer.\n[grid]\nfinest = \"{finest} mm\"\ncoarsest = \"{coarsest} mm\"\n",
            quoted(&self.current),
            time(layout.hours),
            quoted(&self.wanted)
        );
        text
    }

    /// Bars from near the bottom to above the surface.
    fn anodes_text(&self, layout: &Layout) -> String {
        let far = match self.on_one_side() {
            true => self.anodes,
            false => self.anodes.div_ceil(2),
        };
        let sides = [(true, far), (false, self.anodes - far)];
        let places = sides
            .into_iter()
            .flat_map(|(far, count)| (0..count).map(move |n| (far, n, count)));
        let mut text = String::new();
        for (number, (far, n, count)) in places.enumerate() {
            // Numbers are for copies.
            let name = format!("anode {}", char::from(b'A' + number as u8));
            let [from, to] = self.anode_box(layout.axis, far, n, count).map(triple);
            let _ = write!(
                text,
                "\n[[anode]]\nname = \"{name}\"\nshape.box = {{ from = \"{from}\", to = \"{to}\" }}\nfinest = \"{} mm\"\n",
                rounded(anode_thickness(self.tank[layout.axis]).max(layout.finest))
            );
        }
        text
    }

    /// Corners of the n-th of some anodes on one side, mm.
    fn anode_box(&self, axis: usize, far: bool, n: usize, count: usize) -> [[f64; 3]; 2] {
        let (length, width) = (self.tank[axis], self.tank[1 - axis]);
        let (gap, thick) = (anode_gap(length), anode_thickness(length));
        let share = 0.9 / count as f64;
        let middle = width * (0.05 + share * (n as f64 + 0.5));
        let half = 0.35 * share * width;
        let along = if far {
            [length - gap - thick, length - gap]
        } else {
            [gap, gap + thick]
        };
        let up = [0.1 * FULL * self.tank[2], 0.5 * (1.0 + FULL) * self.tank[2]];
        [0, 1].map(|end| {
            let mut corner = [0.0; 3];
            corner[axis] = along[end];
            corner[1 - axis] = middle + half * [-1.0, 1.0][end];
            corner[2] = up[end];
            corner
        })
    }

    fn work_text(&self, layout: &Layout) -> String {
        let mut text = format!(
            "\n[[work]]\nname = \"{NAME}\"\n{}\n",
            self.shape(layout.middle)
        );
        let turns = layout.turns.iter();
        let mut places: Vec<String> = turns
            .map(|(turn, about)| format!("    {{ turn = \"{turn}\", about = \"{about}\" }},\n"))
            .collect();
        places.extend(
            layout
                .shift
                .map(|shift| format!("    {{ move = \"{}\" }},\n", triple(shift))),
        );
        if !places.is_empty() {
            let _ = write!(text, "place = [\n{}]\n", places.concat());
        }
        if self.is_relief() && layout.painted > 0.0 {
            let _ = write!(
                text,
                "\n# Back, sides and the lowest rim are painted with stop-off lacquer.\n[[stop_off]]\non = \"{NAME}\"\n\
                 shape.half_space = {{ at = \"{} x 0 x 0 mm\", outward = \"x\" }}\n",
                rounded(layout.painted)
            );
        }
        text
    }

    /// The shape with its middle where it is to hang, or as it was drawn.
    fn shape(&self, middle: [f64; 3]) -> String {
        let side = (PART * self.tank[1].min(FULL * self.tank[2]))
            .round()
            .max(4.0);
        let at = |offset: [f64; 3]| triple(std::array::from_fn(|k| middle[k] + offset[k]));
        match &self.work {
            WorkAnswer::Plate => {
                let half = [0.04 * side, 0.5 * side, 0.5 * side];
                format!(
                    "shape.box = {{ from = \"{}\", to = \"{}\" }}",
                    at(half.map(|x| -x)),
                    at(half)
                )
            }
            WorkAnswer::Ball => {
                format!(
                    "shape.ball = {{ centre = \"{}\", radius = \"{} mm\" }}",
                    at([0.0; 3]),
                    rounded(0.5 * side)
                )
            }
            WorkAnswer::Tube => {
                let pipe = |radius: f64, half: f64| {
                    let (foot, radius, height) =
                        (at([0.0, 0.0, -half]), rounded(radius), rounded(2.0 * half));
                    format!(
                        "    {{ cylinder = {{ at = \"{foot}\", axis = \"z\", radius = \"{radius} mm\", height = \"{height} mm\" }} }},\n"
                    )
                };
                format!(
                    "shape.difference = [\n{}{}]",
                    pipe(0.25 * side, 0.5 * side),
                    pipe(0.2 * side, 0.55 * side)
                )
            }
            WorkAnswer::Medal => {
                let disk = |radius: f64, half: f64| {
                    let (foot, radius, height) =
                        (at([-half, 0.0, 0.0]), rounded(radius), rounded(2.0 * half));
                    format!(
                        "{{ cylinder = {{ at = \"{foot}\", axis = \"x\", radius = \"{radius} mm\", height = \"{height} mm\" }} }}"
                    )
                };
                let (rim, inner) = (
                    disk(0.5 * side, 0.045 * side),
                    disk(0.4 * side, 0.06 * side),
                );
                format!(
                    "shape.union = [\n    {},\n    {{ difference = [\n        {rim},\n        {inner},\n    ] }},\n]",
                    disk(0.5 * side, 0.03 * side)
                )
            }
            WorkAnswer::Mesh { file, unit } => {
                format!(
                    "shape.mesh = {{ file = {}, unit = {} }}",
                    quoted(file),
                    quoted(unit)
                )
            }
            WorkAnswer::Relief { file, width, depth } => format!(
                "shape.relief = {{ picture = {}, width = {}, depth = {}, base = \"{BASE_MM} mm\" }}",
                quoted(file),
                quoted(width),
                quoted(depth)
            ),
        }
    }
}

/// A text as TOML writes it.
fn quoted(text: &str) -> String {
    Value::from(text).to_string()
}

fn tenth(x: f64) -> f64 {
    (10.0 * x).round() / 10.0
}

/// Millimetres as a person writes them: tenths, and hundredths of what is small.
fn rounded(mm: f64) -> f64 {
    match mm.abs() < 2.0 {
        true => (100.0 * mm).round() / 100.0,
        false => tenth(mm),
    }
}

fn triple(mm: [f64; 3]) -> String {
    let [x, y, z] = mm.map(tenth);
    format!("{x} x {y} x {z} mm")
}

/// A time in round minutes or half hours, one at least.
fn time(hours: f64) -> String {
    match hours < 1.5 {
        true => format!("{} min", (60.0 * hours).ceil().max(1.0)),
        false => format!("{} h", 0.5 * (2.0 * hours).ceil()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    fn asked(change: impl FnOnce(&mut Value)) -> Answers {
        let mut answers = json!({
            "title": "A \"part\"\n", "tank": [300, 200, 200], "bath": { "kind": "acid copper", "recipe": "general" },
            "agitation": "air", "work": { "shape": "plate" }, "anodes": 2, "current": "2 A/dm2", "wanted": "0.1 mm"
        });
        change(&mut answers);
        serde_json::from_value(answers).unwrap()
    }

    /// A flat STL: a pyramid of 60 x 40 mm, so high, off the origin.
    fn files(height: f64) -> Files {
        let corners = [
            [10.0, 0.0, 0.0],
            [70.0, 0.0, 0.0],
            [70.0, 40.0, 0.0],
            [10.0, 40.0, 0.0],
            [40.0, 20.0, height],
        ];
        let faces = [
            [0, 2, 1],
            [0, 3, 2],
            [0, 1, 4],
            [1, 2, 4],
            [2, 3, 4],
            [3, 0, 4],
        ];
        let mut text = "solid a\n".to_owned();
        for face in faces {
            text += "facet normal 0 0 0\nouter loop\n";
            for corner in face.map(|n: usize| corners[n]) {
                text += &format!("vertex {} {} {}\n", corner[0], corner[1], corner[2]);
            }
            text += "endloop\nendfacet\n";
        }
        let mut files = Files::default();
        files.put("a.stl".into(), (text + "endsolid a\n").into_bytes());
        files
    }

    /// Bounds of the part and of the anodes, mm.
    fn hung(answers: &Answers, files: &Files) -> (Bounds<3>, Vec<Bounds<3>>) {
        let text = begin(answers, files).unwrap_or_else(|error| panic!("{error:?}"));
        let Known::Solid(model) = parse_with("new", &text, files).unwrap().known() else {
            panic!("flat")
        };
        assert!(ionfall_job::overlaps(&model.geometry).is_empty(), "{text}");
        let boxes = model.geometry.domain.bodies.iter().map(|b| {
            let bounds = b.solid.bounds();
            let mm = |x: [f64; 3]| x.map(|x| 1e3 * x);
            (
                b.name == NAME,
                Bounds {
                    low: mm(bounds.low),
                    high: mm(bounds.high),
                },
            )
        });
        let (parts, anodes): (Vec<_>, Vec<_>) = boxes.partition(|b| b.0);
        (parts[0].1, anodes.into_iter().map(|a| a.1).collect())
    }

    /// All of it in the tank, the part in the liquid, nothing over another.
    fn fits(answers: &Answers, files: &Files) -> (Bounds<3>, Vec<Bounds<3>>) {
        let (part, anodes) = hung(answers, files);
        assert_eq!(anodes.len(), answers.anodes);
        let tank = answers.tank;
        for k in 0..3 {
            let full = if k == 2 { FULL } else { 1.0 };
            assert!(
                part.low[k] > 0.0 && part.high[k] < full * tank[k],
                "{part:?}"
            );
            assert!(
                anodes.iter().all(|a| a.low[k] > 0.0 && a.high[k] < tank[k]),
                "{anodes:?}"
            );
        }
        (part, anodes)
    }

    #[test]
    fn shipped_shapes_hang_in_every_tank_before_any_number_of_anodes() {
        for shape in ["plate", "ball", "tube", "medal"] {
            for tank in [[300, 200, 200], [2000, 900, 1200], [60, 50, 40]] {
                for anodes in 1..=4 {
                    let answers = asked(|a| {
                        a["work"]["shape"] = shape.into();
                        a["tank"] = tank.into();
                        a["anodes"] = anodes.into();
                    });
                    fits(&answers, &Files::default());
                }
            }
        }
    }

    #[test]
    fn every_bath_of_the_shelf_can_be_begun_with() {
        for sheet in ionfall_bath::sheet::SHEETS {
            fits(
                &asked(|a| a["bath"] = json!({ "kind": sheet.name })),
                &Files::default(),
            );
        }
        for recipe in ionfall_bath::recipe::RECIPES {
            fits(
                &asked(|a| a["bath"]["recipe"] = recipe.name.into()),
                &Files::default(),
            );
        }
    }

    #[test]
    fn what_lies_flat_is_stood_up_and_hangs_in_the_middle() {
        let mesh =
            |a: &mut Value| a["work"] = json!({ "shape": "mesh", "file": "a.stl", "unit": "mm" });
        let (part, _) = fits(&asked(mesh), &files(10.0));
        let size = sides(&part);
        assert!(
            (size[0] - 10.0).abs() < 1e-6 && (size[2] - 60.0).abs() < 1e-6,
            "{size:?}"
        );
        let middle: [f64; 3] = std::array::from_fn(|k| 0.5 * (part.low[k] + part.high[k]));
        for (found, wanted) in middle.iter().zip([150.0, 100.0, 90.0]) {
            assert!((found - wanted).abs() < 0.06, "{middle:?}");
        }
        // A high one stays as drawn; its narrow side looks along y, so the anodes hang there.
        let (part, anodes) = fits(&asked(mesh), &files(30.0));
        assert!((sides(&part)[2] - 30.0).abs() < 1e-6);
        assert!(
            anodes.iter().all(|a| sides(a)[1] < sides(a)[0]),
            "{anodes:?}"
        );
    }

    /// The picture stands upright and looks at its anode; behind its face it is painted.
    #[test]
    fn a_picture_stands_and_looks_at_its_anodes() {
        let mut files = Files::default();
        let picture = include_bytes!("../../../examples/plaque/harbour.png");
        files.put("a.png".into(), picture.to_vec());
        let relief =
            json!({ "shape": "relief", "file": "a.png", "width": "100 mm", "depth": "3 mm" });
        let answers = asked(|a| a["work"] = relief);
        let (part, anodes) = fits(&answers, &files);
        let size = sides(&part);
        assert!(size[0] < 7.1 && (size[1] - 100.0).abs() < 1e-6, "{size:?}");
        assert!(anodes.iter().all(|a| a.low[0] > part.high[0]), "{anodes:?}");
        let text = begin(&answers, &files).unwrap();
        assert!(text.contains("half_space"), "{text}");
    }

    #[test]
    fn what_does_not_fit_is_told_with_its_lengths() {
        let large =
            asked(|a| a["work"] = json!({ "shape": "mesh", "file": "a.stl", "unit": "cm" }));
        let Err(Refusal::Error(words)) = begin(&large, &files(30.0)) else {
            panic!("it fits")
        };
        assert!(
            words.contains("600 mm long along x") && words.contains("larger tank"),
            "{words}"
        );
        let missing =
            asked(|a| a["work"] = json!({ "shape": "mesh", "file": "b.stl", "unit": "mm" }));
        assert!(begin(&missing, &files(30.0)).is_err());
        assert!(
            begin(
                &asked(|a| a["current"] = "2 volts".into()),
                &Files::default()
            )
            .is_err()
        );
        assert!(begin(&asked(|a| a["anodes"] = 0.into()), &Files::default()).is_err());
    }

    /// Copper at 2 A/dm2 grows 26.5 um an hour: 0.16 mm on average take 6.1 hours.
    #[test]
    fn the_time_is_that_of_faraday() {
        let text = begin(&asked(|_| ()), &Files::default()).unwrap();
        assert!(text.contains("time = \"6.5 h\""), "{text}");
        let model = parse_with("new", &text, &Files::default()).unwrap();
        assert_eq!(model.title, "A \"part\" ");
    }
}
