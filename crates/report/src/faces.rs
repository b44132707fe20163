//! The faces that the job names, in words and as a table.

use crate::story::Table;
use crate::story::measure::{number, percent, thick};
use crate::summary::Summary;
use ionfall_deposit::FaceOutcome;

/// What a face gets or gives, in one line.
pub(crate) fn line(face: &FaceOutcome) -> String {
    let Some(mean) = face.mean.current_density_a_per_m2 else {
        return format!(
            "nothing of {} that conducts is in the liquid there: name another side, or move the shape",
            face.on
        );
    };
    let mut parts = vec![
        format!("{} dm2 of {}", number(100.0 * face.area_m2), face.on),
        match face.current_share {
            Some(share) => format!("{} A ({})", amps(face), percent(share)),
            None => format!("{} A", amps(face)),
        },
        format!("{} A/dm2 on average", number(0.01 * mean)),
    ];
    parts.extend(
        face.mean
            .thickness_m
            .map(|m| format!("{} on average", thick(m))),
    );
    parts.join(", ")
}

/// The faces of a run, if it names any.
pub(crate) fn table(summary: &Summary) -> Option<Table> {
    let rows = summary.named.faces.iter().map(row);
    let head = [
        "face",
        "of",
        "area",
        "current",
        "of its current",
        "mean current density",
        "mean thickness",
    ];
    Table::filled(["faces", "Faces that the job names"], &head, rows)
}

fn row(face: &FaceOutcome) -> Vec<String> {
    let mean = face.mean.current_density_a_per_m2;
    vec![
        face.name.clone(),
        face.on.clone(),
        format!("{} dm2", number(100.0 * face.area_m2)),
        format!("{} A", amps(face)),
        face.current_share.map_or(String::new(), percent),
        mean.map_or(String::new(), |i| format!("{} A/dm2", number(0.01 * i))),
        face.mean.thickness_m.map_or(String::new(), thick),
    ]
}

/// Amperes, without a sign: the role of the electrode says which way.
fn amps(face: &FaceOutcome) -> String {
    number(face.current_a.abs())
}
