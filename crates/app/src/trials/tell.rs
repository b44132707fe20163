//! The files of trials, and its words for the terminal.

use super::options::TrialsOptions;
use super::plan::Plan;
use super::store::Store;
use super::workers::Read;
use crate::error::AppError;
use crate::files::{json, put};
use crate::version::VERSION;
use ionfall_report::trials::{CaseResult, Row, Trials, trials_html};
use ionfall_report::{Look, folded};
use std::path::{Path, PathBuf};

/// Trials as far as they have come.
#[derive(Clone, Debug)]
pub struct Tried {
    /// Its folder.
    pub folder: PathBuf,
    /// What was found.
    pub trials: ionfall_report::trials::Trials,
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
pub(super) fn gather(plan: &Plan, store: &Store, numbers: &[usize], cases: &[Read]) -> Trials {
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
    Trials {
        title: plan.title.clone(),
        axes: plan.axes.clone(),
        rows: rows.collect(),
        wanted_um: plan.wanted_um,
    }
}

/// Writes the three files.
pub(super) fn write(trials: &Trials, folder: &Path) -> Result<Vec<String>, AppError> {
    let computed = format!("ionfall {VERSION}. {} cases.", trials.rows.len());
    let files = [
        ("trials.csv", trials.csv()),
        ("trials.json", json(&trials.json())? + "\n"),
        ("trials.html", trials_html(trials, &computed)?),
    ];
    for (name, content) in &files {
        put(&folder.join(name), content.as_bytes())?;
    }
    Ok(files.iter().map(|(name, _)| (*name).to_owned()).collect())
}

impl Tried {
    /// 0, or, if all cases failed, 3: nothing was solved.
    pub fn exit_code(&self) -> u8 {
        if self.trials.all_failed() { 3 } else { 0 }
    }

    /// What was found in plain words; at the end the sentence that can be hung up in the shop.
    pub fn text(&self, options: &TrialsOptions, look: Look<'_>) -> String {
        let mut text = self.trials.text(look);
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
                "Kept in {}; `ionfall trials` with --merge gathers all cases.\n",
                self.folder.display()
            ),
            None => format!(
                "{} files in {}; open trials.html in a browser.\n",
                self.files.len(),
                self.folder.display()
            ),
        };
        if options.case.is_none() {
            text += &format!(
                "\n{}\n",
                folded(&self.trials.sentence(), look.width).join("\n")
            );
        }
        text
    }
}
