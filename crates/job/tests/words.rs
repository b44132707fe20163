//! Readings, walls, films, coats by their thickness: what they say to the model, and what is said of
//! mistakes in them and elsewhere.

use crate::{good, parts, the_fault};
use approx::assert_relative_eq;

const WORDS: &str = include_str!("jobs/words.toml");
const BASE: &str = include_str!("jobs/base.toml");

/// The text with one piece replaced has exactly one fault, which says this and this way out.
#[track_caller]
fn one_fault(text: &str, from: &str, to: &str, message: &str, help: &str) {
    assert!(text.contains(from), "{from:?}");
    the_fault(&text.replacen(from, to, 1), message, help);
}

#[test]
fn the_words_reach_the_model() {
    let model = good(WORDS);
    let parts = parts(&model);
    let [wall, medal] = &parts.electrodes[..] else {
        panic!("two electrodes");
    };
    assert_relative_eq!(wall.film_ohm_m2, 2e-4);
    assert_relative_eq!(medal.film_ohm_m2, 0.0);
    let bounds = parts.domain.bodies[wall.body].solid.bounds();
    assert_eq!(bounds.high[0], 0.0);
    assert!(bounds.low[1] < 0.0 && bounds.high[2] > 0.22);
    let [front, lower] = &parts.faces[..] else {
        panic!("two faces");
    };
    assert_eq!((front.name.as_str(), front.on), ("front", 1));
    let place = [0.25, 0.1, 0.1];
    assert!(front.has(&place, &[-1.0, 0.0, 0.0]) && !front.has(&place, &[0.0, -1.0, 0.0]));
    assert_eq!(lower.name, "face 2");
    assert!(
        lower.has(&place, &[0.0, 0.0, 1.0]) && !lower.has(&[0.25, 0.1, 0.12], &[-1.0, 0.0, 0.0])
    );
    assert_eq!(parts.readings[0].name, "middle of the face");
    assert_eq!(parts.readings[1].name, "reading 2");
    assert_relative_eq!(parts.readings[1].at[0], 0.15);
    let survey = model.geometry.survey(1 << 30).unwrap();
    let said = ionfall_job::describe(&model, &survey.areas_m2);
    assert!(said.contains("Read at the points `middle of the face`, `reading 2`"));
    assert!(said.contains("Current told of the faces `front` of `medal`, `face 2` of `medal`"));
    assert!(said.contains("film on it: 2 ohm cm2"), "{said}");
}

#[test]
fn mistakes_in_faces_are_told() {
    let face = "on = \"medal\"\nside = \"-x\"";
    let wrong = |to: &str, message: &str, help: &str| one_fault(WORDS, face, to, message, help);
    wrong("on = \"medal\"", "neither side nor shape", "side = \"x\"");
    wrong(
        "on = \"medla\"\nside = \"-x\"",
        "no electrode is named `medla`",
        "medal",
    );
    wrong("side = \"-x\"", "`on` is missing", "on = ");
    wrong("on = \"medal\"\nside = \"front\"", "front", "-x");
    one_fault(
        WORDS,
        "name = \"front\"",
        "name = \"face 2\"",
        "two faces",
        "of its own",
    );
}

/// A coat by its thickness is its resistivity over it, and a metal by name brings a caution.
#[test]
fn a_coat_by_its_thickness() {
    let sheet_ohm = |text: &str| parts(&good(text)).coats[0].sheet_resistance_ohm;
    let silver = ionfall_bath::Metal::find("silver").unwrap();
    let exact = silver.resistivity_ohm_m() / 0.5e-6;
    assert_relative_eq!(sheet_ohm(WORDS), exact, max_relative = 1e-12);
    let notes = good(WORDS).notes;
    assert!(
        notes.iter().any(|n| n.contains("conduct worse")),
        "{notes:?}"
    );
    let own = WORDS.replace("metal = \"silver\"", "resistivity = \"5 uohm cm\"");
    assert_relative_eq!(sheet_ohm(&own), 0.1, max_relative = 1e-12);
    assert!(good(&own).notes.is_empty());
}

