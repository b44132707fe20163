//! Many scenes: the asserted ones, and tables with a summary.
//!
//! `SCENES=100..200` chooses seeds, `KIND=thin` one kind of part (`SCENES` then still counts all
//! seeds). Several processes with seeds of their own may run side by side; each line stands alone.

use crate::check::{Findings, WRONG, findings};
use crate::scene::{Kind, Scene};
use std::ops::Range;

/// Seeds of the environment, or these.
pub fn seeds(default: Range<u64>) -> Vec<u64> {
    let range = match std::env::var("SCENES") {
        Ok(text) => {
            let (from, to) = text.split_once("..").expect("SCENES=FROM..TO");
            from.parse().expect("a seed")..to.parse().expect("a seed")
        }
        Err(_) => default,
    };
    let kind = std::env::var("KIND").ok().map(|k| k.to_lowercase());
    let chosen = |seed: &u64| {
        let word = format!("{:?}", Scene::random(*seed).kind).to_lowercase();
        kind.as_ref().is_none_or(|k| *k == word)
    };
    range.filter(chosen).collect()
}

/// A share of a sorted list lies below this.
pub fn quantile(sorted: &[f64], share: f64) -> f64 {
    let last = sorted.len().saturating_sub(1);
    sorted
        .get((share * last as f64).round() as usize)
        .copied()
        .unwrap_or(f64::NAN)
}

/// Middle, 9 in 10, 99 in 100, largest; what is no number counts as largest.
pub fn spread(mut values: Vec<f64>) -> String {
    values.sort_by(f64::total_cmp);
    let at = |share| format!("{:.1e}", quantile(&values, share));
    [0.5, 0.9, 0.99, 1.0].map(at).join(" ")
}

fn line(scene: &Scene, found: &Result<Findings, String>) -> String {
    let head = format!("scene {:>4} {:<9}", scene.seed, format!("{:?}", scene.kind));
    match found {
        Err(error) => format!("{head} UNSOLVED {error} | {}", scene.says),
        Ok(f) => format!(
            "{head} {} cells {:>6} facets {:>5} newton {:>2} cycles {:>3} wrong {:.1e} {:.1e} beyond \
             {:.1e} least/mean {:>9.2e} at {:.2?} mm notes {:?} {:.2} s | {}",
            if f.faults().is_empty() {
                "ok   "
            } else {
                "FALSE"
            },
            f.cells,
            f.facets,
            f.newton,
            f.cycles,
            f.wrong[0],
            f.wrong[1],
            f.beyond,
            f.least_m / f.mean_m,
            f.place_mm,
            f.notes,
            f.seconds,
            scene.says,
        ),
    }
}

type Found = (Scene, Result<Findings, String>);

fn summary(all: &[Found]) {
    eprintln!(
        "\nkind       scenes unsolved wrong way at work, anodes  beyond  thinnest  any fault"
    );
    for kind in Kind::ALL {
        let own: Vec<&Found> = all.iter().filter(|(s, _)| s.kind == kind).collect();
        let solved: Vec<&Findings> = own.iter().filter_map(|(_, f)| f.as_ref().ok()).collect();
        let count = |is: &dyn Fn(&Findings) -> bool| solved.iter().filter(|f| is(f)).count();
        let unsolved = own.len() - solved.len();
        eprintln!(
            "{:<10} {:>6} {unsolved:>8} {:>17} {:>7} {:>7} {:>9} {:>10}",
            format!("{kind:?}"),
            own.len(),
            count(&|f| f.wrong[0].is_nan() || f.wrong[0] > WRONG),
            count(&|f| f.wrong[1].is_nan() || f.wrong[1] > WRONG),
            count(&|f| f.beyond > crate::check::BEYOND),
            count(&|f| f.is_too_thin()),
            unsolved + count(&|f| !f.faults().is_empty()),
        );
    }
    let solved: Vec<&Findings> = all.iter().filter_map(|(_, f)| f.as_ref().ok()).collect();
    let of = |value: &dyn Fn(&Findings) -> f64| spread(solved.iter().map(|f| value(f)).collect());
    eprintln!("middle, 9 in 10, 99 in 100, largest");
    eprintln!("  wrong way at work   {}", of(&|f| f.wrong[0]));
    eprintln!("  wrong way at anodes {}", of(&|f| f.wrong[1]));
    eprintln!("  beyond the metals   {}", of(&|f| f.beyond));
    eprintln!("  Newton steps        {}", of(&|f| f.newton as f64));
    eprintln!("  cycles              {}", of(&|f| f.cycles as f64));
    eprintln!(
        "  us a cell           {}",
        of(&|f| 1e6 * f.seconds / f.cells as f64)
    );
    let bad = |f: &Found| {
        f.1.as_ref()
            .map_or(f64::INFINITY, |g| g.wrong[0].max(g.wrong[1]))
    };
    let mut worst: Vec<&Found> = all.iter().filter(|f| bad(f) > WRONG).collect();
    worst.sort_by(|a, b| bad(b).total_cmp(&bad(a)));
    eprintln!("\nworst ({} of {}):", worst.len(), all.len());
    for (scene, found) in worst.into_iter().take(30) {
        eprintln!("{}", line(scene, found));
    }
}

fn all(seeds: Vec<u64>, tell: bool) -> Vec<Found> {
    let run = |seed| {
        let scene = Scene::random(seed);
        let found = findings(&scene);
        if tell {
            eprintln!("{}", line(&scene, &found));
        }
        (scene, found)
    };
    seeds.into_iter().map(run).collect()
}

/// Every scene has a solution, and it is one that physics allows.
#[test]
fn scenes_are_solved_and_sound() {
    let found = all((0..45).collect(), false);
    let faults: Vec<String> = found
        .iter()
        .filter(|(_, f)| f.as_ref().map_or(true, |f| !f.faults().is_empty()))
        .map(|(scene, f)| match f {
            Ok(g) => format!("{} | {}", line(scene, f), g.faults().join("; ")),
            Err(_) => line(scene, f),
        })
        .collect();
    assert!(
        faults.is_empty(),
        "{} of {} scenes:\n{}",
        faults.len(),
        found.len(),
        faults.join("\n")
    );
}

/// Lines and a summary for the seeds of the environment.
#[test]
#[ignore = "a long table, to be read"]
fn table() {
    let found = all(seeds(0..90), true);
    assert!(!found.is_empty(), "no scene of that kind");
    summary(&found);
    let faulty = |f: &&Found| f.1.as_ref().map_or(true, |g| !g.faults().is_empty());
    let count = found.iter().filter(faulty).count();
    assert_eq!(count, 0, "of {} scenes", found.len());
}
