//! Lesson 5: a job file, and the thickness along its line: from lip to lip through the inside of a
//! channel, where current hardly reaches.
//!
//! `cargo run --example job_file` from the root of the project

#![expect(clippy::print_stdout, reason = "a lesson is read on a terminal")]

use ionfall::{Geometry, read_job, run};
use std::error::Error;
use std::path::Path;

/// Places that are told on each straight piece of the line.
const PLACES: u32 = 8;

fn main() -> Result<(), Box<dyn Error>> {
    let model = read_job(Path::new("examples/comparison/air.toml"))?;
    let outcome = run(&model)?;
    let channel = outcome.surface("channel")?;
    let Geometry::Flat(parts) = &model.geometry else {
        return Err("the job is not planar".into());
    };
    let (points_m, thickness_m) = (channel.points_m(), channel.thickness_m()?);
    let mut told = Vec::new();
    println!("  x mm   y mm     um");
    for ends in parts.lines[0].points.windows(2) {
        for n in 0..PLACES {
            let share = f64::from(n) / f64::from(PLACES);
            let x = [0, 1].map(|k| ends[0][k] + share * (ends[1][k] - ends[0][k]));
            let far = |f: &usize| (points_m[[*f, 0]] - x[0]).hypot(points_m[[*f, 1]] - x[1]);
            let nearest = (0..points_m.nrows()).min_by(|a, b| far(a).total_cmp(&far(b)));
            let thickness = thickness_m[nearest.ok_or("no facets")?];
            println!(
                "{:6.1} {:6.1} {:6.1}",
                1e3 * x[0],
                1e3 * x[1],
                1e6 * thickness
            );
            told.push(thickness);
        }
    }
    // Thick at the lip, thin at the bottom, and the two halves are each other's mirror image.
    let middle = told[told.len() / 2];
    assert!(told[0] > 3.0 * middle && middle > 0.0);
    let (before, after) = (told[told.len() / 2 - 2], told[told.len() / 2 + 2]);
    assert!((before / after - 1.0).abs() < 0.02, "{before} and {after}");
    Ok(())
}

#[test]
fn the_lesson_holds() {
    main().unwrap();
}
