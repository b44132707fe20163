//! A place on a body, the value there, and what an edge makes of it.

use ionfall_mesh::solid::Point;
use serde::Serialize;

/// Largest cell that resolves an edge, over the Wagner length.
pub(crate) const RESOLVED: f64 = 0.2;

/// A place and the value there.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Place {
    /// Coordinates, m ((x, y), (r, z) or (x, y, z); unused ones zero).
    pub at_m: [f64; 3],
    /// Value there.
    pub value: f64,
    /// The sharp convex edge there, if the value is a largest one.
    pub edge: Option<Edge>,
}

/// A sharp edge at a place.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Edge {
    /// What the value is.
    pub figure: EdgeFigure,
    /// Edge of the cells there, m.
    pub cell_m: f64,
    /// Width of the strip beside the edge that was read there, m: half a cell to a little more than one.
    pub strip_m: f64,
    /// Conductivity times the slope of the overpotential over the current density there at the
    /// end, m: zero without kinetics, infinite (null in JSON) at the limiting current.
    pub wagner_length_m: f64,
}

impl Edge {
    /// Largest cell that would resolve the edge, m.
    pub fn resolving_cell_m(&self) -> f64 {
        RESOLVED * self.wagner_length_m
    }
}

/// What the value at a sharp edge is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum EdgeFigure {
    /// The mean over a strip as wide as a cell: without kinetics there is no finite value.
    StripMean,
    /// A least value: the cells are too large to resolve the edge.
    AtLeast,
    /// A least value, of a strip where the metal ends at an insulator.
    EndOfMetal,
    /// The value at the edge.
    Resolved,
}

/// Coordinates of a place, unused ones zero.
pub(crate) fn padded<const D: usize>(x: &Point<D>) -> [f64; 3] {
    std::array::from_fn(|k| x.get(k).copied().unwrap_or(0.0))
}
