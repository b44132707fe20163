//! Supplies as they are, on plates with linear laws: what Ohm and Faraday say.

use approx::assert_relative_eq;
use ionfall_deposit::Outcome;

const JOB: &str = include_str!("jobs/both-sides.toml");

const KAPPA: f64 = 15.0;
const OHM_M2: f64 = 2e-3;
const AREA_M2: f64 = 2e-3;
const HOUR_S: f64 = 3600.0;

/// From an anode over 40 mm of bath to its side of the plate.
fn ohm() -> f64 {
    (0.04 / KAPPA + 2.0 * OHM_M2) / AREA_M2
}

/// Thickness that a charge brings to one side.
fn metre(charge_c: f64) -> f64 {
    charge_c / AREA_M2 * 0.063_546 / (2.0 * 96_485.332_12 * 8960.0)
}

fn solved(supply: &str) -> Outcome<2> {
    crate::solved(&crate::model(&format!("{JOB}\n{supply}")))
}

/// Mean thickness of the left and of the right side of the plate.
fn sides(outcome: &Outcome<2>) -> [f64; 2] {
    let mean = |right: bool| {
        let facets = outcome.grid.facets.iter().zip(&outcome.thickness_m);
        let own = facets.filter(|(f, _)| f.normal[0].abs() > 0.9 && f.body == 2);
        let own: Vec<_> = own.filter(|(f, _)| (f.normal[0] > 0.0) == right).collect();
        let area: f64 = own.iter().map(|(f, _)| f.area_m2).sum();
        assert_relative_eq!(area, AREA_M2, max_relative = 1e-9);
        own.iter().map(|(f, m)| f.area_m2 * **m).sum::<f64>() / area
    };
    [mean(false), mean(true)]
}

/// Both anodes on one supply: half of the resistance.
const BOTH: &str = "[[supply]]\nvoltage = \"3 V\"\n";

/// A held voltage drives what flows, up to the limit of the current; then the volts fall.
#[test]
fn a_held_voltage_falls_to_the_current_limit() {
    let free_a = 3.0 / (0.5 * ohm());
    for (limit_a, falls) in [
        (0.5 * free_a, true),
        (0.999 * free_a, true),
        (1.001 * free_a, false),
        (9.0 * free_a, false),
    ] {
        let outcome = solved(&format!(
            "{BOTH}current_limit = \"{limit_a} A\"\n[plan]\ntime = \"1 h\""
        ));
        let supply = &outcome.supplies[0];
        let current_a = if falls { limit_a } else { free_a };
        assert_eq!(supply.limited, falls);
        assert_eq!(supply.current_limit_a.is_some(), falls);
        assert_relative_eq!(supply.current_a, current_a, max_relative = 1e-6);
        assert_relative_eq!(
            supply.voltage_v,
            current_a * 0.5 * ohm(),
            max_relative = 1e-6
        );
        assert_relative_eq!(supply.charge_c, current_a * HOUR_S, max_relative = 1e-6);
        for side in sides(&outcome) {
            assert_relative_eq!(side, metre(0.5 * current_a * HOUR_S), max_relative = 1e-6);
        }
    }
}

/// One supply with both limits: volts that rise until the current limit holds, then a current above what the
/// voltage limit lets through.
#[test]
fn steps_fall_to_either_limit() {
    let half = 0.5 * ohm();
    let plan = "[[plan.step]]\nvoltage = \"0.01 V\"\nto = \"2 V\"\ntime = \"1 h\"\n\
                [[plan.step]]\ncurrent = \"9 A\"\ntime = \"1 h\"";
    let supply =
        "[[supply]]\ncurrent = \"1 A\"\nvoltage_limit = \"4 V\"\ncurrent_limit = \"0.6 A\"\n";
    let outcome = solved(&format!("{supply}{plan}"));
    let bend = (0.6 * half - 0.01) / 1.99;
    assert!(bend > 0.1 && bend < 0.9, "{bend}");
    let rising = 0.5 * (0.01 / half + 0.6) * bend + 0.6 * (1.0 - bend);
    let charge_c = (rising + 4.0 / half) * HOUR_S;
    assert_relative_eq!(outcome.voltage_v, 4.0, max_relative = 1e-9);
    assert_relative_eq!(outcome.supplies[0].charge_c, charge_c, max_relative = 1e-3);
    let moments: Vec<_> = outcome
        .moments
        .iter()
        .filter(|m| m.step == 0 && m.limited)
        .collect();
    assert!(!moments.is_empty());
    for moment in moments {
        assert_relative_eq!(moment.current_a, 0.6, max_relative = 1e-6);
    }
}

