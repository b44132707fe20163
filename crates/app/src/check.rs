//! `ionfall check`: how a job was understood, and how large it will be.

use crate::error::AppError;
use crate::machine::memory_limit_bytes;
use ionfall_job::describe;
use ionfall_mesh::grid::BYTES_PER_CELL;
use ionfall_mesh::grid::count_cells;
use ionfall_model::Geometry;
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
    /// Cells the grid will have, about.
    pub cells: u64,
    /// Memory a run will take, bytes, about.
    pub memory_bytes: u64,
    /// Memory a run may take here, bytes.
    pub memory_limit_bytes: u64,
}

/// Reads a job and counts the cells of its grid.
///
/// # Errors
/// Everything wrong with the job file; a grid that cannot be.
pub fn check_job(path: &Path) -> Result<Understood, AppError> {
    let model = ionfall_job::read(path)?;
    let memory_limit_bytes = memory_limit_bytes();
    let cells = match &model.geometry {
        Geometry::Flat(parts) => count_cells(&parts.domain, memory_limit_bytes),
        Geometry::Solid(parts) => count_cells(&parts.domain, memory_limit_bytes),
    }
    .map_err(AppError::Grid)?;
    Ok(Understood {
        understood: describe(&model).lines().map(str::to_owned).collect(),
        title: model.title,
        cells,
        memory_bytes: cells * BYTES_PER_CELL,
        memory_limit_bytes,
    })
}

impl fmt::Display for Understood {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for line in &self.understood {
            writeln!(f, "{line}")?;
        }
        let mib = |bytes: u64| bytes.div_ceil(1 << 20);
        writeln!(
            f,
            "A run will have about {} cells and take about {} MiB of the {} MiB it may take here.",
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
