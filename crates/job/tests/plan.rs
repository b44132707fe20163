//! Coats, contacts, supplies and plans in the job file.

use crate::told;
use approx::assert_relative_eq;
use ionfall_job::{Faults, parse, schema};
use ionfall_model::{COVERED_M, Geometry, Hold, Model, Parts, Role, Setting, Until};
use std::path::Path;

const JOB: &str = include_str!("jobs/graphite.toml");

fn read(text: &str) -> Result<Model, Faults> {
    parse("job.toml", text, Path::new(""))
}

fn good() -> (Model, Parts<3>) {
    let model = read(JOB).unwrap_or_else(|faults| panic!("{}", faults.render()));
    let Geometry::Solid(parts) = model.geometry.clone() else {
        panic!("a tank");
    };
    (model, parts)
}

/// Ways of the liquid: up in space unless it is said, along a flow where it is said, none of a word; none in a zone.
#[test]
fn films_know_their_way() {
    let flow = |agitation: &str, more: &str| {
        let text = format!(
            "tank = {{ size = \"100 x 100 x 100 mm\" }}\nbath = {{ kind = \"acid copper\", agitation = {agitation} }}\n\
             supply = {{ current = \"1 A\" }}\nanode = [{{ wall = \"x\" }}]\nwork = [{{ wall = \"-x\" }}]\n{more}"
        );
        let model = read(&text).map_err(|faults| faults.render())?;
        let Geometry::Solid(parts) = model.geometry else {
            panic!("a tank");
        };
        Ok(parts.flow.map(|f| (f.direction, f.at)))
    };
    let found = |agitation: &str| flow(agitation, "").unwrap_or_else(|e: String| panic!("{e}"));
    assert_eq!(found("\"still\""), None);
    assert_eq!(
        found("{ still = \"80 mm\" }"),
        Some(([0.0, 0.0, 1.0], [0.0; 3]))
    );
    let up = found("{ still = \"80 mm\", up = \"y\" }").unwrap().0;
    assert_eq!(up, [0.0, 1.0, 0.0]);
    let rod = "rod = \"3 m/min\", length = \"80 mm\"";
    assert_eq!(found(&format!("{{ {rod} }}")), None);
    let along = found(&format!("{{ {rod}, along = \"-y\" }}")).unwrap().0;
    assert_eq!(along, [0.0, -1.0, 0.0]);
    let jet = "jet = \"2 m/s\", nozzle = \"5 mm\", distance = \"30 mm\", radius = \"30 mm\"";
    let (axis, at) = found(&format!(
        "{{ {jet}, along = \"-x\", at = \"0 x 50 x 40 mm\" }}"
    ))
    .unwrap();
    assert_eq!((axis, at), ([-1.0, 0.0, 0.0], [0.0, 0.05, 0.04]));
    let told = |agitation: &str, more: &str| flow(agitation, more).unwrap_err();
    assert!(told(&format!("{{ {jet}, along = \"-x\" }}"), "").contains("`at`"));
    assert!(told("{ film = \"50 um\", along = \"x\" }", "").contains("`along`"));
    let zone = "[[agitation_zone]]\nshape.box = { size = \"10 x 10 x 10 mm\" }\nagitation = { still = \"80 mm\", up = \"y\" }";
    assert!(told("\"air\"", zone).contains("the film of a zone is the same all over it"));
}

