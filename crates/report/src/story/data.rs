//! The plain data of a story.

use super::kind::Kind;
use crate::unit::Unit;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use ionfall_deposit::judge::Standing;
use ionfall_model::Role;
use serde::{Serialize, Serializer};

/// Everything to be told of a run.
#[derive(Clone, Debug, Serialize)]
pub struct Story {
    /// Title of the job, or a plain word where it has none.
    pub title: String,
    /// Kind of space: `tank`, `planar` or `axisymmetric`.
    pub space: &'static str,
    /// Names of the coordinates of places.
    pub axes: &'static [&'static str],
    /// Names of the copies of each body that is repeated, after its own. For pictures only.
    #[serde(skip)]
    pub copies: Vec<(String, Vec<String>)>,
    /// The answer in a sentence, and what goes with it.
    pub verdict: Verdict,
    /// What the first screen says of it.
    #[serde(flatten)]
    pub first: First,
    /// What can be shown on the surfaces.
    pub quantities: Vec<Quantity>,
    /// The cathodes.
    pub surfaces: Vec<Surface>,
    /// Tank, anodes, shields and sheets.
    pub wires: Vec<Wire>,
    /// Boxes around the cathodes; their lines are in `surfaces`.
    pub cathodes: Vec<Wire>,
    /// From where the plated face is seen straight on: angle about z, rad.
    pub front: f64,
    /// Where the view is looked at from at first: angles about z and above the horizon, rad.
    pub view: [f64; 2],
    /// Places worth finding.
    pub markers: Vec<Marker>,
    /// A cut through the bath.
    pub section: Option<Section>,
    /// Charts.
    pub charts: Vec<Chart>,
    /// Tables.
    pub tables: Vec<Table>,
    /// The rectifier and the clock: what the job sheet says.
    pub setting: Setting,
    /// Cautions about the result.
    pub cautions: Vec<String>,
    /// What is behind the answers.
    #[serde(flatten)]
    pub said: Said,
    /// What was mended in the input or is worth knowing about the grid.
    pub notes: Vec<String>,
    /// Safety: subject and text.
    pub safety: Vec<[String; 2]>,
    /// How it was computed.
    pub computed: String,
    /// The job behind it, if it has a text.
    pub job: Option<JobText>,
}

/// The verdict on the first screen.
#[derive(Clone, Debug, Serialize)]
pub struct First {
    /// Its parts as rules, each with what is wanted and what came of it.
    pub rules: Vec<Rule>,
    /// What to change, in a sentence.
    pub change: Option<String>,
    /// What it takes, in figures that stand nowhere else on the first screen.
    pub takes: Vec<String>,
}

/// Sentences about the answers.
#[derive(Clone, Debug, Serialize)]
pub struct Said {
    /// How far they may be off.
    pub bands: Vec<String>,
    /// What changes make of them.
    pub levers: Vec<String>,
    /// Assumptions behind every result of this kind.
    pub assumptions: Vec<String>,
}

/// A job as it was written, and when it was computed.
#[derive(Clone, Debug, Serialize)]
pub struct JobText {
    /// Name of its file.
    pub name: String,
    /// Its text.
    pub text: String,
    /// Differs between jobs whose text or files differ.
    pub fingerprint: u64,
    /// Day and time, in words.
    pub date: String,
}

/// The answer.
#[derive(Clone, Debug, Serialize)]
pub struct Verdict {
    /// How it stands.
    pub tone: Standing,
    /// The answer in a few words.
    pub head: String,
    /// What is judged, a line each.
    pub parts: Vec<String>,
    /// Sentences.
    pub lines: Vec<String>,
}

/// A part of the verdict on a scale from nothing on.
#[derive(Clone, Debug, Serialize)]
pub struct Rule {
    /// What is judged.
    pub label: &'static str,
    /// How it stands.
    pub state: Standing,
    /// The figure, with its plus-minus and what the bath leaves open of it.
    pub answer: String,
    /// Of what, and what goes with it.
    pub what: String,
    /// The figure drawn, if there is one.
    pub scale: Option<Scale>,
}

