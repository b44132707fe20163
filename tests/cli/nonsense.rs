//! What could be meant but hardly is: `check` says what is out of the usual range, and by how much, and refuses
//! nothing. What a run refuses, it refuses too.

use crate::bad_input::{WORK_BOX, changed};
use crate::bench::{Bench, PLATES, said};

/// The plates in a bath with laws and limits of its own.
fn bath(agitation: &str, figures: &str) -> String {
    let custom = "kind = \"custom\"\nmetal = \"Cu\"\nconductivity = \"25 S/m\"";
    let acid =
        format!("kind = \"acid copper\"\nrecipe = \"general\"\nagitation = {agitation}\n{figures}");
    let law = "law.linear = { resistance = \"0.002 ohm m2\" }\n";
    PLATES
        .replace(custom, &acid)
        .replace(law, "")
        .replace("voltage = \"1 V\"", "mean_current_density = \"2 A/dm2\"")
}

/// What `check` says of a job that it takes, as running text.
fn checked(job: &str) -> String {
    let output = Bench::new(job).ionfall(&["check", "job.toml"]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    String::from_utf8(output.stdout).unwrap()
}

fn told(job: &str, words: &[&str]) {
    let text = checked(job);
    for word in words {
        assert!(text.contains(word), "no \"{word}\" in:\n{text}");
    }
}

#[test]
fn what_is_usual_is_not_told() {
    for job in [
        PLATES.to_owned(),
        bath("\"air\"", "conductivity = \"20 S/m\""),
    ] {
        let text = checked(&job);
        assert!(
            !text.contains("usual (") && !text.contains("Too much"),
            "{text}"
        );
    }
}

#[test]
fn figures_of_the_bath() {
    let with = |figure: &str| bath("\"air\"", figure);
    let words = ["`conductivity` of `bath`: 240 S/m is 2.4 times the most that is usual"];
    told(&with("conductivity = \"240 S/m\""), &words);
    let words = ["0.05 S/m is 40 times less than the least that is usual"];
    told(&with("conductivity = \"0.05 S/m\""), &words);
    told(
        &with("diffusion = \"1e-3 m2/s\""),
        &["`diffusion` of `bath`", "times the most"],
    );
    let film = bath("{ film = \"1e-6 mm\" }", "");
    told(
        &film,
        &["`film` of `agitation`", "1000 times less than the least"],
    );
    let rod = bath("{ rod = \"3000 m/min\", length = \"100 mm\" }", "");
    told(
        &rod,
        &["`rod` of `agitation`", "3000 m/min is 50 times the most"],
    );
}

#[test]
fn figures_of_bodies_and_supplies() {
    let plates = |from: &str, to: &str| {
        assert!(PLATES.contains(from), "{from}");
        PLATES.replace(from, to)
    };
    let lead = plates("name = \"plate\"", "name = \"plate\"\nlead = \"1000 ohm\"");
    told(
        &lead,
        &["`lead` of `plate`: 1000 ohm is 100 times the most"],
    );
    let linear = "law.linear = { resistance = \"0.002 ohm m2\" }";
    let tafel = "law.tafel = { exchange_current_density = \"1 A/m2\", slope = \"1 V\" }";
    told(
        &plates(linear, tafel),
        &["`slope` of `tafel`: 1000 mV is 3.3 times the most"],
    );
    told(
        &plates("\"1 V\"", "\"1e6 V\""),
        &["`voltage` of `supply`", "10000 times the most"],
    );
    told(
        &plates("\"1 h\"", "\"1e9 h\""),
        &["`time` of `plan`", "times the most"],
    );
    let small = "shape.box = { from = \"50 x 15 x 15 mm\", to = \"50.1 x 15.1 x 15.1 mm\" }";
    let tiny = plates(WORK_BOX, small).replace("\"4 mm\"", "\"8 mm\"");
    told(
        &tiny,
        &[
            "`plate` is 0.1 mm at its longest",
            "the cells there are 8 mm",
        ],
    );
    // A tank whose millimetres were taken for inches.
    let inches = PLATES.replace("100 x 30 x 30 mm", "300 x 200 x 180 in");
    told(
        &inches,
        &["the tank at its longest: 7620 mm is 1.3 times the most"],
    );
    // The same with a smaller one: its bodies are lost in it. Moved to its walls they are not.
    let inches = PLATES.replace("100 x 30 x 30 mm", "100 x 30 x 30 in");
    let words = "the tank is 2540 mm at its longest, and all electrodes lie within 105 mm of it";
    told(&inches, &[words]);
    let walls = inches.replace("-5 x -5 x -5 mm", "2500 x -5 x -5 mm");
    let walls = walls.replace("\"5 x 35 x 35 mm\"", "\"2550 x 800 x 800 mm\"");
    let walls = walls.replace("\"4 mm\"", "\"20 mm\"");
    assert!(!checked(&walls).contains("all electrodes lie within"));
}

#[test]
fn more_current_than_can_reach_the_work() {
    let much = bath("\"air\"", "").replace("2 A/dm2", "200 A/dm2");
    told(
        &much,
        &[
            "Too much: 18 A are asked for",
            "a run will refuse this",
            "stronger agitation",
        ],
    );
    let output = Bench::new(&much).run();
    assert_eq!(output.status.code(), Some(3), "{}", said(&output));
}

/// A contact beside its coat: `run` refuses it, and so does `check`, in the same words.
#[test]
fn what_a_run_refuses_check_refuses() {
    let coat = "coat = { sheet_resistance = \"5 ohm/sq\" }\ncontact = { shape.ball = { centre = \"60 x 10 x 10 mm\", \
                radius = \"2 mm\" }, resistance = \"2 mohm\" }";
    let idle = changed("law.linear = { resistance = \"0.002 ohm m2\" }", coat);
    let [run, check] = [idle.run(), idle.ionfall(&["check", "job.toml"])];
    assert_eq!(run.status.code(), Some(2), "{}", said(&run));
    assert_eq!(check.status.code(), Some(2), "{}", said(&check));
    assert_eq!(said(&run), said(&check));
    assert!(said(&check).contains("touches no coat"), "{}", said(&check));
}

#[test]
fn trials_of_which_none_can_be_computed() {
    let bench = Bench::new(PLATES);
    let vary = "work.plate.shape.box.to=500 x 1 x 1 mm,600 x 1 x 1 mm";
    let output = bench.ionfall(&["trials", "job.toml", "--vary", vary]);
    assert_eq!(output.status.code(), Some(3), "{}", said(&output));
}
