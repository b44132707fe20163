//! One cell cut by the scene: pieces of surface, crossings of its edges, facets.
//!
//! The elements that reach a cell are clipped to it. Where elements of several surfaces meet, each
//! is split along the planes of the others, so that every fragment lies wholly on one side of them,
//! and labelled by [`Scene::label`] at its centroid. What remains are *pieces*: the boundary of the
//! electrolyte inside the cell, exact up to the flatness of the elements; edges between surfaces
//! are the true intersections.

use super::fragment::{Fragment, Vertex, add_scaled, dot, norm, sub, unit};
use super::loops::Segment;
use super::scene::{Label, Role, Scene};
use super::{Space, facet::Facet, facet::FacetGroup};
use crate::solid::{Bounds, Point};

/// A labelled fragment; never [`Label::Inside`].
#[derive(Clone, Debug)]
pub struct Piece<const D: usize> {
    /// Its outline.
    pub fragment: Fragment<D>,
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

/// What one look at a cut cell gives.
#[derive(Clone, Debug)]
pub struct CellCut<const D: usize> {
    /// Crossings, sorted by edge and position.
    pub crossings: Vec<Crossing>,
    /// For each face (3-D) the contour integrals along its wall segments that give the open area
    /// and its first moments: `u dv`, `u^2 dv / 2`, `-v^2 du / 2`.
    pub contour: [[f64; 3]; 6],
    /// Is a sheet in it?
    pub sheet: bool,
    /// Facets of electrodes in it.
    pub facets: Vec<Facet<D>>,
    /// Electrode pairs seen to touch, with the place.
    pub touches: Vec<(u16, u16, Point<D>)>,
}

/// Edges of a cell: axis `k` runs along it, `high` tells for the other axes (in cyclic order after
/// `k`) whether it lies on the high side. In 2-D the edges are the faces.
pub fn edge_number(k: usize, high: [bool; 2]) -> u8 {
    (4 * k + usize::from(high[0]) + 2 * usize::from(high[1])) as u8
}

/// The two axes of a face across axis `k` in right-handed order.
pub fn face_axes(k: usize) -> [usize; 2] {
    [(k + 1) % 3, (k + 2) % 3]
}

/// The boundary pieces of a cell.
pub fn pieces<const D: usize>(
    scene: &Scene<'_, D>,
    cell: &Bounds<D>,
    elements: &[u32],
    touches: &mut Vec<(u16, u16, Point<D>)>,
) -> Vec<Piece<D>> {
    let mut surfaces: Vec<u32> = elements
        .iter()
        .map(|&e| scene.elements[e as usize].surface)
        .collect();
    surfaces.sort_unstable();
    surfaces.dedup();
    let clipped: Vec<(u32, Fragment<D>)> = elements
        .iter()
        .filter_map(|&e| {
            let whole = Fragment::simplex(&scene.elements[e as usize].corners);
            Some((e, whole.clipped(cell)?))
        })
        .collect();
    let size = cell.high[0] - cell.low[0];
    let mut out = Vec::with_capacity(clipped.len());
    let mut only: Option<Label> = None;
    for (e, fragment) in &clipped {
        let element = &scene.elements[*e as usize];
        if scene.surfaces[element.surface as usize].role == Role::StopOff {
            continue;
        }
        let mut keep = |fragment: Fragment<D>, label: Label| {
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
                label,
                normal,
                element: *e,
            });
        };
        if surfaces.len() == 1 {
            let label =
                *only.get_or_insert_with(|| scene.label(element, &fragment.measure().1, &[]));
            keep(fragment.clone(), label);
            continue;
        }
        for part in split_by_others(scene, *e, fragment, &clipped, 1e-7 * size) {
            let label = scene.label(element, &part.measure().1, &surfaces);
            keep(part, label);
        }
    }
    out
}

/// Splits a fragment along the planes of the elements of other surfaces that reach it.
fn split_by_others<const D: usize>(
    scene: &Scene<'_, D>,
    e: u32,
    fragment: &Fragment<D>,
    clipped: &[(u32, Fragment<D>)],
    tolerance_m: f64,
) -> Vec<Fragment<D>> {
    let surface = scene.elements[e as usize].surface;
    let mut parts = vec![fragment.clone()];
    for (other, shape) in clipped {
        let cutter = &scene.elements[*other as usize];
        if cutter.surface == surface {
            continue;
        }
        let reach = shape.bounds().grown(tolerance_m);
        parts = parts
            .into_iter()
            .flat_map(|part| {
                if !reach.overlaps(&part.bounds()) {
                    return vec![part];
                }
                match part.split(&cutter.normal, &cutter.corners[0], tolerance_m) {
                    Some((a, b)) => vec![a, b],
                    None => vec![part],
                }
            })
            .collect();
    }
    parts
}

