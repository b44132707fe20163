//! Bodies added, copied, taken away.

use super::quantity::row;
use super::shift::{along, dimension, each, named, shift_table};
use super::{document, tables};
use crate::boxes::{self, Box3};
use crate::drawn::{self, Drawn};
use crate::files::Files;
use crate::refusal::Refusal;
use ionfall_job::{Lengths, NamedFiles, parse_with};
use serde::{Deserialize, Serialize};
use toml_edit::{DocumentMut, Item, Table, TableLike, Value};

/// A text with a body more, and what that is called.
#[derive(Debug, Serialize)]
pub(crate) struct Added {
    pub text: String,
    pub body: String,
}

/// What is to be added.
#[derive(Debug, Deserialize)]
pub(crate) struct New {
    /// `anode`, `work`, `thief`, `floating`, `shield`, `contact`, `stop_off`.
    kind: String,
    /// `box`, `ball`, `cylinder`, `sheet`, `mesh`, `relief`; `rectangle` and `circle` in two dimensions.
    shape: String,
    file: Option<String>,
    unit: Option<String>,
    width: Option<String>,
    depth: Option<String>,
}

/// Room between a body that is added and its neighbours, over the side of the tank.
const GAP: f64 = 0.04;
/// Tank of a job that has none that can be read, mm.
const TANK_MM: [f64; 3] = [300.0, 200.0, 200.0];

/// The text with a body more, where there is room for it.
///
/// # Errors
/// A kind or shape that is not known, a file that is not there, a contact without a coat.
pub(crate) fn add(text: &str, files: &Files, new: &New) -> Result<Added, Refusal> {
    let mut document = document(text)?;
    let all = drawn::all(&document);
    let key = *(drawn::KEYS.iter().chain(&[drawn::CONTACT]))
        .find(|key| **key == new.kind)
        .ok_or_else(|| Refusal::plain(format!("a job has no `{}`", new.kind)))?;
    let room = Room::of(text, files, &document, &all);
    let [drawn_from, size] = new.extent(files, &room)?;
    let low = match key {
        drawn::CONTACT => room.on_top(&size),
        _ => room.free(key, &size),
    };
    let mut table = Table::new();
    let body = fresh(&all, key);
    table.insert("name", Item::Value(body.as_str().into()));
    new.draw(&mut table, &low, &size)?;
    if new.shape == "mesh" {
        let by: [f64; 3] = std::array::from_fn(|k| low[k] - drawn_from[k]);
        shift_table(&mut table, &by);
    }
    if key == drawn::CONTACT {
        let coated = |d: &&Drawn| {
            let table = drawn::table(&document, d);
            table.is_some_and(|t| t.get("coat").is_some())
        };
        let on = all
            .iter()
            .find(coated)
            .ok_or_else(|| Refusal::plain("contacts lie on a coat: give the work a coat first"))?;
        let on = tables::table_mut(&mut document, on);
        tables::push(on.ok_or_else(|| Refusal::plain("no coat"))?, key, table);
    } else {
        name_all(&mut document, &all, key);
        table.decor_mut().set_prefix("\n");
        tables::push(document.as_table_mut(), key, table);
    }
    Ok(Added {
        text: document.to_string(),
        body,
    })
}

/// A name that no body has: a letter behind it, because numbers are those of copies.
fn fresh(all: &[Drawn], key: &str) -> String {
    let word = key.replace('_', "-");
    let lettered = (b'B'..=b'Z').map(|letter| format!("{word} {}", char::from(letter)));
    let more = (2..).map(|n| format!("{word} Z{n}"));
    let mut names = std::iter::once(word.clone()).chain(lettered).chain(more);
    let is_free = |name: &String| all.iter().all(|d| !d.answers_to(name));
    names.find(is_free).unwrap_or(word)
}

/// Writes the names of bodies that go by their numbers, which change when there are more or fewer.
fn name_all(document: &mut DocumentMut, all: &[Drawn], key: &str) {
    for drawn in all.iter().filter(|d| d.key == key) {
        let table = tables::table_mut(document, drawn);
        if let Some(table) = table.filter(|table| table.get("name").is_none()) {
            table.insert("name", Item::Value(drawn.name.as_str().into()));
        }
    }
}

