//! Lesson 2: a law of one's own. An electrode asks three things of a law: current and slope at a drop,
//! and the drop at a current. Here both plates of a tank follow one that no bath has; the answer is
//! compared with the root of the one equation behind it.
//!
//! `cargo run --example own_law`

#![expect(clippy::print_stdout, reason = "a lesson is read on a terminal")]

use ionfall::laws::{Law, Response, own};
use ionfall::{Tank, run, solids::cuboid};
use std::error::Error;

/// `i = g u + k u |u|`: a film that conducts better the harder it is driven.
#[derive(Clone, Debug)]
struct Film {
    g: f64,
    k: f64,
}

impl Law for Film {
    fn at_drop(&self, drop_v: f64) -> Response {
        Response {
            current_a_per_m2: self.g * drop_v + self.k * drop_v * drop_v.abs(),
            slope_s_per_m2: self.g + 2.0 * self.k * drop_v.abs(),
        }
    }

    fn drop_at(&self, current_a_per_m2: f64) -> f64 {
        let root = (self.g.powi(2) + 4.0 * self.k * current_a_per_m2.abs()).sqrt();
        (root - self.g) / (2.0 * self.k) * current_a_per_m2.signum()
    }
}

const LENGTH_M: f64 = 0.08;
const KAPPA: f64 = 20.0;
const VOLTS: f64 = 2.0;

fn main() -> Result<(), Box<dyn Error>> {
    let film = Film { g: 20.0, k: 400.0 };
    let model = Tank::planar(cuboid([0.0, 0.0], [LENGTH_M, 0.05])?, 0.1)
        .conductivity_s_per_m(KAPPA)
        .anode("anode", cuboid([-0.01, 0.0], [0.0, 0.05])?)
        .law(own(film.clone()))
        .work("work", cuboid([LENGTH_M, 0.0], [LENGTH_M + 0.01, 0.05])?)
        .law(own(film.clone()))
        .voltage_v(VOLTS)
        .model()?;
    let outcome = run(&model)?;
    let exact = balance(&film);
    let work = outcome.surface("work")?;
    let found = work.current_density_a_per_m2();
    println!("{:.6} A/m2, exact {exact:.6}", -found[0]);
    assert!(found.iter().all(|i| (-i / exact - 1.0).abs() < 1e-6));
    Ok(())
}

/// Two films and the bath in series, by bisection.
fn balance(film: &Film) -> f64 {
    let bath_ohm_m2 = LENGTH_M / KAPPA;
    let (mut low, mut high) = (0.0, VOLTS / bath_ohm_m2);
    for _ in 0..100 {
        let i = 0.5 * (low + high);
        if i * bath_ohm_m2 + 2.0 * film.drop_at(i) < VOLTS {
            low = i;
        } else {
            high = i;
        }
    }
    low
}

#[test]
fn the_lesson_holds() {
    main().unwrap();
}
