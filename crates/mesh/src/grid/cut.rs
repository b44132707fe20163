//! One cell cut by the scene: pieces of surface, crossings of its edges, facets.
//!
//! The elements that reach a cell are clipped to it. Where elements of several surfaces meet, each
//! is split along the planes of those that cross it (`crossed.rs`), so that every fragment
//! lies wholly on one side of them, and labelled by [`Scene::label`] at its centroid. What remains are *pieces*: the boundary of the
//! electrolyte inside the cell, exact up to the flatness of the elements; edges between surfaces
//! are the true intersections.

use super::beyond::drop_doubled;
use super::crossed::Crowd;
use super::domain::Space;
use super::fragment::Fragment;
use super::piece::{Crossings, Piece};
use super::raster::Lists;
use super::scene::{Label, Role, SAME_SIDE, Scene};
use super::tree::{Cell, Root, decode};
use super::{facet::Facet, facet::FacetGroup};
use crate::solid::{Bounds, Point};
use ionfall_numerics::vector::{add_scaled, dot, norm, sub, unit};
use rayon::prelude::*;
use smallvec::SmallVec;

/// Facets of a cell.
pub type Facets<const D: usize> = SmallVec<[Facet<D>; 1]>;

/// What one look at a cut cell gives.
#[derive(Clone, Debug)]
pub struct CellCut<const D: usize> {
    /// Crossings, sorted by edge and position.
    pub crossings: Crossings,
    /// For each face (3-D) the contour integrals along its wall segments that give the open area
    /// and its first moments: `u dv`, `u^2 dv / 2`, `-v^2 du / 2`.
    pub contour: [[f64; 3]; 6],
    /// Is a sheet in it, or what lies beyond one?
    pub sheet: bool,
    /// Facets of electrodes in it.
    pub facets: Facets<D>,
    /// Electrode pairs seen to touch, with the place.
    pub touches: Vec<(u16, u16, Point<D>)>,
    /// What all pieces are, if the cell holds a single surface.
    label: Option<Label>,
    /// The pieces of a crowded cell, which are not to be found twice.
    pub kept: Option<Vec<Piece<D>>>,
}

/// The boundary pieces of a cell. `hint` is the label of all pieces if the cell holds a single
/// surface and the label is known already.
pub fn pieces<const D: usize>(
    scene: &Scene<'_, D>,
    cell: &Bounds<D>,
    elements: &[u32],
    hint: Option<Label>,
    touches: &mut Vec<(u16, u16, Point<D>)>,
) -> Vec<Piece<D>> {
    // Elements are ascending, and so are their surfaces.
    let mut surfaces: SmallVec<[u32; 8]> = SmallVec::new();
    surfaces.extend(elements.iter().map(|&e| scene.elements[e as usize].surface));
    surfaces.dedup();
    if surfaces.len() > 1 && scene.is_outside(cell, elements) {
        return Vec::new();
    }
    let clipped = |e: u32| {
        Fragment::simplex(&scene.elements[e as usize].corners)
            .clipped(cell)
            .map(|f| (e, f))
    };
    let mut out = Vec::with_capacity(elements.len());
    let mut keep = |e: u32, fragment: Fragment<D>, (flat, centroid), label: Label| {
        let element = &scene.elements[e as usize];
        let normal = match label {
            Label::Inside => return,
            Label::Touch(a, b) => {
                touches.push((a, b, fragment.vertices[0].at));
                return;
            }
            Label::Wall { up: false, .. } => element.normal.map(|x| -x),
            _ => element.normal,
        };
        out.push(Piece {
            fragment,
            flat,
            centroid,
            label,
            normal,
            element: e,
        });
    };
    let stops = |e: u32| {
        let surface = scene.elements[e as usize].surface as usize;
        scene.surfaces[surface].role == Role::StopOff
    };
    if surfaces.len() == 1 {
        if stops(elements[0]) {
            return out;
        }
        let mut only = hint;
        for (e, fragment) in elements.iter().filter_map(|&e| clipped(e)) {
            let measure = fragment.measure();
            let element = &scene.elements[e as usize];
            let label = *only.get_or_insert_with(|| scene.label(element, &measure.1, &[]));
            keep(e, fragment, measure, label);
        }
        return out;
    }
    let size = cell.high[0] - cell.low[0];
    let clipped: Vec<(u32, Fragment<D>)> = elements.iter().filter_map(|&e| clipped(e)).collect();
    let crowd = Crowd::new(scene, &surfaces, &clipped, 1e-7 * size);
    for (n, (e, _)) in clipped.iter().enumerate() {
        if stops(*e) {
            continue;
        }
        let element = &scene.elements[*e as usize];
        for part in crowd.parts(n) {
            let measure = part.measure();
            let label = scene.label(element, &measure.1, &surfaces);
            keep(*e, part, measure, label);
        }
    }
    drop_doubled(scene, &mut out, size);
    out
}

