//! Charts: how the thickness is distributed, and how it runs along the section.

use super::chains::Strip;
use super::data::Chart;
use super::measure::{number, percent};
use super::quantities::Field;
use crate::lines::Walk;
use crate::summary::Summary;
use crate::unit::Unit;
use ionfall_deposit::{Moment, Outcome};
use ionfall_model::{Electrode, Role};

/// Points of a distribution, about.
const POINTS: usize = 200;
/// Ways along the surface drawn in one chart, at most.
const MOST_STRIPS: usize = 4;

/// Share of the area of each work, or of all copies of one, that carries at least so much of a quantity.
pub(super) fn distribution<const D: usize>(
    electrodes: &[Electrode],
    outcome: &Outcome<D>,
    field: &Field,
) -> Option<Chart> {
    let mut works: Vec<(&str, Vec<usize>)> = Vec::new();
    for work in electrodes.iter().filter(|e| e.role == Role::Work) {
        let name = work.copy_of.as_ref().unwrap_or(&work.name);
        match works.iter_mut().find(|(known, _)| known == name) {
            Some((_, bodies)) => bodies.push(work.body),
            None => works.push((name, vec![work.body])),
        }
    }
    let lines: Vec<(String, Vec<[f64; 2]>)> = (works.into_iter())
        .map(|(name, bodies)| {
            let facets = outcome.grid.facets.iter().zip(&field.values);
            let own =
                facets.filter(|(f, v)| bodies.contains(&usize::from(f.body)) && v.is_finite());
            let name = match bodies.len() {
                1 => name.to_owned(),
                copies => format!("all {copies} x {name}"),
            };
            (name, at_least(own.map(|(f, &v)| (v, f.area_m2)).collect()))
        })
        .filter(|(_, points)| points.len() > 1)
        .collect();
    let quantity = &field.quantity;
    let words: Vec<String> = lines
        .iter()
        .map(|(name, points)| {
            let at = |share: f64| {
                let found = points.iter().find(|p| p[1] <= 100.0 * share);
                number(found.or(points.last()).map_or(0.0, |p| p[0]))
            };
            format!(
                "{name}: nine tenths of the area have at least {} {unit}, half at least {}, one \
                 tenth at least {}",
                at(0.9),
                at(0.5),
                at(0.1),
                unit = quantity.unit
            )
        })
        .collect();
    (!lines.is_empty()).then(|| Chart {
        key: "distribution".into(),
        title: format!("How the {} is spread", quantity.label),
        across: format!("{}, {}", quantity.label, quantity.unit),
        up: "share of the area at least so much, %".into(),
        lines,
        marks_across: marks(field),
        marks_up: Vec::new(),
        up_to: Some(100.0),
        places: Vec::new(),
        words: words.join(". "),
    })
}

fn marks(field: &Field) -> Vec<(f64, String)> {
    let marks = field.quantity.marks.iter();
    marks.map(|m| (m.value, m.label.clone())).collect()
}

/// From pairs of value and area: the share (percent) of the area at or above each value.
pub(crate) fn at_least(mut pairs: Vec<(f64, f64)>) -> Vec<[f64; 2]> {
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = pairs.iter().map(|p| p.1).sum();
    let every = pairs.len().div_ceil(POINTS).max(1);
    let mut left = total;
    let mut points = Vec::new();
    for (n, (value, area)) in pairs.iter().enumerate() {
        if n % every == 0 || n + 1 == pairs.len() {
            points.push([*value, 100.0 * left / total]);
        }
        left -= area;
    }
    points.extend(pairs.last().map(|p| [p.0, 0.0]));
    points
}

/// Letters at the two ends of a strip: A and B for the first, C and D for the second ...
pub(super) fn letters(strip: usize) -> [char; 2] {
    let letter = |n: usize| char::from(b'A' + n as u8);
    [letter(2 * strip), letter(2 * strip + 1)]
}

/// The strips that are drawn: the works' longest.
pub(super) fn drawn_strips(strips: &[Strip]) -> impl Iterator<Item = &Strip> {
    strips.iter().filter(|s| s.is_work).take(MOST_STRIPS)
}

/// A quantity over the way along the surface in the plane of the section.
/// `place` is where a place of the plane is in the view.
pub(super) fn profile(
    strips: &[Strip],
    field: &Field,
    number_of_field: usize,
    place: impl Fn([f64; 2]) -> [f64; 3],
) -> Option<Chart> {
    let quantity = &field.quantity;
    let lines: Vec<(String, Vec<[f64; 2]>)> = drawn_strips(strips)
        .enumerate()
        .map(|(n, strip)| {
            let [from, to] = letters(n);
            let values = &strip.values[number_of_field];
            let points = strip.way_m.iter().zip(values).map(|(w, v)| [1e3 * w, *v]);
            (format!("{} {from} to {to}", strip.name), points.collect())
        })
        .collect();
    let words: Vec<String> = lines
        .iter()
        .map(|(name, points)| {
            let values = points.iter().map(|p| p[1]);
            let low = values.clone().fold(f64::INFINITY, f64::min);
            let high = values.fold(f64::NEG_INFINITY, f64::max);
            format!(
                "{name}: between {} and {} {} ({} of the largest at the smallest)",
                number(low),
                number(high),
                quantity.unit,
                percent(low / high)
            )
        })
        .collect();
    (!lines.is_empty()).then(|| Chart {
        key: format!("profile-{}", quantity.label.replace(' ', "-")),
        title: format!("The {} along the section", quantity.label),
        across: "way along the surface, mm".into(),
        up: format!("{}, {}", quantity.label, quantity.unit),
        lines,
        marks_across: Vec::new(),
        marks_up: marks(field),
        up_to: None,
        places: drawn_strips(strips)
            .take(1)
            .flat_map(|strip| strip.places.iter().map(|p| place(*p)))
            .collect(),
        words: words.join(". "),
    })
}

