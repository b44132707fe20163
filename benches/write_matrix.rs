//! Writes the linear system of a job's grid in the format that `solve_matrix` reads, so that any
//! solver can be measured on the grid of a real job.
//!
//! ```text
//! cargo run --release --example write_matrix -- JOB DIR
//! ```
//! The plain network with conductivity 1 S/m: two-point links, and at every facet a conductance
//! `area / (probe distance + polarisation length)`. Anodes are at 1 V, everything else at 0 V.

use ionfall_mesh::grid::build;
use ionfall_model::{Geometry, Role};
use std::error::Error;
use std::fs;
use std::io::Write;
use std::path::Path;

/// Polarisation resistance times conductivity, m.
const POLARISATION_M: f64 = 2e-3;
/// Memory the grid may take, bytes.
const MEMORY_BYTES: u64 = 16 << 30;

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [job, dir] = &args[..] else {
        return Err("usage: write_matrix JOB DIR".into());
    };
    let model = ionfall_job::read(Path::new(job))?;
    let Geometry::Solid(parts) = &model.geometry else {
        return Err("the job is not in space".into());
    };
    let grid = build(&parts.domain, MEMORY_BYTES)?;
    let n = grid.len();
    let mut rows: Vec<Vec<(u32, f64)>> = vec![Vec::new(); n];
    let mut diagonal = vec![0.0; n];
    for link in &grid.couplings.links {
        for (a, b) in [(link.a, link.b), (link.b, link.a)] {
            rows[a as usize].push((b, -link.metres));
            diagonal[a as usize] += link.metres;
        }
    }
    let (mut robin, mut rhs) = (vec![0.0; n], vec![0.0; n]);
    for ((facet, &node), scale) in grid
        .facets
        .iter()
        .zip(&grid.facet_node)
        .zip(&grid.probe_scale)
    {
        let g = facet.area_m2 / (1.0 / scale.per_m + POLARISATION_M);
        robin[node as usize] += g;
        let is_anode = |e: &&ionfall_model::Electrode| e.body == usize::from(facet.body);
        let role = parts.electrodes.iter().find(is_anode).map(|e| e.role);
        if role == Some(Role::Anode) {
            rhs[node as usize] += g;
        }
    }
    let (mut indptr, mut indices, mut data) = (vec![0i64], Vec::<i32>::new(), Vec::<f64>::new());
    for (node, row) in rows.iter_mut().enumerate() {
        row.push((node as u32, diagonal[node] + robin[node]));
        row.sort_by_key(|e| e.0);
        row.dedup_by(|b, a| {
            let same = a.0 == b.0;
            if same {
                a.1 += b.1;
            }
            same
        });
        indices.extend(row.iter().map(|e| e.0 as i32));
        data.extend(row.iter().map(|e| e.1));
        indptr.push(indices.len() as i64);
    }
    let cells: Vec<i32> = grid
        .node_cell
        .iter()
        .flat_map(|c| {
            let ijk = position(c.key);
            [ijk[0], ijk[1], ijk[2], i32::from(c.level)]
        })
        .collect();
    let dir = Path::new(dir);
    fs::create_dir_all(dir)?;
    let header = serde_json::json!({
        "format": "csr-raw", "version": 1, "n": n, "nnz": data.len(), "symmetric": true,
        "files": { "indptr": "indptr.i64", "indices": "indices.i32", "data": "data.f64",
                   "rhs": "rhs.f64", "cells": "cells.i32", "robin": "robin.f64" },
        "name": model.title, "kind": "octree",
    });
    save(dir, "indptr.i64", indptr.iter().map(|v| v.to_le_bytes()))?;
    for (name, values) in [("indices.i32", &indices), ("cells.i32", &cells)] {
        save(dir, name, values.iter().map(|v| v.to_le_bytes()))?;
    }
    for (name, values) in [
        ("data.f64", &data),
        ("rhs.f64", &rhs),
        ("robin.f64", &robin),
    ] {
        save(dir, name, values.iter().map(|v| v.to_le_bytes()))?;
    }
    fs::write(dir.join("header.json"), header.to_string())?;
    writeln!(std::io::stdout(), "{n} unknowns, {} entries", data.len())?;
    Ok(())
}

/// Numbers, little-endian, one after the other.
fn save<const N: usize>(
    dir: &Path,
    name: &str,
    values: impl Iterator<Item = [u8; N]>,
) -> std::io::Result<()> {
    fs::write(dir.join(name), values.flatten().collect::<Vec<u8>>())
}

/// Column, row and layer of a cell on its own level, from its Morton key.
fn position(key: u64) -> [i32; 3] {
    let mut at = [0; 3];
    for bit in 0..21 {
        for (axis, coordinate) in at.iter_mut().enumerate() {
            *coordinate |= ((key >> (3 * bit + axis)) & 1) as i32 * (1 << bit);
        }
    }
    at
}
