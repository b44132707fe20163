//! What changes make of a run: plates against the closed form.

use approx::assert_relative_eq;
use ionfall_bath::electrolyte::Adjustment;
use ionfall_deposit::judge::{Advice, Answers, Bounds, judge};
use ionfall_deposit::levers::{Change, LeverAnswers, Levers, levers};
use ionfall_deposit::sensitivity::Cause;
use ionfall_deposit::small::{causes, small_changes};
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

/// A warmer bath conducts better, and more copper and warmth raise the limiting current: runs with it agree with what
/// is told of small changes, but for what is of second order, and nothing is told beyond the range of the bath.
#[test]
fn a_warmer_bath_is_told_within_its_range() {
    let job = format!("{PLATES}plan.time = \"2 h\"\nwanted = {{ thickness = \"20 um\" }}\n");
    let model = crate::model(&job);
    let settings = Settings {
        causes: causes(&model),
        ..Settings::default()
    };
    let outcome = ionfall_deposit::run(&model, &settings, &mut ()).unwrap();
    let small = small_changes(&model, &outcome).unwrap();
    let runs = levers(&model, &Settings::default(), &mut (), &outcome).unwrap();
    let mut told = Vec::new();
    for lever in &small.levers {
        let Change::Bath(dose) = lever.change else {
            continue;
        };
        told.push(dose.what);
        let run = of(&runs, &lever.change, lever.factor);
        let then = lever.answers.unwrap();
        let moved = |a: LeverAnswers| {
            let share = |a: LeverAnswers| a.limit_share.unwrap();
            [
                a.voltage_v / small.now.voltage_v,
                share(a) / share(small.now),
            ]
            .map(|by| by - 1.0)
        };
        for (first, full) in moved(then).into_iter().zip(moved(run)) {
            assert_relative_eq!(first, full, max_relative = 0.1, epsilon = 2e-3);
        }
        match dose.what {
            Adjustment::Temperature => assert!(moved(run)[0] < -0.03 && moved(run)[1] < -0.05),
            Adjustment::CopperSulfate => assert!(moved(run)[0] > 0.0 && moved(run)[1] < -0.03),
            Adjustment::SulfuricAcid => assert!(moved(run)[0] < -0.03),
        }
    }
    assert_eq!(told.len(), 3);
    let hot = crate::model(&job.replace("25 degC", "38 degC"));
    let warmer = |c: &&Cause| **c == Cause::Bath(Adjustment::Temperature);
    assert!(causes(&hot).iter().find(warmer).is_none());
    assert_eq!(causes(&hot).len(), causes(&model).len() - 1);
}

/// Where the verdict asks for less current, the run with it has the share and the metal that it promises; by
/// proportion alone it would last half as long again, because a smaller current is more even.
#[test]
fn less_current_is_enough_as_it_is_told() {
    let bath = "kind = \"acid copper\"\nagitation = \"air\"\nconductivity = \"9 S/m\"\n";
    let (head, tail) = SLOT.split_once("[bath]").unwrap();
    let tail = tail.split_once("[[anode]]").unwrap().1;
    let law = |line: &&str| !line.starts_with("law.");
    let tail: Vec<&str> = tail.lines().filter(law).collect();
    let job = |amperes: f64, hours: f64| {
        let plan = format!("plan.time = \"{hours} h\"\nwanted = {{ thickness = \"30 um\" }}\n");
        let tail = tail.join("\n");
        let text = format!("{plan}{head}[bath]\n{bath}[[anode]]\n{tail}\n");
        let held = format!("current = \"{amperes} A\"");
        crate::model(&text.replace("mean_current_density = \"2 A/dm2\"", &held))
    };
    let asked = |amperes: f64, hours: f64| {
        let model = job(amperes, hours);
        let settings = Settings {
            causes: causes(&model),
            ..Settings::default()
        };
        let outcome = ionfall_deposit::run(&model, &settings, &mut ()).unwrap();
        let levers = small_changes(&model, &outcome);
        let advice = |levers: Option<&Levers>| {
            let bounds = Bounds {
                levers,
                ..Bounds::default()
            };
            match judge(&model, Answers::of(&outcome), bounds).change {
                Some(Advice::Gentler {
                    enough_a, enough_s, ..
                }) => [enough_a, enough_s.unwrap() / 3600.0],
                other => panic!("{other:?}"),
            }
        };
        let both = [advice(levers.as_ref()), advice(None)];
        (both, outcome)
    };
    let (both, _) = asked(3.0, 12.0);
    let off = both.map(|[amperes, hours]| {
        let outcome = crate::solved(&job(amperes, hours));
        let plate = &outcome.bodies[1];
        let share = plate.limit_share.unwrap().value;
        [
            share / 0.4 - 1.0,
            plate.thinnest.unwrap().value / 30e-6 - 1.0,
        ]
    });
    // Half the current is a long way from what the slopes were taken at: no more than the share that is promised
    // (it comes to 0.359 where 0.4 is), and the metal.
    let [[share, metal], [_, by_proportion]] = off;
    assert!((-0.11..0.01).contains(&share), "{off:?}");
    assert!(metal.abs() < 0.03 && by_proportion > 0.3, "{off:?}");
}
