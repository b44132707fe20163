//! The lengths that draw a body: where each stands in the job, as it is written, and what it is worth.

use ionfall_job::Lengths;
use serde::Serialize;
use toml_edit::{Item, TableLike, Value};

/// A length of a body.
#[derive(Debug, PartialEq, Serialize)]
pub(super) struct Dim {
    path: String,
    label: String,
    text: String,
    mm: Option<f64>,
}

/// Keys whose values are lengths.
const LENGTHS: [&str; 15] = [
    "radius",
    "diameter",
    "height",
    "width",
    "depth",
    "base",
    "bottom_radius",
    "top_radius",
    "ring_radius",
    "tube_radius",
    "wall",
    "thickness",
    "by",
    "edge_radius",
    "pitch",
];
/// Keys whose values are places or sides.
const POINTS: [&str; 6] = ["from", "to", "at", "centre", "size", "semi_axes"];

/// The shape of a table, or its sheet: the key of its kind, and what draws it.
pub(super) fn shape_of(table: &dyn TableLike) -> Option<(String, &dyn TableLike)> {
    if let Some(sheet) = table.get("sheet").and_then(Item::as_table_like) {
        return Some(("sheet".into(), sheet));
    }
    let shape = table.get("shape")?.as_table_like()?;
    let (kind, drawn) = shape.iter().find(|(key, _)| *key != "place")?;
    Some((kind.to_owned(), drawn.as_table_like()?))
}

/// The kind of a body's shape.
pub(super) fn kind_of(table: &dyn TableLike) -> Option<String> {
    if table.get("wall").is_some() {
        return Some("wall".into());
    }
    let shape = table.get("shape").and_then(Item::as_table_like);
    let kind = shape.and_then(|s| s.iter().map(|(key, _)| key).find(|key| *key != "place"));
    shape_of(table)
        .map(|(kind, _)| kind)
        .or(kind.map(str::to_owned))
}

/// Can it be moved by the numbers of its own table?
pub(super) fn has_place_of_its_own(table: &dyn TableLike) -> bool {
    table.get("wall").is_none() && kind_of(table).is_some()
}

/// Can it be made larger and smaller?
pub(super) fn is_sizable(kind: &str) -> bool {
    !matches!(kind, "wall" | "half_space" | "half_plane" | "wire")
}

/// The lengths of a body.
pub(super) fn dims(
    table: &dyn TableLike,
    path: &str,
    lengths: &Lengths,
    dimension: usize,
) -> Vec<Dim> {
    let mut found = Vec::new();
    let reader = Reader { lengths, dimension };
    if let Some((kind, drawn)) = shape_of(table) {
        let path = match kind.as_str() {
            "sheet" => format!("{path}.sheet"),
            kind => format!("{path}.shape.{kind}"),
        };
        reader.table(drawn, &path, kind == "sheet", &mut found);
        reader.places(drawn, &path, &mut found);
    }
    if let Some(shape) = table.get("shape").and_then(Item::as_table_like) {
        reader.places(shape, &format!("{path}.shape"), &mut found);
    }
    reader.places(table, path, &mut found);
    found
}

struct Reader<'a> {
    lengths: &'a Lengths,
    dimension: usize,
}

