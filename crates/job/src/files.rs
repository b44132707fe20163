//! Shapes that come from files: triangle meshes and relief pictures.

use crate::named_files::NamedFiles;
use crate::place::accept;
use crate::reader::{Item, Table};
use ionfall_mesh::solid::{Relief, Solid, SolidError};

/// Lengths a mesh file may be drawn in, metres.
const UNITS: [(&str, f64); 6] = [
    ("mm", 1e-3),
    ("cm", 1e-2),
    ("m", 1.0),
    ("um", 1e-6),
    ("in", 0.0254),
    ("ft", 0.3048),
];

/// `mesh = { file = "part.stl", unit = "mm" }`: a closed triangle mesh (.stl, .obj, .ply). What had
/// to be mended becomes a note.
pub(crate) fn mesh(item: &Item, files: &dyn NamedFiles) -> Option<Solid<3>> {
    let table = item.table()?;
    let file = file(&table, "file", "\"part.stl\"", files);
    let words = UNITS.map(|(word, _)| word);
    let unit = table
        .need("unit", "\"mm\"")
        .and_then(|i| i.choice(&words))
        .and_then(|word| UNITS.iter().find(|(w, _)| *w == word));
    table.finish();
    let (file, name) = file?;
    let (_, metres) = unit?;
    let (mesh, report) = accept(&file, files.mesh(name, *metres))?;
    for repair in &report.repairs {
        item.note(format!("{}: {repair}", files.path(name).display()));
    }
    Some(mesh)
}

/// `relief = { picture = "coin.png", width = ..., depth = ..., base = ..., high = "white" }`: a
/// plate from z = 0 whose top follows the greys of a picture. The height along y follows from the
/// picture unless it is given.
pub(crate) fn relief(
    table: &Table,
    files: &dyn NamedFiles,
) -> Option<Result<Solid<3>, SolidError>> {
    let file = file(table, "picture", "\"coin.png\"", files);
    let [width, depth, base] = ["width", "depth", "base"].map(|key| table.need_length(key));
    let height = table.length("height");
    let white_is_high = match table.get("high") {
        Some(item) => item.choice(&["white", "black"]).map(|word| word == "white"),
        None => Some(true),
    };
    let (file, name) = file?;
    let heights = accept(&file, files.heights(name))?;
    let width = width?;
    let (rows, columns) = heights.dim();
    let in_proportion = width * rows.saturating_sub(1) as f64 / columns.saturating_sub(1) as f64;
    let height = height.unwrap_or(in_proportion);
    Some(Relief::new(&heights, width, height, depth?, base?, white_is_high?).map(Solid::new))
}

/// Most that a file may hold, bytes: a mesh of ten million triangles.
const MOST_BYTES: u64 = 512 << 20;

/// The name under a key of a file whose content counts for the job; a fault if it is not there, or far too large to be
/// read.
fn file<'a>(
    table: &Table<'a>,
    key: &'static str,
    example: &str,
    files: &dyn NamedFiles,
) -> Option<(Item<'a>, &'a str)> {
    let item = table.need(key, example)?;
    let name = item.text()?;
    let path = files.path(name);
    let Some(length) = files.length(name) else {
        item.fault(
            format!("there is no file {}", path.display()),
            files.way_out(),
        );
        return None;
    };
    if length > MOST_BYTES {
        item.fault(
            format!(
                "{} holds {} MiB, and {} MiB are allowed",
                path.display(),
                length >> 20,
                MOST_BYTES >> 20
            ),
            "make it coarser: cells of the grid are larger than such details",
        );
        return None;
    }
    // A file that cannot be read is reported by whoever needs its content.
    item.mark(&files.bytes(name).unwrap_or_default());
    Some((item, name))
}
