//! A roller that turns in front of one anode, against the mean over positions of the standing one.

use approx::assert_relative_eq;
use ionfall_deposit::Outcome;
use std::f64::consts::TAU;

const JOB: &str = include_str!("jobs/roller.toml");
const POSITIONS: usize = 72;

fn solved(text: &str) -> Outcome<2> {
    crate::solved(&crate::model(text))
}

/// Angle and thickness of the facets of the roller.
fn around(outcome: &Outcome<2>) -> Vec<(f64, f64)> {
    let facets = outcome.grid.facets.iter().zip(&outcome.thickness_m);
    let own = facets.filter(|(f, _)| f.body == 1);
    let angle = |[x, y]: [f64; 2]| (y - 0.03).atan2(x - 0.06).rem_euclid(TAU);
    own.map(|(f, m)| (angle(f.point), *m)).collect()
}

/// Every place of the roller gets what one place of a standing roller gets on the mean over its positions; the
/// volts and the largest share of the moment stay.
#[test]
fn a_roller_gets_the_mean_over_its_positions() {
    let turning = solved(JOB);
    let standing = solved(&JOB.replace("turns = { at = \"60 x 30 mm\" }\n", ""));
    let mut profile = around(&standing);
    profile.sort_by(|a, b| a.0.total_cmp(&b.0));
    // What the place at an angle gets while the roller stands, between two facets.
    let at = |angle: f64| {
        let next = profile.partition_point(|p| p.0 < angle) % profile.len();
        let last = (next + profile.len() - 1) % profile.len();
        let [(a, x), (b, y)] = [profile[last], profile[next]];
        let gap = (b - a).rem_euclid(TAU);
        x + (y - x) * (angle - a).rem_euclid(TAU) / gap
    };
    let positions = (0..POSITIONS).map(|n| at(TAU * n as f64 / POSITIONS as f64));
    let mean_m = positions.sum::<f64>() / POSITIONS as f64;
    let thickness = |o: &Outcome<2>| around(o).into_iter().map(|p| p.1).collect::<Vec<_>>();
    let largest = |all: &[f64]| all.iter().copied().fold(0.0, f64::max);
    assert!(largest(&thickness(&standing)) > 1.5 * mean_m);
    for m in thickness(&turning) {
        assert_relative_eq!(m, mean_m, max_relative = 5e-3);
    }
    assert!(turning.turned[0].is_exact() && turning.turned[0].rings == 1);
    assert!(standing.turned.is_empty());
    assert_relative_eq!(turning.voltage_v, standing.voltage_v, max_relative = 1e-12);
    assert!(turning.ledger.charge_error() < 1e-8);
    let mean = |o: &Outcome<2>| o.bodies[1].thickness_m.unwrap().mean;
    assert_relative_eq!(mean(&turning), mean(&standing), max_relative = 1e-9);
}

/// A roller that runs out of true is no body of revolution about its axis.
#[test]
fn an_axis_off_the_middle_is_told() {
    let turning = solved(&JOB.replace("turns = { at = \"60", "turns = { at = \"63"));
    assert!(!turning.turned[0].is_exact());
    assert!(
        turning.turned[0].sideways_share > 0.2,
        "{:?}",
        turning.turned
    );
}
