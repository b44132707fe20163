//! Bodies that are drawn once and hang there several times.

use crate::{good, parts, the_fault};
use approx::assert_relative_eq;
use ionfall_job::{describe, parse, with_values};
use ionfall_model::{Electrode, Geometry, Parts, Role};
use std::path::Path;

const RACK: &str = include_str!("jobs/rack.toml");
const ONCE: &str = "repeat = { pitch = \"0 x 90 x 100 mm\", count = \"1 x 3 x 2\" }";

fn names(parts: &Parts<3>, role: Role) -> Vec<&str> {
    let own = parts.electrodes.iter().filter(|e| e.role == role);
    own.map(|e| e.name.as_str()).collect()
}

fn one<'a>(parts: &'a Parts<3>, name: &str) -> (usize, &'a Electrode) {
    let found = parts
        .electrodes
        .iter()
        .enumerate()
        .find(|(_, e)| e.name == name);
    found.unwrap_or_else(|| panic!("no {name}"))
}

/// The rack with one piece replaced has exactly one fault: at this line, with this message and way out.
#[track_caller]
fn one_fault(from: &str, to: &str, message: &str, help: &str) {
    assert!(RACK.contains(from), "{from:?}");
    let text = RACK.replacen(from, to, 1);
    let ((line, _), shown) = the_fault(&text, message, help);
    let at = text
        .lines()
        .position(|line| line == to.lines().next().unwrap());
    let at = at.expect("the line that was put in") + 1;
    let lines = at..at + to.lines().count();
    assert!(lines.contains(&line), "{shown}");
}

#[test]
fn copies_have_names_places_and_all_that_was_drawn_on_the_first() {
    let model = good(RACK);
    let parts = parts(&model);
    let bars = [
        "bar 1.1", "bar 1.2", "bar 2.1", "bar 2.2", "bar 3.1", "bar 3.2",
    ];
    assert_eq!(names(parts, Role::Anode), bars);
    let medals: Vec<String> = (1..=3)
        .flat_map(|y| (1..=2).map(move |z| format!("medal {y}.{z}")))
        .collect();
    assert_eq!(names(parts, Role::Work), medals);
    assert_eq!(names(parts, Role::Thief), ["wire 1", "wire 2"]);
    for e in &parts.electrodes {
        assert_eq!(e.name, parts.domain.bodies[e.body].name);
        assert!(e.answers_to(&e.name) && e.answers_to(e.copy_of.as_deref().unwrap()));
    }
    let bounds = |name: &str| parts.domain.bodies[one(parts, name).1.body].solid.bounds();
    let medal = bounds("medal 3.2");
    for (found, expected) in medal.low.into_iter().zip([0.14, 0.21, 0.13]) {
        assert_relative_eq!(found, expected, epsilon = 1e-9);
    }
    // The mirror image on the other side of x = 150 mm; a wire along x turned to y about x = 100, y = 60 mm.
    let bar = bounds("bar 2.2");
    assert_relative_eq!(bar.low[0], 0.28, epsilon = 1e-12);
    assert_relative_eq!(bar.low[1], 0.15, epsilon = 1e-12);
    let wire = bounds("wire 2");
    assert_relative_eq!(wire.low[1], 0.03, epsilon = 1e-12);
    assert_relative_eq!(wire.high[1], 0.07, epsilon = 1e-12);
    assert_relative_eq!(wire.high[0] - wire.low[0], 0.004, epsilon = 1e-9);
    // Coats, contacts, axes.
    let (last, _) = one(parts, "medal 3.2");
    assert_eq!(
        (parts.coats.len(), parts.contacts.len(), parts.turns.len()),
        (6, 6, 6)
    );
    let contact = parts.contacts.iter().find(|c| c.electrode == last).unwrap();
    assert_eq!(contact.name, "contact of medal 3.2");
    assert!(contact.region.contains(&[0.14, 0.24, 0.19]));
    let turn = parts.turns.iter().find(|t| t.electrode == last).unwrap();
    for (found, expected) in turn.at.into_iter().zip([0.14, 0.24, 0.16]) {
        assert_relative_eq!(found, expected, epsilon = 1e-12);
    }
}

