//! How a field follows small changes of what drives it: against the differences of two runs.

use crate::model;
use approx::assert_relative_eq;
use ionfall_bath::Kinetics;
use ionfall_bath::electrolyte::Adjustment;
use ionfall_deposit::levers::Change;
use ionfall_deposit::sensitivity::{Cause, Sensitivity};
use ionfall_deposit::small::{causes, small_changes};
use ionfall_deposit::{Outcome, Settings, run};
use ionfall_model::{Hold, Model, Parts};

const DRIVEN: &str = include_str!("jobs/driven.toml");
const COATED: &str = include_str!("jobs/coated.toml");
const PLATES: &str = include_str!("jobs/plates.toml");
const SLOT: &str = include_str!("jobs/slot.toml");

/// Half of the difference of the two runs, as a share of what is varied.
const STEP: f64 = 2e-3;

fn step(cause: Cause) -> f64 {
    match cause {
        // A limit goes with the seventh power of the temperature in kelvin.
        Cause::Bath(Adjustment::Temperature) => 0.1 * STEP,
        _ => STEP,
    }
}

fn solved(model: &Model<Parts<2>>, causes: &[Cause]) -> Outcome<2> {
    let settings = Settings {
        causes: causes.to_vec(),
        ..Settings::default()
    };
    run(model, &settings, &mut ()).unwrap_or_else(|e| panic!("{e}"))
}

/// The job with a cause times a factor.
fn changed(mut model: Model<Parts<2>>, cause: Cause, factor: f64) -> Outcome<2> {
    let parts = &mut model.geometry;
    let more = |hold: Hold| match hold {
        Hold::Voltage(v) => Hold::Voltage(factor * v),
        hold => hold.with_current_times(factor),
    };
    let cathodes = parts.electrodes.iter_mut().filter(|e| e.role.is_cathode());
    match cause {
        Cause::Currents => {
            for supply in &mut model.supplies {
                supply.hold = supply.hold.with_current_times(factor);
            }
        }
        Cause::Supply(n) => model.supplies[n].hold = more(model.supplies[n].hold),
        Cause::Conductivity => model.bath.conductivity.value *= factor,
        Cause::Limit => cathodes.for_each(|e| e.kinetics = e.kinetics.with_limit_times(factor)),
        Cause::Exchange => cathodes.for_each(|e| {
            if let Kinetics::Law(law) = &e.kinetics {
                e.kinetics = Kinetics::Law(law.with_exchange_times(factor));
            }
        }),
        Cause::Coat => {
            for coat in &mut parts.coats {
                coat.sheet_resistance_ohm *= factor;
            }
        }
        Cause::Contact => {
            for contact in &mut parts.contacts {
                contact.resistance_ohm *= factor;
            }
        }
        Cause::Bath(what) => {
            let now = model.bath.adjustable(what).unwrap();
            let zero = match what {
                Adjustment::Temperature => now - model.bath.temperature_k,
                _ => 0.0,
            };
            let bath = model.bath.remade(what, zero + factor * (now - zero));
            let bath = bath.expect("a known bath");
            for e in &mut parts.electrodes {
                e.kinetics = model.bath.law_in(&bath, &e.kinetics);
            }
            model.bath = bath;
        }
        Cause::Lead => parts
            .electrodes
            .iter_mut()
            .for_each(|e| e.lead_ohm *= factor),
    }
    solved(&model, &[])
}

/// Each cause against half the difference of two runs, at all facets and poles: within 0.1 % of the largest.
fn check(text: &str, causes: &[Cause]) {
    let model = model(text);
    let outcome = solved(&model, causes);
    assert_eq!(outcome.sensitivities.len(), causes.len());
    for found in &outcome.sensitivities {
        let case = |factor: f64| changed(model.clone(), found.cause, factor);
        let step = step(found.cause);
        agree(&outcome, found, [1.0 + step, 1.0 - step].map(case));
    }
}

