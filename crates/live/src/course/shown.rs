//! What a page is shown of a case: sliders, curves, rows.

use ionfall_numerics::number::significant;
use ionfall_textbook::Case;
use serde::Serialize;
use std::collections::BTreeMap;

/// Points of a curve that are sent, about.
const POINTS: usize = 80;
/// A figure to play with.
#[derive(Clone, Copy, Debug, Serialize)]
pub(crate) struct Slider {
    pub name: &'static str,
    pub label: &'static str,
    pub unit: &'static str,
    pub from: f64,
    pub to: f64,
    pub value: f64,
    /// From one value to the next; nothing where all are allowed.
    pub step: Option<f64>,
}

impl Slider {
    /// Its value, or that which it begins with.
    pub fn of(&self, values: &BTreeMap<String, f64>) -> f64 {
        let given = values
            .get(self.name)
            .copied()
            .filter(|value| value.is_finite());
        given.unwrap_or(self.value).clamp(self.from, self.to)
    }
}

/// What came of a case.
#[derive(Debug, Serialize)]
pub(crate) struct Shown {
    pub chart: Option<Chart>,
    /// Quantity, computed, exact, difference.
    pub rows: Vec<[String; 4]>,
    pub source: String,
}

#[derive(Debug, Serialize)]
pub(crate) struct Chart {
    pub title: String,
    pub x: Axis,
    pub y: Axis,
    pub series: Vec<Series>,
}

#[derive(Debug, Serialize)]
pub(crate) struct Axis {
    pub label: String,
    pub unit: String,
}

#[derive(Debug, Serialize)]
pub(crate) struct Series {
    pub label: &'static str,
    pub points: Vec<[f64; 2]>,
}

/// The title of its job.
pub(super) fn title(case: &Case) -> String {
    let line = case
        .job
        .lines()
        .find_map(|line| line.strip_prefix("title = "));
    line.map_or(case.name, |title| title.trim_matches('"'))
        .to_owned()
}

/// Some of the points of a curve, both ends among them.
pub(super) fn thinned(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let every = points.len().div_ceil(POINTS).max(1);
    let last = points.len().wrapping_sub(1);
    let kept = points
        .iter()
        .enumerate()
        .filter(|(n, _)| n % every == 0 || *n == last);
    kept.map(|(_, point)| *point).collect()
}

pub(super) fn number(value: f64, unit: &str) -> String {
    format!("{} {unit}", significant(value, 5))
        .trim_end()
        .to_owned()
}

pub(super) fn percent(share: f64) -> String {
    format!("{} %", significant(100.0 * share, 2))
}

/// A quantity beside what it should be.
pub(super) fn compared(quantity: &str, unit: &str, computed: f64, exact: f64) -> [String; 4] {
    [
        quantity.to_owned(),
        number(computed, unit),
        number(exact, unit),
        percent(computed / exact - 1.0),
    ]
}
