//! Cylinders, 2-D planar.

use crate::bench::{Bench, PRIMARY, local};
use ionfall_job::Role;
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Ball, Bounds, Cuboid, Point, Solid};

fn disk(x: f64, y: f64, r: f64) -> Solid<2> {
    Solid::new(Ball::new([x, y], r).unwrap())
}

fn outside(r: f64) -> Solid<2> {
    let b = Bounds { low: [-1.5 * r; 2], high: [1.5 * r; 2] };
    Solid::Difference(
        Box::new(Solid::new(Cuboid::new(b.low, b.high).unwrap())),
        vec![disk(0.0, 0.0, r)],
    )
}

/// Annulus of P01 / P03: inner cathode, outer anode.
pub fn annulus(offset: f64, outer: f64, n: usize, kinetics: ionfall_bath::Kinetics, coarsest: f64) -> Bench<2> {
    let h = 0.02 / n as f64;
    Bench::new(Space::Planar { depth_m: 1.0 }, disk(0.0, 0.0, 1.2 * outer), 10.0, 1.0, coarsest)
        .volts(0.5)
        .electrode(Role::Work, disk(offset, 0.0, 0.01), kinetics, h, h)
        .electrode(Role::Anode, outside(outer), PRIMARY, h, h)
}

#[test]
fn p03_eccentric_cylinders_primary() {
    for n in [32, 64, 128] {
        let h = 0.02 / n as f64;
        let out = annulus(0.02, 0.04, n, PRIMARY, h).run();
        let total = out.current_a / 29.45061535244 - 1.0;
        // Bipolar coordinates: i = kappa V (cosh tau - cos sigma)/(c dtau).
        let l = local(&out, 0, |x: &Point<2>| Some(exact_inner(x)));
        eprintln!("{n}: cells {} total {:.4}% max {:.4}% rms {:.4}% grid {:.2}s field {:.2}s newton {} lin {} notes {:?}", out.grid.len(), 100.0 * total, 100.0 * l.max, 100.0 * l.rms, out.grid_s, out.field_s, out.solution.newton_steps, out.solution.linear_iterations, out.grid.notes);
    }
}

/// Bipolar coordinates (standard potential theory): i = kappa V (cosh tau - cos sigma) / (c dtau).
fn exact_inner(x: &Point<2>) -> f64 {
    let (r1, r2, e) = (0.01f64, 0.04f64, 0.02f64);
    // Foci at distances d1, d2 of the centres from the radical axis.
    let d2 = (r2 * r2 - r1 * r1 + e * e) / (2.0 * e);
    let d1 = d2 - e;
    let c = (d1 * d1 - r1 * r1).sqrt();
    let (t1, t2) = ((c / r1).asinh(), (c / r2).asinh());
    // Coordinates with the radical axis at 0: the inner centre at d1 = offset from axis.
    let (u, v) = (d2 - x[0], x[1]);
    let _ = v;
    // cosh tau - cos sigma = c sinh(tau) / u
    10.0 * 0.5 * (c * t1.sinh() / u) / (c * (t1 - t2))
}
