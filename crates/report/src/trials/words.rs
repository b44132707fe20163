//! What trials found, in sentences.

use super::choice::{Choice, Matter, TIE_SHARE, choose, is_tie};
use super::table::{Axis, CaseResult, Row, Trials};
use crate::digest::KeyFigure;
use crate::look::Look;
use crate::page::Page;
use crate::story::Verdict;
use crate::story::measure::{number, percent, thick};
use crate::text::aligned;
use crate::verdict::head;
use ionfall_bath::Quality;
use ionfall_deposit::judge::{Standing, Verdict as Judged};
use std::collections::HashMap;

/// The answer, a sentence that can be hung up in the shop, and what else is worth knowing.
pub(super) fn verdict(trials: &Trials) -> Verdict {
    let done = count(trials, |r| matches!(r, CaseResult::Done(..)));
    let failed = count(trials, |r| matches!(r, CaseResult::Failed(_)));
    let missing = count(trials, |r| matches!(r, CaseResult::Missing));
    let mut lines = Vec::new();
    let thinnest = KeyFigure::Thinnest;
    let choice = choose(trials);
    let stand = |of: fn(&Judged) -> Standing, state: Standing| {
        let judged = trials.rows.iter().filter_map(Trials::verdict);
        judged.filter(|v| of(v) == state).count()
    };
    if let Some(wanted) = trials.wanted_um.filter(|_| choice.is_some()) {
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
        lines.extend(choice.as_ref().and_then(|c| equals(trials, c)));
    }
    type Said = (KeyFigure, bool, fn(&str, f64) -> String);
    let extremes: [Said; 4] = [
        (KeyFigure::WantedAfter, false, |name, hours| {
            let hours = number(hours);
            format!("Soonest thick enough everywhere: {name} ({hours} h).")
        }),
        (KeyFigure::Evenness, true, |name, share| {
            let share = percent(share);
            format!("Most even: {name} (the thinnest place has {share} of the mean).")
        }),
        (KeyFigure::Apart, false, |name, percents| {
            let share = percent(0.01 * percents);
            format!(
                "Parts most alike: {name} (their mean thicknesses are {share} of the mean apart)."
            )
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
        // What is the same in all cases is no merit of one.
        let found = extreme(trials, figure, largest).filter(|(best, _)| {
            let mut rows = trials.rows.iter();
            let known = |r: &&Row| Trials::value(r, figure).is_some();
            rows.any(|r| known(&r) && !is_tie(best, r, figure))
        });
        // Of tied cases the one that is taken, except where the worst is told.
        let told = found.map(|(best, value)| match &choice {
            Some(c) if figure != KeyFigure::LimitShare && is_tie(best, c.row, figure) => {
                (c.row, Trials::value(c.row, figure).unwrap_or(value))
            }
            _ => (best, value),
        });
        lines.extend(told.map(|(row, value)| said(&trials.name(row), value)));
    }
    lines.extend(cheapest(trials));
    if failed + missing > 0 {
        lines.push(format!(
            "{failed} cases failed and {missing} are not run yet; the table says which."
        ));
    }
    // The case at the head colours the whole.
    let judged = choice.as_ref().and_then(|c| Trials::verdict(c.row));
    Verdict {
        tone: judged.map_or(Standing::Unknown, |v| v.state),
        head: sentence(trials, choice.as_ref()),
        parts: Vec::new(),
        lines,
    }
}

/// The cheapest of the cases that are thick enough everywhere without trees, if they do not all cost the same.
fn cheapest(trials: &Trials) -> Option<String> {
    let enough = |row: &&Row| {
        Trials::verdict(row)
            .is_some_and(|v| v.metal.state == Standing::Good && v.sound.state < Standing::Bad)
    };
    let rows = trials.rows.iter().filter(enough);
    let known: Vec<(&Row, f64)> = rows
        .filter_map(|row| Some((row, Trials::value(row, KeyFigure::Cost)?)))
        .collect();
    let (row, cost) = known.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
    let differs = known
        .iter()
        .any(|(other, _)| !is_tie(row, other, KeyFigure::Cost));
    differs.then(|| {
        let (name, cost) = (trials.name(row), number(*cost));
        format!(
            "Cheapest of those that are thick enough and grow no trees: {name} ({cost} by the prices of the job)."
        )
    })
}

/// When cases count as equal, if some do.
fn equals(trials: &Trials, choice: &Choice<'_>) -> Option<String> {
    let others = trials.rows.iter().filter(|r| r.case != choice.row.case);
    let mut tied = others.filter(|r| is_tie(choice.row, r, choice.goal));
    tied.next()?;
    let known = Trials::verdict(choice.row).is_some_and(|v| v.metal.plus_minus_m.is_some());
    Some(match known {
        true => "Cases that differ by less than their plus-minus count as equal.".into(),
        false => format!(
            "Cases that differ by less than {} count as equal.",
            percent(TIE_SHARE)
        ),
    })
}

/// The sentence for the shop: what to take, what does not matter, what comes of it.
fn sentence(trials: &Trials, choice: Option<&Choice<'_>>) -> String {
    let Some(choice) = choice else {
        let done = count(trials, |r| matches!(r, CaseResult::Done(..)));
        return match done {
            0 => "No case is finished.".into(),
            _ => "Current densities only: the job has no plating time.".into(),
        };
    };
    let row = choice.row;
    let value = |n: usize| trials.axes[n].values[row.picks[n]].as_str();
    let (mut take, mut any) = (Vec::new(), Vec::new());
    for (n, (axis, matter)) in trials.axes.iter().zip(&choice.keys).enumerate() {
        let key = &axis.key;
        match matter {
            Matter::Yes => take.push(format!("{key} = {}", value(n))),
            Matter::No(None) => any.push(format!("{key} does not matter")),
            Matter::No(Some(figure)) => {
                let needs = Trials::value(row, *figure).map_or(String::new(), number);
                let unit = figure.unit();
                any.push(format!(
                    "{key} does not matter, take {}, which needs {needs} {unit}",
                    value(n)
                ));
            }
        }
    }
    let take = (!take.is_empty()).then(|| format!("take {}", take.join(", ")));
    let set: Vec<String> = take.into_iter().chain(any).collect();
    let judged = Trials::verdict(row);
    let metal = judged.map_or(Standing::Unknown, |v| v.metal.state);
    let none = match metal == Standing::Bad {
        true => "no case is thick enough everywhere, the nearest: ",
        false => "",
    };
    let um = Trials::value(row, KeyFigure::Thinnest).unwrap_or(f64::NAN);
    let wanted = trials.wanted_um.map_or(String::new(), |wanted| {
        format!(" of the {} wanted", thick(1e-6 * wanted))
    });
    let stands = judged.map_or(String::new(), |v| {
        let words = head(v);
        format!("; {}", lower(words.trim_end_matches('.')))
    });
    let money = Trials::value(row, KeyFigure::Cost).map_or(String::new(), |cost| {
        format!("; it costs {} by the prices of the job", number(cost))
    });
    let all = format!(
        "{none}{}: {}{wanted} at the thinnest place{stands}{money}.",
        set.join("; "),
        thick(1e-6 * um)
    );
    // A key keeps its letters, a word begins with a large one.
    match all.starts_with(trials.axes[0].key.as_str()) {
        true => all,
        false => upper(&all),
    }
}

fn lower(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_lowercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

fn upper(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

impl Trials {
    /// The sentence that can be hung up in the shop.
    pub fn sentence(&self) -> String {
        sentence(self, choose(self).as_ref())
    }

    /// What was found and a table, for the terminal; the sentence is to come after it.
    pub fn text(&self, look: Look<'_>) -> String {
        let mut page = Page::new(look.width, std::iter::empty());
        for line in verdict(self).lines {
            page.text(&line);
        }
        page.line("");
        let known = |figure: KeyFigure| {
            let mut rows = self.rows.iter();
            rows.any(|r| Self::value(r, figure).is_some())
        };
        // A terminal has no room for all: volts give way to the cost where there are prices, and what is even on a
        // part, or when a coat is covered, to how far apart the parts of a rack are.
        let gives_way = |figure: KeyFigure| match figure {
            KeyFigure::Voltage => known(KeyFigure::Cost),
            KeyFigure::Evenness | KeyFigure::CoveredAfter => known(KeyFigure::Apart),
            _ => false,
        };
        let shown: Vec<KeyFigure> = (SHOWN.into_iter())
            .filter(|&figure| known(figure) && !gives_way(figure))
            .collect();
        let mut table: Vec<Vec<String>> = vec![
            std::iter::once("case".to_owned())
                .chain(self.axes.iter().map(Axis::title))
                .chain(shown.iter().map(|figure| short(*figure)))
                .chain(["verdict".to_owned()])
                .collect(),
        ];
        let mut failures: Vec<(&str, Vec<usize>)> = Vec::new();
        for row in &self.rows {
            let mut line = vec![row.case.to_string()];
            let picks = self.axes.iter().zip(&row.picks);
            line.extend(picks.map(|(axis, &pick)| axis.field(pick)));
            let figures = shown.iter().map(|&figure| Self::value(row, figure));
            line.extend(figures.map(|v| v.map_or("-".to_owned(), number)));
            line.push(match &row.result {
                CaseResult::Done(..) => Self::verdict(row).map_or("-", |v| v.state.word()).into(),
                CaseResult::Failed(_) => "failed".into(),
                CaseResult::Missing => "not run".into(),
            });
            table.push(line);
            if let CaseResult::Failed(why) = &row.result {
                match failures.iter_mut().find(|(known, _)| known == why) {
                    Some((_, cases)) => cases.push(row.case),
                    None => failures.push((why, vec![row.case])),
                }
            }
        }
        let mut shown = aligned(&table);
        if shown.lines().any(|line| line.chars().count() > look.width) {
            // Too wide: of the keys only their last words.
            for title in table[0].iter_mut().skip(1).take(self.axes.len()) {
                let last = title.rsplit('.').next().unwrap_or_default().to_owned();
                *title = last;
            }
            shown = aligned(&table);
        }
        page.line(shown.trim_end());
        if !failures.is_empty() {
            page.line("");
        }
        for (why, cases) in failures {
            let word = if cases.len() == 1 { "Case" } else { "Cases" };
            let cases: Vec<String> = cases.iter().map(usize::to_string).collect();
            page.text(&format!("{word} {} failed: {why}", cases.join(", ")));
        }
        page.into_text()
    }
}

/// What the terminal's table shows.
const SHOWN: [KeyFigure; 8] = [
    KeyFigure::Thinnest,
    KeyFigure::Evenness,
    KeyFigure::Apart,
    KeyFigure::LimitShare,
    KeyFigure::Voltage,
    KeyFigure::CoveredAfter,
    KeyFigure::WantedAfter,
    KeyFigure::Cost,
];

/// Heads of the columns, short enough for a terminal.
fn short(figure: KeyFigure) -> String {
    match figure {
        KeyFigure::Evenness => "thin/mean".into(),
        KeyFigure::LimitShare => "limit, %".into(),
        KeyFigure::CoveredAfter => "covered, h".into(),
        KeyFigure::WantedAfter => "wanted, h".into(),
        KeyFigure::Apart => "apart, %".into(),
        other => other.title(),
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
    use super::super::tests::{judged, sample};
    use super::*;

    #[test]
    fn the_best_case_is_named() {
        let trials = sample();
        let verdict = verdict(&trials);
        // Case 4 is the thickest, and grows trees: the sound one is taken.
        assert_eq!(verdict.tone, Standing::Good);
        assert_eq!(
            verdict.head,
            "Take distance = 100 mm, opening = 80 mm: 120 um of the 115 um wanted at the thinnest \
             place; thick enough; it costs 132 by the prices of the job."
        );
        assert_eq!(verdict.head, trials.sentence());
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
        let text = trials.text(Look::default());
        assert!(
            text.contains("\nCase 5 failed: too much, \"far\" too much\n"),
            "{text}"
        );
        assert!(text.lines().all(|l| l.chars().count() <= 100), "{text}");
    }

    /// The cheapest is looked for among those that will do only.
    #[test]
    fn the_cheapest_that_will_do_is_named() {
        let mut trials = sample();
        for (n, row) in trials.rows.iter_mut().enumerate() {
            let mut figures = vec![None; KeyFigure::ALL.len()];
            figures[KeyFigure::Thinnest as usize] = Some(if n == 0 { 100.0 } else { 120.0 });
            figures[KeyFigure::Cost as usize] = Some([1.0, 7.0, 4.0, 5.0, 9.0, 9.0][n]);
            row.result = CaseResult::Done(figures, Some(Box::new(judged(n > 0, n == 2))));
        }
        let name = trials.name(&trials.rows[3]);
        let said = format!("no trees: {name} (5 by the prices of the job).");
        assert!(cheapest(&trials).unwrap().ends_with(&said));
        for row in &mut trials.rows {
            if let CaseResult::Done(figures, _) = &mut row.result {
                figures[KeyFigure::Cost as usize] = Some(4.0);
            }
        }
        assert_eq!(cheapest(&trials), None);
    }

    /// A figure that stays is told as one that does not matter, with what it costs.
    #[test]
    fn a_tie_is_told_as_one() {
        let mut trials = sample();
        for row in &mut trials.rows {
            let far = row.picks[0] as f64;
            let mut figures = vec![None; KeyFigure::ALL.len()];
            figures[KeyFigure::Thinnest as usize] = Some(100.0 + 0.2 * far);
            figures[KeyFigure::Voltage as usize] = Some(0.82 + 0.1 * far);
            row.result = CaseResult::Done(figures, Some(Box::new(judged(false, false))));
        }
        assert_eq!(
            trials.sentence(),
            "No case is thick enough everywhere, the nearest: distance does not matter, take 100 mm, \
             which needs 0.82 V; opening does not matter: 100 um of the 115 um wanted at the thinnest \
             place; not thick enough."
        );
        let lines = verdict(&trials).lines.join(" ");
        assert!(lines.contains("less than 2 % count as equal"), "{lines}");
    }
}
