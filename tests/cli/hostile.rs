//! Input that means harm, or was damaged: refused soon, in few words, and nothing in it reaches the terminal or
//! a table as a command.

use crate::bad_input::{WORK_BOX, changed};
use crate::bench::{Bench, PLATES, said};
use std::fs;
use std::process::Output;
use std::time::{Duration, Instant};

/// `check` must refuse with exit code 2, these words, soon and without filling the screen.
fn refused(bench: &Bench, words: &[&str]) -> String {
    let clock = Instant::now();
    let output = bench.ionfall(&["check", "job.toml"]);
    assert!(
        clock.elapsed() < Duration::from_secs(10),
        "{:?}",
        clock.elapsed()
    );
    let said = said(&output);
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(
        output.stderr.len() < 20_000,
        "{} bytes",
        output.stderr.len()
    );
    assert!(is_clean(&output.stderr), "{said}");
    for word in words {
        assert!(said.contains(word), "no \"{word}\" in:\n{said}");
    }
    said
}

/// Nothing that moves the cursor.
fn is_clean(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes);
    text.chars().all(|c| !c.is_control() || c == '\n')
}

fn good(bench: &Bench) -> Output {
    let output = bench.ionfall(&["check", "job.toml"]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    output
}

#[test]
fn deep_nesting() {
    let nested = |depth: usize| {
        let ball = "ball = { radius = \"3 mm\", centre = \"15 x 15 x 15 mm\" }".to_owned();
        let shape = (0..depth).fold(ball, |inner, _| format!("union = [{{ {inner} }}]"));
        changed(WORK_BOX, &format!("shape.{shape}"))
    };
    good(&nested(20));
    refused(&nested(5000), &["recurse"]);
    refused(
        &Bench::new(&format!("a = {}", "[".repeat(100_000))),
        &["recurse"],
    );
}

#[test]
fn figures_beyond_everything() {
    for (from, to) in [
        ("\"105 x 35 x 35 mm\"", "\"1e300 x 35 x 35 mm\""),
        ("\"1 V\"", "\"1e308 V\""),
        ("\"1 h\"", "\"1e308 h\""),
        ("\"25 S/m\"", "\"1e300 S/m\""),
    ] {
        refused(&changed(from, to), &["beyond all tanks"]);
    }
}

#[test]
fn lists_of_nothing() {
    let job = PLATES.replace("[supply]\nvoltage = \"1 V\"\n", "");
    refused(
        &Bench::new(&format!("supply = []\n{job}")),
        &["`supply` is an empty list", "write for example"],
    );
    refused(
        &changed("time = \"1 h\"", "step = []"),
        &["the plan has no steps", "add steps"],
    );
}

#[test]
fn long_lines_are_not_quoted_whole() {
    let long = "x".repeat(100_000);
    refused(
        &changed("\"25 S/m\"", &format!("\"25 mm\" # {long}")),
        &["job.toml:7:", "not a conductivity"],
    );
    refused(
        &changed("\"25 S/m\"", &format!("\"25 {long}\"")),
        &["job.toml:7:", "not a conductivity"],
    );
    refused(
        &changed("voltage =", &format!("{long} =")),
        &["is not known in `supply`"],
    );
    refused(
        &changed("\"plate\"", &format!("\"{long}\"")),
        &["100000 letters long", "write it shorter"],
    );
    let row = ["1"; 100_000].join(" x ");
    refused(
        &changed("\"100 x 30 x 30 mm\"", &format!("\"{row} mm\"")),
        &["needs 3 numbers"],
    );
}

#[test]
fn thousands_of_faults_are_told_in_part() {
    let faults: String = (0..3000).map(|n| format!("key{n} = 1\n")).collect();
    refused(
        &Bench::new(&format!("{faults}{PLATES}")),
        &["has 3000 faults, of which 40 are shown"],
    );
    let far = "\n".repeat(70_000) + &PLATES.replace("25 S/m", "25 mm");
    refused(
        &Bench::new(&far),
        &["job.toml:70007:", "not a conductivity"],
    );
}

#[test]
fn long_sums_and_figures_of_figures() {
    let sum = vec!["0.00001 V"; 100_000].join(" + ");
    good(&changed("\"1 V\"", &format!("\"{sum}\"")));
    let chain = |links: usize| {
        let links: String = (1..links)
            .map(|n| format!("a{n} = \"a{}\"\n", n - 1))
            .collect();
        format!("[figures]\na0 = \"1 V\"\n{links}")
    };
    let used = |figures: String, name: &str| Bench::new(&(PLATES.replace("1 V", name) + &figures));
    good(&used(chain(18), "a17"));
    refused(&used(chain(300), "a299"), &["100 deep"]);
    let circle = "[figures]\na = \"b\"\nb = \"a\"\n".to_owned();
    refused(&used(circle, "a"), &["goes round in a circle"]);
}

#[test]
fn one_fault_is_told_once() {
    let said = refused(&changed("\"25 S/m\"", "\"25 mm\""), &["has one fault"]);
    assert!(!said.contains("no conductivity is known"), "{said}");
}

const OBJ: &str = "v 0 10 10\nv 5 10 10\nv 5 20 10\nv 0 20 10\nv 0 10 20\nv 5 10 20\nv 5 20 20\nv 0 20 20\n\
                   f 4 3 2 1\nf 5 6 7 8\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8\n";

fn mesh() -> Bench {
    changed(
        WORK_BOX,
        "shape.mesh = { file = \"part.obj\", unit = \"mm\" }",
    )
}

#[test]
fn a_mark_of_byte_order_and_a_doubled_mesh() {
    let bench = mesh();
    bench.write("part.obj", OBJ.as_bytes());
    // The last line tells of the memory that is free at the moment.
    let understood = || {
        let said = String::from_utf8(good(&bench).stdout).unwrap();
        let lines: Vec<String> = said.lines().map(str::to_owned).collect();
        lines[..lines.len() - 1].to_vec()
    };
    let plain = understood();
    bench.write("part.obj", format!("\u{feff}{OBJ}").as_bytes());
    assert_eq!(understood(), plain);
    let faces = OBJ.split_inclusive('\n').filter(|l| l.starts_with('f'));
    let twice = OBJ.to_owned() + &faces.collect::<String>();
    bench.write("part.obj", twice.as_bytes());
    let said = String::from_utf8(good(&bench).stdout).unwrap();
    assert!(said.contains("volume 0.5 cm3"), "{said}");
}

/// Three gigabytes of nothing, which take no room on the disk.
#[test]
fn files_beyond_everything() {
    let bench = mesh();
    let file = fs::File::create(bench.path("part.obj")).unwrap();
    file.set_len(3 << 30).unwrap();
    refused(
        &bench,
        &["holds 3072 MiB, and 512 MiB are allowed", "make it coarser"],
    );
}

#[test]
fn control_characters_reach_neither_terminal_nor_files() {
    for (from, to) in [
        ("\"plate\"", "\"pl\\u001b[31mate\""),
        ("\"plate\"", "\"pl\\nate\""),
        ("\"plates\"", "\"a\\u001b]0;title\\u0007b\""),
        ("\"anode\"", "\"\\u202eedona\""),
    ] {
        refused(
            &changed(from, to),
            &[
                "a sign that cannot be printed",
                "without control characters",
            ],
        );
    }
    refused(
        &changed("\"25 S/m\"", "\"25 \\u001b[31mm\""),
        &["not a conductivity"],
    );
    refused(
        &changed("\"25 S/m\"", "\"25 S/m\u{1b}[31m\""),
        &["this is not TOML"],
    );
    refused(
        &changed("voltage =", "\"\\u001b[2J\" ="),
        &["is not known in `supply`"],
    );
}

#[test]
fn names_are_no_formulae_and_each_has_its_file() {
    let second = "[[floating]]\nname = \"=Plate\"\nshape.ball = { radius = \"3 mm\", centre = \"50 x 15 x 15 mm\" }\n";
    let bench = Bench::new(&format!(
        "{}{second}",
        PLATES.replace("\"plate\"", "\"=plate\"")
    ));
    bench.solved();
    let table = fs::read_to_string(bench.path("out/facets.csv")).unwrap();
    assert!(table.contains("\n'=plate,work,"), "{}", &table[..300]);
    assert!(!table.contains("\n="));
    let parts: Vec<String> = fs::read_dir(bench.path("out"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap().to_lowercase())
        .filter(|n| n.starts_with("part-"))
        .collect();
    let mut different = parts.clone();
    different.sort();
    different.dedup();
    assert_eq!((parts.len(), different.len()), (3, 3), "{parts:?}");
}

#[test]
fn parts_without_number_in_one_cell_are_refused() {
    let points: Vec<String> = (0..5000)
        .map(|n| {
            format!(
                "\"{} x {} x 15 mm\"",
                10.0 + 0.005 * f64::from(n),
                15.0 + 0.005 * f64::from(n % 2)
            )
        })
        .collect();
    let wire = format!(
        "shape.wire = {{ radius = \"0.5 mm\", points = [{}] }}",
        points.join(", ")
    );
    let words = ["meet in one cell of 4 mm", "fewer points", "smaller cells"];
    refused(&changed(WORK_BOX, &wire), &words);
}
