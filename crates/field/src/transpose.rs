//! The derivative of the balance read the other way: its transpose, and its entries one by one.

use crate::law::Response;
use crate::network::{Correction, Rows};
use crate::real::Real;
use crate::system::System;

impl System {
    /// Links between an unknown and a prescribed node: their places and the conductance.
    pub fn grounded(&self) -> impl Iterator<Item = (usize, usize, f64)> + '_ {
        self.sorted.grounded.iter().map(|&number| {
            let link = self.network.link(number as usize);
            let [a, b] = [link.a, link.b].map(|n| self.place(n));
            (a.min(b), a.max(b), link.conductance_s)
        })
    }

    /// `y = A^T x` of the corrected derivative; `x` must vanish at prescribed nodes, `y` there is
    /// what their potentials do to the balance of the unknowns. One thread: rows are scattered.
    pub fn derivative_transposed<X: Real>(&self, responses: &[Response], x: &[X], y: &mut [f64]) {
        let unknowns = self.unknowns();
        self.sorted.graph.apply(x, y);
        y[unknowns..].fill(0.0);
        for (node, other, g) in self.grounded() {
            y[other] -= g * x[node].wide();
        }
        self.each_correction(|row, from, to, conductivity| {
            let drop = x[from].wide() - x[to].wide();
            if drop != 0.0 {
                self.add_row(self.correction_rows(), row, conductivity * drop, y);
            }
        });
        for (f, (facet, response)) in self.network.facets.iter().zip(responses).enumerate() {
            let place = &self.sorted.places[f];
            let drop = x[place.metal as usize].wide() - x[place.cell as usize].wide();
            self.add_drive(f, facet.area_m2 * response.slope_s_per_m2 * drop, y);
        }
    }

    /// Adds `factor` times what the drive of a facet takes of every potential.
    pub fn add_drive(&self, facet: usize, factor: f64, y: &mut [f64]) {
        let place = &self.sorted.places[facet];
        y[place.metal as usize] += factor;
        if self.sees_own_cell(facet) {
            y[place.cell as usize] -= factor;
        } else {
            self.add_row(&self.network.probes, facet, -factor, y);
        }
    }

    /// Calls `f(row, column, value)`, by places, for all that makes up the corrected derivative;
    /// entries may come in parts. Rows of prescribed nodes are called too.
    pub fn each_entry(&self, responses: &[Response], f: &mut dyn FnMut(usize, usize, f64)) {
        for link in self.network.all_links() {
            let [a, b] = [link.a, link.b].map(|n| self.place(n));
            if a != b {
                let g = link.conductance_s;
                for (row, column, value) in [(a, a, g), (b, b, g), (a, b, -g), (b, a, -g)] {
                    f(row, column, value);
                }
            }
        }
        self.each_correction(|row, from, to, conductivity| {
            for (node, weight) in self.correction_rows().row(row) {
                let (column, weight) = (self.place(node), conductivity * weight);
                f(from, column, weight);
                f(to, column, -weight);
            }
        });
        for (k, (facet, response)) in self.network.facets.iter().zip(responses).enumerate() {
            let g = facet.area_m2 * response.slope_s_per_m2;
            let place = &self.sorted.places[k];
            let (metal, cell) = (place.metal as usize, place.cell as usize);
            let mut both = |column: usize, value: f64| {
                f(metal, column, value);
                f(cell, column, -value);
            };
            both(metal, g);
            if self.sees_own_cell(k) {
                both(cell, -g);
            } else {
                for (node, weight) in self.network.probes.row(k) {
                    both(self.place(node), -g * weight);
                }
            }
        }
    }

    /// Calls `f(row, from, to, conductivity)`, ends by places, for the corrections that are not left
    /// out.
    fn each_correction(&self, mut f: impl FnMut(usize, usize, usize, f64)) {
        let mut left_out = self.left_out.iter().peekable();
        let ends = &self.network.couplings.corrections.ends;
        for (row, &Correction { from, to }) in ends.iter().enumerate() {
            if left_out.next_if(|&&out| out as usize == row).is_none() {
                let conductivity = self.network.conductivity.between(from, to);
                f(row, self.place(from), self.place(to), conductivity);
            }
        }
    }

    /// Adds `factor` times a row.
    fn add_row(&self, rows: &Rows, row: usize, factor: f64, y: &mut [f64]) {
        for (node, weight) in rows.row(row) {
            y[self.place(node)] += factor * weight;
        }
    }

    fn place(&self, node: u32) -> usize {
        self.places()[node as usize] as usize
    }
}
