//! `lines.csv`: the deposit along the lines that the job names.
//!
//! To a point of the line belongs the facet of the work whose surface is nearest, unless it is farther
//! away than [`REACH`] of its cells: there the line leaves the work. The line is looked at in steps of
//! half the finest cell and next to the middle of every facet; between two looks that find different
//! facets it is halved until they are a thousandth of a cell apart, so that every facet that the line
//! crosses is found, the small ones at edges too. Each facet counts once, at the way of the point of
//! the line nearest to its middle.

use crate::facets::quoted;
use crate::values::{columns, names};
use ionfall_deposit::Outcome;
use ionfall_mesh::solid::Point;
use ionfall_model::{Electrode, Line, Parts, Role};
use ionfall_numerics::vector::{distance, dot, norm, sub};
use std::collections::BTreeSet;
use std::fmt::Write;

/// Farthest a facet lies from the line, in cells of the work.
const REACH: f64 = 8.0;
/// Most steps along a piece of a line.
const MOST: f64 = 1000.0;
/// Two looks that find different facets are brought so near to each other, in the finest cells.
const APART: f64 = 1e-3;
/// Rounding of a way, over the length of its piece.
const ROUNDING: f64 = 1e-12;

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
        let near = Near::new(outcome, &own, ends, finest_m);
        near.walk(&mut found);
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

/// A facet that may belong to a piece of a line.
struct Candidate {
    facet: usize,
    /// Radius of its outline around its middle, m.
    radius: f64,
    /// Way along the piece to the point nearest to its middle, m.
    way_m: f64,
}

/// A piece of a line with the facets that may belong to it.
struct Near<'a, const D: usize> {
    outcome: &'a Outcome<D>,
    /// In the order of their ways.
    facets: Vec<Candidate>,
    /// Largest radius among them, m.
    radius: f64,
    ends: &'a [Point<D>],
    length: f64,
    finest_m: f64,
}

impl<'a, const D: usize> Near<'a, D> {
    fn new(outcome: &'a Outcome<D>, own: &[usize], ends: &'a [Point<D>], finest_m: f64) -> Self {
        let grid = &outcome.grid;
        let facets = own.iter().filter_map(|&f| {
            let facet = &grid.facets[f];
            let corners = facet.outline.points().iter();
            let radius = corners
                .map(|c| distance(c, &facet.point))
                .fold(0.0, f64::max);
            let reach = REACH * grid.size_m(grid.facet_node[f] as usize);
            let (way_m, apart) = foot(ends, &facet.point);
            (apart <= reach + radius).then_some(Candidate {
                facet: f,
                radius,
                way_m,
            })
        });
        let mut facets: Vec<Candidate> = facets.collect();
        facets.sort_by(|a, b| a.way_m.total_cmp(&b.way_m));
        Self {
            outcome,
            radius: facets.iter().map(|c| c.radius).fold(0.0, f64::max),
            facets,
            ends,
            length: distance(&ends[0], &ends[1]),
            finest_m,
        }
    }

    fn walk(&self, found: &mut BTreeSet<usize>) {
        let count = (2.0 * self.length / self.finest_m).ceil().clamp(1.0, MOST);
        let mut shares: Vec<f64> = (0..=count as usize).map(|n| n as f64 / count).collect();
        let length = self.length.max(f64::MIN_POSITIVE);
        shares.extend(self.facets.iter().map(|c| c.way_m / length));
        shares.sort_by(f64::total_cmp);
        shares.dedup();
        let looks: Vec<_> = shares.into_iter().map(|s| (s, self.at(s))).collect();
        found.extend(looks.iter().filter_map(|look| look.1));
        for pair in looks.windows(2) {
            self.between(pair[0], pair[1], found);
        }
    }

    /// What lies between two looks that find different facets.
    fn between(
        &self,
        a: (f64, Option<usize>),
        b: (f64, Option<usize>),
        found: &mut BTreeSet<usize>,
    ) {
        let near = (b.0 - a.0) * self.length <= APART * self.finest_m;
        if a.1 == b.1 || near {
            return;
        }
        let share = 0.5 * (a.0 + b.0);
        let middle = (share, self.at(share));
        found.extend(middle.1);
        self.between(a, middle, found);
        self.between(middle, b, found);
    }

