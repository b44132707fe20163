//! What a study found, in sentences.

use super::{CaseResult, Row, Study};
use crate::digest::KEY_FIGURES;
use crate::story::measure::{number, percent, thick};
use crate::story::{Tone, Verdict};
use crate::summary::{ROUGH_SHARE, TREEING_SHARE};
use crate::text::aligned;
use std::collections::HashMap;

/// Number of a key figure.
pub(super) fn figure(key: &str) -> usize {
    KEY_FIGURES.iter().position(|f| f.key == key).unwrap_or(0)
}

/// The answer: the case with the thickest thinnest place, and what else is worth knowing.
pub(super) fn verdict(study: &Study) -> Verdict {
    let done = count(study, |r| matches!(r, CaseResult::Done(_)));
    let failed = count(study, |r| matches!(r, CaseResult::Failed(_)));
    let missing = count(study, |r| matches!(r, CaseResult::Missing));
    let mut lines = Vec::new();
    let thinnest = figure("thinnest_um");
    let best = extreme(study, thinnest, true);
    let met = study.wanted_um.map(|wanted| {
        let rows = study.rows.iter();
        let enough = rows.filter(|r| Study::value(r, thinnest).is_some_and(|t| t >= wanted));
        (wanted, enough.count())
    });
    if let Some((wanted, met)) = met.filter(|_| best.is_some()) {
        lines.push(format!(
            "{met} of {done} cases reach the {} wanted everywhere.",
            thick(1e-6 * wanted)
        ));
    }
    if done > 1 {
        let shares = study.axes.iter().enumerate().filter_map(|(n, axis)| {
            let share = influence(study, n, thinnest)?;
            Some(format!(
                "{} changes it by up to {}",
                axis.key,
                percent(share)
            ))
        });
        let shares: Vec<String> = shares.collect();
        if !shares.is_empty() {
            lines.push(format!(
                "What moves the thinnest place: {}.",
                shares.join(", ")
            ));
        }
    }
    let quickest = figure("wanted_after_h");
    if let Some((row, hours)) = extreme(study, quickest, false) {
        lines.push(format!(
            "Soonest thick enough everywhere: {} ({} h).",
            study.name(row),
            number(hours)
        ));
    }
    let even = figure("thinnest_over_mean");
    if let Some((row, share)) = extreme(study, even, true) {
        lines.push(format!(
            "Most even: {} (the thinnest place has {} of the mean).",
            study.name(row),
            percent(share)
        ));
    }
    let load = figure("limit_share_percent");
    if let Some((row, share)) = extreme(study, load, true) {
        let what = match 0.01 * share {
            share if share >= TREEING_SHARE => "expect trees and burning",
            share if share >= ROUGH_SHARE => "expect roughness",
            _ => "nothing should burn",
        };
        lines.push(format!(
            "Most loaded: {} ({} of the limiting current at the worst place: {what}).",
            study.name(row),
            percent(0.01 * share)
        ));
    }
    if failed + missing > 0 {
        lines.push(format!(
            "{failed} cases failed and {missing} are not run yet; the table says which."
        ));
    }
    let head = match best {
        Some((row, um)) => format!(
            "Thickest at its thinnest place: {} ({}).",
            study.name(row),
            thick(1e-6 * um)
        ),
        None if done > 0 => "Current densities only: the job has no plating time.".into(),
        None => "No case is finished.".into(),
    };
    let tone = match met {
        Some((_, met)) if met > 0 => Tone::Good,
        Some(_) if done > 0 => Tone::Bad,
        _ => Tone::Open,
    };
    Verdict { tone, head, lines }
}

impl Study {
    /// The answer and a table for the terminal.
    pub fn text(&self) -> String {
        let verdict = verdict(self);
        let mut text = format!("{}\n", verdict.head);
        for line in &verdict.lines {
            text += line;
            text.push('\n');
        }
        text.push('\n');
        const SHOWN: [&str; 5] = [
            "thinnest_um",
            "thinnest_over_mean",
            "limit_share_percent",
            "voltage_V",
            "wanted_after_h",
        ];
        let mut table: Vec<Vec<String>> = vec![
            std::iter::once("case".to_owned())
                .chain(self.axes.iter().map(|a| a.title()))
                .chain(SHOWN.map(str::to_owned))
                .collect(),
        ];
        for row in &self.rows {
            let mut line = vec![row.case.to_string()];
            let picks = self.axes.iter().zip(&row.picks);
            line.extend(picks.map(|(axis, &pick)| axis.field(pick)));
            match &row.result {
                CaseResult::Done(_) => line.extend(SHOWN.map(|key| {
                    let value = Self::value(row, figure(key));
                    value.map_or("-".to_owned(), number)
                })),
                CaseResult::Failed(why) => line.push(why.clone()),
                CaseResult::Missing => line.push("not run yet".into()),
            }
            table.push(line);
        }
        text += &aligned(&table);
        text
    }
}

fn count(study: &Study, is: fn(&CaseResult) -> bool) -> usize {
    study.rows.iter().filter(|r| is(&r.result)).count()
}

/// By how much a figure changes at most along an axis while the other keys stay, as a share of the
/// largest value.
fn influence(study: &Study, axis: usize, figure: usize) -> Option<f64> {
    let mut groups: HashMap<Vec<usize>, [f64; 2]> = HashMap::new();
    for row in &study.rows {
        let Some(value) = Study::value(row, figure) else {
            continue;
        };
        let mut others = row.picks.clone();
        others.remove(axis);
        let [low, high] = groups.entry(others).or_insert([value; 2]);
        (*low, *high) = (low.min(value), high.max(value));
    }
    let shares = groups.values().map(|[low, high]| (high - low) / high.abs());
    shares.filter(|s| s.is_finite()).reduce(f64::max)
}

/// The case with the largest or smallest value of a figure; of equal ones the first.
fn extreme(study: &Study, figure: usize, largest: bool) -> Option<(&Row, f64)> {
    let values = study
        .rows
        .iter()
        .filter_map(|r| Some((r, Study::value(r, figure)?)));
    values.reduce(|best, next| {
        let better = if largest {
            next.1 > best.1
        } else {
            next.1 < best.1
        };
        if better { next } else { best }
    })
}

#[cfg(test)]
mod tests {
    use super::super::tests::sample;
    use super::*;

    #[test]
    fn the_best_case_is_named() {
        let verdict = verdict(&sample());
        assert_eq!(verdict.tone, Tone::Good);
        assert!(
            verdict
                .head
                .contains("distance = 150 mm, opening = 40 mm (130 um)"),
            "{}",
            verdict.head
        );
        let all = verdict.lines.join(" ");
        assert!(all.contains("2 of 4 cases reach the 115 um"), "{all}");
        // Over the openings 100, 110, 120 um; over the distances 100 and 130 um.
        assert!(
            all.contains("distance changes it by up to 23 %, opening"),
            "{all}"
        );
        assert!(all.contains("opening changes it by up to 17 %"), "{all}");
        assert!(all.contains("1 cases failed and 1 are not run"), "{all}");
    }
}
