//! Jobs: read, surveyed and described; some of them computed.

use crate::mutate;
use crate::trial::mutants;
use ionfall_app::{PlusMinus, RunOptions, check_job, run_job, silent};
use ionfall_job::{describe, keys, parse};
use ionfall_mesh::grid::Survey;
use ionfall_model::Model;
use ionfall_report::Look;
use miette::Diagnostic;
use std::fs;
use std::path::{Path, PathBuf};

/// Memory a mutant may take, bytes.
const MEMORY: u64 = 64 << 20;
/// Cells of the largest job that is computed.
const FEW_CELLS: u64 = 1500;

/// Sound jobs: all shipped ones and those of the tests.
fn sound() -> Vec<(PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut list = Vec::new();
    for folder in [
        "examples/medal",
        "examples/plaque",
        "examples/graphite",
        "examples/comparison",
        "examples/textbook",
        "tests/cli/jobs",
        "tests/bath/jobs",
    ] {
        let entries = fs::read_dir(root.join(folder)).expect("a folder of jobs");
        for path in entries.map(|e| e.expect("an entry").path()) {
            if path.extension().is_some_and(|e| e == "toml") {
                list.push((root.join(folder), fs::read_to_string(path).expect("a job")));
            }
        }
    }
    list.sort();
    assert!(list.len() > 40, "{}", list.len());
    list
}

fn words() -> Vec<String> {
    let name = |key: &str| {
        key.rsplit('.')
            .next()
            .unwrap_or(key)
            .trim_matches(['[', ']'])
            .to_owned()
    };
    keys()
        .iter()
        .map(|k| format!("{} = ", name(&k.key)))
        .collect()
}

/// Is there something in an answer that is no number? Names, which stand in backticks, may be anything.
fn is_sane(text: &str) -> bool {
    let own: String = text.split('`').step_by(2).collect();
    !own.split(|c: char| !c.is_ascii_alphanumeric())
        .any(|word| matches!(word, "NaN" | "nan" | "inf"))
}

fn surveyed(text: &str, folder: &Path) -> Result<Option<(Model, Survey)>, String> {
    let model = match parse("job.toml", text, folder) {
        Ok(model) => model,
        Err(faults) => {
            let mute = |f: &&ionfall_job::Fault| {
                f.message.is_empty() || f.help.as_ref().is_none_or(|h| h.is_empty())
            };
            if faults.list().is_empty() || faults.list().iter().any(|f| mute(&f)) {
                return Err(format!("no reason or no way out: {faults:?}"));
            }
            let shown = faults.render();
            return match shown.len() < 100_000 && !shown.contains('\u{1b}') {
                true => Ok(None),
                false => Err(format!("{} bytes of faults", shown.len())),
            };
        }
    };
    let survey = match model.geometry.survey(MEMORY) {
        Ok(survey) => survey,
        Err(error) if error.to_string().len() < 20 => return Err(format!("too short: {error}")),
        Err(_) => return Ok(None),
    };
    // What the job itself says may be anything; figures may not.
    let figures = describe(
        &Model {
            title: String::new(),
            ..model.clone()
        },
        &survey.areas_m2,
    );
    match is_sane(&figures) {
        true => Ok(Some((model, survey))),
        false => Err(format!("no number: {figures}")),
    }
}

#[test]
fn jobs_are_taken_or_refused() {
    let (sound, words) = (sound(), words());
    let make = |dice: &mut mutate::Dice| {
        let (_, job) = dice.one(&sound);
        mutate::text(dice, job, &words).into_bytes()
    };
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/medal");
    mutants("jobs", 100, make, |mutant, _| {
        let text = String::from_utf8_lossy(mutant);
        surveyed(&text, &folder).map(|_| ())
    });
}

#[test]
fn small_jobs_are_computed_or_refused() {
    let (sound, words) = (sound(), words());
    let small: Vec<&String> = sound
        .iter()
        .filter(|(_, job)| !job.contains("coat") && !job.contains("file"))
        .map(|(_, job)| job)
        .collect();
    let make = |dice: &mut mutate::Dice| {
        let job: &String = small[dice.pick(small.len())];
        mutate::text(dice, job, &words).into_bytes()
    };
    mutants("runs", 10, make, |mutant, kept| {
        let text = String::from_utf8_lossy(mutant);
        match surveyed(&text, kept)? {
            Some((model, survey)) if survey.cells < FEW_CELLS && !model.geometry.is_coated() => {}
            _ => return Ok(()),
        }
        let job = kept.join("job.toml");
        fs::write(&job, text.as_bytes()).map_err(|e| e.to_string())?;
        let taken = check_job(&job).is_ok();
        match computed(&job, &kept.join("out"))? {
            Some(2) if taken => Err("refused by a run, not by a check".into()),
            _ => Ok(()),
        }
    });
}

/// Runs a job into a folder: answers in numbers, or a refusal with a way out, whose exit code it gives.
fn computed(job: &Path, out: &Path) -> Result<Option<u8>, String> {
    let _ = fs::remove_dir_all(out);
    let options = RunOptions {
        out: Some(out.into()),
        threads: 1,
        memory_bytes: Some(MEMORY),
        plus_minus: PlusMinus::Never,
        ..RunOptions::default()
    };
    match run_job(job, &options, &silent()) {
        Ok(finished) if is_sane(&finished.text(Look::default())) => Ok(None),
        Ok(finished) => Err(format!("no number: {}", finished.text(Look::default()))),
        Err(error) if error.help().is_none() && error.to_string().len() < 40 => {
            Err(format!("no way out: {error}"))
        }
        Err(error) => Ok(Some(error.exit_code())),
    }
}

/// What was found once stays found: every job of the corpus is refused, or described and, if it is small,
/// computed in numbers.
#[test]
fn the_corpus_of_jobs() {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/hostile/corpus");
    let room = tempfile::tempdir().expect("a folder");
    let (mut count, mut run) = (0, 0);
    for entry in fs::read_dir(&corpus).expect("the corpus") {
        let path = entry.expect("an entry").path();
        let text = fs::read_to_string(&path).expect("a job");
        let wrong = |wrong: String| -> ! { panic!("{}: {wrong}", path.display()) };
        match surveyed(&text, &corpus) {
            Ok(Some((_, survey))) if survey.cells < 10 * FEW_CELLS => {
                computed(&path, &room.path().join("out")).unwrap_or_else(|why| wrong(why));
                run += 1;
            }
            Ok(_) => {}
            Err(why) => wrong(why),
        }
        if let Err(error) = check_job(&path) {
            assert!((2..=4).contains(&error.exit_code()), "{}", path.display());
        }
        count += 1;
    }
    assert!(count >= 50 && run >= 3, "{count} jobs, {run} of them run");
}
