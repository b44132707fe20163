//! Looking at mutants for a time, or at a number of them.

use crate::mutate::Dice;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Longest that one mutant may take.
const LONGEST: Duration = Duration::from_secs(20);

fn number(name: &str) -> Option<f64> {
    std::env::var(name).ok()?.parse().ok()
}

/// How many are asked for; `else_least` if nobody has said.
pub fn count(else_least: usize) -> usize {
    number("HOSTILE_COUNT").map_or(else_least, |n| n as usize)
}

/// The seed of all dice.
pub fn seed() -> u64 {
    number("HOSTILE_SEED").unwrap_or(1.0) as u64
}

/// Looks at mutants until the time is over, at least at `least`, or at as many as are asked for: `make` makes
/// one, `look` says what is wrong with the way it was taken. Fails with all that was found.
pub fn mutants(
    kind: &str,
    least: usize,
    make: impl Fn(&mut Dice) -> Vec<u8>,
    look: impl Fn(&[u8], &Path) -> Result<(), String>,
) {
    let counted = number("HOSTILE_COUNT").map_or(1.0, |_| 0.0);
    let (least, seconds) = (count(least), number("HOSTILE_SECONDS").unwrap_or(counted));
    let seed = seed();
    let kept = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("hostile-{kind}"));
    fs::create_dir_all(&kept).expect("a folder for mutants");
    let last = kept.join("last");
    eprintln!(
        "{kind}: the mutant that is looked at lies in {}",
        last.display()
    );
    let clock = Instant::now();
    let mut found: Vec<String> = Vec::new();
    let (mut count, mut slowest) = (0, Duration::ZERO);
    while count < least || clock.elapsed().as_secs_f64() < seconds {
        count += 1;
        let number = seed * 1_000_000_000 + count as u64;
        let mutant = make(&mut Dice::new(number));
        fs::write(&last, &mutant).expect("a file for the mutant");
        let begun = Instant::now();
        let wrong = match catch_unwind(AssertUnwindSafe(|| look(&mutant, &kept))) {
            Err(_) => Some("panic".to_owned()),
            Ok(Err(wrong)) => Some(wrong),
            Ok(Ok(())) => None,
        };
        let took = begun.elapsed();
        slowest = slowest.max(took);
        let wrong = wrong.or_else(|| (took > LONGEST).then(|| format!("took {took:?}")));
        if let Some(wrong) = wrong {
            let file: PathBuf = kept.join(format!("mutant-{number}"));
            fs::copy(&last, &file).expect("a copy of the mutant");
            found.push(format!("{}: {wrong}", file.display()));
        }
    }
    eprintln!(
        "{kind}: {count} mutants in {:.1} s, the slowest in {:.2} s; {} wrong",
        clock.elapsed().as_secs_f64(),
        slowest.as_secs_f64(),
        found.len()
    );
    assert!(
        found.is_empty(),
        "{} of {count} {kind}:\n{}",
        found.len(),
        found.join("\n")
    );
}
