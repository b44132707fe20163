//! Evenness end to end: the Haring-Blum cell, and what acid does to a folded cathode.

use crate::cases::expected;
use crate::program::{body, summary};
use approx::assert_relative_eq;
use ionfall_bath::evenness::{field_percent, haring_blum_percent};

/// The cell as a section: an anode across it, the near cathode 50 mm to one side, the far one
/// 250 mm to the other.
fn haring(resistance_ohm_m2: f64) -> String {
    let cell = include_str!("jobs/haring-blum.toml");
    let law = format!("law.linear = {{ resistance = \"{resistance_ohm_m2} ohm m2\" }}");
    if resistance_ohm_m2 > 0.0 {
        cell.replace("law = \"primary\"", &law)
    } else {
        cell.into()
    }
}

/// Case P07: metal ratio and both throwing powers, exact for linear polarisation.
#[test]
fn p07_haring_blum_cell() {
    for resistance in ["0", "0.0005", "0.001", "0.0025", "0.01"] {
        let place = format!("resistance {resistance} ohm m2");
        let exact = expected("P07", "metal ratio M", &place);
        let s = summary(&haring(resistance.parse().unwrap()));
        let metal = |name| body(&s, name)["metal_kg"].as_f64().unwrap();
        let ratio = metal("near") / metal("far");
        assert_relative_eq!(ratio, exact, max_relative = 5e-3);
        // Throwing powers follow from the exact ratio: 0.5 % of the scale.
        let (hb, field) = (haring_blum_percent(5.0, ratio), field_percent(5.0, ratio));
        assert!((hb - haring_blum_percent(5.0, exact)).abs() < 0.5, "{hb}");
        assert!((field - field_percent(5.0, exact)).abs() < 0.5, "{field}");
        eprintln!("{resistance} ohm m2: M {ratio:.6}, Haring-Blum {hb:.3} %, Field {field:.3} %");
    }
    let example = expected("P07", "throwing power, Haring-Blum", "");
    assert_eq!(example, haring_blum_percent(5.0, 5.0));
    assert_relative_eq!(field_percent(5.0, 3.0), 100.0 / 3.0, max_relative = 1e-12);
}

/// A cathode folded to a step: a shelf nearer to the anode than the floor beside it.
fn folded(recipe: &str) -> String {
    include_str!("jobs/folded.toml").replace("RECIPE", recipe)
}

/// The high-throw recipe plates the fold more evenly than the ordinary one.
#[test]
fn acid_evens_out_a_folded_cathode() {
    let spread = |recipe: &str| {
        let s = summary(&folded(recipe));
        let thickness = &body(&s, "fold")["thickness_m"];
        let figure = |key: &str| thickness[key].as_f64().unwrap();
        let ratio = figure("min") / figure("max");
        eprintln!(
            "{recipe}: {:.1} to {:.1} um, min/max {ratio:.3}",
            1e6 * figure("min"),
            1e6 * figure("max")
        );
        ratio
    };
    let (ordinary, high) = (spread("general"), spread("high throw"));
    assert!(high > 1.3 * ordinary, "{ordinary} {high}");
}
