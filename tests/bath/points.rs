//! Every check point of `tests/data/bath_points.json`: each with unit, tolerance, source and grade.

use ionfall_bath::Quality;
use ionfall_bath::conductivity::{copper_sulfate_s_per_m, estimate, sulfuric_acid_s_per_m};
use ionfall_bath::constants::thermal_voltage_v;
use ionfall_bath::electrolyte::{AcidCopper, CopperSalt, Given};
use ionfall_bath::evenness::{haring_blum_percent, tafel_resistance_ohm_m2, wagner};
use ionfall_bath::solution::Solution;
use ionfall_bath::transfer::correlation::{
    FreeConvection, Liquid, free_convection, rotating_cylinder, rotating_cylinder_copper,
};
use ionfall_bath::transfer::{Ion, copper_diffusion, limiting_current_a_per_m2};
use ionfall_bath::{Electrolyte, Grade, Metal};
use ionfall_job::unit::Dimension;
use serde_json::Value;

fn points() -> Vec<Value> {
    let text = include_str!("../data/bath_points.json");
    serde_json::from_str(text).expect("bath_points.json is a list")
}

/// A check point's own inputs.
struct Inputs<'a>(&'a Value);

impl Inputs<'_> {
    fn number(&self, key: &str) -> f64 {
        self.0[key].as_f64().unwrap_or_else(|| panic!("no {key}"))
    }

    fn metal(&self) -> Metal {
        Metal::find(self.0["metal"].as_str().expect("a metal")).expect("a known metal")
    }

    fn solution(&self) -> Solution {
        Solution::new(
            self.number("salt_g_per_l"),
            self.number("acid_g_per_l"),
            self.number("t_C"),
        )
        .expect("within the data")
    }

    fn free(&self) -> (FreeConvection, f64, f64) {
        let bath = self.solution();
        let d = copper_diffusion(&bath).value;
        let liquid = Liquid {
            diffusion_m2_per_s: Some(d),
            viscosity_m2_per_s: Some(bath.viscosity_pa_s() / bath.density_kg_per_m3()),
            density_difference: Some(bath.density_difference()),
        };
        let free = free_convection(&liquid, self.number("height_m")).expect("a height");
        (free, d, bath.copper_mol_per_m3())
    }
}

/// What the program says, in the unit of the check point.
fn found(kind: &str, inputs: &Inputs) -> Option<f64> {
    const PER_HOUR: f64 = 3600.0;
    Some(match kind {
        "current_density" => {
            let si = Dimension::CurrentDensity
                .parse(&format!("{} mA/cm2", inputs.number("mA_per_cm2")))
                .expect("a current density");
            si * 0.3048 * 0.3048
        }
        "growth" => {
            let rate = inputs
                .metal()
                .thickness_rate_m_per_s(inputs.number("i_A_per_m2"), 1.0);
            rate * PER_HOUR / 0.0254
        }
        "haring_blum" => haring_blum_percent(inputs.number("K"), inputs.number("M")),
        "salt_conductivity" => {
            10.0 * copper_sulfate_s_per_m(inputs.number("mass_percent")).expect("in the table")
        }
        "acid_conductivity" => sulfuric_acid_s_per_m(inputs.number("mol_per_m3")),
        "diffusion_dilute" => Ion::COPPER.diffusion_dilute_m2_per_s(),
        "density" => inputs.solution().density_kg_per_m3(),
        "viscosity" => 1e3 * inputs.solution().viscosity_pa_s(),
        "copper" => inputs.solution().copper_mol_per_m3(),
        "acid" => inputs.solution().acid_mol_per_m3(),
        "conductivity" => estimate(&inputs.solution()).expect("an estimate").value,
        "diffusion" => copper_diffusion(&inputs.solution()).value,
        "rayleigh" => inputs.free().0.rayleigh,
        "laminar_film" => 1e3 * inputs.free().0.laminar_film_m,
        "turbulent_film" => 1e3 * inputs.free().0.turbulent_film_m,
        "laminar_limit" => {
            let (free, d, c) = inputs.free();
            limiting_current_a_per_m2(2.0, d, c, free.laminar_film_m)
        }
        "turbulent_limit" => {
            let (free, d, c) = inputs.free();
            limiting_current_a_per_m2(2.0, d, c, free.turbulent_film_m)
        }
        "atomic_weight" => inputs.metal().atomic_weight.value,
        "metal_density" => 1e-3 * inputs.metal().density.value,
        "resistivity" => inputs.metal().resistivity_ohm_m(),
        "g_per_ah" => 1e3 * PER_HOUR * inputs.metal().equivalent_kg_per_c(),
        "um_per_h" => 1e6 * PER_HOUR * inputs.metal().thickness_rate_m_per_s(100.0, 1.0),
        "wagner_tafel" => {
            let bath = inputs.solution();
            // The list takes the Tafel slope at 25 degC for every bath.
            let slope_v = 2.0 * thermal_voltage_v(298.15);
            let resistance = tafel_resistance_ohm_m2(slope_v, inputs.number("i_A_per_m2"));
            let kappa = estimate(&bath).expect("an estimate").value;
            wagner(kappa, resistance, inputs.number("length_m"))
        }
        "rough_share" => Quality::Rough.begins().value,
        "tree_share" => Quality::Trees.begins().value,
        "efficiency" => {
            let amounts = AcidCopper::given(CopperSalt::Pentahydrate(200.0), 50.0);
            let bath = Electrolyte::acid_copper(amounts, 25.0, &Given::default());
            bath.expect("a bath").efficiency.value
        }
        "cylinder_pair" => {
            let (re, sc) = (inputs.number("re"), inputs.number("sc"));
            let liquid = Liquid {
                diffusion_m2_per_s: Some(1e-6 / sc),
                viscosity_m2_per_s: Some(1e-6),
                density_difference: None,
            };
            let (diameter, omega) = (0.1, re * 1e-6 / (0.5 * 0.1 * 0.1));
            let older = rotating_cylinder(&liquid, omega, diameter).expect("a film");
            let newer = rotating_cylinder_copper(&liquid, omega, diameter).expect("a film");
            100.0 * (older.thickness.value / newer.thickness.value - 1.0)
        }
        _ => return None,
    })
}

