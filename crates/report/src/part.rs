//! `part-NAME.vtp`: thickness and current density on the shape of one electrode as it was drawn.
//!
//! A triangle mesh or relief keeps its own vertices (in front, in their order); other shapes are
//! broken up moderately finely. Elements much larger than the grid's cells are split. Each vertex
//! takes the mean of the facets near it ([`ionfall_deposit::mapping`]); places without any within
//! one and a half cells, dry or stopped off, are not numbers.

use crate::refine::refine;
use crate::trim::trim;
use crate::values::names;
use crate::vtk::{Kind, VtkMesh};
use ionfall_deposit::Outcome;
use ionfall_deposit::mapping::FacetIndex;
use ionfall_mesh::grid::{Domain, Space};
use ionfall_mesh::solid::{Bounds, Fineness, Members, Point, Primitive, Solid, Soup};
use ionfall_model::Electrode;
use rayon::prelude::*;
use std::collections::HashMap;

/// Longest edge over the cell size asked at the body.
const EDGE_CELLS: f64 = 2.0;
/// Reach of the mapping over the cell size: the facet of the vertex's own cell is never farther.
const REACH_CELLS: f64 = 1.5;
/// Distance of flat elements from curved surfaces over the cell size.
const SAGITTA_CELLS: f64 = 0.1;
/// Letters of a body's name that its file keeps: at most four bytes each, file systems take 255.
const LONGEST_NAME: usize = 48;
/// Elements of a part, about, at most.
const MOST_ELEMENTS: f64 = 5e5;

/// A body as it was drawn: only what bounds it.
#[derive(Debug)]
pub(crate) struct Drawn<const D: usize> {
    /// Vertices, m.
    pub vertices: Vec<Point<D>>,
    /// Unit normals out of the body.
    pub normals: Vec<Point<D>>,
    /// Elements, turned so that their normal leaves the body.
    pub elements: Vec<[u32; D]>,
    /// Smooth patch of each element: primitive and patch of it.
    pub patches: Vec<[usize; 2]>,
}

/// Draws a body with elements of about two cells; `within` bounds what has no bounds.
pub(crate) fn drawn<const D: usize>(
    solid: &Solid<D>,
    space: Space,
    cell_m: f64,
    within: &Bounds<D>,
) -> Drawn<D> {
    let mut drawn = Drawn {
        vertices: Vec::new(),
        normals: Vec::new(),
        elements: Vec::new(),
        patches: Vec::new(),
    };
    let members = Members::new(solid);
    for (p, primitive) in solid.primitives().iter().enumerate() {
        let mut soup = fine_soup(primitive.as_ref(), cell_m, *within);
        let side_at = |soup: &Soup<D>, element: usize, x: &Point<D>| {
            side(
                &members,
                primitive.as_ref(),
                soup,
                element,
                x,
                space,
                within,
            )
        };
        trim(&mut soup, |soup, e, x| side_at(soup, e, x) != 0.0);
        let outward = vertex_normals(&soup);
        let mut numbers: HashMap<u32, u32> = HashMap::new();
        for (e, element) in soup.elements.iter().enumerate() {
            let side = side_at(&soup, e, &middle(&soup, e));
            if side == 0.0 {
                continue;
            }
            let mut corners = element.map(|v| {
                *numbers.entry(v).or_insert_with(|| {
                    drawn.vertices.push(soup.vertices[v as usize]);
                    drawn.normals.push(outward[v as usize].map(|c| side * c));
                    (drawn.vertices.len() - 1) as u32
                })
            });
            if side < 0.0 {
                corners.reverse();
            }
            drawn.elements.push(corners);
            drawn.patches.push([p, usize::from(soup.patch[e])]);
        }
    }
    drawn
}

impl<const D: usize> Drawn<D> {
    /// Values of facets at the vertices of an electrode; not a number where nothing is plated.
    pub fn mapped(&self, index: &FacetIndex<D>, values: &[f64]) -> Vec<f64> {
        let places = self.vertices.par_iter().zip(&self.normals);
        places
            .map(|(x, n)| index.at(x, n, |f| values[f]).unwrap_or(f64::NAN))
            .collect()
    }
}

