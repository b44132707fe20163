//! Pulses are computed at their peak: plates against the closed form, a plate with a slot against a
//! steady current of the peak.

use approx::assert_relative_eq;
use ionfall_deposit::{DepositError, Outcome};

const PLATES: &str = include_str!("jobs/plates.toml");
const SLOT: &str = include_str!("jobs/slot.toml");

fn tried(text: &str) -> Result<Outcome<2>, DepositError> {
    crate::tried(&crate::model(text))
}

fn solved(text: &str) -> Outcome<2> {
    tried(text).unwrap_or_else(|e| panic!("{e}"))
}

/// An hour of some steps.
fn plan(step: &str) -> String {
    format!("[[plan.step]]\ntime = \"1 h\"\n{step}\n")
}

const KAPPA: f64 = 15.0;
const OHM_M2: f64 = 2e-3;
const AREA_M2: f64 = 2e-3;

/// Two plates of 20 x 100 mm with linear laws, 40 mm of bath between them.
fn plates(step: &str) -> Outcome<2> {
    let bath = format!(
        "bath = {{ kind = \"custom\", metal = \"copper\", conductivity = \"{KAPPA} S/m\" }}"
    );
    let law = format!("law.linear = {{ resistance = \"{OHM_M2} ohm m2\" }}, shape");
    let lines = PLATES.lines().map(|line| match line.split_once(' ') {
        Some(("bath", _)) => bath.clone(),
        _ => line.replace("shape", &law),
    });
    let job: Vec<String> = lines.collect();
    solved(&(job.join("\n") + "\n" + &plan(step)))
}

/// Volts at the peak, energy of both directions, metal of the mean: by Ohm's and Faraday's laws.
#[test]
fn plates_follow_ohm_and_faraday() {
    let ohm = (0.04 / KAPPA + 2.0 * OHM_M2) / AREA_M2;
    for (pulse, on, reverse) in [
        ("on = \"10 ms\", off = \"40 ms\"", 0.2, 0.0),
        (
            "on = \"30 ms\", off = \"10 ms\", reverse = \"10 ms\"",
            0.6,
            0.2,
        ),
    ] {
        let outcome = plates(&format!("pulse = {{ {pulse} }}"));
        let mean_a = 300.0 * AREA_M2;
        let peak_a = mean_a / (on - reverse);
        assert_relative_eq!(outcome.current_a, peak_a, max_relative = 1e-6);
        assert_relative_eq!(outcome.voltage_v, peak_a * ohm, max_relative = 1e-6);
        let watts = (on + reverse) * peak_a * peak_a * ohm;
        let energy_j = outcome.energy_j.unwrap();
        assert_relative_eq!(energy_j, 3600.0 * watts, max_relative = 1e-6);
        assert!(outcome.ledger.energy_error() < 1e-8);
        let charge_c = outcome.supplies[0].charge_c;
        assert_relative_eq!(charge_c, 3600.0 * mean_a, max_relative = 1e-6);
        let metre = charge_c / AREA_M2 * 0.063_546 / (2.0 * 96_485.332_12 * 8960.0);
        let mean_m = outcome.bodies[1].thickness_m.unwrap().mean;
        assert_relative_eq!(mean_m, metre, max_relative = 1e-6);
        assert_relative_eq!(outcome.pulse.unwrap().duty(), on, max_relative = 1e-12);
    }
}

/// A tenth of the time at ten times the current: where it lands is what a steady current of the peak
/// gives, and much less even than a steady current of the mean.
#[test]
fn a_slot_gets_what_the_peak_gives() {
    let of = |plan: &str| solved(&format!("{SLOT}{plan}"));
    let pulsed = of(&plan("pulse = { on = \"10 ms\", off = \"90 ms\" }"));
    let peak = of("[[plan.step]]\ntime = \"6 min\"\nmean_current_density = \"20 A/dm2\"\n");
    let mean = of(&plan(""));
    assert_relative_eq!(pulsed.voltage_v, peak.voltage_v, max_relative = 1e-9);
    for (a, b) in pulsed.thickness_m.iter().zip(&peak.thickness_m) {
        assert_relative_eq!(a, b, max_relative = 1e-6, epsilon = 1e-12);
    }
    let thinnest = |outcome: &Outcome<2>| outcome.bodies[1].thinnest.unwrap().value;
    assert!(thinnest(&pulsed) < 0.6 * thinnest(&mean));
    assert!(pulsed.voltage_v > 5.0 * mean.voltage_v);
    let whole = |o: &Outcome<2>| o.bodies[1].thickness_m.unwrap().mean;
    assert_relative_eq!(whole(&pulsed), whole(&mean), max_relative = 1e-6);
}

/// Short pulses may exceed the limiting current of a steady one, long ones may not.
#[test]
fn short_pulses_pass_the_steady_limit() {
    let job = |plan: &str| tried(&format!("{PLATES}{plan}"));
    let steady = job(&plan("")).unwrap();
    let share = |o: &Outcome<2>| o.bodies[1].limit_share.unwrap().value;
    assert!(share(&steady) > 0.2 && share(&steady) < 0.3);
    let short = job(&plan("pulse = { on = \"1 ms\", off = \"4 ms\" }")).unwrap();
    // Five times the current, but the film sees hardly more than the mean.
    assert!(share(&short) > share(&steady) && share(&short) < 1.06 * share(&steady));
    let long = job(&plan("pulse = { on = \"10 s\", off = \"40 s\" }")).unwrap_err();
    for piece in ["3.000 A", "5.000 times", "2.462 A can flow"] {
        assert!(long.to_string().contains(piece), "{long}");
    }
}

/// What carries current one way only stands no reverse current.
#[test]
fn reverse_current_needs_both_ways() {
    let law = "law.tafel = { exchange_current_density = \"0.1 A/dm2\", slope = \"50 mV\" }";
    let lines = SLOT
        .lines()
        .map(|l| if l.starts_with("law") { law } else { l });
    let job: Vec<&str> = lines.collect();
    let pulse = "pulse = { on = \"20 ms\", off = \"5 ms\", reverse = \"5 ms\" }";
    let error = tried(&format!("{}\n{}", job.join("\n"), plan(pulse))).unwrap_err();
    assert!(error.to_string().contains("one way only"), "{error}");
    let both = solved(&format!("{SLOT}{}", plan(pulse)));
    assert!(both.bodies[1].thickness_m.unwrap().mean > 0.0);
}

/// With voltage the pulses hold it in the forward time.
#[test]
fn a_held_voltage_is_that_of_the_forward_time() {
    let of = |step: &str| solved(&format!("{SLOT}{}", plan(step)));
    let steady = of("voltage = \"0.8 V\"");
    let pulsed = of("voltage = \"0.8 V\"\npulse = { on = \"10 ms\", off = \"30 ms\" }");
    let charge = |o: &Outcome<2>| o.supplies[0].charge_c;
    assert_relative_eq!(4.0 * charge(&pulsed), charge(&steady), max_relative = 1e-9);
}
