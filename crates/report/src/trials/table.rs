//! The cases of trials and what came of them; trials.csv and trials.json.

use crate::digest::{Digest, KeyFigure};
use crate::facets::quoted;
use ionfall_deposit::judge::Verdict;
use ionfall_numerics::number::significant;
use serde::Serialize;
use serde_json::{Map, Value, json};

/// Digits of figures in tables.
const DIGITS: i32 = 5;

/// A key that is varied.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Axis {
    /// The key.
    pub key: String,
    /// Unit of the numbers, empty if the values are no numbers of one unit.
    pub unit: String,
    /// Values as they are put into the job.
    pub values: Vec<String>,
    /// The same as numbers of the unit, where they are.
    pub numbers: Option<Vec<f64>>,
}

impl Axis {
    /// Key with unit.
    pub fn title(&self) -> String {
        match self.unit.as_str() {
            "" => self.key.clone(),
            unit => format!("{}, {unit}", self.key),
        }
    }

    /// A value for a table with the unit in its head.
    pub(super) fn field(&self, pick: usize) -> String {
        match &self.numbers {
            Some(numbers) => numbers[pick].to_string(),
            None => self.values[pick].clone(),
        }
    }
}

/// What came of a case.
#[derive(Clone, Debug, PartialEq)]
pub enum CaseResult {
    /// Its key figures, in the order of [`KeyFigure::ALL`], and the verdict on it.
    Done(Vec<Option<f64>>, Option<Box<Verdict>>),
    /// Why it failed.
    Failed(String),
    /// Not run yet.
    Missing,
}

impl CaseResult {
    /// The key figures of a finished case.
    pub fn done(digest: &Digest) -> Self {
        let figures = KeyFigure::ALL.iter().map(|f| f.of(digest)).collect();
        Self::Done(figures, digest.verdict.clone().map(Box::new))
    }
}

/// A case.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Its number, from one.
    pub case: usize,
    /// Number of the value on each axis.
    pub picks: Vec<usize>,
    /// What came of it.
    pub result: CaseResult,
}

/// All trials.
#[derive(Clone, Debug, PartialEq)]
pub struct Trials {
    /// Title of the job.
    pub title: String,
    /// What is varied; the last axis runs fastest.
    pub axes: Vec<Axis>,
    /// The cases.
    pub rows: Vec<Row>,
    /// Thickness wanted, um.
    pub wanted_um: Option<f64>,
}

impl Trials {
    /// A figure of a case.
    pub(super) fn value(row: &Row, figure: KeyFigure) -> Option<f64> {
        match &row.result {
            CaseResult::Done(values, _) => values.get(figure as usize).copied().flatten(),
            _ => None,
        }
    }

    /// The verdict on a case.
    pub(super) fn verdict(row: &Row) -> Option<&Verdict> {
        match &row.result {
            CaseResult::Done(_, verdict) => verdict.as_deref(),
            _ => None,
        }
    }

    /// Could not a single one of the cases be computed?
    pub fn all_failed(&self) -> bool {
        let failed = |row: &Row| matches!(row.result, CaseResult::Failed(_));
        !self.rows.is_empty() && self.rows.iter().all(failed)
    }

    /// The values of a case in words: `distance = 100 mm, opening = 60 mm`.
    pub fn name(&self, row: &Row) -> String {
        let parts = self.axes.iter().zip(&row.picks);
        let parts: Vec<String> = parts
            .map(|(axis, &pick)| format!("{} = {}", axis.key, axis.values[pick]))
            .collect();
        parts.join(", ")
    }

    /// `trials.csv`: a line for each case.
    pub fn csv(&self) -> String {
        let mut head = vec!["case".to_owned()];
        head.extend(self.axes.iter().map(|a| match a.unit.as_str() {
            "" => a.key.clone(),
            unit => format!("{} [{unit}]", a.key),
        }));
        head.extend(KeyFigure::ALL.iter().map(|f| f.key().to_owned()));
        head.push("verdict".into());
        head.push("failure".into());
        let line = |fields: Vec<String>| {
            let fields: Vec<String> = fields.iter().map(|f| quoted(f)).collect();
            fields.join(",") + "\n"
        };
        let mut text = line(head);
        for row in &self.rows {
            let mut fields = vec![row.case.to_string()];
            let picks = self.axes.iter().zip(&row.picks);
            fields.extend(picks.map(|(axis, &pick)| axis.field(pick)));
            fields.extend(KeyFigure::ALL.iter().map(|&figure| {
                Self::value(row, figure).map_or(String::new(), |v| significant(v, DIGITS))
            }));
            let judged = Self::verdict(row);
            fields.push(judged.map_or(String::new(), |v| v.state.word().into()));
            fields.push(match &row.result {
                CaseResult::Done(..) => String::new(),
                CaseResult::Failed(why) => why.clone(),
                CaseResult::Missing => "not run yet".into(),
            });
            text += &line(fields);
        }
        text
    }

    /// `trials.json`.
    pub fn json(&self) -> Value {
        let cases: Vec<Value> = self
            .rows
            .iter()
            .map(|row| {
                let values: Map<String, Value> = self
                    .axes
                    .iter()
                    .zip(&row.picks)
                    .map(|(axis, &pick)| (axis.key.clone(), json!(axis.values[pick])))
                    .collect();
                let figures: Map<String, Value> = KeyFigure::ALL
                    .into_iter()
                    .map(|f| {
                        let rounded = Self::value(row, f).map(|v| significant(v, DIGITS));
                        let number = rounded.and_then(|text| text.parse::<f64>().ok());
                        (f.key().to_owned(), json!(number))
                    })
                    .collect();
                let failure = match &row.result {
                    CaseResult::Done(..) => Value::Null,
                    CaseResult::Failed(why) => json!(why),
                    CaseResult::Missing => json!("not run yet"),
                };
                let verdict = Self::verdict(row).map(|v| {
                    let [metal, sound, supply] = [v.metal.state, v.sound.state, v.supply.state];
                    json!({ "state": v.state, "metal": metal, "sound": sound, "supply": supply })
                });
                json!({
                    "case": row.case,
                    "values": values,
                    "figures": figures,
                    "verdict": verdict,
                    "failure": failure,
                })
            })
            .collect();
        json!({
            "schema": 1,
            "title": self.title,
            "wanted_um": self.wanted_um,
            "axes": self.axes,
            "cases": cases,
        })
    }
}
