//! The files of a search, and its words.

use super::asked::{Asked, Item};
use super::front::Front;
use super::gain::Gain;
use super::goal::Goal;
use super::limit::Limit;
use super::options::ImproveOptions;
use super::path::Path;
use super::search::{Case, Search};
use crate::error::AppError;
use crate::files::{json, put};
use crate::run::Finished;
use ionfall_numerics::number::significant;
use ionfall_report::compare::Prelude;
use ionfall_report::{Digest, KeyFigure, Look, ReportError, chart_svg, folded};
use serde_json::{Value, json as value};
use std::path::{self, PathBuf};

/// Figures that are told of every case, besides that of the goal.
const TOLD: [KeyFigure; 4] = [
    KeyFigure::Thinnest,
    KeyFigure::Evenness,
    KeyFigure::LimitShare,
    KeyFigure::Voltage,
];
/// Picture of a goal against another.
const FRONT: &str = "front.svg";
/// Picture of the search.
const PATH: &str = "path.svg";
/// Digits of figures.
const DIGITS: i32 = 4;
/// A key whose change is worth less than this share of the goal hardly matters.
const HARDLY: f64 = 0.005;

/// What is lost when a key of the best case is put back to where the job had it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Worth {
    /// The case with the key put back, counted from zero.
    pub case: usize,
    /// Did the best case change it at all?
    pub moved: bool,
}

/// What came of a search.
#[derive(Clone, Debug)]
pub struct Improved {
    goal: Goal,
    limits: Vec<Limit>,
    asked: Asked,
    pub(super) cases: Vec<Case>,
    worth: Vec<Worth>,
    /// The best case that keeps to all limits, counted from zero.
    pub(super) best: Option<usize>,
    gain: Option<Gain>,
    front: Option<Front>,
    /// Key figures of the full runs before and after.
    runs: Option<[Digest; 2]>,
    /// Its folder.
    pub folder: PathBuf,
    /// The improved job, if there is one.
    pub job: Option<PathBuf>,
}

impl Improved {
    pub(super) fn new(
        options: &ImproveOptions,
        search: Search<'_>,
        worth: Vec<Worth>,
        folder: PathBuf,
    ) -> Self {
        Self {
            goal: options.goal,
            limits: search.limits.to_vec(),
            asked: search.asked.clone(),
            best: search.best(),
            front: options.against.map(|second| Front::new(&search, second)),
            cases: search.cases,
            worth,
            gain: None,
            runs: None,
            folder,
            job: None,
        }
    }

    /// What the search went through, if it found anything.
    fn path(&self) -> Option<Path<'_>> {
        Some(Path {
            asked: &self.asked,
            goal: self.goal,
            limits: &self.limits,
            cases: &self.cases,
            best: self.best?,
            put_back: self.worth.iter().map(|worth| worth.case).collect(),
        })
    }

    /// The search, for the page that shows before and after.
    pub(super) fn prelude(&self) -> Option<Prelude> {
        Some(self.path()?.prelude(self.runs.as_ref()?))
    }

    /// Weighs the full runs of start and best.
    pub(super) fn judge(&mut self, results: &[Finished]) -> Result<(), AppError> {
        let [before, after] = results else {
            return Ok(());
        };
        let digest = |run: &Finished| {
            Digest::of(&run.summary).map_err(|e| AppError::Report(ReportError::from(e)))
        };
        let runs = [digest(before)?, digest(after)?];
        self.gain = Gain::new(self.goal, [before, after], &runs);
        self.runs = Some(runs);
        Ok(())
    }
}

/// The files of a search: a line a case, and all of it for programs.
pub(super) fn write(
    improved: &Improved,
    folder: &path::Path,
    version: &str,
) -> Result<(), AppError> {
    put(&folder.join("improve.csv"), improved.csv().as_bytes())?;
    if let Some(path) = improved.path() {
        let (chart, dots) = path.chart();
        put(&folder.join(PATH), chart_svg(&chart, &dots).as_bytes())?;
    }
    if let Some(front) = &improved.front {
        put(&folder.join(FRONT), front.svg().as_bytes())?;
    }
    let mut all = improved.json();
    all["version"] = version.into();
    put(
        &folder.join("improve.json"),
        (json(&all)? + "\n").as_bytes(),
    )
}

