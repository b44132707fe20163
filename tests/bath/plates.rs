//! Two plates through the whole program: the polarisation curve with a limiting current, and
//! hydrogen beside the metal past it. Both against root finding on formulae written down here.

use crate::program::{body, summary};
use approx::assert_relative_eq;
use ionfall_bath::constants::thermal_voltage_v;
use ionfall_bath::kinetics::{Hydrogen, Limit, Polarisation, Transfer};
use std::f64::consts::LN_10;

const GAP_M: f64 = 0.09;
const KAPPA: f64 = 14.0;
const LIMIT: f64 = 500.0;
const EXCHANGE: f64 = 8.0;
const HYDROGEN_EXCHANGE: f64 = 1e-3;
const HYDROGEN_DECADE_V: f64 = 0.12;
const HYDROGEN_V: f64 = -0.35;

/// Metal and gas at a drop: Butler-Volmer solved for its current, Tafel.
fn currents(drop_v: f64, gassing: bool) -> [f64; 2] {
    let f = 1.0 / thermal_voltage_v(298.15);
    let (ea, ec) = ((1.5 * f * drop_v).exp(), (-0.5 * f * drop_v).exp());
    // i = i0 (ea - (1 + i/L) ec)
    let metal = EXCHANGE * (ea - ec) / (1.0 + EXCHANGE * ec / LIMIT);
    let decades = (HYDROGEN_V - drop_v) / HYDROGEN_DECADE_V;
    let gas = if gassing {
        -HYDROGEN_EXCHANGE * 10f64.powf(decades)
    } else {
        0.0
    };
    [metal, gas]
}

/// Cathodic drop of the cell at a voltage, by bisection.
fn drop_of_cell(volts: f64, gassing: bool) -> f64 {
    let (mut low, mut high) = (-volts, 0.0);
    for _ in 0..200 {
        let u = 0.5 * (low + high);
        let i: f64 = -currents(u, gassing).iter().sum::<f64>();
        if i * GAP_M / KAPPA - u > volts {
            low = u;
        } else {
            high = u;
        }
    }
    0.5 * (low + high)
}

fn law() -> Polarisation {
    let transfer = Transfer::ButlerVolmer {
        exchange_a_per_m2: EXCHANGE,
        alpha_a: 1.5,
        alpha_c: 0.5,
        temperature_k: 298.15,
    };
    let limit = Limit {
        current_a_per_m2: LIMIT,
        film_voltage_v: None,
    };
    Polarisation::new(transfer, Some(limit)).unwrap()
}

fn gassing_law() -> Polarisation {
    let slope_v = HYDROGEN_DECADE_V / LN_10;
    let hydrogen = Hydrogen::new(HYDROGEN_EXCHANGE, slope_v, HYDROGEN_V).unwrap();
    law().with_hydrogen(hydrogen).unwrap()
}

#[test]
fn the_law_and_its_inverse_agree_with_root_finding() {
    for volts in [0.1, 0.5, 1.0, 2.0, 3.2, 4.0, 6.0] {
        for (gassing, law) in [(false, law()), (true, gassing_law())] {
            let u = drop_of_cell(volts, gassing);
            let [metal, gas] = currents(u, gassing);
            let at = law.at_drop(u);
            assert_relative_eq!(at.current_a_per_m2, metal + gas, max_relative = 1e-6);
            assert_relative_eq!(law.metal_current_a_per_m2(u), metal, max_relative = 1e-6);
            let share = metal / (metal + gas);
            assert_relative_eq!(law.metal_share(u), share, max_relative = 1e-6);
            // The inverse, where the current still carries the drop.
            let flat = at.current_a_per_m2.abs() * 1e-13 / at.slope_s_per_m2;
            let back = law.drop_at(metal + gas).unwrap_or(u);
            assert!((back - u).abs() <= 1e-9 + flat, "{volts} V: {back} {u}");
        }
    }
}

#[test]
fn efficiency_falls_past_the_limit_and_only_there() {
    let law = gassing_law();
    let share = |i: f64| law.metal_share(law.drop_at(-i).unwrap());
    assert!(share(0.9 * LIMIT) > 0.999_99);
    let mut last = 1.0;
    for i in [1.0, 1.1, 1.5, 2.0, 5.0, 20.0] {
        let s = share(i * LIMIT);
        assert!(s < last);
        last = s;
        // The metal stays at its limit.
        assert!(s * i <= 1.0 && s * i > 0.99, "{i}: {s}");
    }
}

fn job(volts: f64, hydrogen: &str) -> String {
    format!(
        r#"
[tank]
size = "100 x 30 x 30 mm"
[bath]
kind = "custom"
metal = "Cu"
conductivity = "{KAPPA} S/m"
limiting_current_density = "{LIMIT} A/m2"
{hydrogen}
[[anode]]
shape.box = {{ from = "95 x -5 x -5 mm", to = "105 x 35 x 35 mm" }}
[[work]]
shape.box = {{ from = "-5 x -5 x -5 mm", to = "5 x 35 x 35 mm" }}
law.butler_volmer = {{ exchange_current_density = "{EXCHANGE} A/m2", alpha_a = 1.5, alpha_c = 0.5 }}
[supply]
voltage = "{volts} V"
[grid]
finest = "4 mm"
"#
    )
}

/// Current density of the plates by the program.
fn computed(volts: f64, hydrogen: &str) -> f64 {
    let s = summary(&job(volts, hydrogen));
    body(&s, "work")["current_a"].as_f64().unwrap().abs() / 9e-4
}

#[test]
fn the_program_follows_the_polarisation_curve() {
    for volts in [0.2, 1.0, 2.0, 3.0, 3.5] {
        let exact: f64 = -currents(drop_of_cell(volts, false), false)[0];
        assert_relative_eq!(computed(volts, ""), exact, max_relative = 1e-6);
    }
}

#[test]
fn the_program_goes_past_the_limit_with_hydrogen() {
    let hydrogen = format!(
        "hydrogen = {{ exchange_current_density = \"{HYDROGEN_EXCHANGE} A/m2\", slope_per_decade = \
         \"{HYDROGEN_DECADE_V} V\", above_metal = \"{HYDROGEN_V} V\" }}"
    );
    for volts in [2.0, 4.0, 8.0] {
        let exact: f64 = -currents(drop_of_cell(volts, true), true)
            .iter()
            .sum::<f64>();
        assert_relative_eq!(computed(volts, &hydrogen), exact, max_relative = 1e-6);
    }
}