    /// The facet that belongs to the point at a share of the piece. The middle of a facet is no nearer to the
    /// point than their ways are to each other: it is looked for to both sides as long as that may still win.
    fn at(&self, share: f64) -> Option<usize> {
        let grid = &self.outcome.grid;
        let [from, to] = [&self.ends[0], &self.ends[1]];
        let x: Point<D> = std::array::from_fn(|k| from[k] + share * (to[k] - from[k]));
        let way_m = share * self.length;
        let mut best: Option<(f64, f64, usize)> = None;
        let mut look = |candidate: &Candidate| {
            let within = |m: f64| best.is_none_or(|(apart, ..)| m - self.radius <= apart);
            if !within((candidate.way_m - way_m).abs() - ROUNDING * self.length) {
                return false;
            }
            let facet = &grid.facets[candidate.facet];
            let middle = distance(&facet.point, &x);
            if best.is_none_or(|(apart, ..)| middle - candidate.radius <= apart) {
                // Of two that share the nearest point the one with the nearer middle.
                let found = (facet.outline.distance(&x), middle, candidate.facet);
                if best.is_none_or(|best| found < best) {
                    best = Some(found);
                }
            }
            true
        };
        let (before, behind) = self
            .facets
            .split_at(self.facets.partition_point(|c| c.way_m < way_m));
        let mut behind = behind.iter();
        while behind.next().is_some_and(&mut look) {}
        let mut before = before.iter().rev();
        while before.next().is_some_and(&mut look) {}
        let (apart, _, f) = best?;
        (apart <= REACH * grid.size_m(grid.facet_node[f] as usize)).then_some(f)
    }
}

/// Way along a stretch to its point nearest to a place, and how far that is off, m.
fn foot<const D: usize>(ends: &[Point<D>], x: &Point<D>) -> (f64, f64) {
    let along = sub(&ends[1], &ends[0]);
    let length = norm(&along);
    if length == 0.0 {
        return (0.0, distance(&ends[0], x));
    }
    let at = (dot(&sub(x, &ends[0]), &along) / length).clamp(0.0, length);
    let foot: Point<D> = std::array::from_fn(|k| ends[0][k] + at / length * along[k]);
    (at, distance(&foot, x))
}

/// Way along a line to its point nearest to a place, m.
fn way<const D: usize>(line: &[Point<D>], x: &Point<D>) -> f64 {
    let mut before = 0.0;
    let (mut best, mut nearest) = (0.0, f64::INFINITY);
    for ends in line.windows(2) {
        let (at, apart) = foot(ends, x);
        if apart < nearest {
            (best, nearest) = (before + at, apart);
        }
        before += distance(&ends[0], &ends[1]);
    }
    best
}

/// The table: a row for each facet along each line.
pub(crate) fn table<const D: usize>(
    electrodes: &[Electrode],
    outcome: &Outcome<D>,
    walks: &[Walk],
) -> String {
    let columns: Vec<_> = columns(outcome)
        .into_iter()
        .filter(|c| c.name != names::POTENTIAL)
        .collect();
    let axes = crate::facets::axes(outcome.grid.space);
    let mut text = "line,body,way_m".to_owned();
    for name in axes.iter().map(|a| format!("{a}_m")) {
        text += &format!(",{name}");
    }
    for column in &columns {
        text += &format!(",{}", column.name);
    }
    text.push('\n');
    for walk in walks {
        for &(way_m, f) in &walk.steps {
            let facet = &outcome.grid.facets[f];
            let mut bodies = electrodes.iter();
            let on = bodies.find(|e| e.body == usize::from(facet.body));
            text += &format!(
                "{},{}",
                quoted(&walk.name),
                quoted(on.map_or("", |e| &e.name))
            );
            // Writing into a string does not fail.
            let _ = write!(text, ",{way_m:.9e}");
            let place = facet.point.iter();
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
        let mut parts = case.model.geometry.clone();
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
        // Every facet whose surface the line passes; the plate's face looks against x.
        let grid = &case.outcome.grid;
        let crossed = |f: &usize| {
            let facet = &grid.facets[*f];
            let corners = facet.outline.points();
            let span = |k: usize| {
                let of = corners.iter().map(|c| c[k]);
                of.fold([f64::INFINITY, -f64::INFINITY], |[l, h], x| {
                    [l.min(x), h.max(x)]
                })
            };
            let [[x, _], [y0, y1], [z0, z1]] = [0, 1, 2].map(span);
            facet.normal[0] < -0.9
                && (x - 0.040).abs() < 1e-6
                && y0 < 0.02 - 1e-7
                && y1 > 0.02 + 1e-7
                && z1 > 0.01 + 1e-7
                && z0 < 0.04 - 1e-7
        };
        let passed: Vec<usize> = (0..grid.facets.len()).filter(crossed).collect();
        assert!(!passed.is_empty());
        for f in passed {
            assert!(steps.iter().any(|s| s.1 == f), "{:?}", grid.facets[f].point);
        }
        let text = table(&parts.electrodes, &case.outcome, &found);
        assert!(text.starts_with("line,body,way_m,x_m,y_m,z_m,current_density_A_per_m2,"));
        assert_eq!(text.lines().count(), 1 + steps.len());
        assert!(text.contains("\n\"up, the face\",plate,"));
    }
}
