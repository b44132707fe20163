//! `ionfall check`: how a job was understood, and how large it will be.

use crate::error::AppError;
use crate::machine::memory_limit_bytes;
use ionfall_deposit::check_contacts;
use ionfall_job::describe;
use ionfall_mesh::grid::{BYTES_PER_CELL, build};
use ionfall_model::{Geometry, Parts};
use serde::Serialize;
use std::fmt;
use std::path::Path;

/// What a job was understood to say.
#[derive(Clone, Debug, Serialize)]
pub struct Understood {
    /// Title of the job.
    pub title: String,
    /// The job in plain words, line by line.
    pub understood: Vec<String>,
    /// Cells the grid will have.
    pub cells: u64,
    /// Memory a run will take, bytes, about.
    pub memory_bytes: u64,
    /// Memory a run may take here, bytes.
    pub memory_limit_bytes: u64,
}

/// Reads a job and cuts its grid, without solving anything.
///
/// # Errors
/// Everything wrong with the job file; a grid that cannot be.
pub fn check_job(path: &Path) -> Result<Understood, AppError> {
    let model = ionfall_job::read(path)?;
    let memory_limit_bytes = memory_limit_bytes();
    let survey = model.geometry.survey(memory_limit_bytes);
    let survey = survey.map_err(AppError::Grid)?;
    match &model.geometry {
        Geometry::Flat(parts) => contacts(parts, memory_limit_bytes)?,
        Geometry::Solid(parts) => contacts(parts, memory_limit_bytes)?,
    }
    let text = describe(&model, &survey.areas_m2);
    Ok(Understood {
        understood: text.lines().map(str::to_owned).collect(),
        title: model.title,
        cells: survey.cells,
        memory_bytes: survey.leaves * BYTES_PER_CELL,
        memory_limit_bytes,
    })
}

/// Whether a contact touches its coat only the whole grid tells.
fn contacts<const D: usize>(parts: &Parts<D>, memory_limit_bytes: u64) -> Result<(), AppError> {
    if parts.contacts.is_empty() {
        return Ok(());
    }
    let grid = build(&parts.domain, memory_limit_bytes).map_err(AppError::Grid)?;
    check_contacts(&grid, parts).map_err(|error| AppError::Deposit(error.into()))
}

impl fmt::Display for Understood {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for line in &self.understood {
            writeln!(f, "{line}")?;
        }
        let mib = |bytes: u64| bytes.div_ceil(1 << 20);
        writeln!(
            f,
            "A run will have {} cells and take about {} MiB of the {} MiB it may take here.",
            self.cells,
            mib(self.memory_bytes),
            mib(self.memory_limit_bytes)
        )?;
        if self.memory_bytes > self.memory_limit_bytes {
            writeln!(f, "That is too much: make finest in [grid] larger.")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    fn checked(job: &str) -> Result<Understood, AppError> {
        let room = tempfile::tempdir().unwrap();
        let path = room.path().join("job.toml");
        fs::write(&path, job).unwrap();
        check_job(&path)
    }

    /// Where the line of a body says its surface, dm2.
    fn area_dm2(understood: &Understood, body: &str) -> f64 {
        let lines = understood.understood.iter();
        let line = lines.clone().find(|l| l.contains(body)).unwrap();
        let (_, rest) = line.split_once("in the liquid ").unwrap();
        rest.split_once(" dm2").unwrap().0.parse().unwrap()
    }

    const FLUSH: &str = r#"
tank.size = "60 x 30 x 20 mm"
bath = { kind = "custom", metal = "copper", conductivity = "20 S/m" }
supply.current = "1 A"
anode = [{ name = "bar", shape.box = { from = "0 x 0 x 0 mm", to = "5 x 30 x 20 mm" } }]
work = [{ name = "panel", shape.box = { from = "55 x 0 x 0 mm", to = "60 x 30 x 20 mm" } }]
grid.finest = "2 mm"
"#;

    /// Faces flush with the walls do not count, nor what is under lacquer.
    #[test]
    fn areas_are_those_of_the_grid() {
        let flush = checked(FLUSH).unwrap();
        for body in ["bar", "panel"] {
            assert!(
                (area_dm2(&flush, body) / 0.06 - 1.0).abs() < 1e-6,
                "{flush}"
            );
        }
        // 1 A on 0.06 dm2.
        assert!(flush.to_string().contains("about 16.7 A/dm2"), "{flush}");
        let half = FLUSH.to_owned()
            + "[[stop_off]]\non = \"panel\"\nshape.box = { from = \"50 x 0 x 0 mm\", to = \"60 x 15 x 20 mm\" }\n";
        let half = checked(&half).unwrap();
        assert!(
            (area_dm2(&half, "panel") / 0.03 - 1.0).abs() < 1e-6,
            "{half}"
        );
    }

    /// What a run would refuse is refused in the same words.
    #[test]
    fn bodies_that_cannot_be_are_told() {
        let buried = FLUSH.to_owned()
            + "[[shield]]\nshape.box = { from = \"50 x -1 x -1 mm\", to = \"61 x 31 x 21 mm\" }\n";
        let touching = FLUSH.replace("55 x 0 x 0 mm", "5 x 0 x 0 mm");
        for (job, words) in [
            (buried, "has no surface in the electrolyte"),
            (touching, "touch near"),
        ] {
            let error = checked(&job).unwrap_err();
            assert!(error.to_string().contains(words), "{error}");
            assert_eq!(error.exit_code(), 2, "{error}");
        }
    }
}
