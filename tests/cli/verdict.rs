//! The verdict: the same in the terminal, the summary, the report, the job sheet, the comparison and
//! the trials, and never better than its worst part.

use crate::bench::Bench;
use serde_json::Value;
use std::fs;

/// A plate in a still acid bath with a limiting current of its own, 2 A/dm2 = 200 A/m2 on average.
fn job(limit_a_per_m2: f64, plan: &str, wanted: &str) -> String {
    let strip = include_str!("jobs/limited-strip.toml");
    let strip = strip.replace("LIMIT", &limit_a_per_m2.to_string());
    format!("{strip}{plan}\n[wanted]\nthickness = \"{wanted}\"\n")
}

const HOUR: &str = "[plan]\ntime = \"1 h\"";

fn solved(bench: &Bench, extra: &[&str]) -> (String, Value) {
    let arguments = [&["run", "job.toml", "--out", "out"], extra].concat();
    let output = bench.ionfall(&arguments);
    assert!(output.status.success(), "{output:?}");
    let summary = fs::read_to_string(bench.path("out/summary.json")).unwrap();
    (
        String::from_utf8(output.stdout).unwrap(),
        serde_json::from_str(&summary).unwrap(),
    )
}

/// Metal by Faraday's law, 23.6 um of it: enough. At 95 % of the limiting current all round: trees.
#[test]
fn enough_metal_does_not_hide_trees() {
    let bench = Bench::new(&job(200.0 / 0.95, HOUR, "20 um"));
    let (text, summary) = solved(&bench, &["--pictures"]);
    let verdict = &summary["verdict"];
    assert_eq!(verdict["metal"]["state"], "good");
    assert_eq!(verdict["sound"]["state"], "bad");
    assert_eq!(verdict["sound"]["quality"], "trees");
    assert!((verdict["sound"]["share"].as_f64().unwrap() / 0.95 - 1.0).abs() < 1e-3);
    // The job's own limiting current has no band.
    assert!(verdict["sound"]["band_share"].is_null());
    assert_eq!(verdict["state"], "bad");
    let head = "Thick enough, but trees and burning likely.";
    let first = format!("\u{2717} bad: {head}");
    assert_eq!(text.lines().next(), Some(first.as_str()), "{text}");
    // The way out: 40 of 95 parts of the current, by proportion.
    let change = &verdict["change"];
    assert_eq!(change["kind"], "gentler");
    let [amperes, enough] = ["current_a", "enough_a"].map(|k| change[k].as_f64().unwrap());
    assert!(
        (enough / amperes * 0.95 / 0.4 - 1.0).abs() < 1e-3,
        "{change}"
    );
    assert!(
        text.contains("\nChange:  ") && text.contains(" A instead of "),
        "{text}"
    );
    let report = fs::read_to_string(bench.path("out/report.html")).unwrap();
    assert!(report.contains("<section id=\"verdict\" class=\"bad\"") && report.contains(head));
    assert!(report.contains("Change: ") && report.contains(" A instead of "));
    let sheet = fs::read_to_string(bench.path("out/job-sheet.html")).unwrap();
    assert!(sheet.contains("<p class=\"bad\">") && sheet.contains(head));
    assert!(sheet.contains("expect trees and burning"));
    let compared = bench.ionfall(&["compare", "out", "out", "--json"]);
    let compared: Value = serde_json::from_slice(&compared.stdout).unwrap();
    assert_eq!(compared["runs"][0]["verdict"], *verdict);
    let page = fs::read_to_string(bench.path("compare.html")).unwrap();
    assert!(page.contains(head));
    let vary = [
        "trials",
        "job.toml",
        "--vary",
        "plan.time=0.5,1 h",
        "--out",
        "tried",
    ];
    assert!(bench.ionfall(&vary).status.success());
    let trials = fs::read_to_string(bench.path("tried/trials.json")).unwrap();
    let trials: Value = serde_json::from_str(&trials).unwrap();
    let of = |case: usize| trials["cases"][case]["verdict"].clone();
    assert_eq!(
        (&of(0)["metal"], &of(1)["metal"]),
        (&"bad".into(), &"good".into())
    );
    assert_eq!(of(1)["state"], "bad");
    let page = fs::read_to_string(bench.path("tried/trials.html")).unwrap();
    assert!(page.contains("<section id=\"verdict\" class=\"bad\"") && page.contains(head));
}

/// The report holds the job's text letter by letter, its fingerprint, the version and the day, and its three
/// rules.
#[test]
fn the_report_holds_its_job() {
    let text = job(200.0 / 0.95, HOUR, "20 um") + "# <b>&\n";
    let bench = Bench::new(&text);
    solved(&bench, &["--plus-minus", "never"]);
    let report = fs::read_to_string(bench.path("out/report.html")).unwrap();
    let escaped = text
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;");
    assert!(report.contains(&escaped), "{report}");
    assert!(report.contains("job.toml, fingerprint ") && report.contains(", computed 20"));
    assert!(report.contains(&format!("ionfall {}: ", env!("CARGO_PKG_VERSION"))));
    assert_eq!(report.matches("<svg class=\"rule\"").count(), 3);
}

