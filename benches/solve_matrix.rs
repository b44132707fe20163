//! Solves one linear system of a benchmark folder with the product's own solver.
//!
//! ```text
//! cargo run --release --example solve_matrix -- DIR THREADS
//! ```
//!
//! DIR holds a symmetric positive definite matrix, a graph Laplacian plus a nonnegative diagonal,
//! as raw little-endian arrays: `indptr.i64`, `indices.i32`, `data.f64`, `rhs.f64`, and where the
//! unknowns come from an octree `cells.i32` (i, j, k on the leaf's own level, level; level -1: a
//! node of a sheet on the finest leaf i, j, k); without it `header.json` has the dimensions of a
//! uniform grid. Prints one line of JSON: `setup` is the time for the multigrid hierarchy, `solve`
//! that for the iteration from zero to a relative residual of 1e-8, both in seconds; `assemble` the
//! time for sorting the links into the solver's own arrays, `relres` the residual computed from
//! the matrix as it was read.

use ionfall_field::linear::LinearSolver;
use ionfall_field::network::{Address, Cell, Link};
use std::error::Error;
use std::fs;
use std::io::Write;
use std::path::Path;
use std::time::Instant;

type Outcome<T> = Result<T, Box<dyn Error + Send + Sync>>;

/// Relative residual asked for.
const TOLERANCE: f64 = 1e-8;

fn main() -> Outcome<()> {
    let mut args = std::env::args().skip(1);
    let (Some(dir), threads) = (args.next(), args.next()) else {
        return Err("usage: solve_matrix DIR [THREADS]".into());
    };
    let threads = threads.map_or(Ok(1), |t| t.parse())?;
    let line = ionfall_field::with_threads(threads, || run(Path::new(&dir)))??;
    writeln!(std::io::stdout(), "{line}")?;
    Ok(())
}

fn run(dir: &Path) -> Outcome<serde_json::Value> {
    let matrix = Matrix::read(dir)?;
    let clock = Clock::start();
    let (links, ground) = matrix.links();
    let addresses = addresses(dir, matrix.rhs.len())?;
    let mut solver = LinearSolver::new(&addresses, 3, &links, &ground);
    let (assemble, _) = clock.seconds()?;
    drop((links, addresses, ground));
    let clock = Clock::start();
    solver.prepare();
    let (setup, setup_cpu) = clock.seconds()?;
    let clock = Clock::start();
    let solution = solver.solve(&matrix.rhs, TOLERANCE, 200);
    let (solve, solve_cpu) = clock.seconds()?;
    let digest = solution
        .potential_v
        .iter()
        .fold(0u64, |h, x| h.rotate_left(5) ^ x.to_bits());
    Ok(serde_json::json!({
        "setup": setup, "solve": solve, "iters": solution.iterations,
        "relres": matrix.relative_residual(&solution.potential_v),
        "peak_mib": peak_mib()?, "setup_cpu": setup_cpu, "solve_cpu": solve_cpu,
        "assemble": assemble, "levels": solver.level_sizes(), "digest": format!("{digest:016x}"),
    }))
}

/// A compressed matrix with both triangles, and a right-hand side.
struct Matrix {
    start: Vec<usize>,
    col: Vec<u32>,
    value: Vec<f64>,
    rhs: Vec<f64>,
}

impl Matrix {
    fn read(dir: &Path) -> Outcome<Self> {
        let ints = read::<8, i64>(dir, "indptr.i64", i64::from_le_bytes)?;
        let cols = read::<4, i32>(dir, "indices.i32", i32::from_le_bytes)?;
        Ok(Matrix {
            start: ints
                .into_iter()
                .map(usize::try_from)
                .collect::<Result<_, _>>()?,
            col: cols
                .into_iter()
                .map(u32::try_from)
                .collect::<Result<_, _>>()?,
            value: read(dir, "data.f64", f64::from_le_bytes)?,
            rhs: read(dir, "rhs.f64", f64::from_le_bytes)?,
        })
    }

    fn row(&self, row: usize) -> impl Iterator<Item = (usize, f64)> {
        let range = self.start[row]..self.start[row + 1];
        let cols = self.col[range.clone()].iter().map(|&c| c as usize);
        cols.zip(self.value[range].iter().copied())
    }

