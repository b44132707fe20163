//! Which files a job wants.

use crate::bath::bath;
use crate::error::ReportError;
use crate::facets::{facets, facets_at};
use crate::folder::{FACETS, LINES, Staging, facets_name};
use crate::lines;
use crate::part::{file_name, part};
use crate::series::{LAST, name, series};
use crate::surface::surface;
use crate::values::{columns, snapshot_columns};
use ionfall_deposit::Outcome;
use ionfall_model::{Model, Output, Parts};

/// Writes the files of fields and tables that the job asks for.
///
/// # Errors
/// [`ReportError`].
pub fn write_fields<const D: usize>(
    staging: &mut Staging,
    model: &Model<Parts<D>>,
    outcome: &Outcome<D>,
) -> Result<(), ReportError> {
    let parts = &model.geometry;
    let electrodes = &parts.electrodes;
    let wants = |output| model.save.what.contains(&output);
    if wants(Output::Surface) {
        for (n, snapshot) in outcome.snapshots.iter().enumerate() {
            let mesh = surface(&outcome.grid, &snapshot_columns(snapshot));
            staging.fill(&name(n + 1), |to| mesh.write(to))?;
        }
        let mesh = surface(&outcome.grid, &columns(outcome));
        staging.fill(LAST, |to| mesh.write(to))?;
        let saved_s: Vec<f64> = outcome.snapshots.iter().map(|s| s.time_s).collect();
        let text = series(&saved_s, outcome.time_s.unwrap_or(0.0));
        staging.write("series.pvd", text.as_bytes())?;
    }
    if wants(Output::Parts) {
        let mut taken = Vec::new();
        for electrode in electrodes {
            let name = file_name(&electrode.name, &taken);
            let mesh = part(&parts.domain, electrode, outcome);
            staging.fill(&name, |to| mesh.write(to))?;
            taken.push(name);
        }
    }
    if wants(Output::Bath) {
        let mesh = bath(outcome, model.bath.conductivity.value);
        staging.fill("bath.vtu", |to| mesh.write(to))?;
    }
    if wants(Output::Facets) {
        for (n, snapshot) in outcome.snapshots.iter().enumerate() {
            let (grid, name) = (&outcome.grid, facets_name(n + 1));
            staging.fill(&name, |to| facets_at(electrodes, grid, snapshot, to))?;
        }
        staging.fill(FACETS, |to| facets(electrodes, outcome, to))?;
    }
    if !parts.lines.is_empty() {
        let walks = lines::walks(parts, outcome);
        staging.write(
            LINES,
            lines::table(&parts.electrodes, outcome, &walks).as_bytes(),
        )?;
    }
    Ok(())
}
