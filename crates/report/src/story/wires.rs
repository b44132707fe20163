//! Tank, anodes, shields and sheets as the lines along which their sides meet.

use super::data::{Packed, Wire};
use super::kind::Kind;
use super::lift::Lift;
use super::surfaces::flat;
use crate::part::{Drawn, drawn};
use ionfall_mesh::grid::Domain;
use ionfall_mesh::solid::{Bounds, Point, Solid, Soup};
use ionfall_model::Parts;
use std::collections::BTreeMap;

/// Sides of the elements over the longest side of the tank, about.
const FINENESS: f64 = 0.03;

/// A body that is not plated: name, role, and its surface.
#[derive(Debug)]
pub(super) struct Frame<const D: usize> {
    pub name: String,
    pub role: Kind,
    pub drawn: Drawn<D>,
}

/// Draws a solid as finely as the tank is looked at.
pub(super) fn shape<const D: usize>(domain: &Domain<D>, solid: &Solid<D>) -> Drawn<D> {
    let within = domain.tank.bounds();
    let sides = (0..D).map(|k| within.high[k] - within.low[k]);
    let cell_m = FINENESS * sides.fold(0.0, f64::max);
    drawn(solid, domain.space, cell_m, &within)
}

/// Everything but the cathodes: the tank first.
pub(super) fn frames<const D: usize>(parts: &Parts<D>) -> Vec<Frame<D>> {
    let domain = &parts.domain;
    let mut frames = vec![Frame {
        name: "tank".into(),
        role: Kind::Tank,
        drawn: shape(domain, &domain.tank),
    }];
    for (number, body) in domain.bodies.iter().enumerate() {
        let electrode = parts.electrodes.iter().find(|e| e.body == number);
        if electrode.is_some_and(|e| e.role.is_cathode()) {
            continue;
        }
        frames.push(Frame {
            name: body.name.clone(),
            role: electrode.map_or(Kind::Shield, |e| Kind::Electrode(e.role)),
            drawn: shape(domain, &body.solid),
        });
    }
    for contact in &parts.contacts {
        frames.push(Frame {
            name: contact.name.clone(),
            role: Kind::Contact,
            drawn: shape(domain, &contact.region),
        });
    }
    for sheet in &domain.sheets {
        frames.push(Frame {
            name: sheet.name.clone(),
            role: Kind::Shield,
            drawn: of_soup(&sheet.sheet.soup),
        });
    }
    frames
}

fn of_soup<const D: usize>(soup: &Soup<D>) -> Drawn<D> {
    Drawn {
        vertices: soup.vertices.clone(),
        normals: vec![[0.0; D]; soup.vertices.len()],
        elements: soup.elements.clone(),
        patches: soup.patch.iter().map(|&p| [0, usize::from(p)]).collect(),
    }
}

/// The lines of the frames.
pub(super) fn wires<const D: usize>(
    frames: &[Frame<D>],
    lift: Lift,
    tank: &Bounds<D>,
) -> Vec<Wire> {
    frames
        .iter()
        .map(|frame| {
            let lines = lines(&frame.drawn, lift);
            let vertices = frame.drawn.vertices.iter().copied();
            let bounds = Bounds::around(vertices).intersection(tank);
            let mm = |x: Point<D>| std::array::from_fn(|k| x.get(k).map_or(0.0, |x| 1e3 * x));
            Wire {
                name: frame.name.clone(),
                role: frame.role,
                points: Packed(flat(&lines)),
                faces: flat(&faces(&frame.drawn, lift)),
                bounds: [mm(bounds.low), mm(bounds.high)],
            }
        })
        .collect()
}

/// The ends of the lines along which the sides of a body meet.
pub(super) fn lines<const D: usize>(drawn: &Drawn<D>, lift: Lift) -> Vec<[f64; 3]> {
    if D == 3 {
        edges(drawn, lift)
    } else {
        outline(drawn, lift)
    }
}

/// Corners of the triangles after each other.
fn faces<const D: usize>(drawn: &Drawn<D>, lift: Lift) -> Vec<[f64; 3]> {
    let count = drawn.vertices.len();
    let corner = |v: u32| {
        let (layer, v) = (v as usize / count, v as usize % count);
        lift.point(&drawn.vertices[v], layer)
    };
    (drawn.elements.iter())
        .flat_map(|e| lift.triangles(e, count))
        .flat_map(|t| t.map(corner))
        .collect()
}

/// Edges where two patches meet or a surface ends; all edges of a body without any (a ball).
fn edges<const D: usize>(drawn: &Drawn<D>, lift: Lift) -> Vec<[f64; 3]> {
    let mut patches: BTreeMap<[u32; 2], Vec<[usize; 2]>> = BTreeMap::new();
    for (element, patch) in drawn.elements.iter().zip(&drawn.patches) {
        for k in 0..D {
            let (a, b) = (element[k], element[(k + 1) % D]);
            patches
                .entry([a.min(b), a.max(b)])
                .or_default()
                .push(*patch);
        }
    }
    let sharp = |found: &[[usize; 2]]| match found {
        [a, b] => a != b,
        _ => true,
    };
    let lines = |all: bool| -> Vec<[f64; 3]> {
        patches
            .iter()
            .filter(|(_, found)| all || sharp(found))
            .flat_map(|(edge, _)| edge.map(|v| lift.point(&drawn.vertices[v as usize], 0)))
            .collect()
    };
    let some = lines(false);
    if some.is_empty() { lines(true) } else { some }
}

/// The outline in front and at the back, and what joins its corners.
fn outline<const D: usize>(drawn: &Drawn<D>, lift: Lift) -> Vec<[f64; 3]> {
    let last = lift.layers() - 1;
    let mut patches: BTreeMap<u32, Vec<[usize; 2]>> = BTreeMap::new();
    let mut lines = Vec::new();
    for (element, patch) in drawn.elements.iter().zip(&drawn.patches) {
        for layer in [0, last] {
            lines.extend(element.map(|v| lift.point(&drawn.vertices[v as usize], layer)));
        }
        for &v in element {
            patches.entry(v).or_default().push(*patch);
        }
    }
    for (v, found) in patches {
        let smooth = matches!(&found[..], [a, b] if a == b);
        if smooth {
            continue;
        }
        let x = &drawn.vertices[v as usize];
        for layer in 0..last {
            lines.extend([lift.point(x, layer), lift.point(x, layer + 1)]);
        }
    }
    lines
}