#[test]
fn every_point_holds_within_its_tolerance() {
    let (mut seen, mut other) = (0, 0);
    let mut faults = Vec::new();
    for point in points() {
        let id = point["id"].as_str().expect("an id");
        if let Some(reason) = point["excluded"].as_str() {
            assert!(reason.len() > 20, "{id}: say why");
            eprintln!("{id}: not tested: {reason}");
            continue;
        }
        let expected = point["expected"].as_f64().expect("a number");
        let percent = point["tolerance_percent"].as_f64().expect("a tolerance");
        let kind = point["kind"].as_str().expect("a kind");
        let value =
            found(kind, &Inputs(&point["inputs"])).unwrap_or_else(|| panic!("{id}: {kind}"));
        let off = 100.0 * (value / expected - 1.0).abs();
        // Figures written with three or four digits are only as good as their last one.
        let digits = last_digit(expected);
        if off > percent && (value - expected).abs() > 0.5000001 * digits {
            faults.push(format!(
                "{id}: {value} against {expected}, {off:.4} % off, {percent} % allowed"
            ));
        }
        if point["grade"] == "seen" {
            seen += 1;
        } else {
            other += 1;
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    eprintln!("{seen} points seen in their source, {other} others");
    assert!(seen >= 30 && other >= 60, "{seen} seen, {other} others");
}

/// The place of the last digit a figure was written with.
fn last_digit(figure: f64) -> f64 {
    let text = format!("{figure:e}");
    let (mantissa, exponent) = text.split_once('e').expect("an exponent");
    let decimals = mantissa.split_once('.').map_or(0, |(_, d)| d.len());
    let exponent: i32 = exponent.parse().expect("an exponent");
    10f64.powi(exponent - decimals as i32)
}

/// A recalled figure never claims to have been seen.
#[test]
fn grades_of_the_metals_are_those_of_the_list() {
    for point in points() {
        let kind = point["kind"].as_str().expect("a kind");
        let figure = |m: Metal| match kind {
            "atomic_weight" => Some(m.atomic_weight),
            "metal_density" => Some(m.density),
            "resistivity" => Some(m.resistivity),
            _ => None,
        };
        let Some(metal) = point["inputs"]["metal"].as_str().and_then(Metal::find) else {
            continue;
        };
        if let Some(figure) = figure(metal) {
            let seen = point["grade"] == "seen";
            let found = matches!(figure.grade, Grade::Seen | Grade::Uncited);
            assert_eq!(found, seen, "{}", point["id"]);
        }
    }
}
