//! The points that were read, in words and as a table.

use crate::story::Table;
use crate::story::measure::{coordinates, number, percent, thick};
use crate::summary::Summary;
use ionfall_deposit::ReadingOutcome;

/// What is at a point, in one line.
pub(crate) fn line(axes: &[&str], reading: &ReadingOutcome) -> String {
    let mut parts = vec![coordinates(axes, &reading.at_m)];
    if let Some(on) = &reading.surface {
        let mean = format!("{} of the mean", number(on.over_mean));
        let i = number(0.01 * on.current_density_a_per_m2);
        parts.push(format!("on {}: {i} A/dm2, {mean}", on.on));
        parts.extend(on.thickness_m.map(thick));
        parts.push(format!(
            "overpotential {} mV",
            number(1e3 * on.overpotential_v)
        ));
        let share = |share| format!("{} of the limiting current", percent(share));
        parts.extend(on.limit_share.map(share));
    }
    match (&reading.inside, reading.potential_v) {
        (_, Some(v)) => parts.push(format!("bath at {} V", number(v))),
        (Some(body), None) => parts.push(format!(
            "inside {body}, where no bath is: put the point on the surface or before it"
        )),
        (None, None) => parts
            .push("no bath and no electrode is here: put the point where the liquid is".to_owned()),
    }
    parts.join(", ")
}

/// The points of a run, if it reads any.
pub(crate) fn table(summary: &Summary) -> Option<Table> {
    let readings = summary.named.readings.iter();
    let rows = readings.map(|r| row(summary.grid.axes, r));
    let head = [
        "point",
        "where",
        "bath",
        "on",
        "current density",
        "over mean",
        "thickness",
        "overpotential",
        "of the limiting current",
    ];
    let title = "Values at the points that the job reads";
    Table::filled(["readings", title], &head, rows)
}

fn row(axes: &[&str], reading: &ReadingOutcome) -> Vec<String> {
    let volts = match (reading.potential_v, &reading.inside) {
        (Some(v), _) => format!("{} V", number(v)),
        (None, Some(body)) => format!("inside {body}"),
        (None, None) => String::new(),
    };
    let mut row = vec![
        reading.name.clone(),
        coordinates(axes, &reading.at_m),
        volts,
    ];
    row.extend(match &reading.surface {
        None => vec![String::new(); 6],
        Some(on) => vec![
            on.on.clone(),
            format!("{} A/dm2", number(0.01 * on.current_density_a_per_m2)),
            number(on.over_mean),
            on.thickness_m.map_or(String::new(), thick),
            format!("{} mV", number(1e3 * on.overpotential_v)),
            on.limit_share.map_or(String::new(), percent),
        ],
    });
    row
}