fn agree(outcome: &Outcome<2>, found: &Sensitivity, [more, less]: [Outcome<2>; 2]) {
    let half = |a: f64, b: f64| (a - b) / (2.0 * step(found.cause));
    let both = more.growth_m_per_s.iter().zip(&less.growth_m_per_s);
    let growth: Vec<f64> = both.map(|(a, b)| half(*a, *b)).collect();
    let most = |of: &[f64]| of.iter().fold(0.0, |m: f64, g| m.max(g.abs()));
    // What is held has the last digits of the solver only.
    let noise = 1e-6 * STEP / step(found.cause);
    // What is in series with a held current moves its volts alone.
    let largest = most(&growth).max(0.1 * most(&outcome.growth_m_per_s));
    for (f, (sensitive, difference)) in found.growth_m_per_s.iter().zip(&growth).enumerate() {
        let off = (sensitive - difference).abs();
        assert!(
            off < 1e-3 * largest,
            "{:?} at facet {f}: {sensitive} {difference} of {largest}",
            found.cause
        );
    }
    for (n, sensitive) in found.supply_v.iter().enumerate() {
        let [a, b] = [&more, &less].map(|o| o.supplies[n].voltage_v);
        assert_relative_eq!(*sensitive, half(a, b), max_relative = 1e-3, epsilon = 1e-7);
    }
    for (n, sensitive) in found.electrode_a.iter().enumerate() {
        let [a, b] = [&more, &less].map(|o| o.bodies[n].current_a);
        assert_relative_eq!(*sensitive, half(a, b), max_relative = 1e-3, epsilon = noise);
    }
}

/// A mean that the main supply holds while a thief and a second supply take and give their part, hydrogen, a limit.
#[test]
fn a_shared_mean_follows() {
    check(
        DRIVEN,
        &[
            Cause::Currents,
            Cause::Supply(0),
            Cause::Supply(1),
            Cause::Conductivity,
            Cause::Limit,
            Cause::Exchange,
            Cause::Lead,
        ],
    );
}

#[test]
fn a_held_voltage_follows() {
    let text = DRIVEN.replace("mean_current_density = \"6 A/dm2\"", "voltage = \"1.4 V\"");
    check(
        &text,
        &[
            Cause::Supply(0),
            Cause::Supply(1),
            Cause::Conductivity,
            Cause::Limit,
        ],
    );
}

#[test]
fn a_coat_and_its_contact_follow() {
    check(
        COATED,
        &[
            Cause::Coat,
            Cause::Contact,
            Cause::Currents,
            Cause::Conductivity,
        ],
    );
    let by_volts = COATED.replace("current = \"1 A\"", "voltage = \"1 V\"");
    check(&by_volts, &[Cause::Coat, Cause::Contact, Cause::Supply(0)]);
}

/// Warmer, more copper, more acid: conductivity, limit and law of both electrodes at once. On a job with two supplies,
/// a thief and hydrogen, and on a coat.
#[test]
fn a_bath_made_otherwise_follows() {
    let causes = Adjustment::ALL.map(Cause::Bath);
    check(DRIVEN, &causes);
    check(COATED, &causes);
    check(
        &COATED.replace("current = \"1 A\"", "voltage = \"1 V\""),
        &causes,
    );
}

/// The same against runs of the job's own text, with other figures in it.
#[test]
fn a_bath_made_otherwise_is_the_job_with_other_figures() {
    let job = |celsius: f64, salt: f64, acid: f64| {
        let bath = format!(
            "temperature = \"{celsius} degC\"\ncomposition = {{ copper_sulfate = \"{salt} g/L\", sulfuric_acid = \"{acid} g/L\" }}\n"
        );
        let text = DRIVEN.replace("conductivity = \"9 S/m\"\n", &bath);
        assert_ne!(text, DRIVEN);
        solved(&model(&text), &Adjustment::ALL.map(Cause::Bath))
    };
    let now = job(25.0, 200.0, 60.0);
    for found in &now.sensitivities {
        let case = |factor: f64| match found.cause {
            Cause::Bath(Adjustment::Temperature) => job(298.15 * factor - 273.15, 200.0, 60.0),
            Cause::Bath(Adjustment::CopperSulfate) => job(25.0, 200.0 * factor, 60.0),
            _ => job(25.0, 200.0, 60.0 * factor),
        };
        let step = step(found.cause);
        agree(&now, found, [1.0 + step, 1.0 - step].map(case));
    }
}

