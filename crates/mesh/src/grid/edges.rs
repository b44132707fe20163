//! Where the grid is to be finer than on the faces of a body: its sharp edges.
//!
//! Current density without polarisation is infinite at a convex edge of an electrode, and at the
//! border of an electrode with an insulator that meets it at more than 90 degrees (measured inside
//! the electrolyte); the error of the field everywhere is proportional to the cell size *there*.
//! Cells that hold such an edge are followed down, child by child, to the level their body asks
//! for.

use super::cut::pieces;
use super::piece::Piece;
use super::raster::Lists;
use super::scene::{Label, Role, SAME_SIDE, Scene};
use super::tree::{Cell, Root, Seeds};
use crate::solid::Point;
use ionfall_numerics::vector::{add_scaled, dot, norm, sub, unit};
use rayon::prelude::*;

/// One side in a cell: owner, surface, patch, area vector, moment, area.
struct Side<const D: usize> {
    label: Label,
    key: (u32, u16),
    vector: Point<D>,
    moment: Point<D>,
    area: f64,
}

/// Cells of one level in which there are sharp edges.
pub struct Edged<'a, const D: usize> {
    scene: &'a Scene<'a, D>,
    root: &'a Root<D>,
    /// Levels of each body's edges.
    edge_level: &'a [u8],
    level: u8,
    /// Each with its elements and the level its edges ask for.
    cells: Vec<(u64, &'a [u32], u8)>,
}

impl<'a, const D: usize> Edged<'a, D> {
    /// `start` holds the elements by cells of `level`, the least level of any body's faces; `edge_level` the
    /// level of each body's edges.
    pub fn find(
        scene: &'a Scene<'a, D>,
        root: &'a Root<D>,
        level: u8,
        start: &'a Lists<u64>,
        edge_level: &'a [u8],
    ) -> Self {
        let wanted = |(n, &key): (usize, &u64)| {
            let (bounds, elements) = (root.bounds(Cell { key, level }), start.list(n));
            let pieces = pieces(scene, &bounds, elements, None, &mut Vec::new());
            Some((key, elements, wanted_level(scene, &pieces, edge_level)?))
        };
        Self {
            cells: start.at.par_iter().enumerate().filter_map(wanted).collect(),
            scene,
            root,
            edge_level,
            level,
        }
    }

    /// How many cells there will be along the edges, about: edges are lines, in the plane points.
    pub fn expected(&self) -> f64 {
        let along = |wanted: u8| {
            let deeper = i32::from(wanted.saturating_sub(self.level));
            2f64.powi(deeper * (D as i32 - 2))
        };
        self.cells.iter().map(|(_, _, wanted)| along(*wanted)).sum()
    }

    /// Adds the seeds of all edges.
    pub fn seed(&self, seeds: &mut Seeds) {
        let cells = self.cells.par_iter();
        let found: Vec<(u8, u64)> = cells
            .flat_map_iter(|&(key, elements, wanted)| {
                let mut out = Vec::new();
                let level = self.level;
                self.descend(Cell { key, level }, elements, wanted, &mut out);
                out
            })
            .collect();
        for (level, key) in found {
            let level = usize::from(level);
            if seeds.len() <= level {
                seeds.resize(level + 1, Vec::new());
            }
            seeds[level].push(key);
        }
    }

    /// Follows the edges of a cell down to the level that they ask for.
    fn descend(&self, cell: Cell, elements: &[u32], wanted: u8, out: &mut Vec<(u8, u64)>) {
        if cell.level >= wanted {
            out.push((cell.level, cell.key));
            return;
        }
        for n in 0..1u64 << D {
            let child = Cell {
                key: cell.key << D | n,
                level: cell.level + 1,
            };
            let box_ = self.root.bounds(child);
            let reaches = |e: &u32| {
                let element = &self.scene.elements[*e as usize];
                super::raster::meets(&element.corners, &element.normal, &box_)
            };
            let inside: Vec<u32> = elements.iter().copied().filter(reaches).collect();
            if inside.is_empty() {
                continue;
            }
            let pieces = pieces(self.scene, &box_, &inside, None, &mut Vec::new());
            if let Some(wanted) = wanted_level(self.scene, &pieces, self.edge_level) {
                self.descend(child, &inside, wanted, out);
            }
        }
    }
}

/// The level that the sharpest edge in the cell asks for.
fn wanted_level<const D: usize>(
    scene: &Scene<'_, D>,
    pieces: &[Piece<D>],
    edge_level: &[u8],
) -> Option<u8> {
    let mut sides: Vec<Side<D>> = Vec::new();
    for piece in pieces {
        if !matches!(piece.label, Label::Wall { .. }) {
            continue;
        }
        let element = &scene.elements[piece.element as usize];
        let key = (element.surface, element.patch);
        let (area, centroid) = (piece.flat, piece.centroid);
        let at = sides.iter().position(|s| {
            s.label == piece.label
                && s.key == key
                && dot(&unit(&s.vector), &piece.normal) > SAME_SIDE
        });
        let at = at.unwrap_or_else(|| {
            sides.push(Side {
                label: piece.label,
                key,
                vector: [0.0; D],
                moment: [0.0; D],
                area: 0.0,
            });
            sides.len() - 1
        });
        let side = &mut sides[at];
        side.vector = add_scaled(&side.vector, area, &piece.normal);
        side.moment = add_scaled(&side.moment, area, &centroid);
        side.area += area;
    }
    let level = |side: &Side<D>| match side.label {
        Label::Wall {
            electrode: Some(body),
            ..
        } => Some(edge_level[usize::from(body)]),
        _ => match scene.surfaces[side.key.0 as usize].role {
            Role::Body(body) => Some(edge_level[body]),
            _ => None,
        },
    };
    let mut wanted = None;
    for (n, a) in sides.iter().enumerate() {
        for b in &sides[n + 1..] {
            if is_sharp(a, b) {
                wanted = wanted.max(level(a)).max(level(b));
            }
        }
    }
    wanted
}

fn is_sharp<const D: usize>(a: &Side<D>, b: &Side<D>) -> bool {
    let (na, nb) = (unit(&a.vector), unit(&b.vector));
    let apart = sub(&b.moment.map(|m| m / b.area), &a.moment.map(|m| m / a.area));
    if norm(&apart) == 0.0 {
        return false;
    }
    let electrode = |s: &Side<D>| match s.label {
        Label::Wall { electrode, .. } => electrode,
        _ => None,
    };
    let convex = dot(&apart, &na) < 0.0 && dot(&apart, &nb) > 0.0;
    let turn = dot(&na, &nb).clamp(-1.0, 1.0).acos().to_degrees();
    let in_electrolyte = if convex { 180.0 + turn } else { 180.0 - turn };
    if electrode(a) == electrode(b) {
        convex && turn > 25.0
    } else {
        in_electrolyte > 100.0
    }
}
