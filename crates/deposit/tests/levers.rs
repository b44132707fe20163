//! What changes make of a run: plates against the closed form.

use approx::assert_relative_eq;
use ionfall_deposit::levers::{Change, LeverAnswers, Levers, levers};
use ionfall_deposit::{Outcome, Settings};

const PLATES: &str = include_str!("jobs/plates.toml");
const SLOT: &str = include_str!("jobs/slot.toml");

fn found(text: &str) -> (Outcome<2>, Levers) {
    let model = crate::model(text);
    let outcome = crate::solved(&model);
    let levers = levers(&model, &Settings::default(), &mut (), &outcome).unwrap();
    (outcome, levers)
}

fn of(levers: &Levers, change: &Change, factor: f64) -> LeverAnswers {
    let found = levers
        .levers
        .iter()
        .find(|l| l.change == *change && l.factor == factor);
    found
        .and_then(|l| l.answers)
        .unwrap_or_else(|| panic!("{change:?} {factor}: {levers:?}"))
}

/// Primary plates: volts go with current over conductivity, hours with one over the current, the share
/// of the limiting current with current times film.
#[test]
fn plates_follow_ohm_and_faraday() {
    let job = PLATES.replace("shape", "law = \"primary\", shape");
    let job = format!("{job}plan.time = \"10 h\"\nwanted = {{ thickness = \"0.5 mm\" }}\n");
    let (outcome, levers) = found(&job);
    let now = levers.now;
    assert_relative_eq!(
        now.thinnest_m.unwrap(),
        outcome.bodies[1].thinnest.unwrap().value
    );
    let acid = of(&levers, &Change::Conductivity, 1.1);
    assert_relative_eq!(1.1 * acid.voltage_v, now.voltage_v, max_relative = 1e-6);
    for factor in [0.5, 1.5] {
        let current = of(&levers, &Change::Current, factor);
        assert_relative_eq!(
            current.voltage_v,
            factor * now.voltage_v,
            max_relative = 1e-6
        );
        let wish_s = factor * current.wish_s.unwrap();
        assert_relative_eq!(wish_s, now.wish_s.unwrap(), max_relative = 1e-6);
        assert_relative_eq!(current.time_s.unwrap(), 36_000.0 / factor);
        let thinnest_m = current.thinnest_m.unwrap();
        assert_relative_eq!(thinnest_m, now.thinnest_m.unwrap(), max_relative = 1e-6);
    }
    let longer = of(&levers, &Change::Time, 1.25);
    assert_relative_eq!(
        longer.thinnest_m.unwrap(),
        1.25 * now.thinnest_m.unwrap(),
        max_relative = 1e-6
    );
    // The quickest first.
    let wishes = levers.levers.iter().filter_map(|l| l.answers?.wish_s);
    let wishes: Vec<f64> = wishes.collect();
    assert!(
        wishes.is_sorted() && wishes.len() == levers.levers.len(),
        "{wishes:?}"
    );
}

/// On a curved polarisation each change is what the changed job gives by itself, and what cannot flow is
/// said.
#[test]
fn changes_are_runs_of_the_changed_job() {
    let plan = "plan.time = \"1 h\"\n";
    let at = |text: &str| found(&format!("{plan}{text}"));
    let (_, levers) = at(SLOT);
    let more = of(&levers, &Change::Conductivity, 1.1);
    let (_, other) = at(&SLOT.replace("15 S/m", "16.5 S/m"));
    assert_relative_eq!(
        more.evenness.unwrap(),
        other.now.evenness.unwrap(),
        max_relative = 1e-6
    );
    assert!(more.evenness.unwrap() > 1.01 * levers.now.evenness.unwrap());
    assert_relative_eq!(more.voltage_v, other.now.voltage_v, max_relative = 1e-8);
    // Without a wish the most even first.
    let even: Vec<f64> = levers
        .levers
        .iter()
        .filter_map(|l| l.answers?.evenness)
        .collect();
    assert!(even.is_sorted_by(|a, b| a >= b), "{even:?}");

    let near = PLATES.replace("3 A/dm2", "10 A/dm2");
    let (_, levers) = found(&format!("{near}{plan}"));
    let stirred = of(&levers, &Change::Limit, 2.0);
    assert_relative_eq!(
        2.0 * stirred.limit_share.unwrap(),
        levers.now.limit_share.unwrap(),
        max_relative = 1e-6
    );
    let too_much = levers
        .levers
        .iter()
        .find(|l| l.change == Change::Current && l.factor == 1.5);
    assert!(
        too_much
            .unwrap()
            .failure
            .as_ref()
            .unwrap()
            .contains("carry no more")
    );
}
