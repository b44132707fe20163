//! Scenes on their own cells against the same scenes on cells a third as large.

use crate::check::{Findings, findings};
use crate::scene::Scene;
use crate::table::{seeds, spread};

/// How much smaller the cells of the reference are.
const FINER: f64 = 3.0;

#[test]
#[ignore = "minutes, to be read"]
fn reference_table() {
    let [mut total, mut mean, mut least] = [const { Vec::new() }; 3];
    let (mut unsolved, mut faulty) = (0, 0);
    for seed in seeds(0..20) {
        let scene = Scene::random(seed).at_volts(1.0);
        let (coarse, fine) = (findings(&scene), findings(&scene.clone().finer(FINER)));
        let (Ok(a), Ok(b)) = (&coarse, &fine) else {
            unsolved += 1;
            let why = coarse.err().or(fine.err());
            eprintln!("reference {seed:>4} {:?} UNSOLVED {why:?}", scene.kind);
            continue;
        };
        let errors = [
            a.current_a / b.current_a - 1.0,
            a.mean_m / b.mean_m - 1.0,
            (a.least_m - b.least_m) / b.mean_m,
        ];
        eprintln!(
            "reference {seed:>4} {:<9} {} and {} cells: current {:+.2e} mean {:+.2e} thinnest/mean {:.4} \
             and {:.4}, {}; reference {} | {}",
            format!("{:?}", scene.kind),
            a.cells,
            b.cells,
            errors[0],
            errors[1],
            a.least_m / a.mean_m,
            b.least_m / b.mean_m,
            judged(a),
            judged(b),
            scene.says
        );
        faulty += [a, b].iter().filter(|f| !f.faults().is_empty()).count();
        for (list, error) in [&mut total, &mut mean, &mut least].into_iter().zip(errors) {
            list.push(error.abs());
        }
    }
    eprintln!(
        "{unsolved} unsolved; middle, 9 in 10, 99 in 100, largest\n  current {}\n  mean {}\n  thinnest \
         over mean {}",
        spread(total),
        spread(mean),
        spread(least.clone())
    );
    assert!(!least.is_empty());
    assert_eq!((unsolved, faulty), (0, 0));
}

fn judged(found: &Findings) -> String {
    match found.faults() {
        faults if faults.is_empty() => "ok".into(),
        faults => format!("FALSE: {}", faults.join(", ")),
    }
}
