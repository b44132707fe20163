//! Currents of several supplies: the best split between two wires, known from their field in closed form.

use crate::model;
use approx::assert_relative_eq;
use ionfall_deposit::currents::{Aim, Currents, FreeCurrent, Task, currents};
use ionfall_deposit::{Begin, Settings};
use ionfall_mesh::grid::build;
use ionfall_model::{Model, Parts, Role};
use std::f64::consts::PI;

const WIRES: &str = include_str!("jobs/unlike-wires.toml");
const DRIVEN: &str = include_str!("jobs/driven.toml");

fn found(model: &Model<Parts<2>>, task: &Task) -> Currents<2> {
    let grid = build(&model.geometry.domain, 1 << 30).unwrap();
    let settings = Settings::default();
    currents(model, &grid, &settings, Begin::Cold, task).unwrap_or_else(|e| panic!("{e}"))
}

fn second(aim: Aim) -> Task {
    Task {
        free: vec![FreeCurrent {
            supply: 1,
            range_a: [0.0, 20.0],
            step_a: 0.01,
        }],
        aim,
        most_share: None,
        most_v: None,
        most_anode_a_per_m2: None,
    }
}

/// Current density at `x` on the bottom of a tank 0.2 m wide from a wire of 1 A/m at a place: images in the
/// bottom, which is at one potential, and in the walls, which insulate (own derivation).
fn density(x: f64, [x0, height]: [f64; 2]) -> f64 {
    let w = 0.2;
    let (sinh, cosh) = ((PI * height / w).sinh(), (PI * height / w).cosh());
    let one = |u: f64| sinh / (cosh - (PI * u / w).cos());
    (one(x - x0) + one(x + x0)) / (2.0 * w)
}

/// Least over mean on the bottom, if the high wire gives this share.
fn evenness(share: f64) -> f64 {
    let at = |n: usize| {
        let x = 0.2 * n as f64 / 2000.0;
        (1.0 - share) * density(x, [0.04, 0.04]) + share * density(x, [0.14, 0.07])
    };
    (0..=2000).map(at).fold(f64::INFINITY, f64::min) * 0.2
}

#[test]
fn unlike_wires_get_their_best_shares() {
    // By a fine walk along the closed form.
    let best = (0..=10_000).map(|n| f64::from(n) / 10_000.0);
    let best = best
        .max_by(|a, b| evenness(*a).total_cmp(&evenness(*b)))
        .unwrap();
    let job = model(WIRES);
    let found = found(&job, &second(Aim::Evenness));
    // 1 A/dm2 on 0.2 m2.
    assert_relative_eq!(found.currents_a[0] / 20.0, best, max_relative = 0.01);
    assert!(found.runs <= 5, "{}", found.runs);
    let even = found
        .outcome
        .bodies
        .iter()
        .find(|b| b.name == "plate")
        .unwrap();
    let spread = even.current_density_a_per_m2;
    assert_relative_eq!(
        spread.min / spread.mean,
        evenness(best),
        max_relative = 0.01
    );
    // The start was far from it.
    assert!(evenness(0.2) < 0.9 * evenness(best), "{}", evenness(best));
}

/// With a limit on the worst share no proposal breaks it, and what it is better in is what was asked for.
#[test]
fn limits_are_kept() {
    let job = model(&DRIVEN.replace("6 A/dm2", "3 A/dm2"));
    let ask = |aim, most_share| Task {
        free: vec![FreeCurrent {
            supply: 1,
            range_a: [0.2, 6.0],
            step_a: 0.001,
        }],
        most_share,
        ..second(aim)
    };
    let limits = |found: &Currents<2>| {
        let works = found.outcome.bodies.iter();
        let shares = works.filter_map(|b| b.limit_share).map(|p| p.value);
        shares.fold(0.0, f64::max)
    };
    let even = found(&job, &ask(Aim::Evenness, None));
    let gentle = found(&job, &ask(Aim::Share, None));
    assert!(
        limits(&gentle) < 0.99 * limits(&even),
        "{} {}",
        limits(&gentle),
        limits(&even)
    );
    let between = 0.5 * (limits(&gentle) + limits(&even));
    let kept = found(&job, &ask(Aim::Evenness, Some(between)));
    assert!(limits(&kept) <= between * (1.0 + 1e-5), "{}", limits(&kept));
    assert_relative_eq!(limits(&kept), between, max_relative = 0.01);
    // The same at the anodes.
    let densest = |found: &Currents<2>| {
        let anodes = found.outcome.bodies.iter();
        let anodes = anodes.filter(|b| b.role == Role::Anode);
        anodes
            .map(|b| b.current_density_a_per_m2.max)
            .fold(0.0, f64::max)
    };
    let most = 0.9 * densest(&even);
    let kept = found(
        &job,
        &Task {
            most_anode_a_per_m2: Some(most),
            ..ask(Aim::Evenness, None)
        },
    );
    assert!(densest(&kept) <= most * (1.0 + 1e-5), "{}", densest(&kept));
    assert_relative_eq!(densest(&kept), most, max_relative = 0.01);
}
