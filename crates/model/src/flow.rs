//! Which way the liquid moves along the faces: up in free convection, else as the flow, the rod or the jet does.

use ionfall_mesh::solid::Point;
use ionfall_numerics::vector::{dot, norm, sub};

/// The direction in which a film is counted over a face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flow<const D: usize> {
    /// Of length one.
    pub direction: Point<D>,
    /// A point of the axis of a jet, m; of no meaning else.
    pub at: Point<D>,
}

impl<const D: usize> Flow<D> {
    /// Along a direction of any length but nought, with a point of the axis.
    pub fn new(direction: Point<D>, at: Point<D>) -> Self {
        let length = norm(&direction);
        Self {
            direction: direction.map(|x| x / length),
            at,
        }
    }

    /// Up: along the last coordinate.
    pub fn up() -> Self {
        let mut direction = [0.0; D];
        direction[D - 1] = 1.0;
        Self::new(direction, [0.0; D])
    }

    /// How far along it a point lies, m.
    pub fn along_m(&self, x: &Point<D>) -> f64 {
        dot(x, &self.direction)
    }

    /// Distance of a point from the axis, m.
    pub fn off_axis_m(&self, x: &Point<D>) -> f64 {
        let from = sub(x, &self.at);
        let along = dot(&from, &self.direction);
        (dot(&from, &from) - along * along).max(0.0).sqrt()
    }
}
