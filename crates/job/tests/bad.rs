//! Jobs with faults: each must be named at its line and column, with a way out.

use crate::{faults, the_fault};
use ionfall_job::parse;
use std::path::Path;

const BASE: &str = include_str!("jobs/base.toml");

/// The base with one text replaced has exactly this fault: line, column, piece of the message,
/// piece of the help.
#[track_caller]
fn one_fault(from: &str, to: &str, place: (usize, usize), message: &str, help: &str) {
    assert!(BASE.contains(from), "{from:?} is in the base");
    let text = BASE.replacen(from, to, 1);
    let (at, shown) = the_fault(&text, message, help);
    assert_eq!(at, place, "{shown}");
    // The excerpt shows the line.
    let line = text.lines().nth(place.0 - 1).unwrap_or_default().trim();
    assert!(shown.contains(line), "{shown}");
}

#[test]
fn the_base_is_right() {
    assert!(parse("job.toml", BASE, Path::new("")).is_ok());
}

#[test]
fn bare_number() {
    one_fault(
        "current = \"1 A\"",
        "current = 1",
        (13, 11),
        "`current` of `supply` is not a current: the unit is missing",
        "units accepted here: A, mA, kA",
    );
}

#[test]
fn number_in_quotes_without_unit() {
    one_fault(
        "\"1 A\"",
        "\"1\"",
        (13, 11),
        "the unit is missing",
        "A, mA, kA",
    );
}

#[test]
fn wrong_unit() {
    one_fault(
        "25 degC",
        "25 mm",
        (6, 15),
        "`mm` measures a length",
        "degC, K, degF",
    );
}

#[test]
fn prices() {
    let with = |lines: &str| format!("current = \"1 A\"\n[prices]\n{lines}");
    one_fault(
        "current = \"1 A\"",
        &with("metal = \"11 per kWh\""),
        (15, 9),
        "`per kWh` measures a price of energy",
        "per kg, per g, per lb",
    );
    one_fault(
        "current = \"1 A\"",
        &with("currency = \"EUR\""),
        (14, 1),
        "there is no price in it",
        "metal = \"11 per kg\"",
    );
}

#[test]
fn negative_length() {
    one_fault(
        "\"10 mm\"",
        "\"-10 mm\"",
        (11, 25),
        "must be greater than zero",
        "above zero",
    );
}

#[test]
fn negative_side_of_the_tank() {
    one_fault(
        "\"100 x 100 x 100 mm\"",
        "\"100 x -100 x 100 mm\"",
        (3, 8),
        "`size` of `tank` must be greater than zero on every side",
        "above zero",
    );
}

#[test]
fn unknown_key() {
    one_fault(
        "temperature",
        "temprature",
        (6, 1),
        "`temprature` is not known in `bath`",
        "did you mean `temperature`?",
    );
}

#[test]
fn unknown_table() {
    one_fault(
        "[supply]\n",
        "[plann]\ntime = \"1 h\"\n[supply]\n",
        (12, 2),
        "`plann` is not known in the job",
        "did you mean `plan`?",
    );
}

#[test]
fn unknown_shape() {
    one_fault(
        "shape.ball",
        "shape.bal",
        (11, 7),
        "`bal` is not known",
        "did you mean `ball`?",
    );
}

#[test]
fn unknown_bath() {
    one_fault(
        "\"acid copper\"",
        "\"acid coper\"",
        (5, 8),
        "`acid coper`",
        "`acid copper`",
    );
}

#[test]
fn missing_key() {
    one_fault(
        "radius = \"10 mm\", ",
        "",
        (11, 7),
        "needs one of `radius`, `diameter`",
        "exactly one",
    );
}

#[test]
fn both_current_and_voltage() {
    one_fault(
        "current = \"1 A\"",
        "current = \"1 A\"\nvoltage = \"2 V\"",
        (14, 11),
        "has both `current` and `voltage`",
        "keep exactly one",
    );
}

#[test]
fn no_anode() {
    one_fault(
        "[[anode]]",
        "[[shield]]",
        (1, 1),
        "the job has no anode",
        "[[anode]]",
    );
}

#[test]
fn no_work() {
    one_fault(
        "[[work]]",
        "[[thief]]",
        (1, 1),
        "the job has no work",
        "[[work]]",
    );
}

#[test]
fn same_name_twice() {
    one_fault(
        "name = \"work\"",
        "name = \"anode\"",
        (10, 8),
        "the name `anode` is used twice",
        "a name of its own",
    );
}

#[test]
fn electrode_outside_the_tank() {
    one_fault(
        "60 x 50 x 50 mm",
        "60 x 50 x 500 mm",
        (9, 1),
        "`work` lies outside the liquid",
        "move it into the tank",
    );
}

#[test]
fn liquid_level_outside_the_tank() {
    one_fault(
        "[bath]",
        "liquid_level = \"200 mm\"\n[bath]",
        (4, 16),
        "the liquid level is outside the tank",
        "from 0 to 100 mm",
    );
}

#[test]
fn two_coordinates_in_a_tank() {
    one_fault(
        "60 x 50 x 50 mm",
        "60 x 50 mm",
        (11, 43),
        "needs 3 numbers, found 2",
        "three coordinates",
    );
}

#[test]
fn stop_off_on_nothing() {
    one_fault(
        "[supply]",
        "[[stop_off]]\non = \"wrok\"\nshape.ball.radius = \"1 mm\"\n[supply]",
        (13, 6),
        "no electrode is named `wrok`",
        "did you mean `work`?",
    );
}

#[test]
fn bath_outside_its_data() {
    one_fault(
        "25 degC",
        "90 degC",
        (6, 15),
        "temperature in degC must lie between 5 and 80",
        "custom",
    );
}

