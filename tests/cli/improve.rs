//! `ionfall improve`: optima known in closed form, limits that bind, a search that goes on, refusals.

use crate::bench::{Bench, said};
use approx::assert_relative_eq;
use serde_json::Value;
use std::f64::consts::TAU;
use std::fs;

/// Two anode wires 40 mm before the bottom of a tank of 200 mm between insulating walls, which mirror
/// them: with the images they are lines of one pitch when each is a quarter of the tank from its middle.
const WIRES: &str = include_str!("jobs/two-wires.toml");

/// Plates between insulating walls, so one current density everywhere, under a known limit.
const PLATES: &str = include_str!("jobs/limited-plates.toml");

/// Plates without polarisation whose energy is dear and whose time is cheap.
const PRICED: &str = include_str!("jobs/priced-plates.toml");

/// A long plate with a coat between insulating walls; the wire touches it somewhere.
const COATED: &str = r#"
space = "planar"
depth = "100 mm"
[figures]
wire = "30 mm"
[tank]
size = "100 x 40 mm"
[bath]
kind = "acid copper"
agitation = "air"
[[anode]]
shape.rectangle = { from = "-5 x 38 mm", to = "105 x 45 mm" }
[[work]]
name = "mould"
shape.rectangle = { from = "-5 x -5 mm", to = "105 x 8 mm" }
coat = { sheet_resistance = "20 ohm/sq" }
contact.shape.rectangle = { from = "wire - 2 mm x 7 mm", to = "wire + 2 mm x 9 mm" }
[grid]
finest = "2 mm"
[supply]
mean_current_density = "1 A/dm2"
voltage_limit = "6 V"
[plan]
time = "2 h"
"#;

fn improved(bench: &Bench, arguments: &[&str]) -> (String, Value) {
    let output = bench.ionfall(&[&["improve", "job.toml"], arguments].concat());
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let text = fs::read_to_string(bench.path("job-improve/improve.json")).unwrap();
    let found = serde_json::from_str(&text).unwrap();
    (String::from_utf8(output.stdout).unwrap(), found)
}

/// A number of a value such as "50.2 mm".
fn number(value: &Value) -> f64 {
    let text = value.as_str().unwrap();
    text.split(' ').next().unwrap().parse().unwrap()
}

/// A thickness needs a charge `q` an area, so energy `q i L / kappa` and time `q / i`: at `p_e` a joule and `p_t`
/// a second the cost is least at `i^2 = p_t kappa / (p_e A L)` (own derivation; the same rule that finds the
/// economic section of a conductor). Here that is 5 A/dm2.
#[test]
fn the_cheapest_current_is_that_of_the_closed_form() {
    let bench = Bench::new(PRICED);
    let free = ["--free", "now=1..9 A/dm2", "--for", "cost"];
    let (text, found) = improved(&bench, &free);
    let best = &found["cases"][found["best"].as_u64().unwrap() as usize - 1];
    let [price_j, price_s] = [360.0 / 3.6e6, 1.08 / 3600.0];
    let density: f64 = (price_s * 20.0 / (price_j * 0.1 * 0.04 * 0.06_f64)).sqrt();
    assert_relative_eq!(density, 500.0, max_relative = 1e-9);
    // The cost is flat there: 5 % of the current change it by an eighth of a per cent.
    let now = number(&best["values"]["now"]);
    assert_relative_eq!(now, 5.0, max_relative = 0.05);
    let before = found["before"]["cost"].as_f64().unwrap();
    let after = found["after"]["cost"].as_f64().unwrap();
    assert_relative_eq!(
        before / after,
        0.5 * (5.0 / 2.0 + 2.0 / 5.0),
        max_relative = 2e-3
    );
    assert!(text.contains("Of cost"), "{text}");
    let (unpriced, _) = PRICED.split_once("[prices]").expect("prices");
    bench.write("job.toml", unpriced.as_bytes());
    let output = bench.ionfall(&[&["improve", "job.toml"], &free[..]].concat());
    assert_eq!(output.status.code(), Some(2));
    let told = said(&output);
    assert!(
        told.contains("gives no prices") && told.contains("[prices]"),
        "{told}"
    );
}