/// The tank and what is in it, mm.
struct Room {
    tank: Box3,
    bodies: Vec<(&'static str, Box3)>,
    dimension: usize,
}

/// A job with a stand-in for the electrodes that it still lacks, so that the places of the others can be read.
fn whole(text: &str, document: &DocumentMut, dimension: usize) -> String {
    let mut whole = text.to_owned();
    for (n, key) in ["anode", "work"].into_iter().enumerate() {
        if drawn::tables(document.get(key)).is_empty() {
            let (shape, more) = if dimension == 2 {
                ("circle", "")
            } else {
                ("ball", " x 1")
            };
            let at = n + 1;
            whole += &format!(
                "\n[[{key}]]\nname = \"stand-in {key}\"\nfinest = \"1 mm\"\nshape.{shape} = {{ radius = \"1 um\", centre = \"{at} x {at}{more} mm\" }}\n"
            );
        }
    }
    whole
}

impl Room {
    fn of(text: &str, files: &Files, document: &DocumentMut, all: &[Drawn]) -> Self {
        let dimension = dimension(document);
        let whole = whole(text, document, dimension);
        match parse_with("the job", &whole, &files.light()) {
            Ok(model) => Self {
                tank: boxes::tank(&model),
                bodies: (all.iter())
                    .filter_map(|d| Some((d.key, boxes::of(&model, all, d)?)))
                    .collect(),
                dimension,
            },
            // A job that is not whole yet: its tank at least.
            Err(_) => {
                let size = document.get("tank").and_then(|t| t.get("size")?.as_str());
                let size = size.and_then(|row| Lengths::of(text).row_m(row));
                let known = |k: usize| size.as_ref().and_then(|s| s.get(k)).map(|x| 1e3 * x);
                Self {
                    tank: [
                        [0.0; 3],
                        std::array::from_fn(|k| known(k).unwrap_or(TANK_MM[k])),
                    ],
                    bodies: Vec::new(),
                    dimension,
                }
            }
        }
    }

    fn side(&self, k: usize) -> f64 {
        self.tank[1][k] - self.tank[0][k]
    }

