//! When powder coats are covered, in words.

use crate::story::measure::{hours, number};
use crate::summary::Summary;
use ionfall_bath::islands::POWDER_ISLANDS;

/// When a coat is covered if its first metal grows in islands, after the time without.
pub(crate) fn islands_words(summary: &Summary, body: &str) -> String {
    let Some(found) = summary.covering.iter().find(|c| c.on == body) else {
        return String::new();
    };
    let [low, high] = found.islands_m.map(|m| number(1e6 * m));
    let times = match found.covered_after_s {
        [Some(first), Some(last)] => format!("{} to {}", hours(first), hours(last)),
        [Some(first), None] => format!("{} to longer than the plan", hours(first)),
        [None, _] => "longer than the plan".into(),
    };
    format!(
        " at the least, the metal conducting from the first; {times} if {low} to {high} um of it grow in islands ({}, \
         on cells {} times as large)",
        POWDER_ISLANDS.grade,
        number(found.cells)
    )
}