#[test]
fn mistakes_in_them_are_told() {
    for (from, to, message, help) in [
        (
            "at = \"150 x 100 x 110 mm\"",
            "at = \"150 x 100 x 230 mm\"",
            "`reading 2` lies outside the liquid",
            "below the liquid level",
        ),
        (
            "at = \"150 x 100",
            "ta = \"150 x 100",
            "`ta` is not known",
            "`at`",
        ),
        (
            "wall = \"-x\"",
            "wall = \"z\"",
            "the surface of the liquid is no wall",
            "the floor",
        ),
        (
            "wall = \"-x\"",
            "wall = \"left\"",
            "which is not known",
            "known here: x",
        ),
        (
            "wall = \"-x\"",
            "wall = \"-x\"\nshape.box = { size = \"1 x 1 x 1 mm\" }",
            "at once",
            "keep one",
        ),
        (
            "film_resistance = \"2 ohm cm2\"",
            "film_resistance = \"2 ohm\"",
            "measures a resistance",
            "ohm cm2",
        ),
        (
            "metal = \"silver\"",
            "metal = \"graphite\"",
            "no metal known",
            "its resistivity",
        ),
        (
            ", metal = \"silver\"",
            "",
            "needs one of `resistivity`, `metal`",
            "exactly one",
        ),
        (
            "thickness = \"0.5 um\"",
            "sheet_resistance = \"1 ohm/sq\"",
            "beside the resistance of a square",
            "keep one or the other",
        ),
    ] {
        one_fault(WORDS, from, to, message, help);
    }
    one_fault(
        &WORDS.replace("liquid_level = \"220 mm\"\n", ""),
        "size = \"300 x 200 x 250 mm\"",
        "shape.box = { size = \"300 x 200 x 250 mm\" }",
        "a shape of its own",
        "flush with the wall",
    );
}

/// What was meant is said.
#[test]
fn intentions_are_understood() {
    one_fault(
        BASE,
        "current = \"1 A\"",
        "voltage = \"0 V\"",
        "must be greater than zero",
        "[[floating]]",
    );
    one_fault(
        BASE,
        "radius = \"10 mm\"",
        "radius = \"4 x cell\"",
        "reads as 4 times `cell`; write \"4 * cell\" and say under [figures]",
        "",
    );
    let figure = BASE.replace("[tank]", "[figures]\ncell = \"2 mm\"\n[tank]");
    for wrong in ["4 x cell", "4 cell", "4cell"] {
        let figure = figure.replace("\"5 x 100 x 100 mm\"", "\"cell + 3 mm x 100 x 100 mm\"");
        let to = format!("radius = \"{wrong}\"");
        one_fault(&figure, "radius = \"10 mm\"", &to, "write \"4 * cell\"", "");
    }
    one_fault(
        BASE,
        "radius = \"10 mm\"",
        "radius = \"4 x 5 mm\"",
        "this is a row of several",
        "",
    );
    one_fault(
        BASE,
        "shape.ball",
        "shape.circle",
        "`circle` is a shape of planar and axisymmetric jobs, and this one is in space",
        "`ball`",
    );
    one_fault(
        BASE,
        "name = \"work\"",
        "name = \"pattern\"\nlaw.linear = { resistance = \"1 mm\" }",
        "`resistance`",
        "ohm m2",
    );
}

/// A body with a name is called by it, in a list too.
#[test]
fn bodies_are_called_by_their_names() {
    one_fault(
        BASE,
        "name = \"work\"",
        "name = \"pattern\"\nlead = 3",
        "`lead` of `pattern` is not a resistance",
        "ohm",
    );
}