/// A ramp brings the mean of its ends, and the energy of a current that rises evenly.
#[test]
fn a_ramp_brings_the_mean() {
    let outcome = solved(
        "[[supply]]\ncurrent = \"1 A\"\n[[plan.step]]\ncurrent = \"0.2 A\"\nto = \"1 A\"\ntime = \"1 h\"",
    );
    assert_relative_eq!(
        outcome.supplies[0].charge_c,
        0.6 * HOUR_S,
        max_relative = 1e-9
    );
    let squares = (1.0 + 0.2 + 0.04) / 3.0;
    let energy_j = squares * 0.5 * ohm() * HOUR_S;
    assert_relative_eq!(outcome.energy_j.unwrap(), energy_j, max_relative = 1e-6);
    assert_relative_eq!(sides(&outcome)[0], metre(0.3 * HOUR_S), max_relative = 1e-6);
}

/// A reverse current of three times the forward current for a tenth of its time.
#[test]
fn reverse_may_be_larger_than_forward() {
    let pulse = "pulse = { on = \"100 ms\", reverse = \"10 ms\", reverse_share = \"300 %\" }";
    let outcome = solved(&format!(
        "[[supply]]\ncurrent = \"0.7 A\"\n[[plan.step]]\ntime = \"1 h\"\n{pulse}"
    ));
    // The mean of a cycle is (100 - 30) / 110 of the forward current.
    let forward_a = 0.7 * 110.0 / 70.0;
    assert_relative_eq!(outcome.current_a, forward_a, max_relative = 1e-6);
    assert_relative_eq!(
        outcome.supplies[0].charge_c,
        0.7 * HOUR_S,
        max_relative = 1e-6
    );
    let watts = forward_a * forward_a * 0.5 * ohm() * (100.0 + 9.0 * 10.0) / 110.0;
    assert_relative_eq!(
        outcome.energy_j.unwrap(),
        watts * HOUR_S,
        max_relative = 1e-6
    );
    assert_relative_eq!(
        sides(&outcome)[1],
        metre(0.35 * HOUR_S),
        max_relative = 1e-6
    );
}

/// Each side of the plate has its own supply; the second is off in the first step.
#[test]
fn steps_with_different_supplies() {
    let outcome = solved(
        "[[supply]]\nname = \"left\"\ncurrent = \"1 A\"\nanodes = [\"left anode\"]\n\
         [[supply]]\nname = \"right\"\ncurrent = \"0.5 A\"\nanodes = [\"right anode\"]\n\
         [[plan.step]]\ntime = \"2 h\"\noff = [\"right\"]\n[[plan.step]]\ntime = \"1 h\"",
    );
    let [left, right] = sides(&outcome);
    assert_relative_eq!(left, metre(3.0 * HOUR_S), max_relative = 1e-6);
    assert_relative_eq!(right, metre(0.5 * HOUR_S), max_relative = 1e-6);
    assert_relative_eq!(
        outcome.supplies[1].charge_c,
        0.5 * HOUR_S,
        max_relative = 1e-6
    );
    assert_relative_eq!(
        outcome.supplies[1].voltage_v,
        0.5 * ohm(),
        max_relative = 1e-6
    );
}
