//! Narrow places: gaps between bodies and thin walls across which too few cells would lie.
//!
//! From every side of a body in every cell a ray goes along the normal, both ways, as far as
//! [`ACROSS`] cells. Where it first meets a true boundary that faces it, the way there is a *gap* if
//! it leads through electrolyte, and the thickness of a *wall* if it leads through solids (and both
//! sides are metal, or none is). Bodies get cells of the width over [`Body::across`] there, as far as the
//! budget of cells goes: [`ACROSS`] where their cell sizes are left to the program, [`KEPT`] where they
//! are given; the rest is told.
//!
//! [`Body::across`]: super::Body::across

use super::cut::weight;
use super::finished::{GridNote, NoteKind};
use super::fragment::Fragment;
use super::raster::{Lists, meets};
use super::scene::{Label, Role, SAME_SIDE, Scene};
use super::tree::{Cell, MAX_LEVEL, Root, Seeds, Tree, sort_unique};
use crate::solid::{Bounds, BoxTree, Point};
use ionfall_numerics::vector::{add_scaled, dot, sub};
use rayon::prelude::*;

/// Cells across a narrow place where the sizes are free, and how far is looked.
pub const ACROSS: f64 = 6.0;
/// The same where the sizes are given: they are kept to, but nothing is lost between the planes of the
/// grid. Cells of 1 mm and a rim of 0.6 mm around a bowl of 9 mm: the current at its foot, whose true
/// value is 21.0, came out as 22.4, so as 21.6; with cells of 2 mm as 13.2, so as 22.5.
pub const KEPT: f64 = 2.0;
/// Least cosine between a ray and the normal it meets.
const FACING: f64 = 0.7;
/// Surfaces that a ray may pass which bound nothing.
const MOST_PASSED: usize = 4;
/// What lies nearer than this share of a cell is the side itself.
const OWN: f64 = 1e-3;

/// What is narrow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Electrolyte between walls.
    Gap,
    /// A body between electrolyte.
    Wall,
}

/// A side of a body in a cell with another surface close to it.
#[derive(Clone, Debug)]
pub struct Narrow<const D: usize> {
    kind: Kind,
    body: usize,
    width_m: f64,
    /// Cells wanted across, as a share of those across a gap.
    share: f64,
    /// Where the ray began.
    point: Point<D>,
    /// Half-way.
    middle: Point<D>,
    /// Flat length or area of the side, m or m2, and what that is of surface, m2.
    flat: f64,
    area_m2: f64,
    /// The cell, and the elements of the side in it.
    cell: Cell,
    elements: Vec<u32>,
}

/// The surfaces of the bodies, as rays meet them.
struct Surfaces<'a, const D: usize> {
    scene: &'a Scene<'a, D>,
    /// Elements of bodies, in the order of the tree's boxes.
    elements: Vec<u32>,
    tree: BoxTree<D>,
}

impl<'a, const D: usize> Surfaces<'a, D> {
    fn new(scene: &'a Scene<'a, D>) -> Self {
        let elements: Vec<u32> = (0..scene.elements.len() as u32)
            .filter(|&e| body_of(scene, e).is_some())
            .collect();
        let around = |&e: &u32| Bounds::around(scene.elements[e as usize].corners);
        Self {
            scene,
            tree: BoxTree::new(elements.iter().map(around).collect()),
            elements,
        }
    }

    /// Where a ray meets elements that face it, nearest first.
    fn hits(&self, from: &Point<D>, way: &Point<D>, least_m: f64, most_m: f64) -> Vec<(f64, u32)> {
        let mut out = Vec::new();
        let around = Bounds::around([least_m, most_m].map(|t| add_scaled(from, t, way)));
        let inverse = way.map(|x| 1.0 / x);
        let on_ray = |b: &Bounds<D>| {
            // Quick, and all there is to ask along axes across the ray.
            if !b.overlaps(&around) {
                return false;
            }
            let (mut low, mut high) = (least_m, most_m);
            for k in (0..D).filter(|&k| way[k] != 0.0) {
                let (s, t) = (b.low[k] - from[k], b.high[k] - from[k]);
                let (s, t) = (s * inverse[k], t * inverse[k]);
                low = low.max(s.min(t));
                high = high.min(s.max(t));
            }
            low <= high
        };
        self.tree.any_where(&on_ray, &mut |n| {
            let e = self.elements[n as usize];
            let element = &self.scene.elements[e as usize];
            let slope = dot(&element.normal, way);
            if slope.abs() > FACING {
                let t = dot(&element.normal, &sub(&element.corners[0], from)) / slope;
                let at = add_scaled(from, t, way);
                if t > least_m && t <= most_m && holds(&element.corners, &element.normal, &at) {
                    out.push((t, e));
                }
            }
            false
        });
        out.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        out
    }

