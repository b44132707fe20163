//! Edits of the shipped jobs: each gives a job that is read, with its comments, in which only what was asked is changed.

use super::{New, add, copy, fill, remove, set, shift, turn, unset};
use crate::boxes::{self, Box3};
use crate::drawn;
use crate::files::Files;
use crate::refusal::Refusal;
use crate::testing::examples;
use ionfall_job::parse_with;
use ionfall_model::Model;
use proptest::prelude::*;
use serde_json::json;

/// A job that is read.
struct Read {
    model: Model,
    names: Vec<(String, &'static str)>,
    boxes: Vec<Option<Box3>>,
}

fn read(text: &str, files: &Files) -> Read {
    let model = parse_with("job", text, &files.light());
    let model = model.unwrap_or_else(|faults| panic!("{}\n{text}", faults.render()));
    let all = drawn::all(&text.parse().unwrap());
    let boxes = all.iter().map(|d| boxes::of(&model, &all, d)).collect();
    let names = all.iter().map(|d| (d.name.clone(), d.key)).collect();
    Read {
        model,
        names,
        boxes,
    }
}

/// All of a model but its text's fingerprint.
fn plain(mut model: Model) -> String {
    model.fingerprint = 0;
    format!("{model:?}")
}

fn comments(text: &str) -> Vec<&str> {
    let comment = |line| Some(&line[str::find(line, '#')?..]);
    text.lines().filter_map(comment).collect()
}

fn is_wall(text: &str, name: &str) -> bool {
    let document = text.parse().unwrap();
    let all = drawn::all(&document);
    let one = all.iter().find(|d| d.name == name).unwrap();
    drawn::table(&document, one).unwrap().get("wall").is_some()
}

/// Lines of a text that are not in another one.
fn changed_lines(from: &str, to: &str) -> usize {
    to.lines()
        .filter(|line| !from.lines().any(|l| l == *line))
        .count()
}

#[test]
fn every_body_is_moved_there_and_back() {
    let mut moved = 0;
    for (name, text, files) in examples() {
        let before = read(&text, &files);
        let room = boxes::tank(&before.model);
        let flat = usize::from(room[1][2] == room[0][2]);
        let by = &[0.3, -0.2, 0.1][..3 - flat];
        let back: Vec<f64> = by.iter().map(|x| -x).collect();
        for (n, (body, _)) in before.names.iter().enumerate() {
            if is_wall(&text, body) {
                assert!(shift(&text, body, by).is_err());
                continue;
            }
            let there = shift(&text, body, by).unwrap();
            assert_eq!(comments(&there), comments(&text), "{name}: {body}");
            let after = read(&there, &files);
            if let (Some(from), Some(to)) = (before.boxes[n], after.boxes[n]) {
                let is_lacquer = before.names[n].1 == "stop_off";
                for (end, k) in [(0, 0), (1, 0), (0, 1), (1, 1)] {
                    let far = (to[end][k] - from[end][k] - by[k]).abs();
                    // Lacquer without bounds ends at the tank.
                    assert!(far < 1e-9 || is_lacquer, "{name}: {body} {from:?} {to:?}");
                }
            }
            let again = shift(&there, body, &back).unwrap();
            assert_eq!(
                plain(read(&again, &files).model),
                plain(read(&text, &files).model),
                "{name}: {body}"
            );
            assert!(changed_lines(&text, &again) == 0, "{name}: {body}\n{again}");
            moved += 1;
        }
    }
    assert!(moved > 40, "{moved}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// By any way, in any order: the sum of the steps counts.
    #[test]
    fn many_moves_are_one(steps in prop::collection::vec((-3.0..3.0, -3.0..3.0, -3.0..3.0), 1..5)) {
        let (name, text, files) = examples().into_iter().find(|e| e.0.contains("plaque")).unwrap();
        for body in ["left anode", "pattern", "frame"] {
            let mut there = text.clone();
            let mut sum = [0.0; 3];
            for (x, y, z) in &steps {
                // Hundredths of a millimetre, as a pointer moves.
                let by = [*x, *y, *z].map(|c: f64| (100.0 * c).round() / 100.0);
                there = shift(&there, body, &by).unwrap();
                sum = std::array::from_fn(|k| sum[k] + by[k]);
            }
            let find = |text: &str| {
                let read = read(text, &files);
                let n = read.names.iter().position(|(name, _)| name == body).unwrap();
                read.boxes[n].unwrap()
            };
            let (from, to) = (find(&text), find(&there));
            for k in 0..3 {
                prop_assert!((to[0][k] - from[0][k] - sum[k]).abs() < 1e-5, "{} {}", name, there);
            }
        }
    }
}

#[test]
fn four_quarter_turns_are_none() {
    for (name, text, files) in examples() {
        let before = read(&text, &files);
        let room = boxes::tank(&before.model);
        if room[1][2] == room[0][2] {
            continue;
        }
        for (n, (body, key)) in before.names.iter().enumerate() {
            let Some(from) = before.boxes[n].filter(|_| *key == "anode" || *key == "work") else {
                continue;
            };
            if is_wall(&text, body) {
                continue;
            }
            let mut turned = turn(&text, &files, body, "z", 90.0).unwrap();
            assert_eq!(comments(&turned), comments(&text), "{name}: {body}");
            let quarter = parse_with("job", &turned, &files.light());
            // A long body may leave the tank when it is turned; then that is said.
            if let Ok(model) = quarter {
                let all = drawn::all(&turned.parse().unwrap());
                let to = boxes::of(&model, &all, &all[n]).unwrap();
                let side = |b: &Box3, k: usize| b[1][k] - b[0][k];
                assert!(
                    (side(&from, 0) - side(&to, 1)).abs() < 1e-3,
                    "{name}: {body} {from:?} {to:?}"
                );
                for _ in 0..3 {
                    turned = turn(&turned, &files, body, "z", 90.0).unwrap();
                }
                assert_eq!(changed_lines(&text, &turned), 0, "{name}: {body}\n{turned}");
            }
        }
    }
}

#[test]
fn bodies_fill_the_box_that_is_asked_for() {
    let (_, text, files) = examples()
        .into_iter()
        .find(|e| e.0.contains("plaque"))
        .unwrap();
    let wanted = [[220.0, 40.0, 30.0], [240.0, 90.0, 150.0]];
    let find = |text: &str, body: &str| {
        let read = read(text, &files);
        let n = read
            .names
            .iter()
            .position(|(name, _)| name == body)
            .unwrap();
        read.boxes[n].unwrap()
    };
    let filled = fill(&text, &files, "left anode", &wanted).unwrap();
    let found = find(&filled, "left anode");
    for (end, k) in [(0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2)] {
        assert!((found[end][k] - wanted[end][k]).abs() < 1e-9, "{found:?}");
    }
    assert!(filled.contains("40 mm + distance x 40 x 30 mm"), "{filled}");
    // A relief is scaled into it.
    let wanted = [[40.0, 60.0, 60.0], [49.0, 120.0, 130.0]];
    let filled = fill(&text, &files, "pattern", &wanted).unwrap();
    let found = find(&filled, "pattern");
    assert!((found[1][1] - found[0][1] - 60.0).abs() < 1e-3, "{found:?}");
    assert!(
        (found[1][1] + found[0][1] - 180.0).abs() < 1e-3,
        "{found:?}"
    );
    assert_eq!(comments(&filled), comments(&text));
    let nothing = [[0.0; 3], [0.0; 3]];
    assert!(fill(&text, &files, "pattern", &nothing).is_err());
}

/// The job is read, or lacks only what was taken out.
fn is_read_or_lacks(text: &str, files: &Files, key: &str) {
    if let Err(faults) = parse_with("job", text, &files.light()) {
        let words = faults.render();
        let lacks = format!("the job has no {key}");
        let unused = "is not used anywhere";
        let other = ["no contact", "has no anode", "lies"];
        let is_known = |m: &str| {
            m.contains(&lacks) || m.contains(unused) || other.iter().any(|o| m.contains(o))
        };
        assert!(
            faults.list().iter().all(|f| is_known(&f.message)),
            "{words}\n{text}"
        );
    }
}

/// Comments above tables that stand by themselves, not inside of others.
fn above_tables(text: &str) -> Vec<&str> {
    let mut found = Vec::new();
    let mut above = Vec::new();
    for line in text.lines().map(str::trim) {
        match line {
            comment if comment.starts_with('#') => above.push(comment),
            head if head.starts_with('[') && !head.contains('.') => found.append(&mut above),
            _ => above.clear(),
        }
    }
    found
}

#[test]
fn bodies_are_taken_out_and_comments_stay() {
    for (name, text, files) in examples() {
        for (body, key) in read(&text, &files).names {
            let without = remove(&text, &body).unwrap();
            is_read_or_lacks(&without, &files, key);
            let all = drawn::all(&without.parse().unwrap());
            assert!(all.iter().all(|d| d.name != body), "{name}: {body}");
            let kept = comments(&without);
            for comment in above_tables(&text) {
                assert!(
                    kept.contains(&comment),
                    "{name}: {body}: {comment}\n{without}"
                );
            }
            assert!(remove(&without, &body).is_err());
        }
    }
}

#[test]
fn copies_hang_beside_their_originals() {
    let mut copied = 0;
    for (name, text, files) in examples() {
        let before = read(&text, &files);
        for (n, (body, key)) in before.names.iter().enumerate() {
            if is_wall(&text, body) {
                assert!(copy(&text, &files, body).is_err());
                continue;
            }
            let added = copy(&text, &files, body).unwrap();
            let kept = comments(&added.text);
            assert!(
                comments(&text).iter().all(|c| kept.contains(c)),
                "{name}: {body}"
            );
            let Ok(_) = parse_with("job", &added.text, &files.light()) else {
                // Where there is no room the job says so.
                continue;
            };
            let after = read(&added.text, &files);
            let of = |names: &[(String, &str)]| names.iter().filter(|(_, k)| k == key).count();
            assert_eq!(
                of(&after.names),
                of(&before.names) + 1,
                "{name}: {body}\n{}",
                added.text
            );
            let m = after
                .names
                .iter()
                .position(|(name, _)| *name == added.body)
                .unwrap();
            if let (Some(from), Some(to)) = (before.boxes[n], after.boxes[m]) {
                let side = |b: &Box3, k: usize| b[1][k] - b[0][k];
                assert!(*key == "stop_off" || (side(&from, 1) - side(&to, 1)).abs() < 1e-6);
            }
            copied += 1;
        }
    }
    assert!(copied > 25, "{copied}");
}

const EMPTY: &str = r#"# An empty tank.
[tank]
size = "300 x 200 x 200 mm" # inside
[bath]
kind = "acid copper"
agitation = "air"
composition = { copper_sulfate = "200 g/L", sulfuric_acid = "60 g/L" }
[supply]
current = "1 A"
"#;

fn new(kind: &str, shape: &str) -> New {
    let file = match shape {
        "mesh" => Some("medal.stl"),
        "relief" => Some("harbour.png"),
        _ => None,
    };
    serde_json::from_value(json!({ "kind": kind, "shape": shape, "file": file })).unwrap()
}

#[test]
fn anything_can_be_added_to_an_empty_tank() {
    let mut files = Files::default();
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples");
    for name in ["medal/medal.stl", "plaque/harbour.png"] {
        let bytes = std::fs::read(format!("{root}/{name}")).unwrap();
        files.put(name.split_once('/').unwrap().1.into(), bytes);
    }
    for shape in ["box", "ball", "cylinder", "mesh", "relief"] {
        let mut text = EMPTY.to_owned();
        for (kind, shape) in [
            ("anode", "box"),
            ("anode", "box"),
            ("work", shape),
            ("thief", "box"),
            ("shield", "sheet"),
            ("shield", "box"),
        ] {
            let added = add(&text, &files, &new(kind, shape)).unwrap();
            text = added.text;
            assert!(
                text.contains(&format!("name = \"{}\"", added.body)),
                "{text}"
            );
        }
        assert_eq!(comments(&text), comments(EMPTY));
        let read = read(&text, &files);
        assert_eq!(read.names.len(), 6);
        // Nothing hangs in anything else.
        let found: Vec<Box3> = read.boxes.iter().map(|b| b.unwrap()).collect();
        for (n, a) in found.iter().enumerate() {
            for b in &found[..n] {
                let apart = (0..3).any(|k| a[0][k] >= b[1][k] || b[0][k] >= a[1][k]);
                assert!(apart, "{shape}: {a:?} {b:?}\n{text}");
            }
        }
    }
    let lost = add(EMPTY, &files, &new("contact", "ball"));
    assert!(matches!(lost, Err(Refusal::Error(words)) if words.contains("coat")));
    assert!(add(EMPTY, &files, &new("anode", "teapot")).is_err());
    assert!(add(EMPTY, &Files::default(), &new("work", "mesh")).is_err());
}

#[test]
fn keys_are_set_added_and_taken_out() {
    let put =
        |text: &str, path: &str, value: &str| set(text, &[(path.to_owned(), value.to_owned())]);
    let mut text = EMPTY.to_owned();
    for (path, value, line) in [
        ("supply.current", "2 A", "current = \"2 A\""),
        ("supply.voltage_limit", "3 V", "voltage_limit = \"3 V\""),
        (
            "wanted.thickness",
            "0.3 mm",
            "[wanted]\nthickness = \"0.3 mm\"",
        ),
        ("bath.hydrogen", "true", "hydrogen = true"),
        ("plan.time", "8 h", "[plan]\ntime = \"8 h\""),
        (
            "bath.agitation",
            "{ film = \"50 um\" }",
            "agitation = { film = \"50 um\" }",
        ),
        ("figures.gap", "5 mm", "[figures]\ngap = \"5 mm\""),
        ("title", "Say \"hello\"", "title = 'Say \"hello\"'"),
    ] {
        text = put(&text, path, value).unwrap();
        assert!(text.contains(line), "{path}: {text}");
    }
    assert_eq!(comments(&text), comments(EMPTY));
    assert!(put(&text, "supply.volts", "3 V").is_err());
    assert!(put(&text, "nothing.at.all", "3 V").is_err());
    assert!(put(&text, "bath.agitation", "{ film = ").is_err());
    let shorter = unset(&text, "supply.voltage_limit").unwrap();
    assert!(!shorter.contains("voltage_limit") && shorter.contains("current = \"2 A\""));
    assert!(unset(&shorter, "supply.voltage_limit").is_err());
    assert!(unset("= 1", "title").is_err());
    // In one of several tables.
    let job = add(EMPTY, &Files::default(), &new("anode", "box"))
        .unwrap()
        .text;
    let lead = put(&job, "anode.1.lead", "5 mohm").unwrap();
    assert!(lead.contains("lead = \"5 mohm\""), "{lead}");
    assert_eq!(unset(&lead, "anode.1.lead").unwrap(), job);
}
