//! Wishes: a least and a largest thickness, on the whole work or on a face of it.

use approx::assert_relative_eq;
use ionfall_job::{describe, parse};
use ionfall_model::{Geometry, Model, Wanted};
use std::path::Path;

const RACK: &str = include_str!("jobs/rack.toml");
const WISH: &str = "thickness = \"10 um\"\non = \"medal\"\n";

fn good(wish: &str) -> (Model, Wanted) {
    assert!(RACK.contains(WISH));
    let text = RACK.replacen(WISH, wish, 1);
    let model = crate::good(&text);
    let wanted = model.wanted.clone().expect("a wish");
    (model, wanted)
}

#[track_caller]
fn one_fault(wish: &str, line: &str, message: &str, help: &str) {
    let text = RACK.replacen(WISH, wish, 1);
    let ((at, _), shown) = crate::the_fault(&text, message, help);
    assert_eq!(text.lines().nth(at - 1), Some(line), "{shown}");
}

/// The face of a part that is repeated is one on each copy, and says which work it is.
#[test]
fn a_face_of_all_copies() {
    let (model, wanted) = good("thickness = \"10 um\"\nface = \"front\"\nat_most = \"25 um\"\n");
    assert_eq!(wanted.on.as_deref(), Some("medal"));
    assert_relative_eq!(wanted.at_most_m.unwrap(), 25e-6);
    let face = wanted.face.as_ref().unwrap();
    assert_eq!((face.name.as_str(), face.faces.len()), ("front", 6));
    let Geometry::Solid(parts) = &model.geometry else {
        panic!("a tank");
    };
    let e = parts
        .electrodes
        .iter()
        .position(|e| e.name == "medal 3.2")
        .unwrap();
    let at = [0.14, 0.25, 0.16];
    assert!(wanted.decides(parts, e, &at, &[-1.0, 0.0, 0.0]));
    assert!(!wanted.decides(parts, e, &at, &[1.0, 0.0, 0.0]));
    // Of the other electrodes every place counts.
    assert!(wanted.decides(parts, 0, &at, &[1.0, 0.0, 0.0]));
    let text = describe(&model, &vec![1e-3; parts.domain.bodies.len()]);
    let told = "Wanted: at least 0.01 mm on front of medal, and nowhere more than 0.025 mm";
    assert!(text.contains(told), "{text}");
}

#[test]
fn a_face_of_one_copy() {
    let (_, wanted) = good("thickness = \"10 um\"\nface = \"front 2.1\"\n");
    assert_eq!(wanted.on.as_deref(), Some("medal 2.1"));
    assert_eq!(wanted.face.unwrap().faces.len(), 1);
    let (_, wanted) = good("thickness = \"10 um\"\nface = \"front\"\non = \"medal\"\n");
    assert_eq!(wanted.on.as_deref(), Some("medal"));
    let (_, wanted) = good("thickness = \"10 um\"\n");
    assert_eq!(
        (wanted.on, wanted.face, wanted.at_most_m),
        (None, None, None)
    );
}

#[test]
fn mistakes_in_a_wish() {
    one_fault(
        "thickness = \"10 um\"\nface = \"fornt\"\n",
        "face = \"fornt\"",
        "no face is named `fornt`",
        "did you mean `front",
    );
    one_fault(
        "thickness = \"10 um\"\nat_most = \"10 um\"\n",
        "at_most = \"10 um\"",
        "no larger than the least",
        "a larger one",
    );
    one_fault(
        "at_most = \"10 um\"\n",
        "[wanted]",
        "`thickness` is missing",
        "thickness = ",
    );
    one_fault(
        "thickness = \"10 um\"\nface = \"front\"\non = \"medal 1.1\"\n",
        "face = \"front\"",
        "on another body",
        "leave out `on`",
    );
    let text = RACK.replacen(WISH, "thickness = \"10 um\"\nface = \"rows\"\n", 1);
    let text = format!("{text}\n[[face]]\nname = \"rows\"\non = \"bar\"\nside = \"x\"\n");
    let faults = parse("job.toml", &text, Path::new("")).expect_err("an anode");
    let shown = faults.render();
    assert!(
        shown.contains("the face `rows` is on anode, not on work"),
        "{shown}"
    );
}
