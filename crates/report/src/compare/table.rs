//! The table of the runs, for the terminal and for programs.

use super::read::Run;
use super::words;
use crate::digest::KeyFigure;
use crate::look::Look;
use crate::page::Page;
use crate::story::measure::number;
use crate::text::aligned;
use crate::verdict::{Part, head, parts};
use serde_json::{Value, json};

/// Runs side by side; all are compared with the first.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// At least two.
    pub runs: Vec<Run>,
    /// Those that failed, with the reason.
    pub failed: Vec<(String, String)>,
}

impl Comparison {
    /// What each change from the first run bought and cost.
    pub fn sentences(&self) -> Vec<String> {
        match self.runs.split_first() {
            Some((first, others)) => others.iter().map(|r| words::sentence(first, r)).collect(),
            None => Vec::new(),
        }
    }

    /// Who is missing, and why.
    pub(super) fn missing(&self) -> Vec<String> {
        let failed = self.failed.iter();
        failed
            .map(|(name, why)| format!("{name} failed: {why}"))
            .collect()
    }

    /// Rows of the table: title of the figure, its values, and its differences from the first run.
    pub(super) fn rows(&self) -> Vec<Vec<String>> {
        let shown = KeyFigure::ALL.into_iter().filter_map(|figure| {
            let values: Vec<Option<f64>> = self.runs.iter().map(|r| figure.of(&r.digest)).collect();
            values
                .iter()
                .any(Option::is_some)
                .then_some((figure, values))
        });
        let verdicts = self.verdicts();
        let figures = shown.map(|(figure, values)| {
            let mut row = vec![self.title(figure)];
            let text = |v: &Option<f64>| v.map_or("-".into(), number);
            row.extend(values.iter().map(text));
            row.extend(values[1..].iter().map(|v| match (values[0], *v) {
                (Some(old), Some(new)) => difference(old, new),
                _ => "-".into(),
            }));
            row
        });
        verdicts.into_iter().chain(figures).collect()
    }

    /// Title of a figure; a cost with its currency, if it is that of all runs.
    fn title(&self, figure: KeyFigure) -> String {
        let mut currencies = self.runs.iter().map(|r| r.digest.currency());
        let first = currencies.next().flatten().filter(|c| !c.is_empty());
        match first.filter(|c| currencies.all(|other| other == Some(c))) {
            Some(currency) if figure == KeyFigure::Cost => format!("cost, {currency}"),
            _ => figure.title(),
        }
    }

    /// How the parts of each verdict stand, where there are any.
    fn verdicts(&self) -> Vec<Vec<String>> {
        let judged: Vec<Option<[Part; 3]>> = (self.runs.iter())
            .map(|r| Some(parts(r.digest.verdict.as_ref()?, &[])))
            .collect();
        let labels = judged
            .iter()
            .flatten()
            .next()
            .map(|p| p.each_ref().map(|p| p.label));
        let row = |(n, label): (usize, &'static str)| {
            let states = judged.iter().map(|run| {
                let word = run.as_ref().map(|parts| parts[n].state.word());
                word.unwrap_or("-").to_owned()
            });
            let changes = (1..self.runs.len()).map(|_| String::new());
            std::iter::once(format!("verdict: {label}"))
                .chain(states)
                .chain(changes)
                .collect()
        };
        labels.into_iter().flatten().enumerate().map(row).collect()
    }

    pub(super) fn head(&self) -> Vec<String> {
        let names = self.runs.iter().map(|r| r.name.clone());
        let others = self.runs.iter().skip(1);
        std::iter::once(String::new())
            .chain(names)
            .chain(others.map(|r| format!("change to {}", r.name)))
            .collect()
    }

    /// For programs.
    pub fn json(&self) -> Value {
        let runs: Vec<Value> = self
            .runs
            .iter()
            .map(|run| {
                let figures: serde_json::Map<String, Value> = KeyFigure::ALL
                    .iter()
                    .map(|f| (f.key().to_owned(), json!(f.of(&run.digest))))
                    .collect();
                json!({
                    "name": run.name,
                    "title": run.digest.title,
                    "verdict": run.digest.verdict,
                    "figures": figures,
                })
            })
            .collect();
        let failed = self.failed.iter();
        let failed: Vec<Value> = failed
            .map(|(name, why)| json!({ "name": name, "failure": why }))
            .collect();
        json!({ "schema": 1, "runs": runs, "failed": failed, "sentences": self.sentences() })
    }

    /// For the terminal.
    pub fn text(&self, look: Look<'_>) -> String {
        let mut page = Page::new(look.width, std::iter::empty());
        let verdicts = (self.runs.iter())
            .filter_map(|r| Some(format!("{}: {}", r.name, head(r.digest.verdict.as_ref()?))));
        let missing = self.missing().into_iter();
        for sentence in missing.chain(verdicts).chain(self.sentences()) {
            page.text(&sentence);
        }
        page.line("");
        let table: Vec<Vec<String>> = std::iter::once(self.head()).chain(self.rows()).collect();
        let whole = aligned(&table);
        if whole.lines().all(|line| line.chars().count() <= look.width) {
            page.line(whole.trim_end());
            return page.into_text();
        }
        // Too wide: the figures, and below them their changes.
        let values = 1 + self.runs.len();
        let figures: Vec<_> = table.iter().map(|row| row[..values].to_vec()).collect();
        let has = |row: &&Vec<String>| row.get(values).is_some_and(|change| !change.is_empty());
        let changed = table.iter().filter(has);
        let changes = changed.map(|row| [&row[..1], &row[values..]].concat());
        page.line(&aligned(&figures));
        page.line(aligned(&changes.collect::<Vec<_>>()).trim_end());
        page.into_text()
    }
}

/// `+12 (+34 %)`.
pub(super) fn difference(old: f64, new: f64) -> String {
    let signed = |x: f64, text: String| if x > 0.0 { format!("+{text}") } else { text };
    let change = new - old;
    let absolute = signed(change, number(change));
    if old == 0.0 {
        return absolute;
    }
    let percent = 100.0 * change / old;
    if percent.abs() < 0.05 {
        return "0".into();
    }
    format!(
        "{absolute} ({} %)",
        signed(percent, ionfall_numerics::number::significant(percent, 2))
    )
}