fn number(x: f64) -> f64 {
    significant(x, DIGITS).parse().unwrap_or(x)
}

impl Improved {
    fn figures(&self) -> Vec<KeyFigure> {
        let goal = self.goal.figure();
        let mut all = vec![goal];
        let limits = self.limits.iter().map(|limit| limit.figure);
        for figure in TOLD.into_iter().chain(limits) {
            // The time is that of the plan, and told where it is the goal.
            if figure != KeyFigure::Time && !all.contains(&figure) && self.has(figure) {
                all.push(figure);
            }
        }
        all
    }

    /// Does any case have a figure?
    fn has(&self, figure: KeyFigure) -> bool {
        let mut found = self
            .cases
            .iter()
            .filter_map(|case| case.found.as_ref().ok());
        found.any(|digest| figure.of(digest).is_some())
    }

    /// A figure of a case; that of the goal as the goal sees it.
    fn figure(&self, digest: &Digest, figure: KeyFigure) -> Option<f64> {
        let value = match figure == self.goal.figure() {
            true => self.goal.value(digest),
            false => figure.of(digest),
        };
        value.map(number)
    }

    fn csv(&self) -> String {
        let figures = self.figures();
        let keys = self.asked.items.iter().map(|item| item.key().to_owned());
        let heads = figures.iter().map(|f| f.key().to_owned());
        let mut lines = vec![(keys.chain(heads).collect::<Vec<_>>(), "kept")];
        for case in &self.cases {
            let digest = case.found.as_ref().ok();
            let told = figures.iter().map(|f| {
                let value = digest.and_then(|digest| self.figure(digest, *f));
                value.map_or_else(String::new, |x| x.to_string())
            });
            let kept = match (&case.found, case.cost(self.goal, &self.limits)) {
                (Err(_), _) => "failed",
                (Ok(_), Some(_)) => "yes",
                (Ok(_), None) => "no",
            };
            lines.push((case.values.iter().cloned().chain(told).collect(), kept));
        }
        let mut text = String::new();
        for (n, (row, kept)) in lines.into_iter().enumerate() {
            let case = if n == 0 { "case".into() } else { n.to_string() };
            text += &format!("{case},{},{kept}\n", row.join(","));
        }
        text
    }

    /// All of it, for programs.
    pub fn json(&self) -> Value {
        let figures = |digest: &Digest| -> Value {
            let pairs = self.figures().into_iter();
            pairs
                .map(|f| (f.key().to_owned(), value!(self.figure(digest, f))))
                .collect::<serde_json::Map<_, _>>()
                .into()
        };
        let values = |case: &Case| -> Value {
            let pairs = self.asked.items.iter().zip(&case.values);
            pairs
                .map(|(item, v)| (item.key().to_owned(), value!(v)))
                .collect::<serde_json::Map<_, _>>()
                .into()
        };
        let cases = self.cases.iter().map(|case| match &case.found {
            Ok(digest) => value!({ "values": values(case), "figures": figures(digest),
                "within_limits": case.cost(self.goal, &self.limits).is_some() }),
            Err(why) => value!({ "values": values(case), "failure": why }),
        });
        let worth = self
            .asked
            .items
            .iter()
            .zip(&self.worth)
            .map(|(item, worth)| {
                let back = self.cases[worth.case].found.as_ref().ok();
                let figure = back.and_then(|d| self.figure(d, self.goal.figure()));
                value!({ "key": item.key(), "moved": worth.moved, "without_it": figure })
            });
        value!({
            "goal": self.goal.figure().key(),
            "limits": self.limits.iter().map(|limit| value!({ "figure": limit.figure.key(),
                "most": limit.most })).collect::<Vec<_>>(),
            "cases": cases.collect::<Vec<_>>(),
            "best": self.best.map(|n| n + 1),
            "worth": worth.collect::<Vec<_>>(),
            "before": self.runs.as_ref().map(|runs| figures(&runs[0])),
            "after": self.runs.as_ref().map(|runs| figures(&runs[1])),
            "gain": self.gain.map(|gain| value!({ "share": gain.change(),
                "plus_minus_share": gain.open, "sure": gain.is_sure() })),
            "front": self.front.as_ref().map(Front::json),
            "job": self.job.as_ref().map(|job| job.display().to_string()),
        })
    }