/// The facets of an electrode, for mapping onto its drawn shape.
pub(crate) fn facet_index<const D: usize>(
    domain: &Domain<D>,
    electrode: &Electrode,
    outcome: &Outcome<D>,
) -> FacetIndex<D> {
    let reach_m = REACH_CELLS * domain.bodies[electrode.body].finest_m;
    FacetIndex::new(&outcome.grid.facets, electrode.body, reach_m)
}

/// The drawn surface of an electrode with its values.
pub(crate) fn part<const D: usize>(
    domain: &Domain<D>,
    electrode: &Electrode,
    outcome: &Outcome<D>,
) -> VtkMesh {
    let body = &domain.bodies[electrode.body];
    let within = domain.tank.bounds().grown(body.finest_m);
    let drawn = drawn(&body.solid, domain.space, body.finest_m, &within);
    let index = facet_index(domain, electrode, outcome);
    let mut mesh = VtkMesh::new(Kind::Surface, D);
    for vertex in &drawn.vertices {
        mesh.point(vertex);
    }
    for element in &drawn.elements {
        mesh.cell(element.iter().map(|&v| u64::from(v)));
    }
    if !outcome.thickness_m.is_empty() {
        mesh.point_array(names::THICKNESS, drawn.mapped(&index, &outcome.thickness_m));
    }
    let own = outcome.body(&electrode.name);
    if own.is_some_and(|b| b.coat_drop_v.is_some()) && !outcome.covered_s.is_empty() {
        mesh.point_array(names::COVERED, drawn.mapped(&index, &outcome.covered_s));
    }
    let currents = &outcome.solution.current_density_a_per_m2;
    mesh.point_array(names::CURRENT_DENSITY, drawn.mapped(&index, currents));
    mesh
}

fn fine_soup<const D: usize>(
    primitive: &dyn Primitive<D>,
    cell_m: f64,
    within: Bounds<D>,
) -> Soup<D> {
    let mut soup = primitive.tessellate(&Fineness {
        sagitta_m: SAGITTA_CELLS * cell_m,
        within,
    });
    // Of a far-reaching element not more is drawn than fits into the region.
    let size = |k: usize| within.high[k] - within.low[k];
    let most: f64 = (0..D).map(size).sum::<f64>().powi(D as i32 - 1);
    let area: f64 = (0..soup.elements.len())
        .map(|e| soup.area(e).min(most))
        .sum();
    let least_m = (area / MOST_ELEMENTS).powf(1.0 / (D as f64 - 1.0));
    let longest_m = (EDGE_CELLS * cell_m).max(least_m);
    refine(&mut soup, longest_m, &within, primitive);
    soup
}

/// Unit normals at the vertices: means over the elements there, by area.
fn vertex_normals<const D: usize>(soup: &Soup<D>) -> Vec<Point<D>> {
    let mut sums = vec![[0.0; D]; soup.vertices.len()];
    for (e, element) in soup.elements.iter().enumerate() {
        let area = soup.area_vector(e);
        for &v in element {
            for k in 0..D {
                sums[v as usize][k] += area[k];
            }
        }
    }
    for sum in &mut sums {
        let length = sum.iter().map(|c| c * c).sum::<f64>().sqrt();
        if length > 0.0 {
            *sum = sum.map(|c| c / length);
        }
    }
    sums
}

fn middle<const D: usize>(soup: &Soup<D>, element: usize) -> Point<D> {
    let corners = soup.corners(element);
    std::array::from_fn(|k| corners.iter().map(|c| c[k]).sum::<f64>() / D as f64)
}

/// 1 if the body ends at a point of the element on the side of its normal, -1 on the other, 0 if it
/// does not end there or the point is outside the space of the job.
fn side<const D: usize>(
    solid: &Members<D>,
    primitive: &dyn Primitive<D>,
    soup: &Soup<D>,
    element: usize,
    x: &Point<D>,
    space: Space,
    within: &Bounds<D>,
) -> f64 {
    if space == Space::Axisymmetric && x[0] <= 0.0 {
        return 0.0;
    }
    if solid.is_single() {
        return 1.0;
    }
    let on = primitive.project(soup.patch[element], x, &soup.area_vector(element));
    let length = on
        .normal
        .iter()
        .map(|c| c * c)
        .sum::<f64>()
        .sqrt()
        .max(f64::MIN_POSITIVE);
    let extent = (0..D)
        .map(|k| within.high[k] - within.low[k])
        .fold(0.0, f64::max);
    let probe = |sign: f64| {
        let step = sign * 1e-6 * extent / length;
        solid.contains(&std::array::from_fn(|k| on.point[k] + step * on.normal[k]))
    };
    match (probe(-1.0), probe(1.0)) {
        (true, false) => 1.0,
        (false, true) => -1.0,
        _ => 0.0,
    }
}