/// All parts good: a limiting current far off and a supply that can give more than enough.
#[test]
fn all_good_is_said_once_and_green() {
    let plan = format!("voltage_limit = \"6 V\"\n{HOUR}");
    let bench = Bench::new(&job(2000.0, &plan, "20 um"));
    let (text, summary) = solved(&bench, &[]);
    assert!(text.starts_with("\u{2713} good: Thick enough.\n"), "{text}");
    assert!(!text.contains("Change:") && summary["verdict"]["change"].is_null());
    let verdict = &summary["verdict"];
    for part in ["metal", "sound", "supply"] {
        assert_eq!(verdict[part]["state"], "good", "{part}");
    }
    let margin = verdict["supply"]["margin_v"].as_f64().unwrap();
    let voltage = summary["voltage_v"].as_f64().unwrap();
    assert!((margin + voltage - 6.0).abs() < 1e-9);
    let report = fs::read_to_string(bench.path("out/report.html")).unwrap();
    assert!(report.contains("<section id=\"verdict\" class=\"good\""));
}

/// Short at constant current: longer by proportion, and then it is enough.
#[test]
fn a_short_run_is_told_how_long_would_do() {
    let bench = Bench::new(&job(2000.0, HOUR, "35.4 um"));
    let (text, summary) = solved(&bench, &["--plus-minus", "never"]);
    let metal = &summary["verdict"]["metal"];
    assert_eq!(metal["state"], "bad");
    let change = &summary["verdict"]["change"];
    assert_eq!(change["kind"], "longer");
    let enough_s = change["enough_s"].as_f64().unwrap();
    let least_m = metal["least_m"].as_f64().unwrap();
    assert!(
        (enough_s / 3600.0 / (35.4e-6 / least_m) - 1.0).abs() < 1e-6,
        "{change}"
    );
    assert!(text.contains("h instead of 1 h would do"), "{text}");
    let plan = format!("[plan]\ntime = \"{enough_s} s\"");
    bench.write("job.toml", job(2000.0, &plan, "35.4 um").as_bytes());
    let (_, summary) = solved(&bench, &["--plus-minus", "never"]);
    assert_eq!(summary["verdict"]["metal"]["state"], "good");
}

/// The bath's own limiting current is known to within a band, which stands beside the share.
#[test]
fn the_band_of_the_limiting_current_is_told() {
    let text = job(1.0, HOUR, "20 um");
    let line = "limiting_current_density = \"1 A/m2\"\n";
    assert!(text.contains(line));
    let bench = Bench::new(&text.replace(line, ""));
    let (text, summary) = solved(&bench, &[]);
    let sound = &summary["verdict"]["sound"];
    let limit = &summary["bath"]["limiting_current"];
    let [value, low, high] =
        [&limit["value"], &limit["band"][0], &limit["band"][1]].map(|x| x.as_f64().unwrap());
    let share = sound["share"].as_f64().unwrap();
    let [least, most] = [0, 1].map(|n| sound["band_share"][n].as_f64().unwrap());
    assert!((least - share * value / high).abs() < 1e-12);
    assert!((most - share * value / low).abs() < 1e-12);
    assert!(text.contains("by the bath's figures"), "{text}");
}

/// The plan waits for the thickness: it is there, and the hours are what is not sure.
#[test]
fn a_plan_that_waits_is_judged_in_hours() {
    let plan = "[[plan.step]]\nthickness = \"20 um\"\nat_most = \"3 h\"";
    let bench = Bench::new(&job(2000.0, plan, "20 um"));
    let (text, summary) = solved(&bench, &["--plus-minus", "always"]);
    let metal = &summary["verdict"]["metal"];
    assert_eq!(metal["until_reached"], true);
    assert_eq!(metal["state"], "good");
    let hours = |key: &str| metal[key].as_f64().unwrap() / 3600.0;
    assert!((hours("reached_after_s") + hours("margin_s") - 3.0).abs() < 1e-9);
    assert!(metal["plus_minus_s"].as_f64().unwrap() > 0.0);
    assert!(
        !text.contains("Too close") && text.contains("20 um everywhere after"),
        "{text}"
    );
}