    /// 0, or 3 if the job as it stands could not be computed.
    pub fn exit_code(&self) -> u8 {
        match self.cases.first() {
            Some(case) if case.found.is_ok() => 0,
            _ => 3,
        }
    }

    /// What was found in plain words; the sentence to act on comes last.
    pub fn text(&self, look: Look<'_>) -> String {
        let mut text = self.table();
        text += "\n";
        for line in [
            self.asked(),
            self.weighed(),
            self.mattered(),
            self.sentence(),
        ] {
            if !line.is_empty() {
                text += &format!("{}\n", folded(&line, look.width).join("\n"));
            }
        }
        text
    }

    fn asked(&self) -> String {
        let frees = self.asked.items.iter().map(Item::text);
        let limits = self.limits.iter().filter(|limit| self.has(limit.figure));
        let asked: Vec<String> = limits
            .map(|limit| {
                let (unit, label) = (limit.figure.unit(), limit.figure.label());
                format!("{label} at most {} {unit}", number(limit.most))
            })
            .collect();
        let all: Vec<String> = frees.chain(asked).collect();
        format!("Asked: {}; {} cases.", all.join(", "), self.cases.len())
    }

    /// What one goal costs of the other.
    fn weighed(&self) -> String {
        let Some(front) = &self.front else {
            return String::new();
        };
        let picture = self.folder.join(FRONT);
        format!("{} Drawn in {}.", front.text(), picture.display())
    }

    /// The cases, a line each.
    fn table(&self) -> String {
        let figures = self.figures();
        let mut rows = vec![{
            let keys = self.asked.items.iter().map(|item| item.key().to_owned());
            let heads = figures.iter().map(|f| f.title());
            let first = std::iter::once("case".to_owned());
            first.chain(keys).chain(heads).collect::<Vec<_>>()
        }];
        for (n, case) in self.cases.iter().enumerate() {
            let digest = case.found.as_ref().ok();
            let mut row = vec![(n + 1).to_string()];
            row.extend(case.values.iter().cloned());
            row.extend(figures.iter().map(|f| {
                let value = digest.and_then(|digest| self.figure(digest, *f));
                value.map_or_else(|| "-".to_owned(), |x| x.to_string())
            }));
            row.push(match (&case.found, case.cost(self.goal, &self.limits)) {
                (Err(why), _) => why.clone(),
                (Ok(_), None) => "beyond a limit".into(),
                _ if Some(n) == self.best => "best".into(),
                _ => String::new(),
            });
            rows.push(row);
        }
        let columns = rows[0].len();
        let widths: Vec<usize> = (0..columns)
            .map(|c| {
                rows.iter()
                    .map(|row| row[c].chars().count())
                    .max()
                    .unwrap_or(0)
            })
            .collect();
        let mut text = String::new();
        for row in &rows {
            let cells = row
                .iter()
                .zip(&widths)
                .map(|(cell, w)| format!("{cell:>w$}"));
            let tail = row.get(columns).map_or("", String::as_str);
            let line = format!("{}  {tail}", cells.collect::<Vec<_>>().join("  "));
            text += &format!("{}\n", line.trim_end());
        }
        text
    }

