//! Lesson 2: a law of one's own. The solver asks three things of a law: current and slope at a drop,
//! and the drop at a current. Here a network by hand, a row of cells between two metals, carries
//! one that no bath has; the answer is compared with a root of the one equation behind it.
//!
//! `cargo run --example own_law`

#![expect(clippy::print_stdout, reason = "a lesson is read on a terminal")]

use ionfall::house::field::law::{Law, Response};
use ionfall::house::field::network::{Address, Cell, Coupling, Couplings, Facet, Network};
use ionfall::house::field::{Settings, solve};
use std::error::Error;

/// `i = g u + k u |u|`: a film that conducts better the harder it is driven.
#[derive(Debug)]
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

const CELLS: u32 = 16;
const AREA_M2: f64 = 0.01;
/// Resistance of the electrolyte from end to end, ohm m2.
const BATH_OHM_M2: f64 = 0.004;

fn main() -> Result<(), Box<dyn Error>> {
    let film = || Film { g: 20.0, k: 400.0 };
    let cell = |n| {
        let key = u64::from(n);
        Address::electrolyte(Cell { key, level: 4 })
    };
    // With a conductivity of 1 S/m lengths are resistances of a square metre.
    let between = BATH_OHM_M2 / f64::from(CELLS);
    let link = |n| Coupling {
        a: n - 1,
        b: n,
        metres: AREA_M2 / between,
    };
    let facet = |cell, metal| Facet {
        cell,
        metal,
        area_m2: AREA_M2,
        series_m: 0.5 * between,
        law: 0,
        depth: 0.0,
    };
    let mut network = Network {
        addresses: (0..CELLS).map(cell).chain([Address::metal(); 2]).collect(),
        dimension: 1,
        couplings: Couplings {
            links: (1..CELLS).map(link).collect(),
            ..Couplings::default()
        }
        .into(),
        facets: vec![facet(0, CELLS), facet(CELLS - 1, CELLS + 1)],
        laws: vec![Box::new(film())],
        fixed: vec![(CELLS, 0.0), (CELLS + 1, 2.0)],
        ..Network::default()
    };
    let probes = network.probes_mut();
    probes.push([(0, 1.0)]);
    probes.push([(CELLS - 1, 1.0)]);
    let solution = solve(&mut network, &Settings::default(), None)?;
    let found = solution.current_density_a_per_m2[1];
    let exact = balance(&film());
    println!("{found:.6} A/m2, exact {exact:.6}");
    assert!((found / exact - 1.0).abs() < 1e-8);
    Ok(())
}

/// Two films and the bath in series at 2 V, by bisection.
fn balance(film: &Film) -> f64 {
    let (mut low, mut high) = (0.0, 2.0 / BATH_OHM_M2);
    for _ in 0..100 {
        let i = 0.5 * (low + high);
        if i * BATH_OHM_M2 + 2.0 * film.drop_at(i) < 2.0 {
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