/// A quantity along the lines that the job names.
/// `middle` is where the middle of a facet is in the view.
pub(super) fn along(
    walks: &[Walk],
    field: &Field,
    middle: impl Fn(usize) -> [f64; 3],
) -> Vec<Chart> {
    let quantity = &field.quantity;
    let charts = walks.iter().enumerate().filter_map(|(n, walk)| {
        let known = || walk.steps.iter().filter(|s| field.values[s.1].is_finite());
        let point = |&(way_m, f): &(f64, usize)| [1e3 * way_m, field.values[f]];
        let points: Vec<[f64; 2]> = known().map(point).collect();
        let low = points
            .iter()
            .copied()
            .reduce(|a, b| if b[1] < a[1] { b } else { a })?;
        let high = points
            .iter()
            .copied()
            .reduce(|a, b| if b[1] > a[1] { b } else { a })?;
        Some(Chart {
            key: format!("line-{}", n + 1),
            title: format!("The {} along the line {}", quantity.label, walk.name),
            across: "way along the line, mm".into(),
            up: format!("{}, {}", quantity.label, quantity.unit),
            words: format!(
                "Least {} {unit} after {} mm, most {} {unit} after {} mm",
                number(low[1]),
                number(low[0]),
                number(high[1]),
                number(high[0]),
                unit = quantity.unit
            ),
            lines: vec![(walk.name.clone(), points)],
            marks_across: Vec::new(),
            marks_up: marks(field),
            up_to: None,
            places: known().map(|s| middle(s.1)).collect(),
        })
    });
    charts.collect()
}

/// How thickness, cover, volts and amps run over the plan.
/// Thickness is told in `unit`.
pub(super) fn history(summary: &Summary, unit: Unit) -> Vec<Chart> {
    let history = &summary.history;
    let end_s = history.last().map_or(0.0, |m| m.time_s);
    if history.len() < 2 || end_s <= 0.0 {
        return Vec::new();
    }
    let (time, seconds) = if end_s < 7200.0 {
        ("min", 60.0)
    } else {
        ("h", 3600.0)
    };
    type Curve = (&'static str, fn(&Moment) -> f64);
    let chart =
        |key: &str, title: &str, up: &str, curves: &[Curve], mark: Option<(f64, String)>| {
            let lines: Vec<(String, Vec<[f64; 2]>)> = curves
                .iter()
                .map(|(name, of)| {
                    let points = history.iter().map(|m| [m.time_s / seconds, of(m)]);
                    ((*name).to_owned(), points.collect())
                })
                .collect();
            let words: Vec<String> = lines
                .iter()
                .filter_map(|(name, points)| {
                    let last = points.last()?;
                    Some(format!("{name} at the end: {}", number(last[1])))
                })
                .collect();
            Chart {
                key: key.into(),
                title: title.into(),
                across: format!("time, {time}"),
                up: up.into(),
                words: words.join(", "),
                lines,
                marks_across: Vec::new(),
                marks_up: mark.into_iter().collect(),
                up_to: None,
                places: Vec::new(),
            }
        };
    let wanted = summary.wanted.as_ref();
    let thickness: [Curve; 2] = match unit {
        Unit::Mm => [
            ("mean", |m| 1e3 * m.mean_m),
            ("thinnest", |m| 1e3 * m.least_m),
        ],
        _ => [
            ("mean", |m| 1e6 * m.mean_m),
            ("thinnest", |m| 1e6 * m.least_m),
        ],
    };
    let factor = if unit == Unit::Mm { 1e3 } else { 1e6 };
    let mut charts = vec![
        chart(
            "time-thickness",
            "The thickness over time",
            &format!("thickness, {unit}"),
            &thickness,
            wanted.map(|w| (factor * w.thickness_m, "wanted".into())),
        ),
        chart(
            "time-volts",
            "The volts of the main supply over time",
            "voltage, V",
            &[("main supply", |m| m.voltage_v)],
            None,
        ),
        chart(
            "time-amperes",
            "The amperes of the main supply over time",
            "current, A",
            &[("main supply", |m| m.current_a)],
            None,
        ),
    ];
    if summary.bodies.iter().any(|b| b.coat_drop_v.is_some()) {
        charts.push(chart(
            "time-cover",
            "The cover over time",
            "share of the work covered, %",
            &[("covered", |m| 100.0 * m.covered_share)],
            None,
        ));
    }
    charts
}

/// Charts with the same quantity upwards have one ordinate, from zero to the largest of all.
pub(crate) fn on_one_ordinate(charts: &mut [Chart]) {
    let top = |chart: &Chart| {
        let points = chart.lines.iter().flat_map(|l| &l.1).map(|p| p[1]);
        let marks = chart.marks_up.iter().map(|m| m.0);
        points.chain(marks).fold(0.0, f64::max)
    };
    let tops: Vec<(String, f64)> = charts.iter().map(|c| (c.up.clone(), top(c))).collect();
    for chart in charts.iter_mut().filter(|c| c.up_to.is_none()) {
        let same = tops.iter().filter(|(up, _)| *up == chart.up);
        chart.up_to = Some(same.map(|t| t.1).fold(0.0, f64::max)).filter(|top| *top > 0.0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_fall_from_all_to_none() {
        let points = at_least(vec![(3.0, 1.0), (1.0, 2.0), (2.0, 1.0)]);
        assert_eq!(points, [[1.0, 100.0], [2.0, 50.0], [3.0, 25.0], [3.0, 0.0]]);
    }
}
