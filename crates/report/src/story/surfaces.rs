//! The cathodes as triangles with values: their drawn shape, each corner with the mean of the
//! computed facets near it, thinned to what a page can carry.

use super::data::{Packed, Surface};
use super::lift::Lift;
use super::quantities::Field;
use super::thin::{Cloth, thinned};
use crate::part::{Drawn, drawn, facet_index};
use ionfall_deposit::Outcome;
use ionfall_mesh::solid::Point;
use ionfall_model::{Electrode, Parts};

/// Corners of all surfaces together, about, at most.
const MOST_CORNERS: usize = 32_000;

/// A cathode as drawn, with the values of each field at its vertices.
#[derive(Debug)]
pub(super) struct Shape<'a, const D: usize> {
    pub electrode: &'a Electrode,
    pub drawn: Drawn<D>,
    pub values: Vec<Vec<f64>>,
}

/// Draws the cathodes.
pub(super) fn shapes<'a, const D: usize>(
    parts: &'a Parts<D>,
    outcome: &Outcome<D>,
    fields: &[Field],
) -> Vec<Shape<'a, D>> {
    let domain = &parts.domain;
    let cathodes = parts.electrodes.iter().filter(|e| e.role.is_cathode());
    cathodes
        .map(|electrode| {
            let body = &domain.bodies[electrode.body];
            let within = domain.tank.bounds().grown(body.finest_m);
            let drawn = drawn(&body.solid, domain.space, body.finest_m, &within);
            let index = facet_index(domain, electrode, outcome);
            let values = fields
                .iter()
                .map(|f| drawn.mapped(&index, &f.values))
                .collect();
            Shape {
                electrode,
                drawn,
                values,
            }
        })
        .collect()
}

/// The shapes lifted into space and thinned.
pub(super) fn surfaces<const D: usize>(
    shapes: &[Shape<'_, D>],
    lift: Lift,
    finest_m: f64,
) -> Vec<Surface> {
    let all: usize = shapes.iter().map(|s| s.drawn.vertices.len()).sum();
    let shares = shapes
        .iter()
        .map(|s| s.drawn.vertices.len() as f64 / all as f64);
    shapes
        .iter()
        .zip(shares)
        .map(|(shape, share)| {
            let most = (share * MOST_CORNERS as f64).ceil() as usize;
            let cloth = thinned(lifted(shape, lift), most.max(100), 400.0 * finest_m);
            Surface {
                name: shape.electrode.name.clone(),
                role: shape.electrode.role,
                points: Packed(flat(&cloth.points)),
                triangles: Packed(cloth.triangles.into_iter().flatten().collect()),
                values: cloth
                    .values
                    .iter()
                    .map(|v| Packed(v.iter().map(|&x| x as f32).collect()))
                    .collect(),
            }
        })
        .collect()
}

impl Cloth {
    /// The surface of a body in space, without values.
    pub(super) fn lifted<const D: usize>(drawn: &Drawn<D>, lift: Lift) -> Self {
        let every = |of: &[Point<D>]| -> Vec<[f64; 3]> {
            (0..lift.layers())
                .flat_map(|layer| of.iter().map(move |x| lift.point(x, layer)))
                .collect()
        };
        let count = drawn.vertices.len();
        Self {
            points: every(&drawn.vertices),
            normals: every(&drawn.normals),
            triangles: (drawn.elements.iter())
                .flat_map(|e| lift.triangles(e, count))
                .collect(),
            values: Vec::new(),
        }
    }
}

fn lifted<const D: usize>(shape: &Shape<'_, D>, lift: Lift) -> Cloth {
    let layers = lift.layers();
    Cloth {
        values: shape.values.iter().map(|v| v.repeat(layers)).collect(),
        ..Cloth::lifted(&shape.drawn, lift)
    }
}

/// Coordinates after each other.
pub(super) fn flat(points: &[[f64; 3]]) -> Vec<f32> {
    points.iter().flatten().map(|&x| x as f32).collect()
}
