//! How far an answer may be off because the cells are not infinitely small.
//!
//! The same job is run once more on cells twice as large. With an error `C h^p` the two answers
//! differ by `C h^p (2^p - 1)`, and the finer one is off by `|fine - coarse| / (2^p - 1)`. The grid
//! convergence index multiplies that by a factor of safety of 3 when only two grids are known
//! (P. J. Roache, J. Fluids Eng. 116 (1994) 405). With the order 2 of smooth fields this is just
//! `|fine - coarse|`, which for an answer of first order (next to a sharp edge) is the error itself.

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