/// A row of line sources at height `d` over a plane, pitch `p`, gives the plane
/// `i / mean = sinh(2 pi d/p) / (cosh(2 pi d/p) - cos(2 pi x/p))` (images; own derivation), so least over
/// mean is `tanh(pi d/p)`; any other spacing leaves a wider gap and a thinner place in it. Here `p` is half
/// the tank.
#[test]
fn two_wires_go_to_a_quarter_of_the_tank() {
    let bench = Bench::new(WIRES);
    let (text, found) = improved(&bench, &["--free", "aside=20..80 mm"]);
    let best = &found["cases"][found["best"].as_u64().unwrap() as usize - 1];
    let aside = number(&best["values"]["aside"]);
    assert_relative_eq!(aside, 50.0, max_relative = 0.01);
    let evenness = found["after"]["thinnest_over_mean"].as_f64().unwrap();
    assert_relative_eq!(
        evenness,
        (0.5 * TAU * 40.0 / 100.0).tanh(),
        max_relative = 0.005
    );
    let before = found["before"]["thinnest_over_mean"].as_f64().unwrap();
    assert!(evenness > 1.2 * before, "{before} {evenness}");
    assert_eq!(found["gain"]["sure"], true);
    assert!(found["cases"].as_array().unwrap().len() <= 26);
    // What to do comes last, and the job with it is there, with its comments.
    let last = text.trim().rsplit("Change: ").next().unwrap();
    assert!(last.starts_with("aside "), "{text}");
    let job = fs::read_to_string(bench.path("job-improved.toml")).unwrap();
    let line = format!(
        "aside = \"{}\" # of either wire",
        best["values"]["aside"].as_str().unwrap()
    );
    assert!(job.contains(&line), "{job}");
    // The page shows the path of the search, what mattered and what one gives up; the picture stands by itself too.
    let page = fs::read_to_string(bench.path("job-improve/improve.html")).unwrap();
    for told in [
        "The path of the search",
        "What mattered",
        "given up",
        ">aside<",
    ] {
        assert!(page.contains(told), "{told}");
    }
    let picture = fs::read_to_string(bench.path("job-improve/path.svg")).unwrap();
    assert!(picture.starts_with("<svg") && picture.contains("best so far"));
    assert!(!picture.contains("beyond a limit"), "{picture}");
    // Stopped half-way and started again it finds the same.
    let whole = fs::read(bench.path("job-improve/improve.json")).unwrap();
    for case in 4..40 {
        let _ = fs::remove_file(bench.path(&format!("job-improve/case-{case:04}.json")));
    }
    improved(&bench, &["--free", "aside=20..80 mm", "--threads", "1"]);
    assert_eq!(
        whole,
        fs::read(bench.path("job-improve/improve.json")).unwrap()
    );
}

