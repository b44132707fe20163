//! One quasi-steady run: solve the field, turn current into metal, count everything.

use crate::network::{Drive, area_m2, network};
use crate::statistics::{Distribution, distribution, share_below};
use ionfall_field::{FieldError, Solution};
use ionfall_job::{Electrode, Model, Parts, Role, Supply};
use ionfall_mesh::grid::{Grid, GridError, GridNote, NoteKind, build};
use ionfall_mesh::solid::Point;
use serde::Serialize;
use std::time::Instant;
use thiserror::Error;

/// Why a run failed.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum DepositError {
    /// The grid could not be built.
    #[error(transparent)]
    Grid(#[from] GridError),
    /// The field could not be solved.
    #[error(transparent)]
    Field(#[from] FieldError),
    /// Mean current density on the work with a thief could not be met.
    #[error(
        "the current on the work stayed {off_percent:.2} % off the wanted mean current density; \
         give the supply's current or voltage instead"
    )]
    MeanNotMet {
        /// Remaining difference, %.
        off_percent: f64,
    },
}

/// Stages of a run, for progress displays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Tree, cut cells, probes.
    Grid,
    /// Newton on the network.
    Field,
}

/// Told when a stage begins: the stage and a short text.
pub type Progress<'a> = &'a mut dyn FnMut(Stage, &str);

/// Limits and tolerances of a run.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Memory the run may take, bytes.
    pub memory_bytes: u64,
    /// Of the solver.
    pub field: ionfall_field::Settings,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            memory_bytes: 8 << 30,
            field: ionfall_field::Settings::default(),
        }
    }
}

/// A place and the value there.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Place {
    /// Coordinates, m ((x, y), (r, z) or (x, y, z); unused ones zero).
    pub at_m: [f64; 3],
    /// Value there.
    pub value: f64,
}

/// What happened at one electrode.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BodyOutcome {
    /// Name.
    pub name: String,
    /// `anode`, `work` or `thief`.
    pub role: &'static str,
    /// Wetted bare area, m2.
    pub area_m2: f64,
    /// Current from the metal into the electrolyte, A (negative at cathodes).
    pub current_a: f64,
    /// Current density, magnitude, A/m2.
    pub current_density_a_per_m2: Distribution,
    /// Overpotential, magnitude, V.
    pub overpotential_v: Distribution,
    /// Metal deposited (dissolved at anodes), kg; needs a plating time.
    pub metal_kg: Option<f64>,
    /// Volume deposited, m3.
    pub volume_m3: Option<f64>,
    /// Thickness, m.
    pub thickness_m: Option<Distribution>,
    /// Thinnest place, m.
    #[serde(rename = "thinnest_m")]
    pub thinnest: Option<Place>,
    /// Thickest place, m.
    #[serde(rename = "thickest_m")]
    pub thickest: Option<Place>,
    /// Share of the area below the wanted thickness.
    pub share_below_wanted: Option<f64>,
    /// Largest share of the limiting current density, where there is a limit.
    pub limit_share: Option<Place>,
}

/// A finished run.
#[derive(Debug)]
pub struct Outcome<const D: usize> {
    /// The grid.
    pub grid: Grid<D>,
    /// Potentials and current densities.
    pub solution: Solution,
    /// Thickness of each facet, m (negative where metal dissolves); empty without a plating time.
    pub thickness_m: Vec<f64>,
    /// Overpotential of each facet, V: metal minus electrolyte at the surface.
    pub overpotential_v: Vec<f64>,
    /// The electrodes.
    pub bodies: Vec<BodyOutcome>,
    /// Voltage between the poles, V.
    pub voltage_v: f64,
    /// Current of the supply, A.
    pub current_a: f64,
    /// Difference of anodic and cathodic current over the larger.
    pub balance_error: f64,
    /// Energy taken, J; needs a plating time.
    pub energy_j: Option<f64>,
    /// Seconds spent on the grid.
    pub grid_s: f64,
    /// Seconds spent on the field.
    pub field_s: f64,
}

/// Builds the grid of a model's parts and runs on it.
///
/// # Errors
/// [`DepositError`].
pub fn run<const D: usize>(
    model: &Model,
    parts: &Parts<D>,
    settings: &Settings,
    progress: Progress<'_>,
) -> Result<Outcome<D>, DepositError> {
    progress(Stage::Grid, "building the grid");
    let clock = Instant::now();
    let grid = build(&parts.domain, settings.memory_bytes)?;
    let grid_s = clock.elapsed().as_secs_f64();
    progress(Stage::Field, &format!("solving {} cells", grid.len()));
    run_on_grid(model, &parts.electrodes, grid, grid_s, settings)
}