/// The file name for a body: what file systems may dislike becomes a dash, and what is longer than
/// they take is cut. `taken` are the names given so far; some systems tell capitals from small
/// letters and some do not.
pub(crate) fn file_name(body: &str, taken: &[String]) -> String {
    let plain: String = body
        .chars()
        .map(|c| {
            if c.is_alphanumeric() || c == '_' {
                c
            } else {
                '-'
            }
        })
        .take(LONGEST_NAME)
        .collect();
    let is_taken = |name: &String| (taken.iter()).any(|t| t.to_lowercase() == name.to_lowercase());
    let mut name = format!("part-{plain}.vtp");
    let mut n = 2;
    while is_taken(&name) {
        name = format!("part-{plain}-{n}.vtp");
        n += 1;
    }
    name
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{Case, axisymmetric, cells, point_values, points, reread, tank};

    fn written<const D: usize>(case: &Case<D>, name: &str) -> (Vec<[f64; 3]>, Vec<f64>, usize) {
        let electrode = case
            .model
            .geometry
            .electrodes
            .iter()
            .find(|e| e.name == name)
            .unwrap();
        let file = reread(
            &part(&case.model.geometry.domain, electrode, &case.outcome)
                .render()
                .unwrap(),
        );
        (
            points(&file),
            point_values(&file, names::THICKNESS),
            cells(&file).len(),
        )
    }

    /// The plate stands in the liquid with its top out of it, and its back is stopped off.
    #[test]
    fn wet_bare_places_have_a_thickness_and_others_none() {
        let case = tank();
        let (points, thickness, cells) = written(&case, "plate");
        assert!(cells > 100, "large sides are split: {cells}");
        let of_plate = case.outcome.body("plate").unwrap();
        let spread = of_plate.thickness_m.unwrap();
        let mut wet = 0;
        for (x, t) in points.iter().zip(&thickness) {
            if x[2] > 0.045 || x[0] > 0.0485 {
                assert!(t.is_nan(), "{x:?} is dry or stopped off but has {t}");
            } else if x[0] < 0.0401 && x[2] < 0.035 {
                assert!((spread.min..=spread.max).contains(t), "{x:?}: {t}");
                wet += 1;
            }
        }
        assert!(wet > 20, "{wet}");
    }

    /// A ball on a stem about the axis: no element inside of the union or beyond the axis.
    #[test]
    fn only_the_outside_of_a_union_is_drawn() {
        let (points, thickness, cells) = written(&axisymmetric(), "ball");
        assert!(cells > 10);
        assert_eq!(points.len(), thickness.len());
        for x in &points {
            assert!(x[0] > -1e-3, "{x:?}");
            let in_ball = (x[0].powi(2) + (x[1] - 0.02).powi(2)).sqrt() < 0.0079;
            assert!(!in_ball || x[0] > 0.0019, "{x:?} is inside");
        }
        assert!(thickness.iter().any(|t| t.is_finite() && *t > 0.0));
    }

    #[test]
    fn file_names_are_plain_and_differ() {
        let mut taken = Vec::new();
        for (body, name) in [
            ("anode 1", "part-anode-1.vtp"),
            ("anode/1", "part-anode-1-2.vtp"),
            ("../x", "part----x.vtp"),
            ("M\u{fc}nze", "part-M\u{fc}nze.vtp"),
            // One file where capitals and small letters are the same.
            ("Anode 1", "part-Anode-1-3.vtp"),
        ] {
            let made = file_name(body, &taken);
            assert_eq!(made, name);
            taken.push(made);
        }
        let long = file_name(&"\u{1f6c1}m\u{fc}".repeat(100), &taken);
        assert!(long.len() <= 255, "{long}");
    }
}
