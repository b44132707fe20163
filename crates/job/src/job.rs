//! The job as a whole.

use crate::fault::{Collector, Fault, Faults, JobError};
use crate::flat::Flat;
use crate::law::Background;
use crate::model::{Electrode, Geometry, Model, Output, Role, Save, Supply, Wanted};
use crate::reader::Table;
use crate::spatial::Spatial;
use crate::unit::Dimension;
use crate::{bath, parts};
use ionfall_mesh::grid::Space;
use std::path::Path;
use toml::de::DeTable;

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
    let (document, errors) = DeTable::parse_recoverable(text);
    if !errors.is_empty() {
        let faults = errors.iter().map(|error| Fault {
            message: format!("this is not TOML: {}", error.message()),
            span: error.span().unwrap_or(0..0),
            label: "here".into(),
            help: Some(
                "write key = \"value\", and [table] or [[table]] on lines of their own".into(),
            ),
        });
        return Err(Faults::new(name, text, faults.collect()));
    }
    let collector = Collector::default();
    let model = model(&Table::root(&document, &collector), folder);
    let (faults, notes) = collector.into_parts();
    match model {
        Some(model) if faults.is_empty() => Ok(Model { notes, ..model }),
        _ => Err(Faults::new(name, text, faults)),
    }
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
    let supply = job
        .need("supply", "{ mean_current_density = \"3 A/dm2\" }")
        .and_then(|i| supply(&i.table()?));
    let time_s = job.table("plan").and_then(|table| {
        let time = table.need("time", "\"8 h\"")?.positive(Dimension::Time);
        table.finish();
        time
    });
    let electrodes = match &geometry {
        Some(Geometry::Flat(parts)) => parts.electrodes.as_slice(),
        Some(Geometry::Solid(parts)) => parts.electrodes.as_slice(),
        None => &[],
    };
    let wanted = job
        .table("wanted")
        .and_then(|table| wanted(&table, electrodes, geometry.is_some()));
    let save = job.table("save").map_or_else(everything, |t| save(&t));
    job.finish();
    Some(Model {
        title,
        bath: bath?,
        geometry: geometry?,
        supply: supply?,
        time_s,
        wanted,
        save,
        notes: Vec::new(),
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

fn supply(table: &Table) -> Option<Supply> {
    let given = table.one_of(&["current", "voltage", "mean_current_density"]);
    table.finish();
    let (key, item) = given?;
    Some(match key {
        "current" => Supply::Current(item.positive(Dimension::Current)?),
        "voltage" => Supply::Voltage(item.positive(Dimension::Voltage)?),
        _ => Supply::MeanCurrentDensity(item.positive(Dimension::CurrentDensity)?),
    })
}

fn wanted(table: &Table, electrodes: &[Electrode], complete: bool) -> Option<Wanted> {
    let thickness = table.need_length("thickness");
    let on = table.get("on").and_then(|item| {
        let name = item.text()?;
        // With faulty bodies the list is not the whole one: no second message about it.
        if complete {
            let electrode = parts::named(&item, electrodes)?;
            if electrode.role != Role::Work {
                item.fault(
                    format!("`{name}` is {}, not work", electrode.role.word()),
                    "name a work",
                );
            }
        }
        Some(name.to_owned())
    });
    table.finish();
    Some(Wanted {
        thickness_m: thickness?,
        on,
    })
}

fn everything() -> Save {
    Save {
        what: Output::ALL.iter().map(|(_, output)| *output).collect(),
        folder: None,
    }
}

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
    table.finish();
    Save {
        what: what.unwrap_or_else(|| everything().what),
        folder,
    }
}
