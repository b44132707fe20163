//! Laws that hold for every scene: what scaling does to it, what an insulator does, and that the metal is what
//! the charge brings (Faraday).
//!
//! With all lengths times `s` and the conductivity times `s`, each current density stays as it is at the same
//! voltage, whatever the electrode laws, and the current is `s^2` times as large. Where there is no law but
//! that of the liquid, the current goes with the conductivity. `s` is a power of two, so the grid is the same
//! to the last bit and only the solver's residual is left.

use crate::dice::Dice;
use crate::scene::Scene;
use crate::shapes::block;
use ionfall_bath::Metal;
use ionfall_deposit::Outcome;

/// What the solver leaves.
const SOLVED: f64 = 1e-5;
/// What the grid may add where a body is put into it.
const GRID: f64 = 0.01;
const SEEDS: std::ops::Range<u64> = 0..9;

fn solved(scene: &Scene) -> Outcome<3> {
    scene
        .run()
        .unwrap_or_else(|why| panic!("seed {}: {why}", scene.seed))
}

fn close(found: f64, right: f64, within: f64, what: &str, scene: &Scene) {
    let off = (found / right - 1.0).abs();
    assert!(
        off < within,
        "{what}, seed {}: off by {off:.1e}; {}",
        scene.seed,
        scene.says
    );
}

#[test]
fn larger_tanks_of_better_liquids_are_alike() {
    for seed in SEEDS {
        let scene = Scene::random(seed).at_volts(1.0);
        let own = solved(&scene);
        let large = solved(&scene.clone().larger(2.0).conducting(2.0));
        assert_eq!(
            own.grid.facets.len(),
            large.grid.facets.len(),
            "seed {seed}"
        );
        close(
            large.current_a,
            4.0 * own.current_a,
            SOLVED,
            "four times the current",
            &scene,
        );
        if scene.is_primary() {
            let better = solved(&scene.clone().conducting(4.0));
            close(
                better.current_a,
                4.0 * own.current_a,
                SOLVED,
                "current as conductivity",
                &scene,
            );
        }
    }
}

/// A plate of glass anywhere between work and anode.
#[test]
fn an_insulator_never_raises_the_current() {
    for seed in SEEDS {
        let scene = Scene::random(seed).at_volts(1.0);
        let mut dice = Dice::new(seed + 1000);
        let x = dice.between(58.0, 62.0);
        let (y, z) = (dice.between(5.0, 40.0), dice.between(5.0, 40.0));
        let glass = block([x, y, z], [x + 4.0, y + 15.0, z + 15.0]);
        // Smaller cells than the scene has would lay its whole grid anew, and thin wires with it.
        let finest_m = scene.parts.iter().map(|p| p.finest_m).fold(0.0, f64::max);
        let open = solved(&scene).current_a.abs();
        let shielded = solved(&scene.clone().with_insulator(glass, finest_m))
            .current_a
            .abs();
        assert!(
            shielded < (1.0 + GRID) * open,
            "seed {seed}: {shielded} instead of {open} A; {}",
            scene.says
        );
    }
}

#[test]
fn the_metal_is_what_the_charge_brings() {
    let copper = Metal::find("copper").expect("copper");
    for seed in SEEDS {
        let scene = Scene::random(seed);
        let outcome = solved(&scene);
        let facets = outcome.grid.facets.iter().zip(&outcome.thickness_m);
        let of_works = facets.filter(|(f, _)| {
            scene.parts[usize::from(f.body)].role == Some(ionfall_model::Role::Work)
        });
        let volume_m3: f64 = of_works.map(|(f, m)| f.area_m2 * m).sum();
        let rate = copper.thickness_rate_m_per_s(1.0, 1.0);
        let right = rate * outcome.current_a.abs() * Scene::TIME_S;
        close(volume_m3, right, 1e-6, "metal by charge", &scene);
    }
}