/// A figure on a scale from nothing on.
#[derive(Clone, Debug, Serialize)]
pub struct Scale {
    /// Values that are wanted or to be kept away from, and what they are.
    pub ticks: Vec<(f64, String)>,
    /// The figure.
    pub dot: f64,
    /// Its plus-minus.
    pub off: Option<f64>,
    /// What the bath's figures leave open of it.
    pub band: Option<[f64; 2]>,
}

/// Colour maps: perceptually uniform, readable with any colour vision and in grey.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Map {
    /// Dark violet to yellow.
    Viridis,
    /// Dark blue to yellow.
    Cividis,
}

/// Something known at every place of the surfaces.
#[derive(Clone, Debug, Serialize)]
pub struct Quantity {
    /// Name.
    pub label: &'static str,
    /// Unit.
    pub unit: Unit,
    /// Its colours.
    pub map: Map,
    /// Borders of its steps, from the least value to the largest; each step has one colour.
    pub edges: Vec<f64>,
    /// Share of the area in each step.
    pub shares: Vec<f64>,
    /// What its values are told as multiples of, if anything is wanted.
    pub over: Option<f64>,
    /// Values that matter.
    pub marks: Vec<Mark>,
}

/// A value that matters, and the side of it to be hatched.
#[derive(Clone, Debug, Serialize)]
pub struct Mark {
    /// The value, in the unit of its quantity.
    pub value: f64,
    /// What it is.
    pub label: String,
    /// Which side is to be pointed out.
    pub hatch: Hatch,
}

/// Which side of a value is pointed out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Hatch {
    /// Smaller values.
    Below,
    /// Larger values.
    Above,
    /// None.
    No,
}

/// A surface of triangles with values at its corners.
#[derive(Clone, Debug, Serialize)]
pub struct Surface {
    /// Name of the body.
    pub name: String,
    /// Its role.
    pub role: Role,
    /// Corners, mm: x, y, z after each other.
    pub points: Packed<f32>,
    /// Three corners a triangle.
    pub triangles: Packed<u32>,
    /// For each quantity one value a corner; not a number where nothing is plated.
    pub values: Vec<Packed<f32>>,
}

impl Story {
    /// What a body is called in a picture: the first of several copies as all of them, the others not at all.
    pub fn called(&self, name: &str) -> Option<String> {
        let all = self
            .copies
            .iter()
            .find(|(_, copies)| copies.iter().any(|c| c == name));
        match all {
            Some((of, copies)) if copies[0] == name => Some(format!("{} x {of}", copies.len())),
            Some(_) => None,
            None => Some(name.to_owned()),
        }
    }
}

/// A body as lines.
#[derive(Clone, Debug, Serialize)]
pub struct Wire {
    /// Name of the body.
    pub name: String,
    /// What it is.
    pub role: Kind,
    /// Ends of the lines, mm: six numbers a line.
    pub points: Packed<f32>,
    /// Corners of its triangles, mm: nine numbers a triangle. For pictures only.
    #[serde(skip)]
    pub faces: Vec<f32>,
    /// Box around the body, mm: low corner, high corner (not lifted).
    pub bounds: [[f64; 3]; 2],
}

/// A place worth finding.
#[derive(Clone, Debug, Serialize)]
pub struct Marker {
    /// `thinnest`, `thickest` or `loaded` (largest share of the limiting current).
    pub kind: &'static str,
    /// What it is.
    pub label: String,
    /// Its figures.
    pub figures: Vec<String>,
    /// Where, in words.
    pub place: String,
    /// What its figures are worth, in words.
    pub note: String,
    /// Place in the view, mm.
    pub at: [f64; 3],
}

