//! Words of the job file against closed forms: walls that are electrodes, films, readings.

use approx::assert_relative_eq;
use ionfall_deposit::Outcome;

const WALLS: &str = include_str!("jobs/walls.toml");
const KAPPA: f64 = 20.0;
const LENGTH_M: f64 = 0.1;
/// Section of the liquid, m2.
const SECTION_M2: f64 = 0.04 * 0.05;

fn solved(text: &str) -> Outcome<3> {
    crate::solved(&crate::model_of(text))
}

/// The walls with one text replaced.
fn with(from: &str, to: &str) -> String {
    assert!(WALLS.contains(from), "{from}");
    WALLS.replacen(from, to, 1)
}

#[test]
fn opposite_walls_are_plates() {
    for (sides, length_m, section_m2) in [
        (["x", "-x"], LENGTH_M, SECTION_M2),
        (["-x", "x"], LENGTH_M, SECTION_M2),
        (["-y", "y"], 0.04, 0.1 * 0.05),
    ] {
        let text = WALLS
            .replace("wall = \"x\"", "wall = \"ANODE\"")
            .replace("wall = \"-x\"", &format!("wall = \"{}\"", sides[1]))
            .replace("ANODE", sides[0]);
        let out = solved(&text);
        let exact = KAPPA * section_m2 / length_m;
        assert_relative_eq!(out.current_a, exact, max_relative = 1e-6);
        assert_relative_eq!(out.bodies[0].area_m2, section_m2, max_relative = 1e-9);
        let v = out.readings[0].potential_v.unwrap();
        assert_relative_eq!(v, 0.5, max_relative = 1e-6);
        // Between plates R = d / (kappa A), all of it in the bath.
        let ohm = [
            out.supplies[0].resistance_ohm,
            out.supplies[0].ohmic_resistance_ohm,
        ];
        for ohm in ohm {
            assert_relative_eq!(ohm.unwrap(), 1.0 / exact, max_relative = 1e-6);
        }
    }
}

/// A floor of metal under a plate: the current spreads, so more flows than between plates of the
/// plate's own size, and less than between floor and a ceiling as large as the floor.
#[test]
fn the_floor_is_a_wall_too() {
    let plate = "shape.box = { from = \"30 x 0 x 40 mm\", to = \"70 x 40 x 50 mm\" }";
    let out = solved(&with("wall = \"x\"", plate).replace("wall = \"-x\"", "wall = \"-z\""));
    let [least, most] = [0.04, 0.1].map(|width| KAPPA * width * 0.04 / 0.04);
    assert!(
        out.current_a > least && out.current_a < most,
        "{}",
        out.current_a
    );
    assert_relative_eq!(out.bodies[1].area_m2, 0.1 * 0.04, max_relative = 1e-9);
}

/// V = i (L/kappa + R), with the film on either electrode or on both.
#[test]
fn a_film_is_in_series_with_the_electrolyte() {
    let film = |text: &str, of: &str, ohm: &str| {
        let line = format!("wall = \"{of}\"\nfilm_resistance = \"{ohm}\"");
        text.replace(&format!("wall = \"{of}\""), &line)
    };
    let one = film(WALLS, "x", "20 ohm cm2");
    let two = film(&one, "-x", "0.1 ohm dm2");
    for (text, films) in [(&one, 2e-3), (&two, 3e-3)] {
        let out = solved(text);
        let exact = 1.0 / (LENGTH_M / KAPPA + films);
        assert_relative_eq!(out.current_a / SECTION_M2, exact, max_relative = 1e-6);
        let drop = out.bodies[0].overpotential_v.mean;
        assert_relative_eq!(drop, 2e-3 * exact, max_relative = 1e-6);
        let supply = &out.supplies[0];
        let bath_ohm = LENGTH_M / (KAPPA * SECTION_M2);
        let whole_ohm = bath_ohm + films / SECTION_M2;
        assert_relative_eq!(
            supply.resistance_ohm.unwrap(),
            whole_ohm,
            max_relative = 1e-6
        );
        let ohmic_ohm = supply.ohmic_resistance_ohm.unwrap();
        assert_relative_eq!(ohmic_ohm, bath_ohm, max_relative = 1e-6);
    }
}

/// Tafel behind a film: i (L/kappa + R) + b ln(i/i0) = V, by bisection.
#[test]
fn a_film_is_in_series_with_a_law() {
    let law = "film_resistance = \"0.002 ohm m2\"\n\
               law.tafel = { exchange_current_density = \"0.5 A/m2\", slope = \"50 mV\" }";
    let out = solved(&with("law = \"primary\"", law));
    let (mut low, mut high): (f64, f64) = (0.5, 200.0);
    for _ in 0..200 {
        let i = 0.5 * (low + high);
        let volts = i * (LENGTH_M / KAPPA + 2e-3) + 0.05 * (i / 0.5).ln();
        *(if volts < 1.0 { &mut low } else { &mut high }) = i;
    }
    assert_relative_eq!(out.current_a / SECTION_M2, low, max_relative = 1e-6);
    // What stands at the surface is no resistance of the bath, whatever the law.
    let bath_ohm = LENGTH_M / (KAPPA * SECTION_M2);
    let ohmic_ohm = out.supplies[0].ohmic_resistance_ohm.unwrap();
    assert_relative_eq!(ohmic_ohm, bath_ohm, max_relative = 1e-6);
    assert_relative_eq!(
        out.supplies[0].resistance_ohm.unwrap(),
        1.0 / (low * SECTION_M2),
        max_relative = 1e-6
    );
    let on = out.readings[1].surface.as_ref().unwrap();
    assert_eq!(on.on, "left wall");
    assert_relative_eq!(on.current_density_a_per_m2, low, max_relative = 1e-6);
    let own_v = 2e-3 * low + 0.05 * (low / 0.5).ln();
    assert_relative_eq!(on.overpotential_v, own_v, max_relative = 1e-6);
}

/// Beside a film hydrogen evolves by the drop of the law alone: its share does not change with the film
/// at the same current.
#[test]
fn hydrogen_does_not_feel_the_film() {
    let text = WALLS
        .replace("conductivity = \"20 S/m\"", "conductivity = \"20 S/m\"\nhydrogen = { exchange_current_density = \"0.01 A/m2\", slope_per_decade = \"120 mV\", above_metal = \"-0.3 V\" }")
        .replace("law = \"primary\"", "law.tafel = { exchange_current_density = \"0.5 A/m2\", slope = \"100 mV\", limiting_current_density = \"100 A/m2\" }")
        .replace("voltage = \"1 V\"", "mean_current_density = \"1.2 A/dm2\"");
    let bare = solved(&text);
    let film = solved(&text.replace(
        "name = \"left wall\"",
        "name = \"left wall\"\nfilm_resistance = \"1 ohm dm2\"",
    ));
    let gas = |out: &Outcome<3>| out.ledger.hydrogen_mol[1];
    assert!(gas(&bare) > 0.0);
    assert_relative_eq!(gas(&film), gas(&bare), max_relative = 1e-6);
    assert_relative_eq!(film.voltage_v - bare.voltage_v, 1.2, max_relative = 1e-6);
}