/// Cells looked at one after the other.
const RUN: usize = 64;

/// Elements from which a cell counts as crowded.
const CROWDED: usize = 200;

/// Cells looked back at for a label.
const MEMORY: usize = 16;

/// Looks at all cut cells.
///
/// Labels cost more than anything else here. A flat element in the union of two equal cells that
/// share a face is in one piece, so if both cells hold nothing but one and the same surface, both
/// have the same label: it is taken over from a neighbour among the cells just seen.
pub fn cut_all<const D: usize>(
    scene: &Scene<'_, D>,
    root: &Root<D>,
    cells: &[Cell],
    lists: &Lists<u32>,
) -> Vec<CellCut<D>> {
    let runs = cells.par_chunks(RUN).enumerate().map(|(run, cells)| {
        let list = |n: usize| lists.list(RUN * run + n);
        let mut out: Vec<CellCut<D>> = Vec::with_capacity(cells.len());
        for (n, &cell) in cells.iter().enumerate() {
            let known = (n.saturating_sub(MEMORY)..n).rev().find_map(|m| {
                let label = out[m].label?;
                (are_neighbours::<D>(cells[m], cell) && one_surface(scene, list(m), list(n)))
                    .then_some(label)
            });
            out.push(cut(scene, &root.bounds(cell), list(n), known));
        }
        out
    });
    runs.collect::<Vec<_>>().into_iter().flatten().collect()
}

/// Equal cells with a common face?
fn are_neighbours<const D: usize>(a: Cell, b: Cell) -> bool {
    let (x, y) = (decode::<D>(a.key), decode::<D>(b.key));
    a.level == b.level && (0..D).map(|k| x[k].abs_diff(y[k])).sum::<u32>() == 1
}

/// Do both (ascending) lists hold elements of one surface only, and one element in common?
fn one_surface<const D: usize>(scene: &Scene<'_, D>, a: &[u32], b: &[u32]) -> bool {
    let surface = |e: &u32| scene.elements[*e as usize].surface;
    let first = surface(&a[0]);
    b.iter().all(|e| surface(e) == first) && b.iter().any(|e| a.binary_search(e).is_ok())
}

/// Looks at one cell; `hint`: see [`pieces`].
fn cut<const D: usize>(
    scene: &Scene<'_, D>,
    cell: &Bounds<D>,
    elements: &[u32],
    hint: Option<Label>,
) -> CellCut<D> {
    let mut touches = Vec::new();
    let pieces = pieces(scene, cell, elements, hint, &mut touches);
    let mut crossings = Crossings::new();
    let mut contour = [[0.0; 3]; 6];
    for piece in &pieces {
        piece.crossings(&mut crossings);
        if D == 3 {
            for face in 0..6 {
                piece.each_segment(face, cell, |s| {
                    for (sum, part) in contour[usize::from(face)].iter_mut().zip(s.contour()) {
                        *sum += part;
                    }
                });
            }
        }
    }
    crossings.sort_by(|a, b| a.edge.cmp(&b.edge).then(a.at_m.total_cmp(&b.at_m)));
    let sheet = pieces.iter().any(|p| p.label.sheet().is_some());
    let facets = facets(scene, &pieces, |_| 0);
    let surface = |e: &u32| scene.elements[*e as usize].surface;
    let single = elements.iter().all(|e| surface(e) == surface(&elements[0]));
    CellCut {
        crossings,
        contour,
        sheet,
        facets,
        touches,
        label: pieces.first().filter(|_| single).map(|p| p.label),
        kept: (!single && elements.len() > CROWDED).then_some(pieces),
    }
}