    /// The low corner of a free place: anodes at the ends, all else in the middle first.
    fn free(&self, key: &str, size: &[f64; 3]) -> [f64; 3] {
        let gap = GAP * self.side(0);
        let across: &[f64] = match key {
            "anode" => &[0.93, 0.07, 0.8, 0.2],
            "work" => &[0.35, 0.5, 0.2, 0.65],
            _ => &[0.6, 0.5, 0.7, 0.4, 0.3],
        };
        let along = [0.5, 0.25, 0.75, 0.1, 0.9];
        let place = |x: f64, y: f64| -> [f64; 3] {
            std::array::from_fn(|k| {
                let share = [x, y, 0.5][k];
                let middle = self.tank[0][k] + share * self.side(k);
                let last = (self.tank[1][k] - size[k]).max(self.tank[0][k]);
                ((middle - 0.5 * size[k]).clamp(self.tank[0][k], last)).round()
            })
        };
        let places: Vec<[f64; 3]> = (along.iter())
            .flat_map(|y| across.iter().map(move |x| place(*x, *y)))
            .collect();
        let is_free = |low: &&[f64; 3]| {
            self.bodies
                .iter()
                .filter(|(key, _)| *key != "stop_off")
                .all(|(_, other)| {
                    (0..self.dimension)
                        .any(|k| low[k] > other[1][k] + gap || low[k] + size[k] + gap < other[0][k])
                })
        };
        *places.iter().find(is_free).unwrap_or(&places[0])
    }
}

impl Room {
    /// The low corner of a place at the top of the first work.
    fn on_top(&self, size: &[f64; 3]) -> [f64; 3] {
        let work = self.bodies.iter().find(|(key, _)| *key == "work");
        let around = work.map_or(self.tank, |(_, around)| *around);
        std::array::from_fn(|k| {
            let middle = match k {
                2 => around[1][2],
                k => 0.5 * (around[0][k] + around[1][k]),
            };
            (middle - 0.5 * size[k]).round()
        })
    }
}

impl New {
    /// Low corner as it is drawn, and sides of its box, mm.
    fn extent(&self, files: &Files, room: &Room) -> Result<[[f64; 3]; 2], Refusal> {
        let tank = [room.side(0), room.side(1), room.side(2)];
        let least = (0..room.dimension)
            .map(|k| tank[k])
            .fold(f64::INFINITY, f64::min);
        let round = |x: f64| (x.round()).max(1.0);
        let length = |text: &Option<String>, else_mm: f64| match text {
            Some(text) => Lengths::default()
                .row_m(text)
                .and_then(|row| Some(1e3 * row.first()?)),
            None => Some(else_mm),
        };
        let mut from = [0.0; 3];
        let size = match (self.shape.as_str(), self.kind.as_str()) {
            ("mesh", _) => {
                let file = self.file()?;
                let metres = self.metres()?;
                let mesh = files
                    .mesh(file, metres)
                    .map_err(|error| Refusal::of(&error))?;
                let bounds = mesh.0.bounds();
                from = bounds.low.map(|x| 1e3 * x);
                std::array::from_fn(|k| 1e3 * (bounds.high[k] - bounds.low[k]))
            }
            ("relief", _) => {
                let bad = || Refusal::plain("the relief needs lengths like \"100 mm\"");
                let width = length(&self.width, round(0.4 * tank[1])).ok_or_else(bad)?;
                let depth = length(&self.depth, 3.0).ok_or_else(bad)?;
                let heights = files
                    .heights(self.file()?)
                    .map_err(|error| Refusal::of(&error))?;
                let (rows, columns) = heights.dim();
                let height =
                    width * rows.saturating_sub(1) as f64 / columns.saturating_sub(1).max(1) as f64;
                // It stands upright, its face along x.
                [depth + BASE_MM, width, height]
            }
            ("ball" | "circle", _) => [round(0.25 * least); 3],
            ("cylinder", _) => [round(0.1 * least), round(0.1 * least), round(0.4 * tank[2])],
            ("sheet", _) => [0.0, round(0.6 * tank[1]), round(0.6 * tank[2])],
            (_, "anode") => [10.0, round(0.6 * tank[1]), round(0.6 * tank[2])],
            (_, "contact") => [round(0.03 * least); 3],
            _ => [
                round(0.03 * tank[0]),
                round(0.3 * tank[1]),
                round(0.3 * tank[2]),
            ],
        };
        Ok([from, size])
    }

    fn file(&self) -> Result<&str, Refusal> {
        let missing = || Refusal::plain(format!("a {} needs a file", self.shape));
        self.file.as_deref().ok_or_else(missing)
    }

    fn unit(&self) -> &str {
        self.unit.as_deref().unwrap_or("mm")
    }

    fn metres(&self) -> Result<f64, Refusal> {
        let one = Lengths::default().row_m(&format!("1 {}", self.unit()));
        let one = one.and_then(|row| row.first().copied());
        one.ok_or_else(|| Refusal::plain(format!("`{}` is no unit of length", self.unit())))
    }