/// Each wire on a supply of its own: by symmetry both give the same, at a quarter of the tank from its middle.
#[test]
fn currents_are_found_with_the_place() {
    let supplies = "[[supply]]\nmean_current_density = \"0.5 A/dm2\"\n[[supply]]\nname = \"second\"\n\
                    current = \"2 A\" # of ten\nanodes = [\"right\"]\n";
    let job = WIRES.replace("[supply]\ncurrent = \"10 A\"\n", supplies);
    assert_ne!(job, WIRES);
    // On larger cells one of them gets 5.06 A: where the plate ends they differ from left to right.
    let job = job.replace("finest = \"2 mm\"\n", "finest = \"1 mm\"\n");
    let bench = Bench::new(&job);
    let asked = [
        "--free",
        "aside=20..80 mm",
        "--free",
        "supply.second.current=0..10 A",
    ];
    let (text, found) = improved(&bench, &asked);
    let best = &found["cases"][found["best"].as_u64().unwrap() as usize - 1];
    let value = |key: &str| number(&best["values"][key]);
    assert_relative_eq!(value("aside"), 50.0, max_relative = 0.01);
    assert_relative_eq!(value("supply.second.current"), 5.0, max_relative = 0.01);
    let evenness = found["after"]["thinnest_over_mean"].as_f64().unwrap();
    assert_relative_eq!(
        evenness,
        (0.5 * TAU * 40.0 / 100.0).tanh(),
        max_relative = 0.005
    );
    assert!(
        text.contains("without the change of the currents"),
        "{text}"
    );
    let improved_job = fs::read_to_string(bench.path("job-improved.toml")).unwrap();
    assert!(improved_job.contains("\" # of ten"), "{improved_job}");
    // The job as it stands keeps its currents, and stopped and started again the search finds the same.
    assert_eq!(found["cases"][0]["values"]["supply.second.current"], "2 A");
    let whole = fs::read(bench.path("job-improve/improve.json")).unwrap();
    for case in 3..40 {
        let _ = fs::remove_file(bench.path(&format!("job-improve/case-{case:04}.json")));
    }
    improved(&bench, &[&asked[..], &["--threads", "1"]].concat());
    let again = fs::read(bench.path("job-improve/improve.json")).unwrap();
    assert!(whole == again);
}

/// Every choice is tried, and the best of them stands in the job.
#[test]
fn choices_are_tried_one_after_the_other() {
    let job = PLATES.replace("limiting_current_density = \"10 A/dm2\"\n", "");
    assert_ne!(job, PLATES);
    let bench = Bench::new(&job.replace("agitation = \"air\"", "agitation = \"still\""));
    let asked = ["--free", "bath.agitation=air|still", "--for", "share"];
    let (text, found) = improved(&bench, &asked);
    let cases = found["cases"].as_array().unwrap();
    let told = |n: usize| {
        let case = &cases[n];
        let share = case["figures"]["limit_share_percent"].as_f64().unwrap();
        (case["values"]["bath.agitation"].as_str().unwrap(), share)
    };
    assert_eq!(cases.len(), 2);
    let ((still, without), (air, with)) = (told(0), told(1));
    assert_eq!([still, air], ["still", "air"]);
    assert!(with < 0.5 * without, "{with} {without}");
    assert_eq!(found["best"], 2);
    assert!(text.contains("Change: bath.agitation air"), "{text}");
    let improved_job = fs::read_to_string(bench.path("job-improved.toml")).unwrap();
    assert!(
        improved_job.contains("agitation = \"air\""),
        "{improved_job}"
    );
}

/// On plates hours go with one over the current and the share with it: on the front their product is one figure.
#[test]
fn hours_are_weighed_against_the_share() {
    let bench = Bench::new(PLATES);
    let range = "supply.mean_current_density=0.5..8 A/dm2";
    let asked = ["--free", range, "--for", "hours", "--against", "share"];
    let (text, found) = improved(&bench, &asked);
    let points = found["front"]["points"].as_array().unwrap();
    assert!(points.len() >= 5, "{points:?}");
    let figures = points.iter().map(|point| {
        let figure = |n: usize| point["figures"][n].as_f64().unwrap();
        [figure(0), figure(1)]
    });
    let figures: Vec<[f64; 2]> = figures.collect();
    assert!(
        figures.is_sorted_by(|a, b| a[0] < b[0] && a[1] > b[1]),
        "{figures:?}"
    );
    let product = figures[0][0] * figures[0][1];
    for [hours, share] in &figures {
        assert_relative_eq!(hours * share, product, max_relative = 2e-3);
    }
    // From where trees grow down to the end of the range.
    assert!(
        figures[0][1] > 65.0 && figures[points.len() - 1][1] < 6.0,
        "{figures:?}"
    );
    assert!(
        text.contains("costs of") && text.contains("front.svg"),
        "{text}"
    );
    let picture = fs::read_to_string(bench.path("job-improve/front.svg")).unwrap();
    assert!(
        picture.starts_with("<svg") && picture.contains("largest share"),
        "{picture}"
    );
    let output = bench.ionfall(&[
        "improve",
        "job.toml",
        "--free",
        range,
        "--against",
        "evenness",
    ]);
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    assert!(said(&output).contains("against itself"));
}