/// Surface per flat measure: the depth of a planar job, the way around the axis.
pub fn weight<const D: usize>(space: Space, at: &Point<D>) -> f64 {
    match space {
        Space::Axisymmetric => 2.0 * std::f64::consts::PI * at[0].max(0.0),
        Space::Planar { depth_m } => depth_m,
        Space::Tank => 1.0,
    }
}

/// Joins the pieces of each electrode side into facets; `part_of` tells which separate part of
/// the electrolyte a piece (by number) borders.
pub fn facets<const D: usize>(
    scene: &Scene<'_, D>,
    pieces: &[Piece<D>],
    part_of: impl Fn(usize) -> u8,
) -> Facets<D> {
    let mut groups: Vec<FacetGroup<D>> = Vec::new();
    for (number, piece) in pieces.iter().enumerate() {
        let Label::Wall {
            electrode: Some(body),
            ..
        } = piece.label
        else {
            continue;
        };
        let element = &scene.elements[piece.element as usize];
        let centroid = piece.centroid;
        let area =
            piece.flat * f64::from(element.area_factor) * weight(scene.domain.space, &centroid);
        let part = part_of(number);
        let group = groups.iter_mut().find(|g| {
            g.body == body
                && g.part == part
                && g.surface == element.surface
                && g.patch == element.patch
                && dot(&unit(&g.area_vector), &piece.normal) > SAME_SIDE
        });
        let group = match group {
            Some(g) => g,
            None => {
                groups.push(FacetGroup::new(body, part, element.surface, element.patch));
                let last = groups.len() - 1;
                &mut groups[last]
            }
        };
        group.area_m2 += area;
        group.area_vector = add_scaled(&group.area_vector, area, &piece.normal);
        group.moment = add_scaled(&group.moment, area, &centroid);
        group.pieces.push(number);
    }
    groups
        .into_iter()
        .filter(|g| g.area_m2 > 0.0)
        .map(|g| settle(scene, pieces, g))
        .collect()
}

/// Puts the facet's point on the true surface and takes the true normal there.
fn settle<const D: usize>(
    scene: &Scene<'_, D>,
    pieces: &[Piece<D>],
    group: FacetGroup<D>,
) -> Facet<D> {
    let mean = group.moment.map(|m| m / group.area_m2);
    let facing = unit(&group.area_vector);
    // Onto the nearest element plane along the mean normal.
    let point = group
        .pieces
        .iter()
        .map(|&p| {
            let piece = &pieces[p];
            let apart = sub(&piece.centroid, &mean);
            let height = dot(&apart, &piece.normal) / dot(&facing, &piece.normal).max(0.1);
            let aside = norm(&add_scaled(&apart, -dot(&apart, &facing), &facing));
            (aside, add_scaled(&mean, height, &facing))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(mean, |(_, p)| p);
    let (mut at, mut normal) = (point, facing);
    if let Some(primitive) = &scene.surfaces[group.surface as usize].primitive {
        let out_of_primitive = if dot(
            &scene.elements[pieces[group.pieces[0]].element as usize].normal,
            &pieces[group.pieces[0]].normal,
        ) > 0.0
        {
            1.0
        } else {
            -1.0
        };
        let s = primitive.project(group.patch, &point, &facing.map(|x| x * out_of_primitive));
        at = s.point;
        normal = s.normal.map(|x| x * out_of_primitive);
    }
    let outline = group
        .pieces
        .iter()
        .map(|&p| {
            let piece = &pieces[p];
            let mut corners: Vec<Point<D>> = piece.fragment.vertices.iter().map(|v| v.at).collect();
            if dot(
                &scene.elements[piece.element as usize].normal,
                &piece.normal,
            ) < 0.0
            {
                corners.reverse();
            }
            corners
        })
        .collect();
    Facet {
        body: group.body,
        part: group.part,
        point: at,
        normal,
        area_m2: group.area_m2,
        outline,
    }
}