    /// The way from a point of an element, on the side `sign` of it, to the next boundary.
    fn across(&self, e: u32, from: &Point<D>, sign: f64, cell_m: f64) -> Option<(Kind, f64)> {
        let element = &self.scene.elements[e as usize];
        let way = element.normal.map(|x| sign * x);
        let hits = self.hits(from, &way, OWN * cell_m, ACROSS * cell_m);
        if hits.is_empty() {
            return None;
        }
        let Label::Wall { up, electrode } = self.scene.label(element, from, &[]) else {
            return None;
        };
        let into_bath = up == (sign > 0.0);
        let boundary = |&(t, e): &(f64, u32)| {
            let other = &self.scene.elements[e as usize];
            match self.scene.label(other, &add_scaled(from, t, &way), &[]) {
                Label::Wall { up, electrode }
                    if (dot(&other.normal, &way) < 0.0) == (up == into_bath) =>
                {
                    Some((t, electrode.is_some()))
                }
                _ => None,
            }
        };
        let (width_m, plated) = hits.iter().take(MOST_PASSED).find_map(boundary)?;
        if !into_bath && plated != electrode.is_some() {
            // Painted on one side: no current of one side depends on how near the other is.
            return None;
        }
        let wet = self
            .scene
            .is_electrolyte(&add_scaled(from, 0.5 * width_m, &way));
        let kind = if into_bath { Kind::Gap } else { Kind::Wall };
        (wet == into_bath).then_some((kind, width_m))
    }
}

/// Does a flat element hold a point of its plane?
fn holds<const D: usize>(corners: &[Point<D>; D], normal: &Point<D>, x: &Point<D>) -> bool {
    if D == 2 {
        let (to, along) = (sub(x, &corners[0]), sub(&corners[1], &corners[0]));
        return (0.0..=dot(&along, &along)).contains(&dot(&to, &along));
    }
    (0..D).all(|k| {
        let (edge, to) = (sub(&corners[(k + 1) % D], &corners[k]), sub(x, &corners[k]));
        let turn = |k: usize| {
            let (i, j) = ((k + 1) % 3, (k + 2) % 3);
            edge[i] * to[j] - edge[j] * to[i]
        };
        (0..D).map(|k| turn(k) * normal[k]).sum::<f64>() >= 0.0
    })
}

fn body_of<const D: usize>(scene: &Scene<'_, D>, e: u32) -> Option<usize> {
    match scene.surfaces[scene.elements[e as usize].surface as usize].role {
        Role::Body(body) => Some(body),
        _ => None,
    }
}

/// Sides of one cell that are looked at.
const MOST_SIDES: usize = 12;

/// Elements of the sides of bodies in a cell, side by side.
fn sides<const D: usize>(scene: &Scene<'_, D>, elements: &[u32]) -> Vec<Vec<u32>> {
    let mut out: Vec<Vec<u32>> = Vec::new();
    for &e in elements.iter().filter(|e| body_of(scene, **e).is_some()) {
        let element = &scene.elements[e as usize];
        let own = |side: &&mut Vec<u32>| {
            let first = &scene.elements[side[0] as usize];
            (first.surface, first.patch) == (element.surface, element.patch)
                && dot(&first.normal, &element.normal) > SAME_SIDE
        };
        if let Some(side) = out.iter_mut().find(own) {
            side.push(e);
        } else if out.len() < MOST_SIDES {
            out.push(vec![e]);
        }
    }
    out
}

