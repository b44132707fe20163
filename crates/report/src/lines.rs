//! `lines.csv`: the deposit along the lines that the job names.
//!
//! A line is walked in steps of half the finest cell; each step takes the facet of the work whose
//! middle is nearest. Every facet found counts once, at the way of the point of the line nearest to
//! its middle. Facets farther away than [`REACH`] cells do not count: there the line leaves the work.

use crate::facets::quoted;
use crate::values::{columns, names};
use ionfall_deposit::Outcome;
use ionfall_mesh::solid::Point;
use ionfall_model::{Line, Parts, Role};
use std::collections::BTreeSet;
use std::fmt::Write;

/// Farthest a facet lies from the line, in cells of the work.
const REACH: f64 = 8.0;
/// Most steps along a line.
const MOST: f64 = 1000.0;

/// Facets along a line.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Walk {
    /// Name of the line.
    pub name: String,
    /// Way along the line, m, and the number of the facet there; in the order of the way.
    pub steps: Vec<(f64, usize)>,
}

/// Walks every line of a job.
pub(crate) fn walks<const D: usize>(parts: &Parts<D>, outcome: &Outcome<D>) -> Vec<Walk> {
    let lines = parts.lines.iter();
    lines.map(|line| walk(parts, outcome, line)).collect()
}

fn walk<const D: usize>(parts: &Parts<D>, outcome: &Outcome<D>, line: &Line<D>) -> Walk {
    let grid = &outcome.grid;
    let counts = |body: u16| {
        let electrode = parts
            .electrodes
            .iter()
            .position(|e| e.body == usize::from(body));
        electrode.is_some_and(|n| match line.on {
            Some(on) => on == n,
            None => parts.electrodes[n].role == Role::Work,
        })
    };
    let own: Vec<usize> = (0..grid.facets.len())
        .filter(|&f| counts(grid.facets[f].body) && outcome.conducts[f])
        .collect();
    let cell_m = |f: usize| grid.size_m(grid.facet_node[f] as usize);
    let finest_m = own.iter().map(|&f| cell_m(f)).fold(f64::INFINITY, f64::min);
    let mut found = BTreeSet::new();
    for ends in line.points.windows(2) {
        let length = distance(&ends[0], &ends[1]);
        let count = (2.0 * length / finest_m).ceil().clamp(1.0, MOST);
        for n in 0..=count as usize {
            let share = n as f64 / count;
            let x: Point<D> =
                std::array::from_fn(|k| ends[0][k] + share * (ends[1][k] - ends[0][k]));
            let near = own
                .iter()
                .map(|&f| (distance(&grid.facets[f].point, &x), f))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            found.extend(
                near.filter(|(d, f)| *d <= REACH * cell_m(*f))
                    .map(|(_, f)| f),
            );
        }
    }
    let mut steps: Vec<(f64, usize)> = found
        .into_iter()
        .map(|f| (way(&line.points, &grid.facets[f].point), f))
        .collect();
    steps.sort_by(|a, b| a.0.total_cmp(&b.0));
    Walk {
        name: line.name.clone(),
        steps,
    }
}

fn distance<const D: usize>(a: &Point<D>, b: &Point<D>) -> f64 {
    (0..D).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt()
}

/// Way along a line to its point nearest to a place, m.
fn way<const D: usize>(line: &[Point<D>], x: &Point<D>) -> f64 {
    let mut before = 0.0;
    let (mut best, mut nearest) = (0.0, f64::INFINITY);
    for ends in line.windows(2) {
        let length = distance(&ends[0], &ends[1]);
        let along: f64 = (0..D)
            .map(|k| (x[k] - ends[0][k]) * (ends[1][k] - ends[0][k]))
            .sum();
        let at = if length > 0.0 {
            (along / length).clamp(0.0, length)
        } else {
            0.0
        };
        let foot: Point<D> = std::array::from_fn(|k| {
            ends[0][k] + at / length.max(f64::MIN_POSITIVE) * (ends[1][k] - ends[0][k])
        });
        let apart = distance(&foot, x);
        if apart < nearest {
            (best, nearest) = (before + at, apart);
        }
        before += length;
    }
    best
}

/// The table: a row for each facet along each line.
pub(crate) fn table<const D: usize>(outcome: &Outcome<D>, walks: &[Walk]) -> String {
    let columns: Vec<_> = columns(outcome)
        .into_iter()
        .filter(|c| c.name != names::POTENTIAL)
        .collect();
    let axes = crate::facets::axes(outcome.grid.space);
    let mut text = "line,way_m".to_owned();
    for name in axes.iter().map(|a| format!("{a}_m")) {
        text += &format!(",{name}");
    }
    for column in &columns {
        text += &format!(",{}", column.name);
    }
    text.push('\n');
    for walk in walks {
        for &(way_m, f) in &walk.steps {
            text += &quoted(&walk.name);
            // Writing into a string does not fail.
            let _ = write!(text, ",{way_m:.9e}");
            let place = outcome.grid.facets[f].point.iter();
            for value in place.chain(columns.iter().map(|c| &c.values[f])) {
                text.push(',');
                if value.is_finite() {
                    let _ = write!(text, "{value:.9e}");
                }
            }
            text.push('\n');
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::tank;

    #[test]
    fn ways_go_round_corners() {
        let line = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]];
        assert_eq!(way(&line, &[0.25, 0.1]), 0.25);
        assert_eq!(way(&line, &[1.1, 0.5]), 1.5);
        assert_eq!(way(&line, &[-1.0, 0.0]), 0.0);
    }

    /// Up the face that looks at the anode; and far away, where no face is.
    #[test]
    fn a_line_up_the_face() {
        let case = tank();
        let ionfall_model::Geometry::Solid(mut parts) = case.model.geometry.clone() else {
            panic!("a tank has three dimensions");
        };
        let line = |x: f64| Line {
            name: "up, the face".into(),
            on: None,
            points: vec![[x, 0.02, 0.01], [x, 0.02, 0.04]],
        };
        parts.lines = vec![line(0.040), line(0.010)];
        let found = walks(&parts, &case.outcome);
        assert!(found[1].steps.is_empty());
        let steps = &found[0].steps;
        assert!(steps.len() >= 8, "{}", steps.len());
        for &(way_m, f) in steps {
            let point = case.outcome.grid.facets[f].point;
            assert!((point[0] - 0.040).abs() < 4e-3 && (point[1] - 0.02).abs() < 4e-3);
            assert!((point[2] - 0.01 - way_m).abs() < 1e-9, "{point:?} {way_m}");
        }
        assert!(steps.windows(2).all(|w| w[0].0 <= w[1].0));
        let text = table(&case.outcome, &found);
        assert!(text.starts_with("line,way_m,x_m,y_m,z_m,current_density_A_per_m2,"));
        assert_eq!(text.lines().count(), 1 + steps.len());
        assert!(text.contains("\n\"up, the face\","));
    }
}
