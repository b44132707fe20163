//! Films that vary over a face, end to end.

use crate::program::{body, summary};
use serde_json::Value;

const JOB: &str = include_str!("jobs/panel.toml");

fn panel(agitation: &str) -> Value {
    summary(&JOB.replace("AGITATION", agitation))
}

fn number(of: &Value) -> f64 {
    of.as_f64().unwrap_or_else(|| panic!("{of} is no number"))
}

/// A tall panel in a still bath: at its upper edge 3/4 of the mean limit is left, at its lower one far more. The worst
/// place is above, and its share is larger than with the mean film.
#[test]
fn a_still_bath_burns_the_upper_edge_first() {
    let local = panel("{ still = \"100 mm\" }");
    let film = &local["local_films"][0];
    assert_eq!(
        (&film["on"], &film["course"]),
        (&"panel".into(), &"rising".into())
    );
    let mean_m = number(&local["bath"]["film"]["value"]);
    let [thin, thick] = [0, 1].map(|k| number(&film["film_m"][k]));
    // The last facet stands for a cell: 3/4 of the mean limit within 2 %.
    assert!((thick * 0.75 / mean_m - 1.0).abs() < 0.02, "{film}");
    assert!(thin < 0.5 * mean_m, "{film}");
    let worst = &body(&local, "panel")["limit_share"];
    assert!(number(&worst["at_m"][2]) > 0.08, "{worst}");
    let even = panel(&format!("{{ film = \"{} um\" }}", 1e6 * mean_m));
    assert!(even["local_films"].as_array().unwrap().is_empty());
    let plain = number(&body(&even, "panel")["limit_share"]["value"]);
    assert!(number(&worst["value"]) > 1.1 * plain, "{worst} {plain}");
    let notes = local["notes"].to_string();
    assert!(notes.contains("grows from the lower edge up"), "{notes}");
}

/// Where nothing says which way a flow goes, that is told, and the mean is kept.
#[test]
fn a_flow_without_a_way_keeps_the_mean() {
    let flow = "flow = \"0.05 m/s\", gap = \"20 mm\", length = \"100 mm\"";
    let unsaid = panel(&format!("{{ {flow} }}"));
    assert!(unsaid["local_films"].as_array().unwrap().is_empty());
    assert!(unsaid["notes"].to_string().contains("along = "));
    let said = panel(&format!("{{ {flow}, along = \"-z\" }}"));
    assert!(!said["notes"].to_string().contains("to have it local"));
    let film = &said["local_films"][0];
    let mean_m = number(&said["bath"]["film"]["value"]);
    assert!(
        (number(&film["film_m"][1]) / (1.5 * mean_m) - 1.0).abs() < 0.02,
        "{film}"
    );
}

/// A salt film on a copper anode begins where its film is thickest: in a still bath at the lower edge, because what
/// has dissolved there makes the liquid heavy and it sinks. There 3/4 of the mean current density is enough.
#[test]
fn a_salt_film_begins_at_the_lower_edge_of_an_anode() {
    let local = panel("{ still = \"100 mm\" }");
    let mean_m = number(&local["bath"]["film"]["value"]);
    let even = panel(&format!("{{ film = \"{} um\" }}", 1e6 * mean_m));
    let worst = |summary: &Value| body(summary, "anode")["passivation_share"].clone();
    let [here, plain] = [&local, &even].map(|s| number(&worst(s)["value"]));
    assert!((here / plain * 0.75 - 1.0).abs() < 0.04, "{here} {plain}");
    assert!(number(&worst(&local)["at_m"][2]) < 0.02);
    // Only there it comes to what the salt film stands for, and that is told.
    let times = 0.85 / plain;
    let driven = JOB
        .replace("AGITATION", "{ still = \"100 mm\" }")
        .replace("0.7 A/dm2", &format!("{} A/dm2", 0.7 * times));
    let told = summary(&driven)["cautions"].to_string();
    assert!(told.contains("at the worst place: a salt film"), "{told}");
}

/// Pulses shorter than the double layer takes to charge, and such that are longer.
#[test]
fn pulses_that_arrive_smoothed_are_told() {
    let pulsed = |pulse: &str| {
        let plan = format!("[[plan.step]]\npulse = {{ {pulse} }}\ntime = \"2 h\"");
        let job = JOB.replace("AGITATION", "\"air\"");
        summary(&job.replace("[plan]\ntime = \"2 h\"", &plan))["cautions"].to_string()
    };
    // The peak is 3.5 A/dm2: 0.49 ms and 3.4 ms.
    let short = pulsed("on = \"0.2 ms\", off = \"0.8 ms\"");
    assert!(
        short.contains("0.49 ms to charge and 3.4 ms to discharge"),
        "{short}"
    );
    let long = pulsed("on = \"10 ms\", off = \"40 ms\"");
    assert!(!long.contains("to discharge"), "{long}");
}
