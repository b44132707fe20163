//! The job as a whole.

use crate::fault::{Faults, JobError};
use crate::flat::Flat;
use crate::law::Background;
use crate::named::work;
use crate::reader::{Item, Table};
use crate::spatial::Spatial;
use crate::unit::Dimension;
use crate::{bath, document, parts, plan, prices};
use ionfall_mesh::grid::Space;
use ionfall_model::{COVERED_M, Electrode, Geometry, Model, Output, Save, Wanted};
use std::path::Path;

/// Reads a job file. Files named in it are looked for from its own folder.
///
/// # Errors
/// A file that cannot be read, or all faults in it.
pub fn read(path: &Path) -> Result<Model, JobError> {
    let text = std::fs::read_to_string(path).map_err(|source| JobError::Read {
        path: path.into(),
        source,
    })?;
    let folder = path.parent().unwrap_or(Path::new(""));
    parse(&path.display().to_string(), &text, folder).map_err(|f| JobError::Faults(Box::new(f)))
}

/// Reads a job from its text; `name` is for messages, `folder` for the files it names.
///
/// # Errors
/// All faults of the text.
pub fn parse(name: &str, text: &str, folder: &Path) -> Result<Model, Faults> {
    let reading = document::read(name, text, |job| model(job, folder))?;
    Ok(Model {
        figures: reading.figures,
        notes: reading.notes,
        fingerprint: reading.fingerprint,
        ..reading.found
    })
}

fn model(job: &Table, folder: &Path) -> Option<Model> {
    let title = job
        .get("title")
        .and_then(|i| i.text())
        .unwrap_or_default()
        .to_owned();
    let bath = match job.need("bath", "{ kind = \"acid copper\" }") {
        Some(item) => item.table().and_then(|table| bath::read(&table)),
        None => None,
    };
    let geometry = geometry(job, &Background::of(bath.as_ref()), folder);
    let electrodes = match &geometry {
        Some(Geometry::Flat(parts)) => Some(parts.electrodes.as_slice()),
        Some(Geometry::Solid(parts)) => Some(parts.electrodes.as_slice()),
        None => None,
    };
    let supplies = plan::supplies(job, electrodes);
    let plan = plan::plan(job, supplies.as_deref(), electrodes);
    let wanted = job.table("wanted").map(|table| wanted(&table, electrodes));
    let prices = job.table("prices").map(|table| prices::read(&table));
    let save = job.table("save").map_or_else(everything, |t| save(&t));
    job.finish_figures();
    job.finish();
    Some(Model {
        title,
        bath: bath?,
        geometry: geometry?,
        supplies: supplies?,
        plan: plan?,
        covered_m: wanted.as_ref().and_then(|w| w.1).unwrap_or(COVERED_M),
        wanted: wanted.and_then(|w| w.0),
        prices: prices.flatten(),
        save,
        figures: Vec::new(),
        notes: Vec::new(),
        fingerprint: 0,
    })
}

/// The space of the job and all that is in it.
fn geometry(job: &Table, bath: &Background, folder: &Path) -> Option<Geometry> {
    let space = match job.get("space") {
        Some(item) => item.choice(&["tank", "planar", "axisymmetric"]),
        None => Some("tank"),
    };
    let Some(space) = space else {
        // Nothing can be drawn, but these are known tables all the same.
        for key in parts::TABLES {
            job.get(key);
        }
        return None;
    };
    match space {
        "tank" => parts::read::<3, Spatial>(job, Space::Tank, bath, folder).map(Geometry::Solid),
        "planar" => {
            let depth_m = job
                .need("depth", "\"100 mm\"")
                .and_then(|i| i.positive(Dimension::Length));
            let space = Space::Planar {
                depth_m: depth_m.unwrap_or(1.0),
            };
            parts::read::<2, Flat>(job, space, bath, folder).map(Geometry::Flat)
        }
        _ => parts::read::<2, Flat>(job, Space::Axisymmetric, bath, folder).map(Geometry::Flat),
    }
}

/// The wish, if the table holds one, and the thickness that counts as covered, if it is said.
fn wanted(table: &Table, electrodes: Option<&[Electrode]>) -> (Option<Wanted>, Option<f64>) {
    let covered_m = table.length("covered");
    let thickness = match covered_m {
        Some(_) => table.length("thickness"),
        None => table.need_length("thickness"),
    };
    let on = table.get("on").and_then(|item| work(&item, electrodes));
    table.finish();
    (
        thickness.map(|thickness_m| Wanted { thickness_m, on }),
        covered_m,
    )
}

fn everything() -> Save {
    Save {
        what: Output::ALL.iter().map(|(_, output)| *output).collect(),
        folder: None,
        at_s: Vec::new(),
    }
}

/// Most times at which surfaces and tables are saved.
const MOST_TIMES: usize = 1000;

fn save(table: &Table) -> Save {
    let words = Output::ALL.map(|(word, _)| word);
    let what = table.get("what").map(|item| {
        item.list()
            .iter()
            .filter_map(|i| i.choice(&words))
            .filter_map(|word| Output::ALL.iter().find(|(w, _)| *w == word))
            .map(|(_, output)| *output)
            .collect()
    });
    let folder = table.get("where").and_then(|i| i.text()).map(Into::into);
    let at_s = table.get("at").map_or_else(Vec::new, |item| {
        let times = item.list();
        if times.len() > MOST_TIMES {
            item.fault(
                format!(
                    "{} times are too many: each is a set of files, and {MOST_TIMES} are allowed",
                    times.len()
                ),
                "leave times out",
            );
            return Vec::new();
        }
        let time = |i: &Item| i.not_negative(Dimension::Time);
        times.iter().filter_map(time).collect()
    });
    table.finish();
    Save {
        what: what.unwrap_or_else(|| everything().what),
        folder,
        at_s,
    }
}
