//! Files of earlier runs: the progress of one that was stopped, and summaries.

use crate::mutate;
use crate::trial::mutants;
use ionfall_app::{CompareOptions, PlusMinus, RunOptions, compare, run_job, silent};
use ionfall_report::Look;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const PLATES: &str = include_str!("../cli/jobs/plates.toml");
const STRIP: &str = include_str!("../cli/jobs/coated-strip.toml");

fn options(out: &Path, resume: bool) -> RunOptions {
    RunOptions {
        out: Some(out.into()),
        threads: 1,
        resume,
        plus_minus: PlusMinus::Never,
        ..RunOptions::default()
    }
}

/// The progress of a run that was killed.
fn progress(job: &Path, out: &Path) -> Vec<u8> {
    let mut child = Command::new(env!("CARGO_BIN_EXE_ionfall"))
        .arg("run")
        .arg(job)
        .arg("--out")
        .arg(out)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("a run");
    let file = out.join("progress.ionfall");
    let clock = Instant::now();
    while !file.exists() && clock.elapsed() < Duration::from_secs(60) {
        std::thread::sleep(Duration::from_millis(2));
    }
    child.kill().expect("killed");
    child.wait().expect("gone");
    fs::read(&file).expect("the run keeps its progress")
}

/// Makes length and sum of the state right again, so that the state itself is looked at.
fn sealed(mut bytes: Vec<u8>) -> Vec<u8> {
    const HEAD: usize = 36;
    if bytes.len() < HEAD + 4 {
        return bytes;
    }
    let end = bytes.len() - 4;
    let length = (end - HEAD) as u64;
    bytes[HEAD - 8..HEAD].copy_from_slice(&length.to_le_bytes());
    let sum = crc32fast::hash(&bytes[HEAD..end]).to_le_bytes();
    bytes[end..].copy_from_slice(&sum);
    bytes
}

#[test]
fn progress_is_taken_or_refused() {
    let room = tempfile::tempdir().expect("a folder");
    let job = room.path().join("job.toml");
    // On few cells, for it goes on with each of the mutants.
    let coarse = STRIP.replace("finest = \"0.5 mm\"", "finest = \"2 mm\"");
    fs::write(&job, coarse).expect("the job");
    let sound = progress(&job, &room.path().join("killed"));
    let make = |dice: &mut mutate::Dice| {
        let bad = mutate::bytes(dice, &sound);
        if dice.pick(4) == 0 { bad } else { sealed(bad) }
    };
    mutants("progress", 3, make, |mutant, _| {
        let out = room.path().join("out");
        let _ = fs::remove_dir_all(&out);
        fs::create_dir_all(&out).map_err(|e| e.to_string())?;
        fs::write(out.join("progress.ionfall"), mutant).map_err(|e| e.to_string())?;
        match run_job(&job, &options(&out, true), &silent()) {
            Ok(finished) if finished.text(Look::default()).contains("NaN") => {
                Err("no number".into())
            }
            Err(error) if !(2..=4).contains(&error.exit_code()) => Err(error.to_string()),
            _ => Ok(()),
        }
    });
}

#[test]
fn summaries_are_taken_or_refused() {
    let room = tempfile::tempdir().expect("a folder");
    let job = room.path().join("job.toml");
    fs::write(&job, PLATES).expect("the job");
    let [sound, bad] = ["sound", "bad"].map(|name| room.path().join(name));
    run_job(&job, &options(&sound, false), &silent()).expect("a run");
    let summary = fs::read(sound.join("summary.json")).expect("its summary");
    let text = String::from_utf8_lossy(&summary).into_owned();
    fs::create_dir(&bad).expect("a folder");
    let make = |dice: &mut mutate::Dice| match dice.pick(3) {
        0 => mutate::bytes(dice, &summary),
        _ => mutate::text(dice, &text, &[]).into_bytes(),
    };
    mutants("summaries", 20, make, |mutant, _| {
        fs::write(bad.join("summary.json"), mutant).map_err(|e| e.to_string())?;
        let asked = CompareOptions {
            what: vec![sound.clone(), bad.clone()],
            out: room.path().join("compare.html"),
            threads: 1,
            prelude: None,
        };
        match compare(&asked, &silent()) {
            Ok(compared) if compared.comparison.text(Look::default()).contains("NaN") => {
                Err("no number".into())
            }
            Err(error) if !(2..=4).contains(&error.exit_code()) => Err(error.to_string()),
            _ => Ok(()),
        }
    });
}