/// On primary plates all is known: volts go with current over conductivity, and nothing else moves.
#[test]
fn small_changes_of_plates_follow_ohm_and_faraday() {
    let job = PLATES.replace("shape", "law = \"primary\", shape");
    let job = format!("{job}plan.time = \"10 h\"\nwanted = {{ thickness = \"0.5 mm\" }}\n");
    let model = model(&job);
    let outcome = solved(&model, &causes(&model));
    let levers = small_changes(&model, &outcome).unwrap();
    let now = levers.now;
    assert!(levers.levers.len() >= 3);
    for lever in &levers.levers {
        let then = lever.answers.unwrap();
        let [volts, metal, hours] = match lever.change {
            Change::Conductivity => [1.0 - lever.factor.ln(), 1.0, 1.0],
            Change::Current => [lever.factor, 1.0, 1.0 / lever.factor],
            Change::Time => [1.0, lever.factor, 1.0],
            Change::Bath(dose) => {
                // Degrees count from the absolute zero.
                let by = 1e-4 * (dose.to - dose.from) / (lever.factor - 1.0);
                let conductivity = |x: f64| {
                    let bath = model.bath.remade(dose.what, x).unwrap();
                    bath.conductivity.value.ln()
                };
                let slope = (conductivity(dose.from + by) - conductivity(dose.from - by)) / 2e-4;
                [1.0 - slope * lever.factor.ln(), 1.0, 1.0]
            }
            _ => [1.0; 3],
        };
        assert_relative_eq!(then.voltage_v, volts * now.voltage_v, max_relative = 1e-6);
        let both = then.thinnest_m.zip(now.thinnest_m).unwrap();
        assert_relative_eq!(both.0, metal * both.1, max_relative = 1e-6);
        let both = then.wish_s.zip(now.wish_s).unwrap();
        assert_relative_eq!(both.0, hours * both.1, max_relative = 1e-6);
    }
    // Pulses are a mean over several fields: nothing is claimed of them.
    let pulsed = job.replace(
        "plan.time = \"10 h\"",
        "plan.step = [{ time = \"10 h\", pulse = { on = \"10 ms\", off = \"40 ms\" } }]",
    );
    let model = crate::model(&pulsed);
    assert!(causes(&model).is_empty());
    let asked = solved(&model, &[Cause::Conductivity]);
    assert!(asked.sensitivities.is_empty());
    assert!(small_changes(&model, &asked).is_none());
}

/// On a curved polarisation a tenth more of something is what a run with it gives, but for what is of second order.
#[test]
fn small_changes_are_close_to_runs() {
    let job = format!("plan.time = \"1 h\"\n{SLOT}");
    let model = model(&job);
    let outcome = solved(&model, &causes(&model));
    let levers = small_changes(&model, &outcome).unwrap();
    let acid = levers
        .levers
        .iter()
        .find(|l| l.change == Change::Conductivity)
        .unwrap();
    let then = acid.answers.unwrap();
    let again = changed(model, Cause::Conductivity, acid.factor);
    let gain = |evenness: f64| evenness / levers.now.evenness.unwrap() - 1.0;
    let by_run =
        again.bodies[1].thinnest.unwrap().value / again.bodies[1].thickness_m.unwrap().mean;
    assert_relative_eq!(
        gain(then.evenness.unwrap()),
        gain(by_run),
        max_relative = 0.05
    );
    assert_relative_eq!(then.voltage_v, again.voltage_v, max_relative = 0.01);
}