#[test]
fn solid_that_cannot_be() {
    one_fault(
        "to = \"5 x 100 x 100 mm\"",
        "to = \"0 x 100 x 100 mm\"",
        (8, 7),
        "a side of the box",
        "change this shape",
    );
}

#[test]
fn missing_file() {
    one_fault(
        "shape.ball = { radius = \"10 mm\", centre = \"60 x 50 x 50 mm\" }",
        "shape.mesh = { file = \"part.stl\", unit = \"mm\" }",
        (11, 23),
        "there is no file part.stl",
        "from the folder of the job file",
    );
}

#[test]
fn broken_toml() {
    one_fault(
        "[supply]",
        "[supply",
        (12, 8),
        "this is not TOML",
        "[table]",
    );
}

#[test]
fn all_faults_are_shown_at_once() {
    let text = BASE
        .replace("25 degC", "25 mm")
        .replace("\"10 mm\"", "\"-10 mm\"")
        .replace("title", "titel")
        .replace("current = \"1 A\"", "current = 1");
    let faults = faults(&text);
    let places: Vec<_> = faults
        .list()
        .iter()
        .map(|f| faults.line_column(f))
        .collect();
    assert_eq!(places, [(1, 1), (6, 15), (11, 25), (13, 11)]);
    let shown = faults.render();
    for piece in [
        "did you mean `title`?",
        "25 mm",
        "-10 mm",
        "the unit is missing",
    ] {
        assert!(shown.contains(piece), "{shown}");
    }
    assert_eq!(faults.to_string(), "job.toml has 4 faults");
}

#[test]
fn nothing_at_all() {
    let faults = faults("");
    let messages: Vec<_> = faults.list().iter().map(|f| f.message.as_str()).collect();
    for key in ["tank", "bath", "supply"] {
        assert!(messages.contains(&format!("`{key}` is missing in the job").as_str()));
    }
    assert!(messages.contains(&"the job has no work"));
}

/// A figure that does not fit is told where it is used; one that is wrong in itself, where it
/// stands; one that nothing uses, too.
#[test]
fn figures() {
    let with = |figures: &str, centre: &str| {
        let text = format!("{BASE}[figures]\n{figures}\n");
        faults(&text.replace("60 x 50 x 50 mm", centre))
    };
    for (figures, centre, place, message, help) in [
        (
            "gap = \"60\"",
            "gap x 50 x 50 mm",
            (15, 7),
            "the unit is missing",
            "mm, cm",
        ),
        (
            "gap = \"60 mm\"",
            "gpa x 50 x 50 mm",
            (11, 43),
            "no figure is called `gpa`",
            "mm, cm",
        ),
        (
            "gap = \"6 V\"",
            "gap x 50 x 50 mm",
            (11, 43),
            "measures a voltage",
            "mm, cm",
        ),
        (
            "gap = \"60 mm\"",
            "60 x 50 x 50 mm",
            (15, 7),
            "`gap` is not used",
            "take the figure out",
        ),
        (
            "gap = true",
            "60 x 50 x 50 mm",
            (15, 7),
            "neither a quantity",
            "in quotes",
        ),
        (
            "2gap = \"1 mm\"",
            "60 x 50 x 50 mm",
            (15, 1),
            "cannot be called",
            "a letter first",
        ),
    ] {
        let faults = with(figures, centre);
        let shown = faults.render();
        let fault = &faults.list()[0];
        assert_eq!(faults.list().len(), 1, "{shown}");
        assert!(fault.message.contains(message), "{shown}");
        assert!(
            fault.help.as_deref().unwrap_or_default().contains(help),
            "{shown}"
        );
        assert_eq!(faults.line_column(fault), place, "{shown}");
    }
}

/// However often a figure is used that is misspelt, or wrong in itself, it is told once.
#[test]
fn figures_that_are_used_often_are_told_once() {
    for (figures, message) in [
        ("gpa = \"60 mm\"", "no figure is called `gap`"),
        ("gap = \"60 mmm\"", "figure `gap` is \"60 mmm\""),
        (
            "gap = \"2 * half\"\nhlaf = \"30 mm\"",
            "no figure is called `half`",
        ),
    ] {
        let lines = "[[line]]\nfrom = \"gap x gap x 1 mm\"\nto = \"2 * gap x 1 x 1 mm\"\n";
        let text = format!("{BASE}[figures]\n{figures}\n{lines}");
        let faults = faults(&text.replace("60 x 50 x 50 mm", "gap x 50 x 50 mm"));
        let shown = faults.render();
        assert_eq!(faults.list().len(), 1, "{shown}");
        let told = &faults.list()[0].message;
        assert!(told.contains(message), "{shown}");
        assert!(told.ends_with("(and so in 2 more places)"), "{shown}");
    }
}

#[test]
fn lines_need_a_work_and_a_length() {
    for (line, message) in [
        ("from = \"1 x 1 x 1 mm\"", "`to` is missing"),
        (
            "from = \"1 x 1 x 1 mm\"\nto = \"1 x 1 x 1 mm\"",
            "no length",
        ),
        ("points = [\"1 x 1 x 1 mm\"]", "at least two points"),
        (
            "on = \"wrok\"\nfrom = \"1 x 1 x 1 mm\"\nto = \"2 x 1 x 1 mm\"",
            "no electrode",
        ),
        (
            "on = \"anode\"\nfrom = \"1 x 1 x 1 mm\"\nto = \"2 x 1 x 1 mm\"",
            "is an anode",
        ),
    ] {
        let faults = faults(&format!("{BASE}[[line]]\n{line}\n"));
        assert!(
            faults.list()[0].message.contains(message),
            "{}",
            faults.render()
        );
    }
}