/// Positions of a rod at even times of a crank, and of a carousel; what cannot be.
#[test]
fn work_that_travels() {
    let travels = |way: &str, more: &str| {
        let text = format!(
            "tank = {{ size = \"100 x 100 x 100 mm\" }}\nbath = {{ kind = \"acid copper\" }}\nsupply = {{ current = \"1 A\" }}\n\
             anode = [{{ wall = \"x\" }}]\n[[work]]\nshape.ball = {{ radius = \"10 mm\", centre = \"40 x 50 x 50 mm\" }}\n\
             travels = {way}\n{more}"
        );
        let model = read(&text).map_err(|faults| faults.render())?;
        let Geometry::Solid(parts) = model.geometry else {
            panic!("a tank");
        };
        Ok(parts.travels[0]
            .others
            .iter()
            .map(|w| w.apply(&[0.04, 0.05, 0.05]))
            .collect())
    };
    let found =
        |way: &str| -> Vec<[f64; 3]> { travels(way, "").unwrap_or_else(|e: String| panic!("{e}")) };
    let rod = found("{ by = \"0 x 40 x 0 mm\", count = 3 }");
    let aside = 0.02 * 0.75_f64.sqrt();
    for (place, y) in rod.iter().zip([0.05 + aside, 0.05 - aside]) {
        assert_relative_eq!(place[1], y, max_relative = 1e-12);
    }
    let carousel =
        found("{ turn = \"90 deg\", about = \"z\", at = \"50 x 50 x 0 mm\", count = 4 }");
    assert_eq!(carousel.len(), 3);
    assert_relative_eq!(carousel[1][0], 0.06, max_relative = 1e-12);
    let told = |way: &str, more: &str| travels(way, more).unwrap_err();
    assert!(told("{ by = \"0 x 40 x 0 mm\", count = 4 }", "").contains("odd"));
    assert!(told("{ by = \"0 x 40 x 0 mm\", count = 1 }", "").contains("number of positions"));
    let coat = "coat = { sheet_resistance = \"10 ohm/sq\" }";
    assert!(told("{ by = \"0 x 40 x 0 mm\" }", coat).contains("a coat grows while it travels"));
}

/// What an ammeter may be off by is read, and unusual tolerances are told.
#[test]
fn ammeters_have_a_tolerance() {
    let with = |off: &str| {
        let line = format!("voltage_limit = \"6 V\"\nammeter = \"{off}\"");
        read(&JOB.replace("voltage_limit = \"6 V\"", &line)).unwrap()
    };
    let model = with("2 %");
    assert_eq!(model.supplies[0].ammeter_share, Some(0.02));
    assert_eq!(model.supplies[1].ammeter_share, None);
    let notes = |model: &Model| model.notes.iter().filter(|n| n.contains("ammeter")).count();
    assert_eq!((notes(&model), notes(&with("30 %"))), (0, 1));
}

#[test]
fn coats_contacts_and_leads() {
    let (_, parts) = good();
    assert_eq!(parts.coats.len(), 2);
    assert!(
        parts
            .coats
            .iter()
            .all(|c| parts.electrodes[c.electrode].name == "mould")
    );
    assert_relative_eq!(parts.coats[0].sheet_resistance_ohm, 100.0);
    assert_relative_eq!(parts.coats[0].islands_m, 5e-7);
    assert!(parts.coats[0].region.is_none());
    assert_relative_eq!(parts.coats[1].sheet_resistance_ohm, 0.3);
    assert!(
        parts.coats[1]
            .region
            .as_ref()
            .unwrap()
            .contains(&[0.015, 0.05, 0.075])
    );
    let contact = &parts.contacts[0];
    assert_eq!((contact.name.as_str(), contact.electrode), ("top wire", 2));
    assert_relative_eq!(contact.resistance_ohm, 0.002);
    assert!(contact.region.contains(&[0.015, 0.05, 0.0805]));
    assert_relative_eq!(parts.electrodes[0].lead_ohm, 0.005);
    assert_relative_eq!(parts.electrodes[1].lead_ohm, 0.0);
    assert_eq!(parts.electrodes[4].role, Role::Floating);
}

#[test]
fn supplies_and_plan() {
    let (model, _) = good();
    let [main, robber] = &model.supplies[..] else {
        panic!("two supplies");
    };
    assert_eq!(main.hold, Hold::MeanCurrentDensity(200.0));
    assert_eq!(main.limits.voltage_v, Some(6.0));
    assert_eq!(main.anodes, [0, 1]);
    assert_eq!(robber.thieves, [3]);
    assert!(robber.anodes.is_empty());
    let [strike, rest, build] = &model.plan[..] else {
        panic!("three steps");
    };
    let (from, to) = (
        Hold::MeanCurrentDensity(50.0),
        Hold::MeanCurrentDensity(200.0),
    );
    assert_eq!(strike.setting, Setting::Ramp(from, to));
    assert_eq!(strike.until, Until::Time(1800.0));
    assert_eq!(rest.setting, Setting::Rest);
    assert_eq!(build.setting, Setting::Hold(main.hold));
    assert_eq!(
        build.until,
        Until::LeastThickness(2e-4, Some("mould".into()))
    );
    assert_relative_eq!(build.at_most_s, 144_000.0);
    assert_relative_eq!(build.pulse.unwrap().peak_factor(), 1.25);
    assert_relative_eq!(model.covered_m, 2e-6);
    assert_eq!(model.save.at_s, [600.0, 3600.0]);
    let plain = read(&JOB.replace("covered = \"2 um\"\n", "")).unwrap();
    assert_relative_eq!(plain.covered_m, COVERED_M);
}