/// By symmetry metal has covered a coat soonest if the wire touches it in its middle.
#[test]
fn a_wire_belongs_in_the_middle_of_a_mould() {
    let bench = Bench::new(COATED);
    let asked = ["--free", "wire=20..70 mm", "--for", "cover"];
    let (text, found) = improved(&bench, &asked);
    let best = &found["cases"][found["best"].as_u64().unwrap() as usize - 1];
    // To a cell.
    let wire = number(&best["values"]["wire"]);
    assert!((wire - 50.0).abs() <= 2.0, "{wire}");
    let hours = |run: &str| found[run]["covered_after_h"].as_f64().unwrap();
    assert!(hours("after") < 0.98 * hours("before"), "{text}");
    assert!(text.contains("time of first cover"), "{text}");
}

/// The fewest hours are those at the largest current that the limit allows.
#[test]
fn the_hours_end_at_the_limit() {
    let bench = Bench::new(PLATES);
    let range = "supply.mean_current_density=0.5..8 A/dm2";
    let asked = ["--free", range, "--for", "hours", "--most-share", "40"];
    let (_, found) = improved(&bench, &asked);
    let after = &found["after"];
    let share = after["limit_share_percent"].as_f64().unwrap();
    assert!(share <= 40.0001 && share > 39.0, "{share}");
    // Faraday: at 4 A/dm2 a quarter of the hours at 1 A/dm2, as the efficiency is one figure.
    let hours = |run: &str| found[run]["wanted_after_h"].as_f64().unwrap();
    assert_relative_eq!(
        hours("after"),
        hours("before") / (share / 10.0),
        max_relative = 0.002
    );
    // Cases beyond the limit were seen, and none was proposed.
    let cases = found["cases"].as_array().unwrap();
    assert!(cases.iter().any(|case| case["within_limits"] == false));
}

/// Of each limit: without it the search goes beyond, with it no proposal does, and the page marks the cases that do.
#[test]
fn no_proposal_breaks_a_limit() {
    let bench = Bench::new(PLATES);
    let range = "supply.mean_current_density=0.5..8 A/dm2";
    let asked = ["--free", range, "--for", "hours"];
    let wide = [
        "--most-share",
        "60",
        "--most-anode",
        "90",
        "--most-volts",
        "9",
    ];
    let (_, free) = improved(&bench, &[&asked[..], &wide].concat());
    let figure = |found: &Value, key: &str| found["after"][key].as_f64().unwrap();
    // The plates are alike: an anode has the current density of the work.
    for (option, key, share) in [
        ("--most-anode", "anode_A_per_dm2", 0.7),
        ("--most-volts", "voltage_V", 0.8),
        ("--most-share", "limit_share_percent", 0.5),
    ] {
        let most = share * figure(&free, key);
        let most_text = most.to_string();
        let (_, found) = improved(&bench, &[&asked[..], &[option, &most_text]].concat());
        let kept = figure(&found, key);
        assert!(
            kept <= most * 1.000_01 && kept > 0.97 * most,
            "{key} {kept} {most}"
        );
        let picture = fs::read_to_string(bench.path("job-improve/path.svg")).unwrap();
        assert!(picture.contains("beyond a limit"), "{key}");
    }
}

