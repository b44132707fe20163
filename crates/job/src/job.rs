//! The job as a whole.

use crate::fault::{Faults, JobError};
use crate::flat::Flat;
use crate::law::Background;
use crate::named::work;
use crate::named_files::{Folder, NamedFiles};
use crate::reader::{Item, Table};
use crate::spatial::Spatial;
use crate::suggest;
use crate::unit::Dimension;
use crate::{bath, document, face, parts, plan, prices, resolution};
use ionfall_mesh::grid::Space;
use ionfall_model::{
    COVERED_M, Electrode, Geometry, Model, Output, Outputs, Parts, Role, Save, Significant, Wanted,
};
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
    parse_with(name, text, &Folder(folder))
}

/// As [`parse`], with the files it names from anywhere.
///
/// # Errors
/// All faults of the text.
pub fn parse_with(name: &str, text: &str, files: &dyn NamedFiles) -> Result<Model, Faults> {
    let reading = document::read(name, text, |job| model(job, files))?;
    Ok(Model {
        figures: reading.figures,
        notes: reading.notes,
        fingerprint: reading.fingerprint,
        ..reading.found
    })
}

fn model(job: &Table, files: &dyn NamedFiles) -> Option<Model> {
    let title = job
        .get("title")
        .and_then(|i| i.text())
        .unwrap_or_default()
        .to_owned();
    let bath = match job.need("bath", "{ kind = \"acid copper\" }") {
        Some(item) => item.table().and_then(|table| bath::read(&table)),
        None => None,
    };
    let geometry = geometry(job, &Background::of(bath.as_ref()), files);
    let electrodes = match &geometry {
        Some(Geometry::Flat(parts)) => Some(parts.electrodes.as_slice()),
        Some(Geometry::Solid(parts)) => Some(parts.electrodes.as_slice()),
        None => None,
    };
    let supplies = plan::supplies(job, electrodes);
    let plan = plan::plan(job, supplies.as_deref(), electrodes);
    let resolution = resolution::read(job, plan.as_deref());
    let faces = match &geometry {
        Some(Geometry::Flat(parts)) => Some(names_of(parts)),
        Some(Geometry::Solid(parts)) => Some(names_of(parts)),
        None => None,
    };
    let wanted = (job.table("wanted")).map(|table| wanted(&table, electrodes, faces.as_deref()));
    let prices = job.table("prices").map(|table| prices::read(&table));
    let save = job.table("save").map_or_else(usual, |t| save(&t));
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
        resolution,
        save,
        figures: Vec::new(),
        notes: Vec::new(),
        fingerprint: 0,
    })
}

/// The space of the job and all that is in it.
fn geometry(job: &Table, bath: &Background, files: &dyn NamedFiles) -> Option<Geometry> {
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
        "tank" => parts::read::<3, Spatial>(job, Space::Tank, bath, files).map(Geometry::Solid),
        "planar" => {
            let depth_m = job.need_positive("depth", "\"100 mm\"", Dimension::Length);
            let space = Space::Planar {
                depth_m: depth_m.unwrap_or(1.0),
            };
            parts::read::<2, Flat>(job, space, bath, files).map(Geometry::Flat)
        }
        _ => parts::read::<2, Flat>(job, Space::Axisymmetric, bath, files).map(Geometry::Flat),
    }
}

/// Names of the faces of a job, and the number of the electrode that each is on.
fn names_of<const D: usize>(parts: &Parts<D>) -> Vec<(&str, usize)> {
    let faces = parts.faces.iter();
    faces.map(|face| (face.name.as_str(), face.on)).collect()
}

/// The wish, if the table holds one, and the thickness that counts as covered, if it is said.
fn wanted(
    table: &Table,
    electrodes: Option<&[Electrode]>,
    faces: Option<&[(&str, usize)]>,
) -> (Option<Wanted>, Option<f64>) {
    let covered_m = table.length("covered");
    let at_most = table.get("at_most");
    let thickness = match covered_m {
        Some(_) if at_most.is_none() => table.length("thickness"),
        _ => table.need_length("thickness"),
    };
    let at_most_m = at_most.as_ref().and_then(|i| i.positive(Dimension::Length));
    if let (Some(item), Some(least_m), Some(most_m)) = (&at_most, thickness, at_most_m)
        && most_m <= least_m
    {
        item.fault(
            "the largest thickness is no larger than the least",
            "write a larger one, or leave it out",
        );
    }
    let on = table.get("on").and_then(|item| work(&item, electrodes));
    let face = table.get("face").and_then(|item| {
        let found = significant(&item, electrodes?, faces?)?;
        let of = |name: &String| {
            (found.1.iter()).all(|n| electrodes.is_some_and(|e| e[*n].answers_to(name)))
        };
        if on.as_ref().is_some_and(|name| !of(name)) {
            item.fault(
                format!("{} is on another body than `on` says", item.name()),
                "leave out `on`: the face says which work it is",
            );
        }
        Some(found)
    });
    table.finish();
    let on = on.or_else(|| {
        let first = &electrodes?[*face.as_ref()?.1.first()?];
        Some(match face.as_ref()?.1.as_slice() {
            [_] => first.name.clone(),
            _ => first.copy_of.clone()?,
        })
    });
    let wanted = thickness.map(|thickness_m| Wanted {
        thickness_m,
        at_most_m,
        on,
        face: face.map(|(face, _)| face),
    });
    (wanted, covered_m)
}

/// What the name of a copy has after that of the original.
fn ending(electrode: &Electrode) -> Option<&str> {
    let original = electrode.copy_of.as_deref()?;
    electrode.name.strip_prefix(original)
}

/// The face that a wish names, on one work or on all copies of one, and the numbers of these.
fn significant<'f>(
    item: &Item,
    electrodes: &[Electrode],
    faces: &[(&'f str, usize)],
) -> Option<(Significant, Vec<usize>)> {
    let name = item.text()?;
    let is_meant = |(face, on): &(&str, usize)| {
        let ending = ending(&electrodes[*on]);
        *face == name
            || face
                .strip_prefix(name)
                .is_some_and(|rest| Some(rest) == ending)
    };
    let numbers: Vec<usize> = (0..faces.len()).filter(|n| is_meant(&faces[*n])).collect();
    let Some(first) = numbers.first() else {
        let drawn = |(face, on): &(&'f str, usize)| -> &'f str {
            let ending = ending(&electrodes[*on]);
            ending
                .and_then(|end| face.strip_suffix(end))
                .unwrap_or(face)
        };
        let mut names: Vec<&str> = faces.iter().map(drawn).collect();
        names.dedup();
        item.lacks(
            &[face::KEY],
            format!("no face is named `{name}`"),
            match names.is_empty() {
                true => "add it: [[face]], with a name, `on` and a side or a shape".to_owned(),
                false => suggest::help(name, &names),
            },
        );
        return None;
    };
    let role = electrodes[faces[*first].1].role;
    if role != Role::Work {
        item.fault(
            format!("the face `{name}` is on {}, not on work", role.word()),
            "name a face of a work",
        );
        return None;
    }
    let on = numbers.iter().map(|n| faces[*n].1).collect();
    let name = name.to_owned();
    Some((
        Significant {
            name,
            faces: numbers,
        },
        on,
    ))
}

fn usual() -> Save {
    Save {
        what: Outputs::Usual,
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
        what: what.map_or(Outputs::Usual, Outputs::These),
        folder,
        at_s,
    }
}