#[test]
fn the_description_tells_of_them() {
    let text = told(&good().0);
    for piece in [
        "coat: 100 ohm on each square, all over; the first 0.5 um of metal are islands",
        "top wire: 0.002 ohm",
        "lead: 0.005 ohm",
        "Supply `main`: 2 A/dm2 on average",
        "at most 6 V",
        "Supply `robber`: 0.2 A held constant",
        "Plan 1, strike: 30 min (from 0.5 A/dm2",
        "Plan 2, step 2: 5 min of rest",
        "Plan 3, build: until the thinnest place of mould has 0.2 mm",
        "in pulses with 1.25 times the average current",
    ] {
        assert!(text.contains(piece), "no {piece:?} in\n{text}");
    }
}

/// The beginning is a time too; more times than files can be are refused.
#[test]
fn times_to_save_at() {
    let with = |at: &str| read(&JOB.replace("[\"10 min\", \"1 h\"]", at));
    assert_ne!(JOB, JOB.replace("[\"10 min\", \"1 h\"]", ""));
    assert_eq!(with("[\"0 s\", \"1 h\"]").unwrap().save.at_s, [0.0, 3600.0]);
    let many = vec!["\"1 h\""; 1001].join(", ");
    let told = with(&format!("[{many}]")).unwrap_err().render();
    assert!(told.contains("1001 times are too many"), "{told}");
    assert!(with("[\"-1 s\"]").is_err());
}

/// Each change gives this fault, and no other.
#[test]
fn faults_have_a_place_and_a_way_out() {
    for (from, to, message, help) in [
        (
            "sheet_resistance = \"100 ohm/sq\"",
            "sheet_resistance = \"100 mm\"",
            "is not a sheet resistance",
            "ohm/sq",
        ),
        (
            "[[plan.step]]\nrest = true",
            "[[plan.step]]\nrest = true\ncurrent = \"1 A\"",
            "a rest has no current",
            "leave out",
        ),
        (
            "to = \"2 A/dm2\"\ntime = \"30 min\"",
            "to = \"2 A/dm2\"\ncharge = \"3 A h\"",
            "a ramp needs the time",
            "20 min",
        ),
        (
            "to = \"2 A/dm2\"",
            "to = \"2 A\"",
            "is not a current density",
            "A/dm2",
        ),
        (
            "thieves = [\"rim\"]",
            "thieves = [\"rin\"]",
            "no electrode is named `rin`",
            "rim",
        ),
        (
            "thieves = [\"rim\"]",
            "thieves = [\"mould\"]",
            "`mould` is work",
            "thief",
        ),
        (
            "on = \"mould\"\nat",
            "on = \"rim\"\nat",
            "`rim` is thief, not work",
            "name a work",
        ),
        (
            "current = \"0.2 A\"",
            "voltage = \"2 V\"",
            "the supply of a thief holds its current",
            "current =",
        ),
        (
            "off = \"5 ms\"",
            "reverse = \"20 ms\"",
            "takes away all",
            "shorter",
        ),
        (
            "resistance = \"2 mohm\"",
            "resistance = \"-2 mohm\"",
            "must not be negative",
            "zero or more",
        ),
    ] {
        assert!(JOB.contains(from), "no {from:?}");
        let faults = read(&JOB.replacen(from, to, 1)).expect_err(to);
        let text = faults.render();
        assert!(
            text.contains(message) && text.contains(help),
            "{to}:\n{text}"
        );
        assert_eq!(text.matches("job.toml:").count(), 1, "{text}");
    }
}