#[test]
fn what_names_the_original_means_all_copies() {
    let model = good(RACK);
    let parts = parts(&model);
    assert_eq!(model.supplies[0].anodes, [0, 1, 2, 3, 4, 5]);
    let wires = names(parts, Role::Thief)
        .into_iter()
        .map(|n| one(parts, n).0);
    assert_eq!(model.supplies[1].thieves, wires.collect::<Vec<_>>());
    assert_eq!(model.wanted.as_ref().unwrap().on.as_deref(), Some("medal"));
    // The lacquer on all six medals, each where the medal is; two spots on one.
    let offs = &parts.domain.stop_offs;
    assert_eq!(offs.len(), 8);
    let last = one(parts, "medal 3.2").1.body;
    let off = offs.iter().find(|o| o.body == Some(last)).unwrap();
    assert!(off.solid.contains(&[0.144, 0.24, 0.16]) && !off.solid.contains(&[0.144, 0.06, 0.06]));
    let spotted = one(parts, "medal 1.2").1.body;
    let spots: Vec<_> = offs.iter().filter(|o| o.body == Some(spotted)).collect();
    assert_eq!(spots.len(), 3);
    assert!(spots[1].solid.contains(&[0.14, 0.06, 0.16]));
    assert!(spots[2].solid.contains(&[0.14, 0.07, 0.16]));
    // Sheets too.
    let sheets = &parts.domain.sheets;
    assert_eq!([&sheets[0].name, &sheets[1].name], ["strip 1", "strip 2"]);
    assert!(
        sheets[1]
            .sheet
            .soup
            .vertices
            .iter()
            .all(|v| (v[0] - 0.26).abs() < 1e-9)
    );
    // A face is one on each medal.
    let faces: Vec<&str> = parts.faces.iter().map(|f| f.name.as_str()).collect();
    assert_eq!(faces.len(), 6);
    assert_eq!(faces[5], "front 3.2");
    let front = &parts.faces[5];
    assert_eq!(front.on, one(parts, "medal 3.2").0);
    let at = |x: f64, y: f64, z: f64| [1e-3 * x, 1e-3 * y, 1e-3 * z];
    assert!(front.has(&at(140.0, 245.0, 160.0), &[-1.0, 0.0, 0.0]));
    assert!(!front.has(&at(140.0, 235.0, 160.0), &[-1.0, 0.0, 0.0]));
    assert!(!front.has(&at(140.0, 245.0, 160.0), &[1.0, 0.0, 0.0]));
    assert!(!front.has(&at(140.0, 65.0, 60.0), &[-1.0, 0.0, 0.0]));
}

/// The side of a face turns with the part.
#[test]
fn sides_are_those_of_the_part() {
    let ring = "repeat = { turn = \"180 deg\", about = \"z\", at = \"160 x 150 x 0 mm\" }";
    let text = RACK.replacen("medal 1.2", "medal 1", 1);
    let model = good(&text.replacen(ONCE, ring, 1));
    let faces = &parts(&model).faces;
    assert_eq!(faces.len(), 2);
    // The medal hangs at y = 240 mm now, its front looks to x, and the box has become 200 to 240 mm.
    let at = |y: f64| [0.18, 1e-3 * y, 0.06];
    assert!(faces[1].has(&at(235.0), &[1.0, 0.0, 0.0]));
    assert!(!faces[1].has(&at(235.0), &[-1.0, 0.0, 0.0]));
    assert!(!faces[1].has(&at(245.0), &[1.0, 0.0, 0.0]));
}