    /// Writes the shape.
    fn draw(&self, table: &mut Table, low: &[f64; 3], size: &[f64; 3]) -> Result<(), Refusal> {
        let high: [f64; 3] = std::array::from_fn(|k| low[k] + size[k]);
        let middle: [f64; 3] = std::array::from_fn(|k| 0.5 * (low[k] + high[k]));
        let foot = [middle[0], middle[1], low[2]];
        let radius = row(&[0.5 * size[0]]);
        let (d, shape) = match self.shape.as_str() {
            "circle" | "rectangle" => (2, self.shape.as_str()),
            other => (3, other),
        };
        let upright = format!(
            "[{{ turn = \"90 deg\", about = \"x\" }}, {{ turn = \"90 deg\", about = \"z\" }}, {{ move = \"{}\" }}]",
            row(low)
        );
        let (shape, place) = match shape {
            "box" | "rectangle" => (
                format!(
                    "{{ from = \"{}\", to = \"{}\" }}",
                    row(&low[..d]),
                    row(&high[..d])
                ),
                None,
            ),
            "ball" | "circle" => (
                format!(
                    "{{ radius = \"{radius}\", centre = \"{}\" }}",
                    row(&middle[..d])
                ),
                None,
            ),
            "cylinder" => (
                format!(
                    "{{ radius = \"{radius}\", height = \"{}\", at = \"{}\" }}",
                    row(&[size[2]]),
                    row(&foot)
                ),
                None,
            ),
            "sheet" => {
                let text = format!(
                    "{{ size = \"{}\", thickness = \"2 mm\", place = {upright} }}",
                    row(&size[1..])
                );
                table.insert("sheet", Item::Value(value(&text)?));
                return Ok(());
            }
            "relief" => (
                format!(
                    "{{ picture = {}, width = \"{}\", depth = \"{}\", base = \"{}\" }}",
                    Value::from(self.file()?),
                    row(&size[1..2]),
                    row(&[size[0] - BASE_MM]),
                    row(&[BASE_MM])
                ),
                Some(upright),
            ),
            "mesh" => (
                format!(
                    "{{ file = {}, unit = {} }}",
                    Value::from(self.file()?),
                    Value::from(self.unit())
                ),
                None,
            ),
            other => {
                return Err(Refusal::plain(format!(
                    "`{other}` is no shape that can be added"
                )));
            }
        };
        let mut drawn = Table::new();
        drawn.set_dotted(true);
        drawn.insert(&self.shape, Item::Value(value(&shape)?));
        table.insert("shape", Item::Table(drawn));
        if let Some(place) = place {
            table.insert("place", Item::Value(value(&place)?));
        }
        Ok(())
    }
}

/// The text with a body once more beside it, its lacquer and contacts too.
///
/// # Errors
/// A body that is not there, or has no place of its own.
pub(crate) fn copy(text: &str, files: &Files, body: &str) -> Result<Added, Refusal> {
    let mut document = document(text)?;
    let all = drawn::all(&document);
    let one = named(&all, body)?;
    let room = Room::of(text, files, &document, &all);
    let model = parse_with("the job", text, &files.light())?;
    let around = boxes::of(&model, &all, one).unwrap_or(room.tank);
    let by = room.beside(&around);
    let name = fresh(&all, one.key);
    let mut copies = vec![(one.clone(), name.clone(), None)];
    for other in along(&document, &all, one) {
        // Contacts are inside of the table that is copied.
        if other.key == "stop_off" {
            let known: Vec<Drawn> = (copies.iter())
                .map(|(drawn, name, _)| Drawn {
                    name: name.clone(),
                    ..drawn.clone()
                })
                .chain(all.iter().cloned())
                .collect();
            copies.push((other, fresh(&known, "stop_off"), Some(name.clone())));
        }
    }
    for key in [one.key, "stop_off"] {
        name_all(&mut document, &all, key);
    }
    for (drawn, name, on) in copies {
        let Some(table) = drawn::table(&document, &drawn) else {
            continue;
        };
        let mut table = plain_table(table);
        table.insert("name", Item::Value(name.as_str().into()));
        if let Some(on) = on {
            table.insert("on", Item::Value(on.as_str().into()));
        }
        if !shift_table(&mut table, &by) && drawn == *one {
            return Err(Refusal::plain(format!(
                "`{body}` has no place of its own, so there is one of it"
            )));
        }
        each(table.get_mut(drawn::CONTACT), &mut |contact| {
            contact.remove("name");
            shift_table(contact, &by);
        });
        each(table.get_mut("coat"), &mut |coat| {
            if coat.get("shape").is_some() {
                shift_table(coat, &by);
            }
        });
        table.decor_mut().set_prefix("\n");
        let above = Drawn {
            way: drawn.way[..drawn.way.len() - 1].to_vec(),
            ..drawn.clone()
        };
        if let Some(within) = tables::table_mut(&mut document, &above) {
            tables::push(within, drawn.key, table);
        }
    }
    Ok(Added {
        text: document.to_string(),
        body: name,
    })
}

/// A table with a head of its own, of the same entries.
fn plain_table(table: &dyn TableLike) -> Table {
    let mut made: Table = table
        .iter()
        .map(|(key, item)| (key, item.clone()))
        .collect();
    // Written anew: where heads of the original stood does not count.
    forget_positions(&mut made);
    made
}

fn forget_positions(table: &mut Table) {
    table.set_position(None);
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(inner) => {
                inner.decor_mut().set_prefix("");
                forget_positions(inner);
            }
            Item::ArrayOfTables(list) => list.iter_mut().for_each(|inner| {
                inner.decor_mut().set_prefix("");
                forget_positions(inner);
            }),
            _ => {}
        }
    }
}

