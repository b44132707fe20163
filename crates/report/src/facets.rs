//! `facets.csv`: one row for each facet of the electrodes; units are in the names of the columns.

use crate::values::{Column, columns, names, snapshot_columns};
use ionfall_deposit::{Outcome, Snapshot};
use ionfall_mesh::grid::{Grid, Space};
use ionfall_model::Electrode;
use std::io::{self, Write};

/// Names of the coordinates of a space.
pub(crate) fn axes(space: Space) -> &'static [&'static str] {
    match space {
        Space::Tank => &["x", "y", "z"],
        Space::Planar { .. } => &["x", "y"],
        Space::Axisymmetric => &["r", "z"],
    }
}

/// The table at the end. Places are the middles of the facets, normals point into the bath; a value that
/// does not exist is an empty field.
pub fn facets<const D: usize>(
    electrodes: &[Electrode],
    outcome: &Outcome<D>,
    to: &mut dyn Write,
) -> io::Result<()> {
    table(electrodes, &outcome.grid, &columns(outcome), to)
}

/// The table at a moment on the way.
pub(crate) fn facets_at<const D: usize>(
    electrodes: &[Electrode],
    grid: &Grid<D>,
    snapshot: &Snapshot,
    to: &mut dyn Write,
) -> io::Result<()> {
    let [thickness, growth] = snapshot_columns(snapshot);
    let time_s = vec![snapshot.time_s; grid.facets.len()];
    let time = Column {
        name: names::TIME,
        values: &time_s,
    };
    table(electrodes, grid, &[thickness, growth, time], to)
}

fn table<const D: usize>(
    electrodes: &[Electrode],
    grid: &Grid<D>,
    columns: &[Column<'_>],
    to: &mut dyn Write,
) -> io::Result<()> {
    let axes = axes(grid.space);
    let mut head = vec!["name".to_owned(), "role".to_owned()];
    head.extend(axes.iter().map(|a| format!("{a}_m")));
    head.extend(axes.iter().map(|a| format!("normal_{a}")));
    head.push(names::AREA.to_owned());
    head.extend(columns.iter().map(|c| c.name.to_owned()));
    writeln!(to, "{}", head.join(","))?;
    for (n, facet) in grid.facets.iter().enumerate() {
        let electrode = electrodes
            .iter()
            .find(|e| e.body == usize::from(facet.body));
        to.write_all(quoted(electrode.map_or("", |e| &e.name)).as_bytes())?;
        to.write_all(b",")?;
        to.write_all(electrode.map_or("", |e| e.role.word()).as_bytes())?;
        let geometry = facet
            .point
            .iter()
            .chain(&facet.normal)
            .chain([&facet.area_m2]);
        for value in geometry.chain(columns.iter().map(|c| &c.values[n])) {
            to.write_all(b",")?;
            if value.is_finite() {
                write!(to, "{value:.9e}")?;
            }
        }
        to.write_all(b"\n")?;
    }
    Ok(())
}

/// A field as tables want it. What a program that opens the table would take for a formula begins with an
/// apostrophe, which makes it a text there.
pub(crate) fn quoted(field: &str) -> String {
    if field.starts_with(['=', '+', '-', '@', '\t']) && field.parse::<f64>().is_err() {
        return quoted(&format!("'{field}"));
    }
    if field.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::tank;
    use approx::assert_relative_eq;

    #[test]
    fn nothing_is_a_formula() {
        for (field, written) in [
            ("=1+1", "'=1+1"),
            ("-x wall, left", "\"'-x wall, left\""),
            ("@a", "'@a"),
            ("+", "'+"),
            ("-1.5e3", "-1.5e3"),
            ("a=b", "a=b"),
        ] {
            assert_eq!(quoted(field), written);
        }
    }

    #[test]
    fn rows_are_complete_and_add_up() {
        let case = tank();
        let mut bytes = Vec::new();
        facets(&case.model.geometry.electrodes, &case.outcome, &mut bytes).unwrap();
        let text = String::from_utf8(bytes).unwrap();
        let mut lines = text.lines();
        let head: Vec<&str> = lines.next().unwrap().split(',').collect();
        assert_eq!(
            head,
            [
                "name",
                "role",
                "x_m",
                "y_m",
                "z_m",
                "normal_x",
                "normal_y",
                "normal_z",
                "area_m2",
                "current_density_A_per_m2",
                "solution_potential_V",
                "overpotential_V",
                "thickness_m",
                "limit_share",
                "covered_after_s",
            ]
        );
        let mut volume = 0.0;
        let mut rows = 0;
        for line in lines {
            let fields: Vec<&str> = line.split(',').collect();
            assert_eq!(fields.len(), head.len(), "{line}");
            assert_eq!(fields[1] == "anode", fields[13].is_empty(), "{line}");
            if fields[0] == "plate" {
                volume += fields[8].parse::<f64>().unwrap() * fields[12].parse::<f64>().unwrap();
            }
            rows += 1;
        }
        assert_eq!(rows, case.outcome.grid.facets.len());
        let plate = case.outcome.body("plate").unwrap();
        assert_relative_eq!(volume, plate.volume_m3.unwrap(), max_relative = 1e-8);
    }

    /// A moment on the way has its time in a column and its own thickness.
    #[test]
    fn a_moment_has_its_time() {
        let case = tank();
        let grid = &case.outcome.grid;
        let count = grid.facets.len();
        let snapshot = Snapshot {
            time_s: 0.0,
            thickness_m: vec![0.0; count],
            growth_m_per_s: vec![1e-9; count],
        };
        let mut bytes = Vec::new();
        facets_at(&case.model.geometry.electrodes, grid, &snapshot, &mut bytes).unwrap();
        let text = String::from_utf8(bytes).unwrap();
        let head = text.lines().next().unwrap();
        assert!(
            head.ends_with("area_m2,thickness_m,growth_m_per_s,time_s"),
            "{head}"
        );
        assert_eq!(text.lines().count(), 1 + count);
        let end = ",0.000000000e0,1.000000000e-9,0.000000000e0";
        assert!(text.lines().skip(1).all(|l| l.ends_with(end)), "{text}");
    }

    #[test]
    fn awkward_names_are_quoted() {
        assert_eq!(quoted("plate"), "plate");
        assert_eq!(quoted("a, \"b\""), "\"a, \"\"b\"\"\"");
    }
}
