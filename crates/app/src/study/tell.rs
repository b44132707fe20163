//! The files of a study, and its words for the terminal.

use super::crew::Read;
use super::options::StudyOptions;
use super::plan::Plan;
use super::store::Store;
use crate::error::AppError;
use crate::files::{json, put};
use crate::version::VERSION;
use ionfall_report::study::{CaseResult, Row, Study, study_html};
use std::path::{Path, PathBuf};

/// A study as far as it has come.
#[derive(Clone, Debug)]
pub struct Studied {
    /// Its folder.
    pub folder: PathBuf,
    /// What was found.
    pub study: ionfall_report::study::Study,
    /// Cases computed now, and the seconds each took.
    pub computed: Vec<(usize, f64)>,
    /// Cases computed at once.
    pub workers: usize,
    /// Seconds of all.
    pub seconds: f64,
    /// Files written.
    pub files: Vec<String>,
}

/// Puts together what is known of the cases of these numbers.
pub(super) fn gather(plan: &Plan, store: &Store, numbers: &[usize], cases: &[Read]) -> Study {
    let rows = numbers.iter().zip(cases).map(|(&number, case)| {
        let result = match case {
            Err(why) => CaseResult::Failed(why.clone()),
            Ok(case) => match store.read(number, case.fingerprint) {
                None => CaseResult::Missing,
                Some(kept) => match (&kept.digest, kept.failure) {
                    (Some(digest), _) => CaseResult::done(digest),
                    (None, why) => CaseResult::Failed(why.unwrap_or_default()),
                },
            },
        };
        Row {
            case: number,
            picks: plan.picks(number),
            result,
        }
    });
    Study {
        title: plan.title.clone(),
        axes: plan.axes.clone(),
        rows: rows.collect(),
        wanted_um: plan.wanted_um,
    }
}

/// Writes the three files.
pub(super) fn write(study: &Study, folder: &Path) -> Result<Vec<String>, AppError> {
    let computed = format!("ionfall {VERSION}. {} cases.", study.rows.len());
    let files = [
        ("study.csv", study.csv()),
        ("study.json", json(&study.json())? + "\n"),
        ("study.html", study_html(study, &computed)?),
    ];
    for (name, content) in &files {
        put(&folder.join(name), content.as_bytes())?;
    }
    Ok(files.iter().map(|(name, _)| (*name).to_owned()).collect())
}

impl Studied {
    /// The answer in plain words.
    pub fn text(&self, options: &StudyOptions) -> String {
        let mut text = self.study.text();
        if let [all @ .., last] = self.computed.as_slice() {
            let sum = all.iter().map(|c| c.1).sum::<f64>() + last.1;
            text += &format!(
                "\n{} cases computed in {:.1} s, {} at once, {:.2} s each.\n",
                self.computed.len(),
                self.seconds,
                self.workers,
                sum / self.computed.len() as f64
            );
        }
        text += &match options.case {
            Some(_) => format!(
                "Kept in {}; `ionfall study` with --merge gathers all cases.\n",
                self.folder.display()
            ),
            None => format!(
                "Files: {}: {}\n",
                self.folder.display(),
                self.files.join(", ")
            ),
        };
        text
    }
}