/// The description tells the first of the copies whole, and the surface of the others.
#[test]
fn the_description_names_all_copies() {
    let model = good(RACK);
    let areas = vec![1e-3; parts(&model).domain.bodies.len()];
    let text = describe(&model, &areas);
    for name in names(parts(&model), Role::Work) {
        let line = format!("work `{name}`: surface in the liquid 0.1 dm2");
        assert!(text.contains(&line), "{text}");
    }
    let count = |piece: &str| text.matches(piece).count();
    assert_eq!(count("contact of medal"), 1, "{text}");
}

/// How many there are and how far apart can be tried like any other value.
#[test]
fn counts_and_pitches_vary() {
    let rack = RACK.replacen("medal 1.2", "medal", 1);
    let vary = |path: &str, value: &str| {
        let text = with_values(&rack, &[(path.into(), value.into())]).unwrap();
        let model = good(&text);
        names(parts(&model), Role::Work).len()
    };
    assert_eq!(vary("work.repeat.count", "1 x 2 x 2"), 4);
    assert_eq!(vary("work.repeat.count", "1 x 3 x 1"), 3);
    assert_eq!(vary("work.repeat.pitch.y", "70 mm"), 6);
    let figure = format!("[figures]\nrows = 2\n{rack}").replacen("1 x 3 x 2", "1 x rows x 2", 1);
    assert_eq!(names(parts(&good(&figure)), Role::Work).len(), 4);
    // A single one is no copy.
    let model = good(&rack.replacen("1 x 3 x 2", "1 x 1 x 1", 1));
    assert_eq!(names(parts(&model), Role::Work), ["medal"]);
    assert_eq!(one(parts(&model), "medal").1.copy_of, None);
}

#[test]
fn mistakes_are_told_with_a_way_out() {
    let repeat = |steps: &str| format!("repeat = {steps}");
    for (steps, message, help) in [
        (
            "{ pitch = \"0 x 50 x 100 mm\", count = \"1 x 3 x 2\" }",
            "`medal 1.1` and `medal 2.1` overlap",
            "one is 4 x 60 x 60 mm",
        ),
        (
            "{ turn = \"90 deg\", about = \"x\", at = \"140 x 60 x 60 mm\" }",
            "`medal 1` and `medal 2` overlap",
            "farther apart",
        ),
        (
            "{ pitch = \"0 x 90 x 100 mm\", count = 6 }",
            "does not say how many there are along each axis",
            "\"1 x 3 x 2\"",
        ),
        (
            "{ pitch = \"0 x 90 x 0 mm\", count = \"1 x 3 x 2\" }",
            "zero along a row",
            "from one to the next",
        ),
        (
            "{ pitch = \"0 x 90 x 100 mm\", count = \"1 x 3 x 2.5\" }",
            "no number of copies",
            "whole numbers from 1 to 500",
        ),
        (
            "{ pitch = \"0 x 90 x 100 mm\", count = \"3 x 2\" }",
            "needs 3 numbers, found 2",
            "one number for each coordinate",
        ),
        (
            "{ pitch = \"90 x 100 mm\", count = \"3 x 2\" }",
            "needs 3 numbers, found 2",
            "three coordinates",
        ),
        (
            "{ pitch = \"0 x 1 x 1 mm\", count = \"1 x 40 x 40\" }",
            "1600 copies are too many",
            "500",
        ),
        (
            "{ pitch = \"0 x 90 x 100 mm\" }",
            "`count` is missing",
            "1 x 3 x 2",
        ),
        (
            "{ move = \"0 x 90 x 100 mm\" }",
            "`move` is no step that makes copies",
            "write pitch",
        ),
        (
            "{ mirror = \"x\", at = \"150 x 0 x 0 mm\", count = 2 }",
            "`count` is not known",
            "",
        ),
        ("3", "is an integer", "a table in braces"),
    ] {
        let to = repeat(steps);
        let text = RACK.replacen("medal 1.2", "medal", 1);
        let text = text.replacen(ONCE, &to, 1);
        let faults = parse("job.toml", &text, Path::new("")).expect_err(steps);
        let shown = faults.render();
        let own = faults.list().iter().find(|f| f.message.contains(message));
        let own = own.unwrap_or_else(|| panic!("{shown}"));
        assert_eq!(faults.list().len(), 1, "{shown}");
        let (given, line) = (
            own.help.as_deref().unwrap_or_default(),
            faults.line_column(own).0,
        );
        assert!(
            given.contains(help) || own.message.contains(help),
            "{shown}"
        );
        let expected = text.lines().position(|l| l == to).unwrap() + 1;
        // A table whose head stands above is told of at its head.
        assert!((expected - 3..=expected).contains(&line), "{shown}");
    }
    one_fault(
        "on = \"medal 1.2\"",
        "on = \"medal 1.3\"",
        "no electrode is named `medal 1.3`",
        "medal 1.1",
    );
    one_fault(
        "name = \"strip\"",
        "name = \"medal 2.1\"",
        "used twice",
        "name of its own",
    );
    one_fault(
        "shape.box = { from = \"10 x 30 x 30 mm\", to = \"20 x 60 x 210 mm\" }\nrepeat = [",
        "wall = \"-x\"\nrepeat = [",
        "a wall: there is one of it",
        "tables of their own",
    );
    one_fault(
        "[[face]]\nname = \"front\"\non = \"medal\"\nside = \"-x\"",
        "[[line]]\nfrom = \"140 x 60 x 60 mm\"\nto = \"140 x 80 x 60 mm\"\non = \"medal\"\n[[face]]\non = \"medal\"\nside = \"-x\"",
        "is 6 copies, and a line lies on one",
        "on = \"medal 1.1\"",
    );
}

