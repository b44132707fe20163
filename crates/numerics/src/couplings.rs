//! How cells of a conducting medium hang together, as geometry alone: lengths, which times the
//! conductivity are conductances. The grid fills it in, the field reads it where it lies.
//!
//! ```text
//! current from a to b            = conductivity * metres (phi_a - phi_b)        a link
//! current from `from` to `to`    = conductivity * sum_k w_k phi_k, w in metres  a correction, on top
//! ```

use crate::rows::Rows;

/// A link of two cells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coupling {
    /// One node.
    pub a: u32,
    /// The other.
    pub b: u32,
    /// Open area over distance, metres (planar: per the job's depth).
    pub metres: f64,
}

/// The ends of a flux correction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Correction {
    /// Node the corrected current leaves.
    pub from: u32,
    /// Node it enters.
    pub to: u32,
}

/// Flux corrections, one for each row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Corrections {
    /// Ends.
    pub ends: Vec<Correction>,
    /// Rows, metres.
    pub rows: Rows,
}

impl Corrections {
    /// Adds one.
    pub fn push(&mut self, from: u32, to: u32, row: impl IntoIterator<Item = (u32, f64)>) {
        self.ends.push(Correction { from, to });
        self.rows.push(row);
    }

    /// All of several, in order.
    pub fn joined(parts: Vec<Self>) -> Self {
        let (ends, rows): (Vec<_>, Vec<_>) = parts.into_iter().map(|p| (p.ends, p.rows)).unzip();
        Self {
            ends: ends.concat(),
            rows: Rows::joined(rows),
        }
    }
}

/// All that joins the cells.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Couplings {
    /// Two-point links.
    pub links: Vec<Coupling>,
    /// What makes them accurate where the grid is not uniform.
    pub corrections: Corrections,
}