/// Runs on a grid that exists.
///
/// # Errors
/// [`DepositError`].
pub fn run_on_grid<const D: usize>(
    model: &Model,
    electrodes: &[Electrode],
    grid: Grid<D>,
    grid_s: f64,
    settings: &Settings,
) -> Result<Outcome<D>, DepositError> {
    let clock = Instant::now();
    let (solution, poles) = driven(model, electrodes, &grid, settings)?;
    let field_s = clock.elapsed().as_secs_f64();
    let voltage_v = solution.potential_v[poles.positive as usize];
    let rate = model.bath.metal.thickness_rate_m_per_s(1.0, 1.0);
    let role_of = |body: u16| {
        electrodes
            .iter()
            .find(|e| e.body == usize::from(body))
            .map_or(Role::Anode, |e| e.role)
    };
    // Efficiency belongs to the cathode; anodes dissolve by the whole current.
    let growth = |body: u16, i: f64| {
        let efficiency = if role_of(body).is_cathode() {
            model.bath.efficiency.value
        } else {
            1.0
        };
        -i * rate * efficiency
    };
    let thickness_m: Vec<f64> = model.time_s.map_or_else(Vec::new, |time_s| {
        grid.facets
            .iter()
            .zip(&solution.current_density_a_per_m2)
            .map(|(f, &i)| time_s * growth(f.body, i))
            .collect()
    });
    let overpotential_v: Vec<f64> = grid
        .facets
        .iter()
        .zip(&solution.surface_potential_v)
        .map(|(f, &phi)| {
            if role_of(f.body).is_cathode() {
                -phi
            } else {
                voltage_v - phi
            }
        })
        .collect();
    let mut bodies = Vec::new();
    let (mut anodic, mut cathodic) = (0.0, 0.0);
    for e in electrodes {
        let b = body_outcome(model, e, &grid, &solution, &thickness_m, &overpotential_v);
        if e.role.is_cathode() {
            cathodic += b.current_a;
        } else {
            anodic += b.current_a;
        }
        bodies.push(b);
    }
    let current_a = anodic;
    let balance_error = (anodic + cathodic).abs() / anodic.abs().max(cathodic.abs());
    let energy_j = model.time_s.map(|t| t * voltage_v * current_a);
    Ok(Outcome {
        grid,
        solution,
        thickness_m,
        overpotential_v,
        bodies,
        voltage_v,
        current_a,
        balance_error,
        energy_j,
        grid_s,
        field_s,
    })
}

/// Solves for the supply of the model.
fn driven<const D: usize>(
    model: &Model,
    electrodes: &[Electrode],
    grid: &Grid<D>,
    settings: &Settings,
) -> Result<(Solution, crate::network::Poles), DepositError> {
    let kappa = model.bath.conductivity.value;
    let solve = |drive: Drive, start: Option<&Solution>| {
        let (network, poles) = network(grid, kappa, electrodes, drive);
        ionfall_field::solve(&network, &settings.field, start).map(|s| (s, poles))
    };
    let density = match model.supply {
        Supply::Voltage(v) => return Ok(solve(Drive::Voltage(v), None)?),
        Supply::Current(i) => return Ok(solve(Drive::Current(i), None)?),
        Supply::MeanCurrentDensity(density) => density,
    };
    let work_m2 = area_m2(grid, electrodes, Role::Work);
    let target = density * work_m2;
    let mut current = density * (work_m2 + area_m2(grid, electrodes, Role::Thief));
    let mut best: Option<Solution> = None;
    let mut off = 0.0;
    // The share of the thief hardly depends on the current: scaling converges in a few rounds.
    for _ in 0..12 {
        let (solution, poles) = solve(Drive::Current(current), best.as_ref())?;
        let on_work: f64 = electrodes
            .iter()
            .filter(|e| e.role == Role::Work)
            .map(|e| -body_current(grid, &solution, e.body))
            .sum();
        off = on_work / target - 1.0;
        if off.abs() < 1e-9 {
            return Ok((solution, poles));
        }
        current *= target / on_work;
        best = Some(solution);
    }
    Err(DepositError::MeanNotMet {
        off_percent: 100.0 * off.abs(),
    })
}

fn body_current<const D: usize>(grid: &Grid<D>, solution: &Solution, body: usize) -> f64 {
    grid.facets
        .iter()
        .zip(&solution.current_density_a_per_m2)
        .filter(|(f, _)| usize::from(f.body) == body)
        .map(|(f, &i)| f.area_m2 * i)
        .sum()
}

/// Facets smaller than this share of a cell face are slivers at cell borders: their current counts,
/// but they are no *place*.
const PLACE_SHARE: f64 = 0.1;

