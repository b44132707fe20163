//! Recesses that stand still, end to end: a groove of 1 x 1 mm in a flat work.

use crate::program::{ionfall, summary};
use serde_json::Value;

const JOB: &str = include_str!("jobs/groove.toml");

/// Rising bubbles, about as large as their wakes.
const STIRRED: &str = "agitation = \"air\"\nstirring_radius = \"3.5 mm\"";

fn groove(agitation: &str) -> String {
    JOB.replace("AGITATION", agitation)
}

fn number(of: &Value) -> f64 {
    of.as_f64().unwrap_or_else(|| panic!("{of} is no number"))
}

/// Both ends are told: stirred to the foot there is enough metal, standing still there is not; the verdict knows
/// of both.
#[test]
fn both_ends_are_told() {
    let summary = summary(&groove(STIRRED));
    let (metal, sound) = (&summary["verdict"]["metal"], &summary["verdict"]["sound"]);
    let recesses = &summary["recesses"];
    let film_m = number(&recesses["film_m"]);
    // Reference (finite differences): of a groove as deep as wide, one twentieth of it the film, 0.015 of the limit is
    // left in the middle of the bottom, less in its corners.
    assert!((4e-5..7e-5).contains(&film_m), "{film_m}");
    assert!(number(&recesses["least_share"]) < 0.016, "{recesses}");
    assert!(number(&metal["least_m"]) > 100e-6, "{metal}");
    assert!(number(&metal["still_m"]) < 50e-6, "{metal}");
    assert_eq!(metal["state"], "caution");
    assert!(number(&sound["share"]) < 0.3, "{sound}");
    assert!(number(&sound["still_share"]) > 0.9, "{sound}");
    assert_ne!(sound["state"], "good");
    let cautions = summary["cautions"].to_string();
    assert!(cautions.contains("does not enter"), "{cautions}");
}

/// A ball smaller than the groove stirs to its foot but for the corners; without a limit nothing is computed.
#[test]
fn nothing_changes_where_nothing_is_sheltered() {
    let small = groove("agitation = \"air\"\nstirring_radius = \"0.12 mm\"");
    let bottom: Vec<[f64; 4]> = facets(&small)
        .into_iter()
        .filter(|[x, y, ..]| *y < -0.9e-3 && x.abs() < 0.2e-3)
        .collect();
    assert!(bottom.len() > 5 && bottom.iter().all(|[.., share, _]| *share == 1.0));
    let without = "stirring_radius = \"3.5 mm\"";
    assert!(summary(&groove(without))["recesses"].is_null());
    // Where nobody says how the bath is stirred, nobody says how far that reaches.
    let limit = "limiting_current_density = \"11 A/dm2\"";
    assert!(summary(&groove(limit))["recesses"].is_null());
}

/// An agitation alone has its usual radius, and says so; the corners between open faces are then no recesses.
#[test]
fn the_usual_radius_finds_hollows_and_no_corners() {
    let found = summary(&groove("agitation = \"air\""));
    assert!(number(&found["recesses"]["least_share"]) < 0.016);
    let band = &found["recesses"]["radius_band_m"];
    assert!((number(&band[0]) - 1.5e-3).abs() < 1e-9 && (number(&band[1]) - 8e-3).abs() < 1e-9);
    assert!(number(&found["verdict"]["metal"]["still_m"]) < 50e-6);
    assert!(
        found["cautions"]
            .to_string()
            .contains("say stirring_radius")
    );
    // A step of 8 mm, wider than the ball at both of its faces: one inner corner, no hollow.
    let step = groove("agitation = \"air\"").replace(
        "\"0.5 x 0 mm\",\n    \"0.5 x -1 mm\", \"-0.5 x -1 mm\", \"-0.5 x 0 mm\", \"-25 x 0 mm\"",
        "\"25 x 8 mm\", \"0 x 8 mm\", \"0 x 0 mm\", \"-25 x 0 mm\"",
    );
    assert!(step.contains("0 x 8 mm"), "{step}");
    let step = step.replace("0.06 mm", "0.3 mm");
    assert!(summary(&step)["recesses"].is_null());
    let given = step.replace("\"air\"", "\"air\"\nstirring_radius = \"3.5 mm\"");
    assert!(!summary(&given)["recesses"].is_null());
}

/// What the tables say: the share that is left, 1 on the flat, and the limit there.
#[test]
fn facets_carry_their_own_limit() {
    let (mut flat, mut deep) = (0, 0);
    for [_, y, share, limit] in facets(&groove(STIRRED)) {
        assert!(share > 0.0 && share <= 1.0);
        if y < -0.9e-3 {
            assert!(share < 0.05 && limit < 100.0, "{share} {limit}");
            deep += 1;
        } else if y > -1e-9 {
            flat += usize::from(share == 1.0);
        }
    }
    assert!(flat > 100 && deep > 10, "{flat} {deep}");
}

/// Place, share that is left and limit of the facets of the block, in SI; both answers are printed.
fn facets(job: &str) -> Vec<[f64; 4]> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("job.toml"), job).unwrap();
    let output = ionfall(folder.path(), &["run", "job.toml", "--out", "out"]);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("if the liquid in the recesses stands still"),
        "{said}"
    );
    let table = std::fs::read_to_string(folder.path().join("out/facets.csv")).unwrap();
    let mut lines = table
        .lines()
        .map(|line| line.split(',').collect::<Vec<_>>());
    let head = lines.next().unwrap();
    let column = |name: &str| head.iter().position(|h| *h == name).unwrap();
    let columns = [
        "x_m",
        "y_m",
        "shelter",
        "limiting_current_if_still_A_per_m2",
    ]
    .map(column);
    lines
        .filter(|row| row[0] == "block")
        .map(|row| columns.map(|k| row[k].parse().unwrap()))
        .collect()
}
