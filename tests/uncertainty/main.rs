//! How often the plus-minus of an answer holds: small jobs of many kinds, each on its own grid and on
//! a much finer one, which stands for the truth.

mod cases;

use cases::{Case, FAMILIES, case};
use ionfall_deposit::uncertainty::{Uncertainty, scaled, uncertainty};
use ionfall_deposit::{Outcome, Place, Settings, run};
use ionfall_job::{Geometry, Model, Parts};
use std::path::Path;

/// One figure of one job.
struct Row {
    family: &'static str,
    figure: &'static str,
    truth: f64,
    /// The job's own value, and those of the coarser grids.
    values: Vec<f64>,
    plus_minus: f64,
}

impl Row {
    fn holds(&self) -> bool {
        (self.values[0] - self.truth).abs() <= self.plus_minus
    }

    /// How many times larger than the error the plus-minus is.
    fn over(&self) -> f64 {
        self.plus_minus / (self.values[0] - self.truth).abs()
    }
}

fn value(place: Option<Place>) -> Option<f64> {
    place.map(|p| p.value)
}

/// All figures of a run that have a plus-minus, in a fixed order.
fn figures<const D: usize>(outcome: &Outcome<D>) -> Vec<(&'static str, Option<f64>)> {
    let mut all = vec![
        ("volts", Some(outcome.voltage_v)),
        ("amps", Some(outcome.current_a)),
        ("energy", outcome.energy_j),
        ("wish", outcome.wish_s.or(outcome.wish_expected_s)),
        ("time", outcome.time_s),
    ];
    for body in outcome.bodies.iter().filter(|b| b.role == "work") {
        all.extend([
            ("body amps", Some(body.current_a)),
            ("mean", body.thickness_m.map(|t| t.mean)),
            ("thinnest", value(body.thinnest)),
            ("thickest", value(body.thickest)),
            ("limit share", value(body.limit_share)),
        ]);
    }
    all
}

/// The plus-minus of the same figures.
fn offs(found: &Uncertainty, works: &[String]) -> Vec<Option<f64>> {
    let mut all = vec![
        found.voltage_v,
        found.current_a,
        found.energy_j,
        found.wish_s,
        found.time_s,
    ];
    for body in found.bodies.iter().filter(|b| works.contains(&b.name)) {
        all.extend([
            body.current_a,
            body.mean_m,
            body.thinnest_m,
            body.thickest_m,
            body.limit_share,
        ]);
    }
    all
}

fn solve<const D: usize>(model: &Model, parts: &Parts<D>, factor: f64) -> Outcome<D> {
    let settings = Settings {
        time_tolerance: 5e-3 * factor,
        ..Settings::default()
    };
    run(model, &scaled(parts, factor), &settings, &mut |_, _| ())
        .unwrap_or_else(|e| panic!("cells times {factor}: {e}"))
}

fn rows_of<const D: usize>(case: &Case, model: &Model, parts: &Parts<D>, dump: bool) -> Vec<Row> {
    let settings = Settings::default();
    let fine = solve(model, parts, 1.0);
    let found = uncertainty(model, parts, &settings, &fine, &mut |_, _, _| ())
        .unwrap_or_else(|e| panic!("{e}"));
    let truth = solve(model, parts, 1.0 / case.finer);
    let works = fine.bodies.iter().filter(|b| b.role == "work");
    let works: Vec<String> = works.map(|b| b.name.clone()).collect();
    let mut tables = vec![figures(&fine)];
    if dump {
        tables.extend((found.grids.iter()).map(|g| figures(&solve(model, parts, g.factor))));
    }
    let truth = figures(&truth);
    let offs = offs(&found, &works);
    (0..truth.len())
        .filter_map(|n| {
            let (figure, truth) = truth[n];
            let values: Option<Vec<f64>> = tables.iter().map(|t| t[n].1).collect();
            // Without a finite value there is nothing to be off.
            let endless = case.endless_edge && matches!(figure, "thickest" | "limit share");
            (!endless).then_some(Row {
                family: case.family,
                figure,
                truth: truth?,
                values: values?,
                plus_minus: offs[n]?,
            })
        })
        .collect()
}

fn rows(case: &Case, dump: bool) -> Vec<Row> {
    let model = ionfall_job::parse("case.toml", &case.job, Path::new(""))
        .unwrap_or_else(|e| panic!("{}: {e:?}\n{}", case.family, case.job));
    match &model.geometry {
        Geometry::Flat(parts) => rows_of(case, &model, parts, dump),
        Geometry::Solid(parts) => rows_of(case, &model, parts, dump),
    }
}

/// Prints every row: family, figure, truth, plus-minus, values from fine to coarse.
#[test]
#[ignore = "takes minutes"]
fn study() {
    let seeds: u64 = std::env::var("SEEDS").map_or(4, |s| s.parse().unwrap());
    let only = std::env::var("ONLY").unwrap_or_default();
    for family in FAMILIES.iter().filter(|f| f.contains(&only)) {
        for seed in 0..seeds {
            for row in rows(&case(family, seed), true) {
                println!(
                    "ROW,{},{seed},{},{:e},{:e},{:?}",
                    row.family, row.figure, row.truth, row.plus_minus, row.values
                );
            }
        }
    }
}
