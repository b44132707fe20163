//! A ball as a triangle mesh against the exact ball.

use crate::bench::{Bench, PRIMARY};
use ionfall_deposit::Outcome;
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Ball, Bounds, Cuboid, Fineness, Primitive, Solid, mesh_file};
use ionfall_model::{Role, Tank};
use std::io::Write;

const R: f64 = 0.01;

fn in_a_box(ball: Solid<3>) -> Outcome<3> {
    let h = 2.0 * R / 24.0;
    let block = |low: [f64; 3], high: [f64; 3]| Solid::new(Cuboid::new(low, high).unwrap());
    Tank::bench(
        Space::Tank,
        block([-0.03; 3], [0.03; 3]),
        10.0,
        4.0 * h,
        4.0 * h,
    )
    .voltage_v(0.5)
    .put(Role::Work, ball, PRIMARY, h, h)
    .put(
        Role::Anode,
        block([0.03, -0.04, -0.04], [0.04, 0.04, 0.04]),
        PRIMARY,
        2.0 * h,
        2.0 * h,
    )
    .run()
}

/// A binary STL of the ball with about 20 000 triangles, written and read back.
fn stl_ball() -> Solid<3> {
    let within = Bounds {
        low: [-1.0; 3],
        high: [1.0; 3],
    };
    let exact = Ball::<3>::new([0.0; 3], R).unwrap();
    let mut sagitta_m = 1e-3 * R;
    let soup = loop {
        let soup = exact.tessellate(&Fineness { sagitta_m, within });
        if soup.elements.len() >= 20_000 {
            break soup;
        }
        sagitta_m *= 0.9;
    };
    let mut file = tempfile::Builder::new().suffix(".stl").tempfile().unwrap();
    let mut bytes = vec![0u8; 80];
    bytes.extend((soup.elements.len() as u32).to_le_bytes());
    for e in &soup.elements {
        bytes.extend([0u8; 12]);
        for v in e {
            for x in soup.vertices[*v as usize] {
                bytes.extend((x as f32).to_le_bytes());
            }
        }
        bytes.extend([0u8; 2]);
    }
    file.write_all(&bytes).unwrap();
    let (mesh, report) = mesh_file::read(file.path(), 1.0).unwrap();
    eprintln!("STL of {} triangles, {report:?}", soup.elements.len());
    Solid::new(mesh)
}

#[test]
fn a_meshed_ball_and_an_exact_ball_agree() {
    let exact = in_a_box(Solid::new(Ball::new([0.0; 3], R).unwrap()));
    let meshed = in_a_box(stl_ball());
    let mean = |o: &Outcome<3>| o.bodies[0].current_density_a_per_m2.mean;
    let off = mean(&meshed) / mean(&exact) - 1.0;
    let field = |x: &[f64; 3]| crate::bench::at(&exact, 0, x);
    let mut differences: Vec<(f64, f64)> = meshed
        .grid
        .facets
        .iter()
        .zip(&meshed.solution.current_density_a_per_m2)
        .filter(|(f, _)| f.body == 0)
        .step_by(3)
        .map(|(f, i)| ((i.abs() / field(&f.point) - 1.0).abs(), f.area_m2))
        .collect();
    differences.sort_by(|a, b| a.0.total_cmp(&b.0));
    let p95 = differences[differences.len() * 95 / 100].0;
    eprintln!(
        "mean {:+.4} %, 95th percentile {:.4} %",
        100.0 * off,
        100.0 * p95
    );
    assert!(off.abs() < 5e-3 && p95 < 2e-2);
}
