//! Pieces of surface in a cell, and where they cross its faces and edges.

use super::axes::{edge_number, face_axes};
use super::fragment::{Fragment, Vertex};
use super::loops::Segment;
use super::scene::Label;
use crate::solid::{Bounds, Point};
use smallvec::SmallVec;

/// A labelled fragment; never [`Label::Inside`].
#[derive(Clone, Debug)]
pub struct Piece<const D: usize> {
    /// Its outline.
    pub fragment: Fragment<D>,
    /// Flat length or area, m or m2.
    pub flat: f64,
    /// Centroid, metres.
    pub centroid: Point<D>,
    /// What it bounds.
    pub label: Label,
    /// Unit normal into the electrolyte (for sheets: of the sheet).
    pub normal: Point<D>,
    /// Element it comes from.
    pub element: u32,
}

/// Where the boundary crosses an edge of the cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Edge, see [`edge_number`].
    pub edge: u8,
    /// Coordinate along the edge, metres.
    pub at_m: f64,
    /// Electrolyte below and above the crossing.
    pub wet: [bool; 2],
}

/// Crossings of a cell. Kept in place, like the facets: small pieces of memory between those that
/// stay could not be given back.
pub type Crossings = SmallVec<[Crossing; 8]>;

impl<const D: usize> Piece<D> {
    /// Calls `f` with the wall segments on face `face` (3-D), or of the cell itself (2-D, `face`
    /// ignored), in the coordinates of the rectangle with low corner `low`.
    pub fn each_segment(&self, face: u8, cell: &Bounds<D>, mut f: impl FnMut(Segment)) {
        let [u, v] = if D == 2 {
            [0, 1]
        } else {
            face_axes(usize::from(face) / 2)
        };
        let others = if D == 2 {
            0b1111
        } else {
            !(0b11 << (face & !1))
        };
        let mut seen = |a: &Vertex<D>, b: &Vertex<D>| {
            let flat = |p: &Vertex<D>| [p.at[u] - cell.low[u], p.at[v] - cell.low[v]];
            let s = Segment {
                from: flat(a),
                to: flat(b),
                rim: [a.on & others != 0, b.on & others != 0],
            };
            let along =
                (s.to[0] - s.from[0]) * self.normal[v] - (s.to[1] - s.from[1]) * self.normal[u];
            let s = if along < 0.0 { s.reversed() } else { s };
            f(s);
            if self.label.sheet().is_some() {
                f(s.reversed());
            }
        };
        let vertices = &self.fragment.vertices;
        if D == 2 {
            seen(&vertices[0], &vertices[1]);
            return;
        }
        for (n, a) in vertices.iter().enumerate() {
            let b = &vertices[(n + 1) % vertices.len()];
            if (a.on & b.on) >> face & 1 == 1 {
                seen(a, b);
            }
        }
    }

    /// Crossings of cell edges.
    pub fn crossings(&self, out: &mut Crossings) {
        for vertex in &self.fragment.vertices {
            let axes = (0..D).filter(|k| vertex.on >> (2 * k) & 0b11 != 0);
            if axes.count() != D - 1 {
                continue;
            }
            let Some(along) = (0..D).find(|k| vertex.on >> (2 * k) & 0b11 == 0) else {
                continue;
            };
            let high = |k: usize| k < D && vertex.on >> (2 * k + 1) & 1 == 1;
            let edge = if D == 2 {
                edge_number(along, [high(1 - along), false])
            } else {
                let [u, v] = face_axes(along);
                edge_number(along, [high(u), high(v)])
            };
            let up = self.normal[along] > 0.0;
            let wet = if self.label.sheet().is_some() {
                [true; 2]
            } else {
                [!up, up]
            };
            out.push(Crossing {
                edge,
                at_m: vertex.at[along],
                wet,
            });
        }
    }
}