#[test]
fn a_coat_needs_a_contact_and_a_contact_a_coat() {
    let start = JOB.find("[[work.contact]]").unwrap();
    let end = JOB.find("[[thief]]").unwrap();
    let text = [&JOB[..start], &JOB[end..]].concat();
    let said = read(&text).expect_err("no contact").render();
    assert!(
        said.contains("the coat of `mould` has no contact"),
        "{said}"
    );
    let first = JOB.find("[[work.coat]]").unwrap();
    let text = [&JOB[..first], &JOB[start..]].concat();
    let said = read(&text).expect_err("no coat").render();
    assert!(said.contains("`mould` has a contact but no coat"), "{said}");
}

#[test]
fn the_fingerprint_changes_with_the_text() {
    let (a, b) = (
        read(JOB).unwrap(),
        read(&JOB.replace("6 V", "7 V")).unwrap(),
    );
    assert_eq!(a.fingerprint, read(JOB).unwrap().fingerprint);
    assert_ne!(a.fingerprint, b.fingerprint);
}

/// Limits, reverse currents and supplies that are off: read, told, refused where they make no sense.
#[test]
fn supplies_as_they_are() {
    let held = JOB.replace(
        "mean_current_density = \"2 A/dm2\"\nvoltage_limit = \"6 V\"",
        "voltage = \"3 V\"\ncurrent_limit = \"4 A\"",
    );
    assert_ne!(held, JOB);
    let model = read(&held).unwrap_or_else(|faults| panic!("{}", faults.render()));
    assert_eq!(model.supplies[0].hold, Hold::Voltage(3.0));
    assert_eq!(model.supplies[0].limits.current_a, Some(4.0));
    assert!(told(&model).contains("3 V held constant, at most 4 A"));
    let strike = "name = \"strike\"\n";
    let off = |list: &str| JOB.replace(strike, &format!("{strike}off = {list}\n"));
    let model = read(&off("[\"robber\"]")).unwrap_or_else(|faults| panic!("{}", faults.render()));
    assert_eq!(model.plan[0].off, [1]);
    assert!(told(&model).contains("with `robber` off"));
    let volts = JOB
        .replace(strike, &format!("{strike}voltage = \"7 V\"\n"))
        .replace(
            "mean_current_density = \"0.5 A/dm2\"\nto = \"2 A/dm2\"\n",
            "",
        );
    let single = "[supply]\ncurrent = \"1 A\"\ncurrent_limit = \"4 A\"\n[plan]\ntime = \"1 h\"\n";
    let single = format!("{}{single}", &JOB[..JOB.find("[[supply]]").unwrap()]);
    for (text, message) in [
        (off("[\"main\"]"), "`main` is the main supply"),
        (off("[\"rober\"]"), "did you mean `robber`?"),
        (volts, "more than the voltage_limit of the supply, 6 V"),
        (single, "holds its current needs no limit of it"),
    ] {
        let said = read(&text).expect_err(message).render();
        assert!(said.contains(message), "{said}");
    }
}

/// The axis of a body that turns, in space; faults of it.
#[test]
fn bodies_that_turn() {
    let work = "[[work]]\n";
    let with = |turns: &str| JOB.replace(work, &format!("{work}turns = {turns}\n"));
    let model = read(&with("{ about = \"-y\", at = \"1 x 2 x 3 mm\" }"));
    let Geometry::Solid(parts) = model.unwrap_or_else(|f| panic!("{}", f.render())).geometry else {
        panic!("a tank");
    };
    let turn = &parts.turns[0];
    assert_eq!(parts.electrodes[turn.electrode].role, Role::Work);
    assert_eq!((turn.at, turn.axis), ([1e-3, 2e-3, 3e-3], [0.0, -1.0, 0.0]));
    for (turns, message) in [
        ("{ about = \"y\" }", "`at`"),
        ("{ at = \"1 x 2 x 3 mm\" }", "`about`"),
        (
            "{ about = [0, 0, 0], at = \"1 x 2 x 3 mm\" }",
            "no direction",
        ),
    ] {
        let said = read(&with(turns)).expect_err(message).render();
        assert!(said.contains(message), "{said}");
    }
}

#[test]
fn the_schema_knows_them() {
    let schema = schema().to_string();
    for word in [
        "sheet_resistance",
        "contact",
        "voltage_limit",
        "at_most",
        "reverse_share",
        "current_limit",
    ] {
        assert!(schema.contains(word), "{word}");
    }
}