/// The narrow places of a scene whose elements are sorted into cells.
pub fn find<const D: usize>(
    scene: &Scene<'_, D>,
    root: &Root<D>,
    placed: &[(u8, Lists<u64>)],
) -> Vec<Narrow<D>> {
    let surfaces = Surfaces::new(scene);
    let mut out = Vec::new();
    for (level, lists) in placed {
        let cells = lists.at.par_iter().enumerate();
        let found = cells.flat_map_iter(|(n, &key)| {
            let cell = Cell { key, level: *level };
            let bounds = root.bounds(cell);
            let elements = lists.list(n);
            let sides = if scene.is_outside(&bounds, elements) {
                Vec::new()
            } else {
                sides(scene, elements)
            };
            sides
                .into_iter()
                .flat_map(|side| look(&surfaces, root, cell, &bounds, side))
                .collect::<Vec<_>>()
        });
        out.extend(found.collect::<Vec<_>>());
    }
    out
}

/// Cells across a flat wall, as a share of those across a gap or a round one: its sides are true on
/// cells of any size, only round ones have fields that fall off with their thickness.
const FLAT: f64 = 0.3;
/// How far a flat side may be bent.
const BENT: f64 = 1e-6;

/// Looks both ways from one side in a cell.
fn look<const D: usize>(
    surfaces: &Surfaces<'_, D>,
    root: &Root<D>,
    cell: Cell,
    bounds: &Bounds<D>,
    side: Vec<u32>,
) -> Vec<Narrow<D>> {
    let scene = surfaces.scene;
    let measured = |&e: &u32| {
        let element = Fragment::simplex(&scene.elements[e as usize].corners);
        Some((e, element.clipped(bounds)?.measure()))
    };
    let Some((e, (_, from))) = side.iter().find_map(measured) else {
        return Vec::new();
    };
    let Some(body) = body_of(scene, e) else {
        return Vec::new();
    };
    let normal = scene.elements[e as usize].normal;
    let mut out = Vec::new();
    for sign in [1.0, -1.0] {
        let Some((kind, width_m)) = surfaces.across(e, &from, sign, root.size_m(cell.level)) else {
            continue;
        };
        let (mut flat, mut area_m2) = (0.0, 0.0);
        for (e, (part, centroid)) in side.iter().filter_map(measured) {
            let factor = f64::from(scene.elements[e as usize].area_factor);
            flat += part;
            area_m2 += part * factor * weight(scene.domain.space, &centroid);
        }
        let bent = |&e: &u32| {
            let element = &scene.elements[e as usize];
            f64::from(element.area_factor) > 1.0 + BENT
                || dot(&element.normal, &normal) < 1.0 - BENT
        };
        let round = kind == Kind::Gap || side.iter().any(bent);
        out.push(Narrow {
            share: if round { 1.0 } else { FLAT },
            kind,
            body,
            width_m,
            point: from,
            middle: add_scaled(&from, 0.5 * sign * width_m, &normal),
            flat,
            area_m2,
            cell,
            elements: side.clone(),
        });
    }
    out
}

/// Most levels that narrow places may go deeper than their body.
const DEEPEST: u8 = 8;
/// Cells that narrow places may add: as a share of all, or so many, whichever is more.
const MORE: f64 = 0.5;
const FREE: f64 = 40_000.0;
/// Leaves for each surface cell, at the very least.
const LEAST_LEAVES: f64 = 2.0;

