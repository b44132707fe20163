//! Lesson 1: a tank without any file. Two plates fill the ends of a box; the current has to pass
//! the bath and the polarisation of the work, one after the other, so that all of it is known.
//!
//! `cargo run --example plates_by_hand`

#![expect(clippy::print_stdout, reason = "a lesson is read on a terminal")]

use ionfall::{Tank, laws, run, solids::cuboid};
use std::error::Error;

const LENGTH_M: f64 = 0.1;
const KAPPA: f64 = 20.0;
const LAW_OHM_M2: f64 = 0.002;

fn main() -> Result<(), Box<dyn Error>> {
    let model = Tank::sized_m([LENGTH_M, 0.04, 0.04])?
        .conductivity_s_per_m(KAPPA)
        .all_cells_m(4e-3, 4e-3)
        .anode("anode", cuboid([LENGTH_M, 0.0, 0.0], [0.11, 0.04, 0.04])?)
        .work("work", cuboid([-0.01, 0.0, 0.0], [0.0, 0.04, 0.04])?)
        .law(laws::linear(LAW_OHM_M2)?)
        .voltage_v(1.0)
        .time_s(3600.0)
        .model()?;
    let outcome = run(&model)?;
    let work = outcome.surface("work")?;
    let found = work.current_density_a_per_m2().mean().ok_or("no facets")?;
    let exact = -1.0 / (LENGTH_M / KAPPA + LAW_OHM_M2);
    println!("{found:.4} A/m2, exact {exact:.4}");
    println!("{:.3} um after an hour", 1e6 * work.thinnest_m()?);
    assert!((found / exact - 1.0).abs() < 1e-6);
    assert!((work.thickest_m()? / work.thinnest_m()? - 1.0).abs() < 1e-6);
    Ok(())
}

#[test]
fn the_lesson_holds() {
    main().unwrap();
}