/// A cut through the bath. Coordinates in the plane are millimetres along its two directions.
#[derive(Clone, Debug, Serialize)]
pub struct Section {
    /// Which plane.
    pub title: String,
    /// Names of the two directions.
    pub axes: [&'static str; 2],
    /// Lowest corner of the picture in the plane.
    pub low: [f64; 2],
    /// Edge of a pixel.
    pub pixel: f64,
    /// Pixels along both directions.
    pub size: [usize; 2],
    /// The four corners of the picture in the view: low, first direction, both, second direction.
    pub corners: [[f64; 3]; 4],
    /// Potential against the work, mV, row by row from the low corner; not a number outside the
    /// bath. For pictures only.
    #[serde(skip)]
    pub potential_mv: Vec<f32>,
    /// What each pixel is: 0 bath, 1 outside, 2 + number in `bodies` else. For pictures only.
    #[serde(skip)]
    pub matter: Vec<u8>,
    /// Equipotentials: mV and lines.
    #[serde(skip)]
    pub levels: Vec<(f64, Vec<Vec<[f64; 2]>>)>,
    /// Current lines, from the anodes to the work.
    #[serde(skip)]
    pub currents: Vec<Vec<[f64; 2]>>,
    /// Outlines of the bodies cut: name, role, ends of lines.
    #[serde(skip)]
    pub bodies: Vec<Cut>,
    /// Letters at the ends of the ways along the surface that charts are drawn over.
    #[serde(skip)]
    pub ends: Vec<([f64; 2], char)>,
    /// Share of the current between two neighbouring current lines, if they are drawn so.
    #[serde(skip)]
    pub tube_share: Option<f64>,
}

/// A body cut by the plane of a section.
#[derive(Clone, Debug)]
pub struct Cut {
    /// Name.
    pub name: String,
    /// What it is.
    pub role: Kind,
    /// Ends of its outline's lines.
    pub lines: Vec<[[f64; 2]; 2]>,
}

/// A chart of lines over numbers.
#[derive(Clone, Debug, Serialize)]
pub struct Chart {
    /// Short name for files: letters, digits, dashes.
    pub key: String,
    /// Title.
    pub title: String,
    /// What is across, with unit.
    pub across: String,
    /// What is up, with unit.
    pub up: String,
    /// Lines: name and points.
    pub lines: Vec<(String, Vec<[f64; 2]>)>,
    /// Values across to be marked.
    pub marks_across: Vec<(f64, String)>,
    /// Values up to be marked.
    pub marks_up: Vec<(f64, String)>,
    /// Upper end of an ordinate that begins at zero; without one it holds what there is.
    pub up_to: Option<f64>,
    /// Places in the view of the points of the first line, mm; none if they have none.
    pub places: Vec<[f64; 3]>,
    /// The chart in a sentence, for those who cannot see it.
    pub words: String,
}

/// A table.
#[derive(Clone, Debug, Serialize)]
pub struct Table {
    /// Short name: letters, digits, dashes.
    pub key: String,
    /// Title.
    pub title: String,
    /// Heads of the columns.
    pub head: Vec<String>,
    /// Rows; the first field names the row.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// Of some rows; nothing where there are none.
    pub(crate) fn filled(
        [key, title]: [&str; 2],
        head: &[&str],
        rows: impl IntoIterator<Item = Vec<String>>,
    ) -> Option<Self> {
        let rows: Vec<_> = rows.into_iter().collect();
        (!rows.is_empty()).then(|| Self {
            key: key.into(),
            title: title.into(),
            head: head.iter().map(|word| (*word).to_owned()).collect(),
            rows,
        })
    }
}

/// What is set and watched at the tank.
#[derive(Clone, Debug, Serialize)]
pub struct Setting {
    /// What to set on the rectifier: word and value.
    pub rectifier: Vec<[String; 2]>,
    /// What the bath has to be: word and value.
    pub bath: Vec<[String; 2]>,
    /// Where the bodies hang: name, role, place.
    pub places: Vec<[String; 3]>,
    /// The same with all copies of a body in one row.
    pub hangs: Vec<[String; 3]>,
    /// When to look, and what is to be seen then: time, charge, words.
    pub looks: Vec<[String; 3]>,
    /// When to stop.
    pub stop: Vec<String>,
    /// What to be careful with beside what the verdict says.
    pub cautions: Vec<String>,
}

/// Numbers that are written as base64 of their little-endian bytes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Packed<T>(pub Vec<T>);

impl Serialize for Packed<f32> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let bytes: Vec<u8> = self.0.iter().flat_map(|x| x.to_le_bytes()).collect();
        serializer.serialize_str(&STANDARD.encode(bytes))
    }
}

impl Serialize for Packed<u32> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let bytes: Vec<u8> = self.0.iter().flat_map(|x| x.to_le_bytes()).collect();
        serializer.serialize_str(&STANDARD.encode(bytes))
    }
}