    /// The matrix as a graph: conductances, and what the rows do not sum up to zero by.
    fn links(&self) -> (Vec<Link>, Vec<f64>) {
        let mut links = Vec::with_capacity(self.col.len() / 2);
        let mut ground = Vec::with_capacity(self.rhs.len());
        for a in 0..self.rhs.len() {
            let (mut diagonal, mut others) = (0.0, 0.0);
            for (b, value) in self.row(a) {
                if b == a {
                    diagonal = value;
                    continue;
                }
                others += value;
                if b < a {
                    links.push(Link {
                        a: a as u32,
                        b: b as u32,
                        conductance_s: -value,
                    });
                }
            }
            // Rounding leaves a little on rows without any ground.
            let rest = diagonal + others;
            ground.push(if rest > 1e-12 * diagonal { rest } else { 0.0 });
        }
        (links, ground)
    }

    fn relative_residual(&self, x: &[f64]) -> f64 {
        let (mut rest, mut whole) = (0.0, 0.0);
        for (row, b) in self.rhs.iter().enumerate() {
            let product: f64 = self.row(row).map(|(c, v)| v * x[c]).sum();
            rest += (b - product).powi(2);
            whole += b.powi(2);
        }
        (rest / whole).sqrt()
    }
}

/// Tree addresses of the unknowns.
fn addresses(dir: &Path, n: usize) -> Outcome<Vec<Address>> {
    let cells = if dir.join("cells.i32").exists() {
        read::<4, i32>(dir, "cells.i32", i32::from_le_bytes)?
    } else {
        let header: serde_json::Value =
            serde_json::from_str(&fs::read_to_string(dir.join("header.json"))?)?;
        let edge = header["dims"][0].as_u64().ok_or("no dims")? as i32;
        let level = (edge as u32).next_power_of_two().trailing_zeros() as i32;
        (0..n as i32)
            .flat_map(|c| [c % edge, c / edge % edge, c / (edge * edge), level])
            .collect()
    };
    let (cells, _) = cells.as_chunks::<4>();
    let finest = cells.iter().map(|c| c[3]).max().unwrap_or(0);
    let address = |&[i, j, k, level]: &[i32; 4]| {
        let key = spread(i) | spread(j) << 1 | spread(k) << 2;
        let cell = |level: i32| Cell {
            key,
            level: level as u8,
        };
        match level {
            -1 => Address::coat(cell(finest)),
            level => Address::electrolyte(cell(level)),
        }
    };
    Ok(cells.iter().map(address).collect())
}

/// Puts two zero bits between the bits of a coordinate.
fn spread(v: i32) -> u64 {
    (0..21).fold(0, |key, bit| key | (v as u64 >> bit & 1) << (3 * bit))
}

fn read<const N: usize, T>(dir: &Path, file: &str, from: fn([u8; N]) -> T) -> Outcome<Vec<T>> {
    let bytes = fs::read(dir.join(file))?;
    let (words, rest) = bytes.as_chunks::<N>();
    if !rest.is_empty() {
        return Err(format!("{file}: length is not a multiple of {N}").into());
    }
    Ok(words.iter().map(|w| from(*w)).collect())
}

/// Wall clock and processor time of all threads.
struct Clock {
    wall: Instant,
    cpu: Outcome<f64>,
}

impl Clock {
    fn start() -> Self {
        Clock {
            wall: Instant::now(),
            cpu: cpu_seconds(),
        }
    }

    fn seconds(self) -> Outcome<(f64, f64)> {
        Ok((
            self.wall.elapsed().as_secs_f64(),
            cpu_seconds()? - self.cpu?,
        ))
    }
}

fn cpu_seconds() -> Outcome<f64> {
    let mut nanoseconds = 0.0;
    for task in fs::read_dir("/proc/self/task")? {
        let text = fs::read_to_string(task?.path().join("schedstat"))?;
        let first = text.split_whitespace().next().ok_or("empty schedstat")?;
        nanoseconds += first.parse::<f64>()?;
    }
    Ok(nanoseconds * 1e-9)
}

fn peak_mib() -> Outcome<f64> {
    let status = fs::read_to_string("/proc/self/status")?;
    let line = status
        .lines()
        .find(|l| l.starts_with("VmHWM"))
        .ok_or("no VmHWM")?;
    let kib = line.split_whitespace().nth(1).ok_or("no figure")?;
    Ok(kib.parse::<f64>()? / 1024.0)
}
