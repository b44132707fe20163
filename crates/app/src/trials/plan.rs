//! All cases of trials: the full product of the axes, the last one running fastest.

use super::vary::axis;
use crate::error::AppError;
use crate::version::VERSION;
use ionfall_job::{JobError, with_values};
use ionfall_model::{Geometry, Model, Parts};
use ionfall_report::trials::Axis;
use std::fmt::{self, Write};
use std::path::{Path, PathBuf};

/// Most cases of trials.
const MOST: usize = 100_000;

/// Trials in the making.
#[derive(Debug)]
pub(super) struct Plan {
    pub title: String,
    pub wanted_um: Option<f64>,
    pub axes: Vec<Axis>,
    text: String,
    job: PathBuf,
    /// Fingerprint of case 1, from which all others begin.
    first: u64,
}

impl Plan {
    /// Reads the job and what is to be varied.
    pub fn new(job: &Path, vary: &[String]) -> Result<Self, AppError> {
        let base = ionfall_job::read(job)?;
        let axes: Vec<Axis> = vary.iter().map(|v| axis(v)).collect::<Result<_, _>>()?;
        let cases = axes
            .iter()
            .try_fold(1_usize, |n, axis| n.checked_mul(axis.values.len()));
        if cases.is_none_or(|n| n > MOST) {
            return Err(AppError::TooManyCases { most: MOST });
        }
        let text = std::fs::read_to_string(job).map_err(|source| JobError::Read {
            path: job.into(),
            source,
        })?;
        let mut plan = Self {
            title: base.title,
            wanted_um: base.wanted.map(|w| 1e6 * w.thickness_m),
            axes,
            text,
            job: job.into(),
            first: 0,
        };
        // A key that is not there is wrong in every case.
        with_values(&plan.text, &plan.values(1))?;
        plan.first = plan.model(1).map_or(0, |m| m.fingerprint);
        Ok(plan)
    }

    /// How many cases there are.
    pub fn cases(&self) -> usize {
        self.axes.iter().map(|a| a.values.len()).product()
    }

    /// Number of the value of a case on each axis.
    pub fn picks(&self, case: usize) -> Vec<usize> {
        let mut rest = case - 1;
        let mut picks: Vec<usize> = self
            .axes
            .iter()
            .rev()
            .map(|axis| {
                let pick = rest % axis.values.len();
                rest /= axis.values.len();
                pick
            })
            .collect();
        picks.reverse();
        picks
    }

    /// Keys and values of a case.
    fn values(&self, case: usize) -> Vec<(String, String)> {
        let picks = self.picks(case);
        let pairs = self.axes.iter().zip(picks);
        pairs
            .map(|(axis, pick)| (axis.key.clone(), axis.values[pick].clone()))
            .collect()
    }

    /// The job of a case.
    pub fn model(&self, case: usize) -> Result<Model, AppError> {
        let text = with_values(&self.text, &self.values(case))?;
        model_of(&self.job, case, &text)
    }

    /// Reads the job of a case; what is wrong with it, in one line.
    pub fn case(&self, number: usize) -> Result<Case, String> {
        let model = self.model(number).map_err(|e| e.in_one_line())?;
        Ok(Case::new(number, &model, self.first))
    }
}

/// The model of a case of a job, from its text; files that it names lie beside the job.
pub(crate) fn model_of(job: &Path, case: usize, text: &str) -> Result<Model, AppError> {
    let folder = job.parent().unwrap_or(Path::new(""));
    let name = format!("{} (case {case})", job.display());
    ionfall_job::parse(&name, text, folder)
        .map_err(|faults| AppError::Job(JobError::Faults(Box::new(faults))))
}

/// A case whose job is right.
#[derive(Clone, Debug)]
pub(crate) struct Case {
    pub number: usize,
    /// Of all that the grid depends on.
    pub geometry: u64,
    /// Of all that the result depends on.
    pub fingerprint: u64,
    /// Are there coats? Then the potentials at the end are no start for others.
    pub coated: bool,
}

impl Case {
    /// The case of a number; `first` is the fingerprint of the job of case 1.
    pub fn new(number: usize, model: &Model, first: u64) -> Self {
        // What the result depends on: the job of the case, that of case 1, this program.
        let mut mixed = Mixed(first);
        // Writing into a hash does not fail.
        let _ = write!(mixed, "{VERSION} {:x}", model.fingerprint);
        Self {
            number,
            geometry: geometry_fingerprint(model),
            fingerprint: mixed.0,
            coated: model.geometry.is_coated(),
        }
    }
}

/// What a grid depends on.
fn geometry_fingerprint(model: &Model) -> u64 {
    fn of<const D: usize>(parts: &Parts<D>) -> u64 {
        let mut mixed = Mixed(D as u64);
        // Numbers are written so that no two are the same.
        let _ = write!(mixed, "{:?}", parts.domain);
        mixed.0
    }
    match &model.geometry {
        Geometry::Flat(parts) => of(parts),
        Geometry::Solid(parts) => of(parts),
    }
}

/// FNV-1a, 64 bits, of what is written.
struct Mixed(u64);

impl fmt::Write for Mixed {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        const BASIS: u64 = 0xcbf2_9ce4_8422_2325;
        const PRIME: u64 = 0x0100_0000_01b3;
        self.0 = text.bytes().fold(self.0 ^ BASIS, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(PRIME)
        });
        Ok(())
    }
}