impl Reader<'_> {
    fn axes(&self, count: usize) -> &'static [&'static str] {
        match (self.dimension, count) {
            (3, 3) => &["x", "y", "z"],
            _ => &["x", "y"],
        }
    }

    fn table(&self, table: &dyn TableLike, path: &str, is_sheet: bool, found: &mut Vec<Dim>) {
        for (key, item) in table.iter() {
            let path = format!("{path}.{key}");
            if LENGTHS.contains(&key) {
                found.extend(self.plain(key, item, path));
            } else if POINTS.contains(&key) {
                let count = if is_sheet { 2 } else { self.dimension };
                found.extend(self.point(key, item, &path, count));
            }
        }
    }

    /// The shifts of a `place`.
    fn places(&self, table: &dyn TableLike, path: &str, found: &mut Vec<Dim>) {
        let steps = table.get("place").and_then(Item::as_array);
        for (n, step) in steps.into_iter().flat_map(|s| s.iter()).enumerate() {
            let Some(by) = step.as_inline_table().and_then(|t| t.get("move")) else {
                continue;
            };
            let path = format!("{path}.place.{}.move", n + 1);
            let item = Item::Value(by.clone());
            found.extend(self.point("move", &item, &path, self.dimension));
        }
    }

    fn plain(&self, label: &str, item: &Item, path: String) -> Option<Dim> {
        let text = item.as_str()?;
        let worth = self.lengths.row_m(text);
        Some(Dim {
            path,
            label: label.replace('_', " "),
            text: text.to_owned(),
            mm: worth.and_then(|row| Some(1e3 * row.first()?)),
        })
    }

    fn point(&self, label: &str, item: &Item, path: &str, count: usize) -> Vec<Dim> {
        let texts: Vec<String> = match item {
            Item::Value(Value::Array(list)) => {
                let texts = list.iter().filter_map(Value::as_str);
                texts.map(str::to_owned).collect()
            }
            _ => pieces(item.as_str().unwrap_or_default()),
        };
        if texts.len() != count {
            return Vec::new();
        }
        let one = |(axis, text): (&&str, String)| Dim {
            path: format!("{path}.{axis}"),
            label: format!("{label} {axis}"),
            mm: (self.lengths.row_m(&text)).and_then(|row| Some(1e3 * row.first()?)),
            text,
        };
        self.axes(count).iter().zip(texts).map(one).collect()
    }
}

/// The members of a row, each with its unit.
fn pieces(row: &str) -> Vec<String> {
    let pieces: Vec<&str> = row.split(" x ").map(str::trim).collect();
    let last = pieces.last().copied().unwrap_or_default();
    let unit = last.trim_start_matches(|c: char| c.is_ascii_digit() || "+-. eE".contains(c));
    let with_unit = |piece: &&str| match piece.parse::<f64>() {
        Ok(_) => format!("{piece} {unit}").trim().to_owned(),
        Err(_) => (*piece).to_owned(),
    };
    pieces.iter().map(with_unit).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use toml_edit::DocumentMut;

    #[test]
    fn lengths_of_a_box_a_ball_and_a_place() {
        let text = r#"
[figures]
gap = "2 cm"
[[anode]]
shape.box = { from = "50 mm + gap x 30 x 4 mm", to = ["9 mm", "8 mm", "7 mm"] }
[[anode]]
shape.ball = { radius = "5 mm" }
place = [{ turn = "90 deg", about = "x" }, { move = "1 x 2 x 3 cm" }]
"#;
        let document: DocumentMut = text.parse().unwrap();
        let lengths = Lengths::of(text);
        let tables = crate::drawn::tables(document.get("anode"));
        let read = |n: usize| -> Vec<(String, String, f64)> {
            let dims = dims(tables[n], "anode.1", &lengths, 3);
            let one = |d: Dim| (d.path, d.text, (1e6 * d.mm.unwrap()).round() * 1e-6);
            dims.into_iter().map(one).collect()
        };
        let first = read(0);
        let row = |path: &str, text: &str, mm: f64| (path.to_owned(), text.to_owned(), mm);
        assert_eq!(
            first[0],
            row("anode.1.shape.box.from.x", "50 mm + gap", 70.0)
        );
        assert_eq!(first[1], row("anode.1.shape.box.from.y", "30 mm", 30.0));
        assert_eq!(first[5], row("anode.1.shape.box.to.z", "7 mm", 7.0));
        let second = read(1);
        assert_eq!(second[0], row("anode.1.shape.ball.radius", "5 mm", 5.0));
        assert_eq!(second[3], row("anode.1.place.2.move.z", "3 cm", 30.0));
    }
}