/// The higher the wires the evener the plate, up to a shelf above them: cases in which they would touch it are none.
#[test]
fn bodies_keep_their_room() {
    let high = WIRES.replace(" x 40 mm\"", " x height\"");
    let high = high.replace("[figures]\n", "[figures]\nheight = \"40 mm\"\n");
    let shelf = "[[shield]]\nname = \"shelf\"\nshape.rectangle = { from = \"20 x 120 mm\", to = \"180 x 126 mm\" }\n";
    let bench = Bench::new(&format!("{high}{shelf}"));
    let (text, found) = improved(&bench, &["--free", "height=20..125 mm", "--solves", "15"]);
    let cases = found["cases"].as_array().unwrap();
    let failed = |case: &&Value| case["failure"].is_string();
    assert!(cases.iter().any(|case| failed(&case)), "{text}");
    let best = &cases[found["best"].as_u64().unwrap() as usize - 1];
    let height = number(&best["values"]["height"]);
    // A wire of 1 mm under 120 mm.
    assert!((110.0..119.0).contains(&height), "{text}");
}

/// A wire in the middle of a mould shares the strike's current between both sides: the worst place at the strike is
/// least strained there. With its current free the strike is as quick as the share allows.
#[test]
fn the_strike_is_gentlest_from_the_middle() {
    let strike = "[[plan.step]]\nname = \"strike\"\ncurrent = \"0.4 A\"\ntime = \"1 h\"\n\
                  [[plan.step]]\ncurrent = \"1 A\"\ntime = \"1 h\"\n";
    let job = COATED.replace("[plan]\ntime = \"2 h\"\n", strike);
    assert_ne!(job, COATED);
    let bench = Bench::new(&job);
    let (text, found) = improved(&bench, &["--free", "wire=20..70 mm", "--for", "strike"]);
    let best = &found["cases"][found["best"].as_u64().unwrap() as usize - 1];
    let wire = number(&best["values"]["wire"]);
    assert!((wire - 50.0).abs() <= 4.0, "{wire} {text}");
    let share = |run: &str| found[run]["strike_share_percent"].as_f64().unwrap();
    assert!(share("after") < 0.96 * share("before"), "{text}");
    // The build reaches 8.5 %.
    let asked = [
        "--free",
        "plan.step.strike.current=0.1..2 A",
        "--for",
        "cover",
    ];
    let (text, found) = improved(&bench, &[&asked[..], &["--most-share", "10"]].concat());
    let share = found["after"]["limit_share_percent"].as_f64().unwrap();
    assert!((9.0..10.000_1).contains(&share), "{share} {text}");
    let hours = |run: &str| found[run]["covered_after_h"].as_f64().unwrap();
    assert!(hours("after") < 0.8 * hours("before"), "{text}");
}

#[test]
fn what_cannot_be_asked_is_refused_with_a_way_out() {
    let bench = Bench::new(WIRES);
    for (arguments, reason, way_out) in [
        (
            &["--free", "aside=20 mm"][..],
            "a range",
            "distance=100..200 mm",
        ),
        (
            &["--free", "aside=50..80 mm"],
            "34 mm in the job",
            "holds its value",
        ),
        (
            &["--free", "aside=2..8 cm"],
            "34 mm in the job",
            "in the unit",
        ),
        (
            &["--free", "asides=2..8 mm"],
            "asides",
            "did you mean `aside`",
        ),
        (
            &["--free", "aside=20..80 mm", "--for", "cover"],
            "no coat",
            "`coat`",
        ),
        (
            &["--free", "aside=20 mm|30 mm"],
            "34 mm in the job, which is not among these",
            "job's own value",
        ),
        (
            &["--free", "aside=20..80 mm", "--for", "hours"],
            "wants none",
            "[wanted]",
        ),
    ] {
        let output = bench.ionfall(&[&["improve", "job.toml"], arguments].concat());
        let told = said(&output);
        assert_eq!(output.status.code(), Some(2), "{told}");
        let flat = told.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(reason) && flat.contains(way_out), "{told}");
    }
    // Somebody's own file stays.
    bench.write("job-improved.toml", b"mine");
    let asked = [
        "improve",
        "job.toml",
        "--free",
        "aside=20..80 mm",
        "--solves",
        "6",
    ];
    let output = bench.ionfall(&asked);
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    assert_eq!(fs::read(bench.path("job-improved.toml")).unwrap(), b"mine");
}
