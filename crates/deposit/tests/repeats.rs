//! Copies of a body: they are what the same bodies are that are drawn one by one, and what they get is told from part
//! to part.

use crate::{model, solved};
use approx::assert_relative_eq;
use ionfall_deposit::judge::{Advice, Answers, Bounds, Standing, judge};
use ionfall_deposit::repeat::repeats;
use ionfall_deposit::{BodyOutcome, Outcome};
use ionfall_model::{Model, Parts};

const JOB: &str = include_str!("jobs/rack.toml");
const REPEAT: &str = "repeat = { pitch = \"0 x 60 mm\", count = 3 }\n";

fn bar<'a>(outcome: &'a Outcome<2>, name: &str) -> &'a BodyOutcome {
    outcome.body(name).unwrap_or_else(|| panic!("no {name}"))
}

/// The job with three bars drawn one by one, with their lacquer.
fn by_hand() -> String {
    let (head, rest) = JOB.split_once("[[work]]").unwrap();
    let (_, rest) = rest.split_once("[[face]]").unwrap();
    let (_, rest) = rest.split_once("[grid]").unwrap();
    let one = |n: usize| {
        let low = 25 + 60 * (n - 1);
        let high = low + 30;
        format!(
            "[[work]]\nname = \"bar {n}\"\nshape.rectangle = {{ from = \"40 x {low} mm\", to = \"44 x {high} mm\" }}\n\
             law.linear.resistance = \"10 ohm cm2\"\n[[stop_off]]\non = \"bar {n}\"\n\
             shape.rectangle = {{ from = \"30 x {} mm\", to = \"41 x {} mm\" }}\n",
            low - 5,
            high + 5
        )
    };
    let bars: String = (1..=3).map(one).collect();
    format!("{head}{bars}[grid]{}", rest.replace("on = \"bar\"\n", ""))
}

#[test]
fn copies_are_the_bodies_drawn_one_by_one() {
    let (copies, by_hand) = (solved(&model(JOB)), solved(&model(&by_hand())));
    assert_relative_eq!(copies.voltage_v, by_hand.voltage_v, max_relative = 1e-9);
    for name in ["bar 1", "bar 2", "bar 3"] {
        let [a, b] = [bar(&copies, name), bar(&by_hand, name)];
        assert_relative_eq!(a.area_m2, b.area_m2, max_relative = 1e-9);
        assert_relative_eq!(a.current_a, b.current_a, max_relative = 1e-6);
        let thinnest = |b: &BodyOutcome| b.thinnest.unwrap().value;
        assert_relative_eq!(thinnest(a), thinnest(b), max_relative = 1e-6);
        assert_eq!((a.copy_of.as_deref(), &b.copy_of), (Some("bar"), &None));
    }
    assert_eq!(repeats(&by_hand.bodies), []);
    // Of 68 mm around each bar 32 are under its lacquer: the back and a quarter of the ends.
    let bare = bar(
        &solved(&model(&JOB.replace("to = \"41 x", "to = \"31 x"))),
        "bar 2",
    )
    .area_m2;
    assert_relative_eq!(
        bar(&copies, "bar 2").area_m2 / bare,
        36.0 / 68.0,
        max_relative = 1e-6
    );
}

/// The outer bars get more than the middle one and, as mirror images, the same; figures of the rack by hand.
#[test]
fn from_part_to_part() {
    let outcome = solved(&model(JOB));
    let [rack] = &repeats(&outcome.bodies)[..] else {
        panic!("one body is repeated");
    };
    assert_eq!((rack.name.as_str(), rack.copies), ("bar", 3));
    let mean = |name: &str| {
        let b = bar(&outcome, name);
        b.volume_m3.unwrap() / b.area_m2
    };
    let [low, middle, high] = ["bar 1", "bar 2", "bar 3"].map(mean);
    // Cells make a difference of 0.011 % between the two.
    assert_relative_eq!(low, high, max_relative = 3e-4);
    let apart = rack.mean_thickness_m.as_ref().unwrap();
    assert_eq!(apart.least_on, "bar 2");
    assert_eq!((apart.least, apart.most), (middle, low.max(high)));
    let all = (low + middle + high) / 3.0;
    assert_relative_eq!(apart.mean, all, max_relative = 1e-6);
    assert_relative_eq!(
        apart.share,
        (apart.most - middle) / all,
        max_relative = 1e-6
    );
    assert!(apart.share > 0.03, "{apart:?}");
    // One setting over the whole plan: currents are apart as the metal is.
    let amps = rack.mean_current_density_a_per_m2.as_ref().unwrap();
    assert_relative_eq!(amps.share, apart.share, max_relative = 1e-6);
    // Faraday's law: 2 A/dm2 for an hour on the mean of all bars.
    let metal = model(JOB).bath.metal;
    let expected = metal.thickness_rate_m_per_s(200.0, 1.0) * 3600.0;
    assert_relative_eq!(apart.mean, expected, max_relative = 1e-6);
}

