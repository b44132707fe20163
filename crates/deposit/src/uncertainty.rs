//! How far an answer may be off because the cells are not infinitely small.
//!
//! The same job is run once more on cells twice as large. With an error `C h^p` the two answers
//! differ by `C h^p (2^p - 1)`, and the finer one is off by `|fine - coarse| / (2^p - 1)`. The grid
//! convergence index multiplies that by a factor of safety of 3 when only two grids are known
//! (P. J. Roache, J. Fluids Eng. 116 (1994) 405). With the order 2 of smooth fields this is just
//! `|fine - coarse|`, which for an answer of first order (next to a sharp edge) is the error itself.

use crate::outcome::{BodyOutcome, Outcome, Place};
use crate::run::{DepositError, Settings, run};
use ionfall_job::{Model, Parts};
use ionfall_mesh::grid::count_cells;
use serde::Serialize;

/// Times larger cells of the coarser grid.
pub const COARSER: f64 = 2.0;

/// Relative error that a graded tree keeps however alike two answers are: its leaves grow with the
/// distance from the bodies, on both grids in the same way (measured on eccentric cylinders and
/// concentric spheres: 0.02 to 0.04 % in totals).
const FLOOR: f64 = 4e-4;

/// Plus-minus of an answer, in its unit: from the answers of a grid and of one with cells
/// [`COARSER`] times as large.
///
/// ```
/// use ionfall_deposit::uncertainty::plus_minus;
/// assert_eq!(plus_minus(10.0, 9.5), 0.5);
/// // Two answers that happen to agree are still no better than the grid is.
/// assert_eq!(plus_minus(10.0, 10.0), 0.004);
/// ```
pub fn plus_minus(fine: f64, coarse: f64) -> f64 {
    (fine - coarse).abs().max(FLOOR * fine.abs())
}

/// Plus-minus of the answers of a run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Uncertainty {
    /// Cells of the coarser grid.
    pub cells: usize,
    /// Voltage of the main supply at the end, V.
    pub voltage_v: f64,
    /// Current of the main supply at the end, A.
    pub current_a: f64,
    /// Energy taken from all supplies, J.
    pub energy_j: Option<f64>,
    /// When the wanted thickness was or would be reached everywhere, s.
    pub wish_s: Option<f64>,
    /// The electrodes, in their order.
    pub bodies: Vec<BodyUncertainty>,
}

/// Plus-minus of the answers of one electrode.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BodyUncertainty {
    /// Name.
    pub name: String,
    /// Current at the end, A.
    pub current_a: f64,
    /// Thickness at the thinnest place, m.
    pub thinnest_m: Option<f64>,
    /// Mean thickness, m.
    pub mean_m: Option<f64>,
    /// Thickness at the thickest place, m.
    pub thickest_m: Option<f64>,
    /// Largest share of the limiting current.
    pub limit_share: Option<f64>,
}

/// Cells of the coarser grid over those of a finished run: about the share of its time that the
/// plus-minus would cost.
///
/// # Errors
/// See [`count_cells`].
pub fn cost<const D: usize>(
    parts: &Parts<D>,
    settings: &Settings,
    fine: &Outcome<D>,
) -> Result<f64, DepositError> {
    let coarse = count_cells(&scaled(parts, COARSER).domain, settings.memory_bytes)?;
    Ok(coarse as f64 / fine.grid.len() as f64)
}

/// Runs a finished job once more on cells [`COARSER`] times as large, and compares.
///
/// # Errors
/// Of the coarser run, whose cells may be too large for thin bodies or small contacts.
pub fn uncertainty<const D: usize>(
    model: &Model,
    parts: &Parts<D>,
    settings: &Settings,
    fine: &Outcome<D>,
) -> Result<Uncertainty, DepositError> {
    let coarse = run(model, &scaled(parts, COARSER), settings, &mut |_, _| ())?;
    let both = |of: &dyn Fn(&Outcome<D>) -> Option<f64>| Some(plus_minus(of(fine)?, of(&coarse)?));
    let bodies = fine.bodies.iter().zip(&coarse.bodies);
    Ok(Uncertainty {
        cells: coarse.grid.len(),
        voltage_v: plus_minus(fine.voltage_v, coarse.voltage_v),
        current_a: plus_minus(fine.current_a, coarse.current_a),
        energy_j: both(&|o| o.energy_j),
        wish_s: both(&|o| o.wish_s.or(o.wish_expected_s)),
        bodies: bodies.map(|(fine, coarse)| of_body(fine, coarse)).collect(),
    })
}

fn of_body(fine: &BodyOutcome, coarse: &BodyOutcome) -> BodyUncertainty {
    let both = |of: &dyn Fn(&BodyOutcome) -> Option<f64>| Some(plus_minus(of(fine)?, of(coarse)?));
    let value = |place: Option<Place>| place.map(|p| p.value);
    BodyUncertainty {
        name: fine.name.clone(),
        current_a: plus_minus(fine.current_a, coarse.current_a),
        thinnest_m: both(&|b| value(b.thinnest)),
        mean_m: both(&|b| b.thickness_m.map(|t| t.mean)),
        thickest_m: both(&|b| value(b.thickest)),
        limit_share: both(&|b| value(b.limit_share)),
    }
}

/// A model's parts with all wanted cell sizes times a factor.
pub fn scaled<const D: usize>(parts: &Parts<D>, factor: f64) -> Parts<D> {
    let mut parts = parts.clone();
    let domain = &mut parts.domain;
    for body in &mut domain.bodies {
        body.across /= factor;
    }
    let bodies = domain.bodies.iter_mut();
    let bodies = bodies.flat_map(|b| [&mut b.finest_m, &mut b.edge_m]);
    let sheets = domain.sheets.iter_mut();
    let sheets = sheets.flat_map(|s| [&mut s.finest_m, &mut s.edge_m]);
    let regions = domain.regions.iter_mut().map(|r| &mut r.finest_m);
    let tank = [&mut domain.wall_m, &mut domain.coarsest_m];
    for size_m in bodies.chain(sheets).chain(regions).chain(tank) {
        *size_m *= factor;
    }
    parts
}
