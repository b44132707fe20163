//! What trials found, in sentences.

use super::table::{CaseResult, Row, Trials};
use crate::digest::KeyFigure;
use crate::story::Verdict;
use crate::story::measure::{number, percent, thick};
use crate::text::aligned;
use crate::verdict::head;
use ionfall_bath::Quality;
use ionfall_deposit::judge::{Standing, Verdict as Judged};
use std::collections::HashMap;

/// The answer: the case with the thickest thinnest place, and what else is worth knowing.
pub(super) fn verdict(trials: &Trials) -> Verdict {
    let done = count(trials, |r| matches!(r, CaseResult::Done(..)));
    let failed = count(trials, |r| matches!(r, CaseResult::Failed(_)));
    let missing = count(trials, |r| matches!(r, CaseResult::Missing));
    let mut lines = Vec::new();
    let thinnest = KeyFigure::Thinnest;
    let best = extreme(trials, thinnest, true);
    let stand = |of: fn(&Judged) -> Standing, state: Standing| {
        let judged = trials.rows.iter().filter_map(Trials::verdict);
        judged.filter(|v| of(v) == state).count()
    };
    if let Some(wanted) = trials.wanted_um.filter(|_| best.is_some()) {
        lines.push(format!(
            "{} of {done} cases reach the {} wanted everywhere.",
            stand(|v| v.metal.state, Standing::Good),
            thick(1e-6 * wanted)
        ));
    }
    if done > 0 {
        let counts = Standing::ALL.map(|s| format!("{} {}", stand(|v| v.state, s), s.word()));
        lines.push(format!(
            "All in all (metal, its soundness, the supply): {}.",
            counts.join(", ")
        ));
    }
    if done > 1 {
        let shares = trials.axes.iter().enumerate().filter_map(|(n, axis)| {
            let share = influence(trials, n, thinnest)?;
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
    type Said = (KeyFigure, bool, fn(&str, f64) -> String);
    let extremes: [Said; 3] = [
        (KeyFigure::WantedAfter, false, |name, hours| {
            let hours = number(hours);
            format!("Soonest thick enough everywhere: {name} ({hours} h).")
        }),
        (KeyFigure::Evenness, true, |name, share| {
            let share = percent(share);
            format!("Most even: {name} (the thinnest place has {share} of the mean).")
        }),
        (KeyFigure::LimitShare, true, |name, percents| {
            let share = 0.01 * percents;
            let (load, metal) = (percent(share), Quality::of(share).metal());
            format!(
                "Most loaded: {name} ({load} of the limiting current at the worst place: expect {metal})."
            )
        }),
    ];
    for (figure, largest, said) in extremes {
        let found = extreme(trials, figure, largest);
        lines.extend(found.map(|(row, value)| said(&trials.name(row), value)));
    }
    if failed + missing > 0 {
        lines.push(format!(
            "{failed} cases failed and {missing} are not run yet; the table says which."
        ));
    }
    let answer = match best {
        Some((row, um)) => format!(
            "Thickest at its thinnest place: {} ({}).",
            trials.name(row),
            thick(1e-6 * um)
        ),
        None if done > 0 => "Current densities only: the job has no plating time.".into(),
        None => "No case is finished.".into(),
    };
    // The case at the head colours the whole.
    let judged = best.and_then(|(row, _)| Trials::verdict(row));
    lines.splice(0..0, judged.map(|v| format!("There: {}", head(v))));
    Verdict {
        tone: judged.map_or(Standing::Unknown, |v| v.state),
        head: answer,
        parts: Vec::new(),
        lines,
    }
}

impl Trials {
    /// The answer and a table for the terminal.
    pub fn text(&self) -> String {
        let verdict = verdict(self);
        let mut text = format!("{}\n", verdict.head);
        for line in &verdict.lines {
            text += line;
            text.push('\n');
        }
        text.push('\n');
        const SHOWN: [KeyFigure; 5] = [
            KeyFigure::Thinnest,
            KeyFigure::Evenness,
            KeyFigure::LimitShare,
            KeyFigure::Voltage,
            KeyFigure::WantedAfter,
        ];
        let mut table: Vec<Vec<String>> = vec![
            std::iter::once("case".to_owned())
                .chain(self.axes.iter().map(|a| a.title()))
                .chain(SHOWN.map(|figure| figure.key().to_owned()))
                .chain(["verdict".to_owned()])
                .collect(),
        ];
        for row in &self.rows {
            let mut line = vec![row.case.to_string()];
            let picks = self.axes.iter().zip(&row.picks);
            line.extend(picks.map(|(axis, &pick)| axis.field(pick)));
            match &row.result {
                CaseResult::Done(..) => {
                    line.extend(SHOWN.map(|figure| {
                        let value = Self::value(row, figure);
                        value.map_or("-".to_owned(), number)
                    }));
                    let judged = Self::verdict(row);
                    line.push(judged.map_or("-", |v| v.state.word()).into());
                }
                CaseResult::Failed(why) => line.push(why.clone()),
                CaseResult::Missing => line.push("not run yet".into()),
            }
            table.push(line);
        }
        text += &aligned(&table);
        text
    }
}

fn count(trials: &Trials, is: fn(&CaseResult) -> bool) -> usize {
    trials.rows.iter().filter(|r| is(&r.result)).count()
}

/// By how much a figure changes at most along an axis while the other keys stay, as a share of the
/// largest value.
fn influence(trials: &Trials, axis: usize, figure: KeyFigure) -> Option<f64> {
    let mut groups: HashMap<Vec<usize>, [f64; 2]> = HashMap::new();
    for row in &trials.rows {
        let Some(value) = Trials::value(row, figure) else {
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
fn extreme(trials: &Trials, figure: KeyFigure, largest: bool) -> Option<(&Row, f64)> {
    let values = trials
        .rows
        .iter()
        .filter_map(|r| Some((r, Trials::value(r, figure)?)));
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
        // The thickest case grows trees: no green tick stands over it.
        assert_eq!(verdict.tone, Standing::Bad);
        assert!(verdict.lines[0].contains("but trees and burning likely"));
        assert!(
            verdict
                .head
                .contains("distance = 150 mm, opening = 40 mm (130 um)"),
            "{}",
            verdict.head
        );
        let all = verdict.lines.join(" ");
        assert!(all.contains("2 of 4 cases reach the 115 um"), "{all}");
        assert!(all.contains("1 good, 0 unknown, 0 caution, 3 bad"), "{all}");
        // Over the openings 100, 110, 120 um; over the distances 100 and 130 um.
        assert!(
            all.contains("distance changes it by up to 23 %, opening"),
            "{all}"
        );
        assert!(all.contains("opening changes it by up to 17 %"), "{all}");
        assert!(all.contains("1 cases failed and 1 are not run"), "{all}");
    }
}