fn body_outcome<const D: usize>(
    model: &Model,
    electrode: &Electrode,
    grid: &Grid<D>,
    solution: &Solution,
    thickness_m: &[f64],
    overpotential_v: &[f64],
) -> BodyOutcome {
    let own: Vec<usize> = (0..grid.facets.len())
        .filter(|&f| usize::from(grid.facets[f].body) == electrode.body)
        .collect();
    let area = |f: usize| grid.facets[f].area_m2;
    let spread = |value: &dyn Fn(usize) -> f64| {
        distribution(own.iter().map(|&f| (value(f), area(f)))).unwrap_or(Distribution {
            min: 0.0,
            p05: 0.0,
            median: 0.0,
            mean: 0.0,
            p95: 0.0,
            max: 0.0,
        })
    };
    let typical: f64 = own.iter().map(|&f| area(f)).sum::<f64>() / own.len().max(1) as f64;
    let extreme = |value: &dyn Fn(usize) -> f64, largest: bool| -> Option<Place> {
        let sign = if largest { -1.0 } else { 1.0 };
        own.iter()
            .filter(|&&f| area(f) > PLACE_SHARE * typical)
            .min_by(|&&x, &&y| (sign * value(x)).total_cmp(&(sign * value(y))))
            .map(|&f| Place {
                at_m: padded(&grid.facets[f].point),
                value: value(f),
            })
    };
    let current = |f: usize| solution.current_density_a_per_m2[f];
    let current_a: f64 = own.iter().map(|&f| area(f) * current(f)).sum();
    let plated = model.time_s.is_some();
    let thickness = |f: usize| thickness_m[f];
    let volume_m3 = plated.then(|| own.iter().map(|&f| area(f) * thickness(f)).sum::<f64>());
    let wanted = model.wanted.as_ref().filter(|w| {
        electrode.role == Role::Work && w.on.as_ref().is_none_or(|on| *on == electrode.name)
    });
    let limit = match &electrode.kinetics {
        ionfall_bath::Kinetics::Law(p) if electrode.role.is_cathode() => p.limit(),
        _ => None,
    };
    BodyOutcome {
        name: electrode.name.clone(),
        role: electrode.role.word(),
        area_m2: own.iter().map(|&f| area(f)).sum(),
        current_a,
        current_density_a_per_m2: spread(&|f| current(f).abs()),
        overpotential_v: spread(&|f| overpotential_v[f].abs()),
        metal_kg: volume_m3.map(|v| v.abs() * model.bath.metal.density.value),
        volume_m3: volume_m3.map(f64::abs),
        thickness_m: plated.then(|| spread(&|f| thickness(f).abs())),
        thinnest: plated.then(|| extreme(&thickness, false)).flatten(),
        thickest: plated.then(|| extreme(&thickness, true)).flatten(),
        share_below_wanted: wanted
            .filter(|_| plated)
            .map(|w| share_below(own.iter().map(|&f| (thickness(f), area(f))), w.thickness_m)),
        limit_share: limit.and_then(|l| extreme(&|f| -current(f) / l.current_a_per_m2, true)),
    }
}

fn padded<const D: usize>(x: &Point<D>) -> [f64; 3] {
    std::array::from_fn(|k| x.get(k).copied().unwrap_or(0.0))
}

/// Current density vector at every node, A/m2: minus conductivity times the least-squares gradient
/// over the linked neighbours (weights one over squared distance).
pub fn field_vectors<const D: usize>(
    grid: &Grid<D>,
    potential_v: &[f64],
    conductivity_s_per_m: f64,
) -> Vec<Point<D>> {
    let n = grid.len();
    let mut matrix = vec![[[0.0; D]; D]; n];
    let mut right = vec![[0.0; D]; n];
    for link in &grid.links {
        let (a, b) = (link.a as usize, link.b as usize);
        let (ca, cb) = (grid.centre(a), grid.centre(b));
        let arm: Point<D> = std::array::from_fn(|k| cb[k] - ca[k]);
        let square = 1.0 / arm.iter().map(|x| x * x).sum::<f64>();
        let rise = potential_v[b] - potential_v[a];
        for node in [a, b] {
            for i in 0..D {
                right[node][i] += square * arm[i] * rise;
                for j in 0..D {
                    matrix[node][i][j] += square * arm[i] * arm[j];
                }
            }
        }
    }
    matrix
        .into_iter()
        .zip(right)
        .map(|(mut m, mut b)| {
            for i in 0..D {
                m[i][i] += 1e-9;
            }
            for i in 0..D {
                for r in i + 1..D {
                    let f = m[r][i] / m[i][i];
                    for c in i..D {
                        m[r][c] -= f * m[i][c];
                    }
                    b[r] -= f * b[i];
                }
            }
            for i in (0..D).rev() {
                for c in i + 1..D {
                    b[i] -= m[i][c] * b[c];
                }
                b[i] /= m[i][i];
            }
            b.map(|g| -conductivity_s_per_m * g)
        })
        .collect()
}

/// A grid note in plain words.
pub fn note_text<const D: usize>(note: &GridNote<D>) -> String {
    let place: Vec<String> = note
        .place
        .iter()
        .map(|x| format!("{:.2}", 1e3 * x))
        .collect();
    let what = match note.kind {
        NoteKind::Tangled => "cells where surfaces do not join were taken as one piece",
        NoteKind::LinearProbe => "facets in narrow places were computed to first order only",
        NoteKind::LostFacet => "facets in gaps narrower than a cell were left out",
    };
    format!("{} {what}, one near ({}) mm", note.count, place.join(", "))
}