/// The wish names all copies; the worst of them decides.
#[test]
fn a_wish_on_the_original_is_one_on_all_copies() {
    let wish = model(JOB);
    let outcome = solved(&wish);
    let verdict = judge(&wish, Answers::of(&outcome), Bounds::default());
    let least = outcome
        .bodies
        .iter()
        .filter_map(|b| b.copy_of.as_ref().and(b.thinnest));
    let least_m = least.map(|p| p.value).fold(f64::INFINITY, f64::min);
    assert_eq!(verdict.metal.least_m, Some(least_m));
    assert!(
        outcome.bodies[1..]
            .iter()
            .all(|b| b.share_below_wanted.is_some())
    );
    let one = model(&JOB.replacen(
        "thickness = \"20 um\"\non = \"bar\"",
        "thickness = \"20 um\"\non = \"bar 3\"",
        1,
    ));
    let outcome = solved(&one);
    let verdict = judge(&one, Answers::of(&outcome), Bounds::default());
    assert_eq!(verdict.metal.on.as_deref(), Some("bar 3"));
    assert!(bar(&outcome, "bar 1").share_below_wanted.is_none());
}

/// A face on the original is one on each copy.
#[test]
fn faces_are_on_every_copy() {
    let outcome = solved(&model(JOB));
    let names: Vec<_> = outcome
        .faces
        .iter()
        .map(|f| [f.name.as_str(), f.on.as_str()])
        .collect();
    assert_eq!(
        names,
        [
            ["front 1", "bar 1"],
            ["front 2", "bar 2"],
            ["front 3", "bar 3"]
        ]
    );
    for face in &outcome.faces {
        assert_relative_eq!(face.area_m2, 0.03 * 0.1, max_relative = 1e-6);
    }
}

/// A mirror image gets what the original gets in a tank that is its own mirror image, and each keeps its own face.
#[test]
fn mirror_images_are_alike() {
    let text = JOB
        .replace(REPEAT, "repeat = { mirror = \"y\", at = \"0 x 100 mm\" }\n")
        .replace("side = \"x\"", "side = \"y\"");
    let outcome = solved(&model(&text));
    let [low, high] = [bar(&outcome, "bar 1"), bar(&outcome, "bar 2")];
    // Cells make a difference of 0.013 % between the two.
    assert_relative_eq!(low.current_a, high.current_a, max_relative = 3e-4);
    let [a, b] = &outcome.faces[..] else {
        panic!("a face on each");
    };
    // The end towards the middle of the tank, of both.
    assert_relative_eq!(a.area_m2, 0.003 * 0.1, max_relative = 1e-3);
    // Three cells across: 0.12 % between the two.
    assert_relative_eq!(a.current_a, b.current_a, max_relative = 3e-3);
    let other = model(&text.replace("side = \"y\"", "side = \"-y\""));
    let outer = solved(&other).faces[0].current_a;
    assert!(
        (outer / a.current_a - 1.0).abs() > 0.05,
        "{outer} and {}",
        a.current_a
    );
}

/// A sheet that is open all over changes nothing, to the last bit.
#[test]
fn no_shield_is_no_shield() {
    let sheet = |open: &str| {
        format!(
            "{JOB}\n[[shield]]\nsheet = {{ points = [\"70 x 0 mm\", \"70 x 80 mm\"], thickness = \"1 mm\", open_area = \"{open}\" }}\n"
        )
    };
    let thickness = |text: &str| solved(&model(text)).thickness_m;
    let without = thickness(JOB);
    assert_eq!(thickness(&sheet("100 %")), without);
    assert_ne!(thickness(&sheet("20 %")), without);
}

