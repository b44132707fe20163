//! How long the stages of a job take, each at three sizes.
//!
//! ```text
//! cargo bench --bench speed            # a few minutes
//! cargo bench --bench speed -- linear  # one stage
//! ```
//! `grid` builds the grid around a mesh of 200 000 triangles; `linear` sets up and solves one
//! linear network to 1e-8; `job` solves the nonlinear network from a cold start; `step` does so
//! from the solution before a small change, as time steps do. Throughput is in nodes.

mod tank;

use criterion::{BatchSize, Criterion, Throughput, criterion_group, criterion_main};
use ionfall_field::linear::LinearSolver;
use ionfall_field::{Settings, solve};
use ionfall_mesh::grid::build;
use std::hint::black_box;
use std::time::Duration;

/// Cells across the ball.
const SIZES: [u32; 3] = [24, 40, 64];

fn speed(criterion: &mut Criterion) {
    let ball = tank::bumpy_ball(200_000);
    let domains = SIZES.map(|cells| tank::domain(ball.clone(), cells));
    let grids = domains
        .each_ref()
        .map(|domain| build(domain, 8 << 30).expect("a good tank"));
    let nodes = |n: usize| Throughput::Elements(grids[n].len() as u64);

    let mut group = criterion.benchmark_group("grid");
    group
        .sample_size(10)
        .warm_up_time(Duration::from_millis(1))
        .measurement_time(Duration::from_secs(1));
    for (n, domain) in domains.iter().enumerate() {
        group.throughput(nodes(n));
        group.bench_function(grids[n].len().to_string(), |b| {
            b.iter(|| {
                build(black_box(domain), 8 << 30)
                    .expect("a good tank")
                    .len()
            });
        });
    }
    group.finish();

    let mut group = criterion.benchmark_group("linear");
    group
        .sample_size(10)
        .warm_up_time(Duration::from_millis(1))
        .measurement_time(Duration::from_secs(1));
    for (n, grid) in grids.iter().enumerate() {
        let linear = tank::linear(grid);
        group.throughput(nodes(n));
        group.bench_function(grid.len().to_string(), |b| {
            b.iter_batched(
                || LinearSolver::new(&linear.addresses, 3, &linear.links, &linear.ground_s),
                |mut solver| {
                    let solution = solver.solve(&linear.injected_a, 1e-8, 100);
                    assert!(solution.relative_residual <= 1e-8);
                    solution.iterations
                },
                BatchSize::PerIteration,
            );
        });
    }
    group.finish();

    for (name, warm) in [("job", false), ("step", true)] {
        let mut group = criterion.benchmark_group(name);
        group
            .sample_size(10)
            .warm_up_time(Duration::from_millis(1))
            .measurement_time(Duration::from_secs(1));
        for (n, grid) in grids.iter().enumerate() {
            let settings = Settings::default();
            let mut before = tank::network(grid, 1.0);
            let start = warm.then(|| solve(&mut before, &settings, None).expect("it converges"));
            let start = start.map(|s| s.potential_v);
            let mut after = tank::network(grid, 1.01);
            group.throughput(nodes(n));
            group.bench_function(grid.len().to_string(), |b| {
                b.iter(|| {
                    solve(black_box(&mut after), &settings, start.as_deref())
                        .expect("it converges")
                        .record
                        .steps
                });
            });
        }
        group.finish();
    }
}

criterion_group!(benches, speed);
criterion_main!(benches);