/// Adds seeds for the narrow places of bodies that want cells across them, as deep as the budget goes;
/// gives the smallest cell, m, that each body got so.
pub fn refine<const D: usize>(
    scene: &Scene<'_, D>,
    root: &Root<D>,
    places: &[Narrow<D>],
    seeds: &mut Seeds,
    coarsest: u8,
    region: &Bounds<D>,
    most_cells: f64,
) -> Vec<Option<f64>> {
    let bodies = &scene.domain.bodies;
    let none = vec![None; bodies.len()];
    let wanted = |p: &Narrow<D>| {
        let size_m = p.width_m / (p.share * bodies[p.body].across);
        ((root.side_m / size_m).log2() - 1e-9).ceil()
    };
    let free: Vec<&Narrow<D>> = places
        .iter()
        .filter(|p| bodies[p.body].across > 0.0 && wanted(p) > f64::from(p.cell.level))
        .collect();
    if free.is_empty() {
        return none;
    }
    let across = free
        .iter()
        .map(|p| bodies[p.body].across)
        .fold(0.0, f64::max);
    let leaves = |seeds: &Seeds| Tree::count(root, seeds, coarsest, region) as f64;
    let before = leaves(seeds);
    // On a grid of cells twice as large everything is, or the two could not be compared.
    let more = (MORE * before).max(FREE * (across / ACROSS).powi(D as i32));
    let most = (before + more).min(most_cells);
    let needed = |p: &&Narrow<D>| wanted(p) as u8 - p.cell.level;
    let deepest = free.iter().map(needed).fold(0, u8::max);
    for deeper in (1..=deepest.min(DEEPEST)).rev() {
        let level = |p: &Narrow<D>| {
            let deepest = f64::from(MAX_LEVEL.min(p.cell.level + deeper));
            wanted(p).min(deepest) as u8
        };
        let cells = |p: &&Narrow<D>| p.flat / root.size_m(level(p)).powi(D as i32 - 1);
        if LEAST_LEAVES * free.iter().map(cells).sum::<f64>() > more {
            continue;
        }
        let mut tried = seeds.clone();
        for p in &free {
            let level = level(p);
            tried.resize(tried.len().max(usize::from(level) + 1), Vec::new());
            let keys = &mut tried[usize::from(level)];
            sow(scene, root, p.cell, &p.elements, level, keys);
        }
        tried.iter_mut().for_each(sort_unique);
        if leaves(&tried) > most {
            continue;
        }
        *seeds = tried;
        let mut smallest = none;
        for p in free {
            let size_m = root.size_m(level(p));
            let own = &mut smallest[p.body];
            *own = Some(own.map_or(size_m, |s: f64| s.min(size_m)));
        }
        return smallest;
    }
    none
}

/// Adds the cells of a level inside `cell` that elements reach.
fn sow<const D: usize>(
    scene: &Scene<'_, D>,
    root: &Root<D>,
    cell: Cell,
    elements: &[u32],
    level: u8,
    keys: &mut Vec<u64>,
) {
    if cell.level >= level {
        keys.push(cell.key);
        return;
    }
    for n in 0..1u64 << D {
        let child = Cell {
            key: cell.key << D | n,
            level: cell.level + 1,
        };
        let bounds = root.bounds(child);
        let reaching = |e: &u32| {
            let element = &scene.elements[*e as usize];
            meets(&element.corners, &element.normal, &bounds)
        };
        let inside: Vec<u32> = elements.iter().copied().filter(reaching).collect();
        if !inside.is_empty() {
            sow(scene, root, child, &inside, level, keys);
        }
    }
}

/// With fewer cells across, a place is told.
const TOLD_BELOW: f64 = 4.0;
/// Told if so much of all surface is concerned, as a share of the electrodes,
const WORTH_TELLING: f64 = 0.01;
/// or if the place is narrower than so many cells.
const LOST_BELOW: f64 = 1.0;

/// Tells of the places that are still narrow for their cells. `electrodes_m2` is all the surface of
/// the electrodes.
pub fn notes<const D: usize>(
    places: &[Narrow<D>],
    tree: &Tree<D>,
    electrodes_m2: f64,
) -> Vec<GridNote<D>> {
    let size_m = |x: &Point<D>| {
        let leaf = tree.locate(x)?;
        Some(tree.root.size_m(tree.leaves[leaf].level))
    };
    let mut out = Vec::new();
    for kind in [Kind::Gap, Kind::Wall] {
        let cells = |p: &Narrow<D>| {
            let largest = size_m(&p.point)?.max(size_m(&p.middle)?);
            Some(p.width_m / largest)
        };
        let own = places.iter().filter(|p| p.kind == kind);
        let few: Vec<(f64, &Narrow<D>)> = own
            .filter_map(|p| Some((cells(p)?, p)))
            .filter(|(cells, p)| *cells < TOLD_BELOW * p.share)
            .collect();
        let Some(&(cells, worst)) = few.iter().min_by(|a, b| a.0.total_cmp(&b.0)) else {
            continue;
        };
        let area_m2: f64 = few.iter().map(|(_, p)| p.area_m2).sum();
        if area_m2 < WORTH_TELLING * electrodes_m2 && cells >= LOST_BELOW {
            continue;
        }
        let (width_m, place) = (worst.width_m, worst.point);
        out.push(GridNote {
            kind: match kind {
                Kind::Gap => NoteKind::NarrowGap {
                    width_m,
                    area_m2,
                    cells,
                },
                Kind::Wall => NoteKind::ThinWall {
                    width_m,
                    area_m2,
                    cells,
                },
            },
            count: few.len(),
            place,
        });
    }
    out
}
