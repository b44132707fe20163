use crate::bench::*;
use ionfall_job::Role;
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Ball, Cuboid, Solid};
use std::f64::consts::PI;

fn ball(r: f64) -> Solid<3> {
    Solid::new(Ball::new([0.0; 3], r).unwrap())
}

#[test]
fn uniform_or_graded() {
    for (coarse, outer) in [(2.0, 1.0)] {
        for n in [16, 32] {
            if n == 64 && coarse == 1.0 { continue; }
            let h = 0.02 / n as f64;
            let block = Solid::new(Cuboid::new([-0.03; 3], [0.03; 3]).unwrap());
            let around = Solid::Difference(Box::new(block), vec![ball(0.02)]);
            for r in [0.0, 5e-4, 5e-3] {
            let law = || if r == 0.0 { PRIMARY } else { linear(r) };
            let out = Bench::new(Space::Tank, ball(0.025), 10.0, coarse * h, coarse * h)
                .volts(0.5)
                .electrode(Role::Work, ball(0.01), law(), h, h)
                .electrode(Role::Anode, around.clone(), PRIMARY, outer * h, outer * h)
                .run();
            let a = 4.0 * PI * 1e-4;
            let exact = 0.5 / ((1.0 / 0.01 - 1.0 / 0.02) / (4.0 * PI * 10.0) + r / a);
            let l = local(&out, 0, |_| Some(exact / a));
            eprintln!("coarse {coarse} outer {outer} n {n} r {r}: total {:+.4} area {:+.5} {:+.5} max {:.4} rms {:.4} cells {} its {} grid {:.2} field {:.2}",
                100.0 * (out.current_a / exact - 1.0),
                100.0 * (out.bodies[0].area_m2 / a - 1.0),
                100.0 * (out.bodies[1].area_m2 / (4.0 * a) - 1.0), 100.0 * l.max, 100.0 * l.rms, out.grid.len(), out.solution.linear_iterations, out.grid_s, out.field_s);
            }
        }
    }
}