impl Room {
    /// A way to beside a box: along y, else along x, where there is room in the tank.
    fn beside(&self, around: &Box3) -> Vec<f64> {
        let gap = GAP * self.side(0);
        for k in (0..self.dimension)
            .rev()
            .skip(usize::from(self.dimension == 3))
        {
            let step = (around[1][k] - around[0][k] + gap).round();
            for by in [step, -step] {
                let [low, high] = [around[0][k] + by, around[1][k] + by];
                if low >= self.tank[0][k] && high <= self.tank[1][k] {
                    return (0..self.dimension)
                        .map(|o| if o == k { by } else { 0.0 })
                        .collect();
                }
            }
        }
        vec![gap.round(); self.dimension]
    }
}

/// The text without a body, and without what only makes sense with it: lacquer, lines and faces on it, and its name
/// where others call it.
///
/// # Errors
/// A body that is not there.
pub(crate) fn remove(text: &str, body: &str) -> Result<String, Refusal> {
    let mut document = document(text)?;
    let all = drawn::all(&document);
    let one = named(&all, body)?;
    for key in [one.key, "stop_off"] {
        name_all(&mut document, &all, key);
    }
    let mut gone: Vec<Drawn> = along(&document, &all, one);
    gone.retain(|other| other.key == "stop_off");
    gone.push(one.clone());
    // From the last on, so that numbers stay what they are.
    gone.sort_by_key(|drawn| std::cmp::Reverse(drawn.way.last().map(|step| step.number)));
    for drawn in &gone {
        tables::take_out(&mut document, drawn);
    }
    let mut faces = Vec::new();
    for key in ["line", "face"] {
        faces = take_out_on(&mut document, key, &one.name);
    }
    if let Some(wanted) = (document.get_mut("wanted")).and_then(Item::as_table_like_mut) {
        for (key, gone) in [("on", vec![one.name.clone()]), ("face", faces)] {
            let called = wanted.get(key).and_then(Item::as_str);
            if called.is_some_and(|name| gone.iter().any(|g| g == name)) {
                wanted.remove(key);
            }
        }
    }
    each(document.get_mut("supply"), &mut |supply| {
        for key in ["anodes", "thieves"] {
            if let Some(list) = supply.get_mut(key).and_then(Item::as_array_mut) {
                list.retain(|name| name.as_str() != Some(&one.name));
            }
        }
    });
    Ok(document.to_string())
}

/// Takes out the tables under a key that are on a body; gives their names.
fn take_out_on(document: &mut DocumentMut, key: &'static str, body: &str) -> Vec<String> {
    let text =
        |table: &dyn TableLike, key: &str| table.get(key).and_then(Item::as_str).map(str::to_owned);
    let tables = drawn::tables(document.get(key));
    let is_on = |n: &usize| text(tables[*n], "on").as_deref() == Some(body);
    let found: Vec<usize> = (0..tables.len()).filter(is_on).collect();
    let names = found
        .iter()
        .filter_map(|n| text(tables[*n], "name"))
        .collect();
    for number in found.into_iter().rev() {
        let gone = Drawn {
            name: String::new(),
            key,
            way: vec![drawn::step(document.get(key), key, number)],
            is_repeated: false,
        };
        tables::take_out(document, &gone);
    }
    names
}

/// Plate under a relief that is added, mm.
const BASE_MM: f64 = 2.0;

fn value(text: &str) -> Result<Value, Refusal> {
    text.parse()
        .map_err(|error: toml_edit::TomlError| Refusal::of(&error))
}
