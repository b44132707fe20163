//! Bad jobs: a clear word, the right exit code, nothing written.

use crate::bench::{Bench, PLATES, said};

/// The plates with one text replaced.
pub fn changed(from: &str, to: &str) -> Bench {
    assert!(PLATES.contains(from), "the plates have no {from}");
    Bench::new(&PLATES.replace(from, to))
}

pub const WORK_BOX: &str = r#"shape.box = { from = "-5 x -5 x -5 mm", to = "5 x 35 x 35 mm" }"#;

#[test]
fn a_missing_job() {
    let bench = Bench::new(PLATES);
    std::fs::remove_file(bench.path("job.toml")).unwrap();
    bench.refused(2, &["cannot read the job file job.toml", "check the name"]);
}

#[test]
fn garbage() {
    Bench::new("[[[ what").refused(2, &["job.toml:1:", "this is not TOML"]);
    let bench = Bench::new("");
    bench.write("job.toml", &(0..=255).collect::<Vec<u8>>());
    bench.refused(2, &["cannot read the job file", "plain text file"]);
}

#[test]
fn a_wrong_unit_names_the_right_ones() {
    let words = [
        "job.toml:7:",
        "not a conductivity",
        "units accepted here",
        "S/m",
        "mS/cm",
    ];
    changed("\"25 S/m\"", "\"25 mm\"").refused(2, &words);
}

#[test]
fn a_negative_length() {
    let words = ["`size` of `tank` must be greater than zero"];
    changed("\"100 x 30 x 30 mm\"", "\"-100 x 30 x 30 mm\"").refused(2, &words);
    let words = ["`finest` of `grid` must be greater than zero"];
    changed("\"4 mm\"", "\"-4 mm\"").refused(2, &words);
}

#[test]
fn an_unknown_key_gets_a_suggestion() {
    let words = [
        "`voltige` is not known in `supply`",
        "did you mean `voltage`?",
    ];
    changed("voltage =", "voltige =").refused(2, &words);
}

#[test]
fn all_errors_are_shown_at_once() {
    let bench = Bench::new(
        &PLATES
            .replace("voltage =", "voltige =")
            .replace("25 S/m", "25 mm")
            .replace("1 h", "1"),
    );
    bench.refused(
        2,
        &[
            "did you mean `voltage`?",
            "not a conductivity",
            "the unit is missing",
        ],
    );
}

#[test]
fn check_finds_the_same_mistakes() {
    let bench = changed("voltage =", "voltige =");
    let output = bench.ionfall(&["check", "job.toml"]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(said(&output), said(&bench.run()));
    assert!(output.stdout.is_empty());
}

#[test]
fn a_wrong_command_line() {
    let bench = Bench::new(PLATES);
    for (arguments, word) in [
        (&["chek", "job.toml"][..], "check"),
        (&["run"], "<JOB>"),
        (&["run", "job.toml", "--threads", "0"], "1..=1024"),
    ] {
        let output = bench.ionfall(arguments);
        assert_eq!(output.status.code(), Some(2));
        assert!(said(&output).contains(word), "{}", said(&output));
    }
}

#[test]
fn an_electrode_outside_the_tank() {
    let far = r#"shape.box = { from = "500 x 0 x 0 mm", to = "510 x 30 x 30 mm" }"#;
    let words = ["`plate` lies outside the liquid", "move it into the tank"];
    changed(WORK_BOX, far).refused(2, &words);
}

#[test]
fn electrodes_that_touch() {
    let wide = r#"shape.box = { from = "-5 x -5 x -5 mm", to = "95 x 20 x 35 mm" }"#;
    let words = [
        "\"anode\"",
        "\"plate\"",
        "touch near (95.00 mm",
        "must be apart",
    ];
    changed(WORK_BOX, wide).refused(2, &words);
}

#[test]
fn an_electrode_wholly_under_stop_off() {
    let lacquer = r#"
[[stop_off]]
shape.box = { from = "-9 x -9 x -9 mm", to = "9 x 39 x 39 mm" }
"#;
    let words = ["\"plate\"", "all of it is under stop-off", "leave some"];
    Bench::new(&format!("{PLATES}{lacquer}")).refused(2, &words);
}

#[test]
fn a_part_behind_a_tight_wall() {
    let body = |table: &str, from: &str, to: &str| {
        format!(
            "[[{table}]]\nname = \"a {table}\"\nshape.box = {{ from = \"{from}\", to = \"{to}\" }}\n"
        )
    };
    let wall = body("shield", "50 x -5 x -5 mm", "52 x 35 x 35 mm");
    let words = ["no electrolyte joins", "leave a way for the current"];
    Bench::new(&format!("{PLATES}{wall}")).refused(2, &words);
    // Another anode on this side of the wall: only the one beyond it is told of.
    let near = body("anode", "30 x 10 x 10 mm", "34 x 20 x 20 mm");
    let words = ["\"anode\"", "no electrolyte joins it to another electrode"];
    Bench::new(&format!("{PLATES}{wall}{near}")).refused(2, &words);
}

#[test]
fn a_demand_above_the_limiting_current() {
    let law = r#"law.tafel = { exchange_current_density = "1 A/m2", slope = "50 mV", limiting_current_density = "300 A/m2" }"#;
    let job = PLATES
        .replace(r#"law.linear = { resistance = "0.002 ohm m2" }"#, law)
        .replace("voltage = \"1 V\"", "current = \"1 A\"");
    // 9 cm2 at 300 A/m2 carry 0.27 A.
    let words = ["1.000 A are asked for", "no more than 0.270 A can flow"];
    Bench::new(&job).refused(3, &words);
}
