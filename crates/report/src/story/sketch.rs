//! What stands and hangs in a tank as plain lines and triangles, before anything is solved.
//!
//! Lengths are millimetres. Jobs of two dimensions are lifted into space like the surfaces of a story.

use super::kind::Kind;
use super::lift::Lift;
use super::thin::{Cloth, thinned};
use super::wires::{Frame, frames, lines, shape};
use ionfall_mesh::solid::{Bounds, Point};
use ionfall_model::Parts;
use std::collections::BTreeMap;

/// Sides of the lattice that large surfaces are thinned on at first, over the longest side of the body.
const LATTICE: f64 = 0.004;
/// Places that count as one when an outline is put together, mm.
const SAME_MM: f64 = 1e-6;

/// A body, drawn.
#[derive(Clone, Debug)]
pub struct Sketch {
    /// Its name.
    pub name: String,
    /// What it is, in a word.
    pub kind: Kind,
    /// Corners in space.
    pub points: Vec<[f64; 3]>,
    /// Three corners a triangle.
    pub triangles: Vec<[u32; 3]>,
    /// The lines along which its sides meet: ends after each other, in space.
    pub lines: Vec<[f64; 3]>,
    /// In two dimensions its outlines, not lifted.
    pub rings: Vec<Vec<[f64; 2]>>,
    /// Box around it, not lifted.
    pub bounds: [[f64; 3]; 2],
}

impl Sketch {
    /// All bodies of a job, the tank first, each of about `most` corners at most.
    pub fn all<const D: usize>(parts: &Parts<D>, most: usize) -> Vec<Self> {
        let lift = Lift::of(&parts.domain);
        let mut all = frames(parts);
        for electrode in parts.electrodes.iter().filter(|e| e.role.is_cathode()) {
            let body = &parts.domain.bodies[electrode.body];
            all.push(Frame {
                name: body.name.clone(),
                role: Kind::Electrode(electrode.role),
                drawn: shape(&parts.domain, &body.solid),
            });
        }
        all.iter().map(|frame| sketch(frame, lift, most)).collect()
    }
}

fn sketch<const D: usize>(frame: &Frame<D>, lift: Lift, most: usize) -> Sketch {
    let drawn = &frame.drawn;
    let bounds = Bounds::around(drawn.vertices.iter().copied());
    let mm = |x: Point<D>| std::array::from_fn(|k| x.get(k).map_or(0.0, |x| 1e3 * x));
    let bounds: [[f64; 3]; 2] = [mm(bounds.low), mm(bounds.high)];
    let longest_mm = (0..3).fold(0.0, |l, k| f64::max(l, bounds[1][k] - bounds[0][k]));
    let cloth = thinned(Cloth::lifted(drawn, lift), most, LATTICE * longest_mm);
    Sketch {
        name: frame.name.clone(),
        kind: frame.role,
        lines: if cloth.points.len() == drawn.vertices.len() * lift.layers() {
            lines(drawn, lift)
        } else {
            // Of a surface that had to be thinned every line would be too many.
            Vec::new()
        },
        points: cloth.points,
        triangles: cloth.triangles,
        rings: if D == 2 { rings(frame) } else { Vec::new() },
        bounds,
    }
}

/// The outlines of a body in two dimensions: its elements, one after the other.
fn rings<const D: usize>(frame: &Frame<D>) -> Vec<Vec<[f64; 2]>> {
    let key = |x: &[f64; 2]| x.map(|c| (c / SAME_MM).round() as i64);
    let at = |v: u32| -> [f64; 2] {
        let x = &frame.drawn.vertices[v as usize];
        [1e3 * x[0], 1e3 * x[1]]
    };
    let mut next: BTreeMap<[i64; 2], Vec<[f64; 2]>> = BTreeMap::new();
    for element in &frame.drawn.elements {
        next.entry(key(&at(element[0])))
            .or_default()
            .push(at(element[1]));
    }
    let mut rings = Vec::new();
    while let Some((&from, _)) = next.iter().find(|(_, to)| !to.is_empty()) {
        let mut ring = Vec::new();
        let mut here = from;
        while let Some(to) = next.get_mut(&here).and_then(Vec::pop) {
            here = key(&to);
            ring.push(to);
        }
        rings.push(ring);
    }
    rings
}