/// One misspelt key is one fault, wherever it is.
#[test]
fn one_misspelt_key_is_one_fault() {
    let named =
        format!("{BASE}[wanted]\nthickness = \"1 mm\"\non = \"work\"\n[plan]\ntime = \"1 h\"\n");
    for (from, to, near) in [
        ("[[work]]", "[[wrok]]", "`work`"),
        ("[[anode]]", "[[anodes]]", "`anode`"),
        ("[tank]", "[tnak]", "`tank`"),
        ("[bath]", "[bahth]", "`bath`"),
        ("[supply]", "[suply]", "`supply`"),
        ("shape.ball", "shpae.ball", "`shape`"),
        ("radius =", "raduis =", "`radius`"),
        ("from =", "form =", "`from`"),
        ("to =", "ot =", "`to`"),
        ("current =", "curent =", "`current`"),
        ("kind =", "kin =", "did you mean `kind`"),
    ] {
        one_fault(&named, from, to, "is not known", near);
    }
}

/// Keys of coats, contacts, sheets and placements, and those of a body that others name.
#[test]
fn one_misspelt_key_of_a_body_is_one_fault() {
    let sheet = r#"
[[shield]]
name = "frame"
[shield.sheet]
outline = ["10 x 10 mm", "90 x 10 mm", "90 x 90 mm"]
holes = [["50 x 20 mm", "60 x 20 mm", "60 x 30 mm"]]
thickness = "1 mm"
place = [ { turn = "90 deg", about = "x" } ]
[[stop_off]]
on = "work"
shape.half_space = { at = "55 x 0 x 0 mm", outward = "x" }
"#;
    let text = format!("{BASE}{sheet}");
    for (from, to, near) in [
        ("[shield.sheet]", "[shield.shete]", "`sheet`"),
        ("outline =", "outlien =", "`outline`"),
        ("turn =", "tunr =", "`turn`"),
        ("radius =", "raduis =", "`radius`"),
    ] {
        one_fault(&text, from, to, "is not known", near);
    }
    for (from, to, near) in [
        ("coat =", "cota =", "`coat`"),
        ("contact =", "contatc =", "`contact`"),
        ("wall =", "wal =", "`wall`"),
    ] {
        one_fault(WORDS, from, to, "is not known", near);
    }
}

/// A shape's kind where `shape` is expected is told how it is written there, once.
#[test]
fn a_shape_without_its_key_is_shown_its_place() {
    let ball = "{ centre = \"0 x 0 x 0 mm\", radius = \"5 mm\" }";
    let lines = |head: &str, kind: &str| format!("{BASE}{head}\n{kind} = {ball}\n");
    for (head, kind, message) in [
        (
            "[[grid.region]]\nfinest = \"1 mm\"",
            "box",
            "stands under `shape`",
        ),
        ("[[shield]]", "ball", "stands under `shape`"),
        ("[[stop_off]]", "cylinder", "stands under `shape`"),
        (
            "[[agitation_zone]]\nlimiting_current_share = \"40 %\"",
            "union",
            "stands under `shape`",
        ),
        ("[[anode]]\nname = \"b\"", "mesh", "stands under `shape`"),
    ] {
        let text = lines(head, kind);
        let way = format!("write shape.{kind} = {{ ... }}");
        one_fault(&text, "[tank]", "[tank]", message, &way);
    }
    let text = lines("[[shield]]", "circle");
    one_fault(
        &text,
        "[tank]",
        "[tank]",
        "planar and axisymmetric",
        "`ball`",
    );
    let text = format!("{BASE}[[shield]]\nshape = \"ball\"\n");
    one_fault(
        &text,
        "[tank]",
        "[tank]",
        "is a word",
        "shape.ball = { ... }",
    );
    one_fault(
        BASE,
        "size = \"100 x 100 x 100 mm\"",
        "box = { size = \"100 x 100 x 100 mm\" }",
        "stands under `shape`",
        "shape.box",
    );
}