/// `--spread` varies a limiting current that a law took from the bath, and leaves the job's own alone:
/// also where it is the same number, exactly as one a hair off.
#[test]
fn a_spread_takes_the_job_at_its_word() {
    let own = |limit: &str| {
        let text = job(1.0, HOUR, "20 um").replace("limiting_current_density = \"1 A/m2\"\n", "");
        let law = format!(
            "name = \"strip\"\nlaw.tafel = {{ exchange_current_density = \"1 A/m2\", slope = \"50 \
             mV\"{limit} }}\n"
        );
        let bench = Bench::new(&text.replace("name = \"strip\"\n", &law));
        solved(&bench, &["--spread", "--plus-minus", "never"]).1
    };
    // Largest change of the voltage that the limiting current of the bath makes.
    let moved = |summary: &Value| {
        let volts = summary["voltage_v"].as_f64().unwrap();
        let all = summary["spread"]["influences"].as_array().unwrap().iter();
        let limits: Vec<f64> = all
            .filter(|i| i["input"] == "limit")
            .map(|i| i["voltage_v"].as_f64().unwrap())
            .collect();
        assert_eq!(limits.len(), 2);
        limits
            .iter()
            .map(|v| (v / volts - 1.0).abs())
            .fold(0.0, f64::max)
    };
    // Width of the band of the worst share.
    let width = |summary: &Value| {
        let band = &summary["verdict"]["sound"]["band_share"];
        let [low, high] = [0, 1].map(|n| band[n].as_f64().unwrap());
        high / low - 1.0
    };
    let borrowed = own("");
    assert!(width(&borrowed) > 0.1, "{}", width(&borrowed));
    assert!(moved(&borrowed) > 1e-4, "{}", moved(&borrowed));
    let value = borrowed["bath"]["limiting_current"]["value"]
        .as_f64()
        .unwrap();
    for value in [value, value * (1.0 + 1e-9)] {
        let told = own(&format!(", limiting_current_density = \"{value} A/m2\""));
        assert!(moved(&told) < 1e-9, "{}", moved(&told));
        assert!(width(&told) < 1e-6, "{}", width(&told));
    }
}

/// `--levers`: what each change buys, in the terminal, the summary and the report; a change that cannot
/// flow is said to be none.
#[test]
fn levers_say_what_each_change_buys() {
    let bench = Bench::new(&job(250.0, HOUR, "40 um"));
    let (text, summary) = solved(&bench, &["--levers", "--plus-minus", "never"]);
    let levers = &summary["levers"];
    let all = levers["levers"].as_array().unwrap();
    let find = |change: &str, factor: f64| {
        let mut all = all.iter();
        all.find(|l| l["change"] == change && l["factor"] == factor)
            .unwrap_or_else(|| panic!("{change} {factor}: {levers}"))
    };
    let number = |value: &Value| value.as_f64().unwrap();
    let half = &find("current", 0.5)["answers"];
    let now = &levers["now"];
    let share = number(&half["limit_share"]) / number(&now["limit_share"]);
    assert!((share - 0.5).abs() < 1e-3, "{share}");
    let wish = number(&half["wish_s"]) / number(&now["wish_s"]);
    assert!((wish - 2.0).abs() < 1e-6, "{wish}");
    assert!(
        find("current", 1.5)["failure"]
            .as_str()
            .unwrap()
            .contains("carry no more")
    );
    for words in [
        "levers",
        "half the current for twice the time: ",
        "not possible",
    ] {
        assert!(text.contains(words), "{text}");
    }
    let report = fs::read_to_string(bench.path("out/report.html")).unwrap();
    assert!(report.contains("half the current for twice the time"));
    // Without being asked small changes are told, along the sensitivities of the run: on a terminal one of them.
    let (text, summary) = solved(&bench, &["--plus-minus", "never"]);
    let small = summary["levers"]["levers"].as_array().unwrap();
    assert!(small.len() >= 3 && small.iter().all(|l| l["first_order"] == true));
    assert!(text.contains("; more in the report"), "{text}");
    let report = fs::read_to_string(bench.path("out/report.html")).unwrap();
    assert!(report.contains("more conductivity") && report.contains("90 % of the current"));
    // Nor is anything said of them where nothing is wanted.
    let bench =
        Bench::new(&job(250.0, HOUR, "40 um").replace("[wanted]\nthickness = \"40 um\"\n", ""));
    let (text, summary) = solved(&bench, &["--plus-minus", "never"]);
    assert!(
        summary["levers"].is_null() && !text.contains("levers"),
        "{text}"
    );
}

/// Without a plan there is no thickness, and no band of one.
#[test]
fn a_spread_without_a_plan_tells_volts_only() {
    let bench =
        Bench::new(&job(250.0, "", "20 um").replace("[wanted]\nthickness = \"20 um\"\n", ""));
    let (text, summary) = solved(&bench, &["--spread", "--plus-minus", "never"]);
    let influences = summary["spread"]["influences"].as_array().unwrap();
    assert!(!influences.is_empty() && !text.contains("NaN"), "{text}");
    assert!(
        text.contains("conductivity times ") && text.contains(" V\n"),
        "{text}"
    );
}
