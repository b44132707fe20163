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
use rayon::prelude::*;
use std::io::{self, Write};

/// A file to be made: its name and what fills it.
type Job<'a> = (
    String,
    Box<dyn FnOnce(&mut dyn Write) -> io::Result<()> + Send + 'a>,
);

/// Writes the files of fields and tables that the job asks for, side by side.
///
/// # Errors
/// [`ReportError`].
pub fn write_fields<const D: usize>(
    staging: &Staging,
    model: &Model<Parts<D>>,
    outcome: &Outcome<D>,
) -> Result<(), ReportError> {
    let parts = &model.geometry;
    let electrodes = &parts.electrodes;
    let grid = &outcome.grid;
    let snapshots = || outcome.history.snapshots.iter().enumerate();
    let wants = |output| model.save.what.hold(output, grid.len());
    // The largest first.
    let mut jobs: Vec<Job> = Vec::new();
    let mut job = |name: String, fill: Box<_>| jobs.push((name, fill));
    if wants(Output::Bath) {
        let conductivity = model.bath.conductivity.value;
        let fill = move |to: &mut dyn Write| bath(outcome, conductivity).write(to);
        job("bath.vtu".into(), Box::new(fill));
    }
    if wants(Output::Surface) {
        job(
            LAST.into(),
            Box::new(move |to| surface(grid, &columns(outcome)).write(to)),
        );
        for (n, snapshot) in snapshots() {
            let fill =
                move |to: &mut dyn Write| surface(grid, &snapshot_columns(snapshot)).write(to);
            job(name(n + 1), Box::new(fill));
        }
        let saved_s: Vec<f64> = snapshots().map(|(_, s)| s.time_s).collect();
        let text = series(&saved_s, outcome.time_s.unwrap_or(0.0));
        let fill = move |to: &mut dyn Write| to.write_all(text.as_bytes());
        job("series.pvd".into(), Box::new(fill));
    }
    if wants(Output::Parts) {
        let mut taken = Vec::new();
        for electrode in electrodes {
            let name = file_name(&electrode.name, &taken);
            taken.push(name.clone());
            let fill = move |to: &mut dyn Write| part(&parts.domain, electrode, outcome).write(to);
            job(name, Box::new(fill));
        }
    }
    if wants(Output::Facets) {
        job(
            FACETS.into(),
            Box::new(move |to| facets(electrodes, outcome, to)),
        );
        for (n, snapshot) in snapshots() {
            let fill = move |to: &mut dyn Write| facets_at(electrodes, grid, snapshot, to);
            job(facets_name(n + 1), Box::new(fill));
        }
    }
    if !parts.lines.is_empty() {
        let fill = move |to: &mut dyn Write| {
            let walks = lines::walks(parts, outcome);
            to.write_all(lines::table(electrodes, outcome, &walks).as_bytes())
        };
        job(LINES.into(), Box::new(fill));
    }
    (jobs.into_par_iter().with_max_len(1)).try_for_each(|(name, fill)| staging.fill(&name, fill))
}