    /// What each key is worth.
    fn mattered(&self) -> String {
        let goal = self.goal.figure();
        let best = self.best.and_then(|n| self.cases[n].found.as_ref().ok());
        let Some(best) = best.and_then(|digest| self.figure(digest, goal)) else {
            return String::new();
        };
        let mut currents = 0;
        let told = self.asked.items.iter().zip(&self.worth);
        let told = told.filter_map(|(item, worth)| {
            let key = match item {
                Item::Current(..) => {
                    currents += 1;
                    "the currents"
                }
                _ => item.key(),
            };
            // All currents are put back together.
            (currents < 2 || key != "the currents").then_some((key, worth))
        });
        let told = told.map(|(key, worth)| {
            if !worth.moved {
                return format!("{key} stays as it was");
            }
            let back = self.cases[worth.case].found.as_ref().ok();
            match back.and_then(|digest| self.figure(digest, goal)) {
                Some(value) if (value / best - 1.0).abs() < HARDLY => {
                    format!("{key} hardly matters")
                }
                Some(value) => format!("without the change of {key} {value}"),
                None => format!("without the change of {key} nothing can be computed"),
            }
        });
        let told: Vec<String> = told.collect();
        match told.is_empty() {
            true => String::new(),
            false => format!("Of {} {best}: {}.", goal.label(), told.join("; ")),
        }
    }

    /// What to do.
    fn sentence(&self) -> String {
        let failed = self
            .cases
            .first()
            .and_then(|case| case.found.as_ref().err());
        if let Some(why) = failed {
            return format!("The job as it stands cannot be computed: {why}.");
        }
        let Some(best) = self.best else {
            return "No case keeps to the limits, the job as it stands included; widen the ranges, or \
                    allow more."
                .into();
        };
        if best == 0 {
            return "Nothing better was found than the job as it stands.".into();
        }
        let changes = self.asked.items.iter().zip(&self.cases[best].values);
        let changes: Vec<String> = changes
            .map(|(item, v)| format!("{} {v}", item.key()))
            .collect();
        let (Some(gain), Some(job)) = (self.gain, &self.job) else {
            return String::new();
        };
        let figure = self.goal.figure();
        let [before, after] = gain.values.map(number);
        let unit = figure.unit();
        let open = gain.open.map_or_else(
            || ", its plus-minus not known".to_owned(),
            |open| format!(" +- {} %", significant(100.0 * open, 2)),
        );
        let change = significant(100.0 * gain.change(), 3);
        let told = format!("{} {before} -> {after} {unit}", figure.label());
        let told = format!("{}, by {change} %{open}", told.trim_end());
        if !gain.is_sure() {
            return format!(
                "No gain for certain ({told}): leave the job as it is, or ask again on smaller cells."
            );
        }
        format!(
            "Change: {}; {told}{}. The job with it is {}; before and after are in {}.",
            changes.join(", "),
            self.given_up(),
            job.display(),
            self.folder.join("improve.html").display()
        )
    }

    /// What gets worse by the change: volts, energy, hours, metal, share of the limiting current.
    fn given_up(&self) -> String {
        let Some([before, after]) = &self.runs else {
            return String::new();
        };
        let costs = [
            KeyFigure::Voltage,
            KeyFigure::LimitShare,
            KeyFigure::Time,
            KeyFigure::AnodeDensity,
            KeyFigure::Energy,
            KeyFigure::Metal,
        ];
        let worse = costs.into_iter().filter(|f| *f != self.goal.figure());
        let worse = worse.filter_map(|f| {
            let (a, b) = f.of(before).zip(f.of(after))?;
            let told = || format!("{} {} -> {} {}", f.label(), number(a), number(b), f.unit());
            (b > a * (1.0 + HARDLY)).then(told)
        });
        let worse: Vec<String> = worse.collect();
        match worse.is_empty() {
            true => String::new(),
            false => format!(", at the price of {}", worse.join(", ")),
        }
    }
}