/// In the plane there are two coordinates.
#[test]
fn rows_in_the_plane() {
    let text = "space = \"planar\"\ndepth = \"100 mm\"\n\
        tank = { size = \"200 x 100 mm\" }\n\
        bath = { kind = \"custom\", metal = \"copper\", conductivity = \"20 S/m\" }\n\
        anode = { wall = \"-x\" }\nsupply = { current = \"1 A\" }\n\
        [[work]]\nshape.circle = { radius = \"4 mm\", centre = \"60 x 20 mm\" }\n\
        repeat = [{ pitch = \"30 x 25 mm\", count = \"2 x 3\" }, { turn = \"10 deg\", at = \"60 x 20 mm\" }]\n";
    let faults = parse("job.toml", text, Path::new(""))
        .expect_err("they overlap")
        .render();
    assert!(
        faults.contains("`work 1.1.1` and `work 1.1.2` overlap"),
        "{faults}"
    );
    let model = good(&text.replace(", { turn = \"10 deg\", at = \"60 x 20 mm\" }", ""));
    let Geometry::Flat(parts) = &model.geometry else {
        panic!("a plane");
    };
    assert_eq!(parts.electrodes.len(), 7);
    assert_eq!(parts.electrodes[6].name, "work 2.3");
}

/// A sheet that is open all over is no sheet, at any way of saying so; what is wrong with it is told all the same.
#[test]
fn a_sheet_that_is_all_open_is_not_there() {
    let with = |open: &str| {
        RACK.replacen(
            "thickness = \"1 mm\"",
            &format!("thickness = \"1 mm\", open_area = {open}"),
            1,
        )
    };
    for open in ["\"100 %\"", "1", "1.0"] {
        let model = good(&with(open));
        assert_eq!(parts(&model).domain.sheets.len(), 0, "{open}");
        let told = model
            .notes
            .iter()
            .any(|n| n.contains("`strip` is open all over"));
        assert!(told, "{:?}", model.notes);
    }
    assert_eq!(parts(&good(&with("\"99 %\""))).domain.sheets.len(), 2);
    for (open, message) in [
        ("\"101 %\"", "between 0 and 100 %"),
        ("\"100 mm\"", "is not a share"),
    ] {
        let faults = parse("job.toml", &with(open), Path::new("")).expect_err(open);
        assert!(faults.render().contains(message), "{}", faults.render());
    }
}