impl<const D: usize> Piece<D> {
    /// Wall segments on face `face` (3-D), or of the cell itself (2-D, `face` ignored), in the
    /// coordinates of the rectangle with low corner `low`.
    pub fn segments(&self, face: u8, cell: &Bounds<D>) -> Vec<Segment> {
        let (axes, ends): ([usize; 2], Vec<(Vertex<D>, Vertex<D>)>) = if D == 2 {
            (
                [0, 1],
                vec![(self.fragment.vertices[0], self.fragment.vertices[1])],
            )
        } else {
            let k = usize::from(face) / 2;
            let on_face = self.fragment.face_edges().filter(|e| e.0 == face);
            (face_axes(k), on_face.map(|(_, a, b)| (a, b)).collect())
        };
        let [u, v] = axes;
        let others = if D == 2 {
            0b1111
        } else {
            !(0b11 << (face & !1))
        };
        ends.into_iter()
            .flat_map(|(a, b)| {
                let flat = |p: &Vertex<D>| [p.at[u] - cell.low[u], p.at[v] - cell.low[v]];
                let s = Segment {
                    from: flat(&a),
                    to: flat(&b),
                    rim: [a.on & others != 0, b.on & others != 0],
                };
                let along =
                    (s.to[0] - s.from[0]) * self.normal[v] - (s.to[1] - s.from[1]) * self.normal[u];
                let s = if along < 0.0 { s.reversed() } else { s };
                match self.label {
                    Label::Sheet(_) => vec![s, s.reversed()],
                    _ => vec![s],
                }
            })
            .collect()
    }

    /// Crossings of cell edges.
    fn crossings(&self, out: &mut Vec<Crossing>) {
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
            let wet = if matches!(self.label, Label::Sheet(_)) {
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

/// Looks at one cell.
pub fn cut<const D: usize>(scene: &Scene<'_, D>, cell: &Bounds<D>, elements: &[u32]) -> CellCut<D> {
    let mut touches = Vec::new();
    let pieces = pieces(scene, cell, elements, &mut touches);
    let mut crossings = Vec::new();
    let mut contour = [[0.0; 3]; 6];
    for piece in &pieces {
        piece.crossings(&mut crossings);
        if D == 3 {
            for face in 0..6 {
                if piece
                    .fragment
                    .vertices
                    .iter()
                    .any(|v| v.on >> face & 1 == 1)
                {
                    for s in piece.segments(face, cell) {
                        for (sum, part) in contour[usize::from(face)].iter_mut().zip(s.contour()) {
                            *sum += part;
                        }
                    }
                }
            }
        }
    }
    crossings.sort_by(|a, b| a.edge.cmp(&b.edge).then(a.at_m.total_cmp(&b.at_m)));
    let sheet = pieces.iter().any(|p| matches!(p.label, Label::Sheet(_)));
    let facets = facets(scene, &pieces, |_| 0);
    CellCut {
        crossings,
        contour,
        sheet,
        facets,
        touches,
    }
}

/// Cosine between the normals of pieces that may share a facet.
const SAME_SIDE: f64 = 0.77;

/// Surface per flat measure: the depth of a planar job, the way around the axis.
pub fn weight<const D: usize>(space: Space, at: &Point<D>) -> f64 {
    match space {
        Space::Axisymmetric => 2.0 * std::f64::consts::PI * at[0].max(0.0),
        Space::Planar { depth_m } => depth_m,
        Space::Tank => 1.0,
    }
}

/// Joins the pieces of each electrode side into facets; `part_of` tells which separate part of
/// the electrolyte a piece borders.
pub fn facets<const D: usize>(
    scene: &Scene<'_, D>,
    pieces: &[Piece<D>],
    part_of: impl Fn(&Piece<D>) -> u8,
) -> Vec<Facet<D>> {
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
        let (flat, centroid) = piece.fragment.measure();
        let area = flat * f64::from(element.area_factor) * weight(scene.domain.space, &centroid);
        let part = part_of(piece);
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
            let (_, centre) = piece.fragment.measure();
            let apart = sub(&centre, &mean);
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