fn wish(lines: &str) -> Model<Parts<2>> {
    let old = "thickness = \"20 um\"\non = \"bar\"\n";
    assert!(JOB.contains(old));
    model(&JOB.replacen(old, lines, 1))
}

/// Only the upper ends need the least thickness: the thinnest place is on one of them instead of in the middle of a
/// front, and the rest of the surface has no say; the metal is the same.
#[test]
fn only_a_face_decides() {
    let with = |wish: &str| {
        let text = JOB.replacen("side = \"x\"", "side = \"y\"", 1);
        solved(&model(&text.replacen(
            "thickness = \"20 um\"\non = \"bar\"\n",
            wish,
            1,
        )))
    };
    let whole = with("thickness = \"20 um\"\n");
    let ends = with("thickness = \"20 um\"\nface = \"front\"\n");
    assert_eq!(whole.thickness_m, ends.thickness_m);
    for (name, end_m) in [("bar 1", 0.055), ("bar 2", 0.115), ("bar 3", 0.175)] {
        let [all, end] = [&whole, &ends].map(|o| bar(o, name).thinnest.unwrap());
        assert!(end.value > 1.05 * all.value, "{end:?} and {all:?}");
        assert_relative_eq!(end.at_m[1], end_m, max_relative = 1e-9);
        assert_relative_eq!(all.at_m[0], 0.044, max_relative = 1e-9);
        let thickest = |o: &Outcome<2>| bar(o, name).thickest.unwrap().value;
        assert_eq!(thickest(&whole), thickest(&ends));
    }
    // The time to the wish is that of the face, too: by proportion at constant current.
    let least = |o: &Outcome<2>| {
        let places = o
            .bodies
            .iter()
            .filter_map(|b| b.copy_of.as_ref().and(b.thinnest));
        places.map(|p| p.value).fold(f64::INFINITY, f64::min)
    };
    let reached = |o: &Outcome<2>| o.wish_s.or(o.wish_expected_s).unwrap();
    for outcome in [&whole, &ends] {
        assert_relative_eq!(
            reached(outcome),
            3600.0 * 20e-6 / least(outcome),
            max_relative = 1e-6
        );
    }
    assert!(reached(&ends) < reached(&whole));
}

/// A largest thickness is judged at the thickest place; where both can be had, the advice is a time between the two.
#[test]
fn too_thick_is_bad_and_less_time_is_the_way_out() {
    let judged = |lines: &str| {
        let model = wish(lines);
        let outcome = solved(&model);
        judge(&model, Answers::of(&outcome), Bounds::default())
    };
    let most = solved(&wish("thickness = \"1 um\"\n"));
    let most = most
        .bodies
        .iter()
        .filter_map(|b| b.copy_of.as_ref().and(b.thickest));
    let most_um = 1e6 * most.map(|p| p.value).fold(0.0, f64::max);
    let at_most = |um: f64| format!("thickness = \"1 um\"\nat_most = \"{um} um\"\n");
    let verdict = judged(&at_most(0.9 * most_um));
    assert_eq!(verdict.metal.state, Standing::Bad);
    assert_eq!(verdict.metal.thick_enough(), Standing::Good);
    assert!(verdict.metal.is_too_thick());
    assert_relative_eq!(
        1e6 * verdict.metal.most_m.unwrap(),
        most_um,
        max_relative = 1e-12
    );
    let Some(Advice::Shorter {
        planned_s,
        enough_s,
    }) = verdict.change
    else {
        panic!("{:?}", verdict.change);
    };
    assert_relative_eq!(planned_s, 3600.0);
    let least_m = verdict.metal.least_m.unwrap();
    let expected = 0.5 * 3600.0 * (1e-6 / least_m + 0.9);
    assert_relative_eq!(enough_s, expected, max_relative = 1e-9);
    let fine = judged(&at_most(1.1 * most_um)).metal;
    assert!(
        !fine.is_too_thick() && fine.state < Standing::Bad,
        "{fine:?}"
    );
    assert_eq!(
        fine.state,
        if fine.most_at_least {
            Standing::Caution
        } else {
            Standing::Good
        }
    );
}
