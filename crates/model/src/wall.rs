//! An electrode that is a wall of the tank: a slab behind the wall, flush with it.

use crate::error::TankError;
use ionfall_mesh::grid::Space;
use ionfall_mesh::solid::{Cuboid, Point, Solid};

/// Thickness of the slab, and how far it goes beyond the edges of its wall, over the longest side of
/// the liquid. Nothing depends on it: the liquid ends at the wall.
const SLAB: f64 = 0.05;

/// A wall: the side of the box around the liquid on which it lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wall {
    /// Number of the coordinate that it is square to.
    pub axis: usize,
    /// At the high end of it?
    pub high: bool,
}

impl Wall {
    /// Does a surface with this normal look to it more than to any other wall? Of walls that it looks to
    /// alike the first counts, in the order of the coordinates.
    pub fn is_faced<const D: usize>(self, normal: &Point<D>) -> bool {
        let most = (0..D).fold(0, |most, k| {
            // What differs by rounding only is alike.
            if normal[k].abs() > normal[most].abs() + 1e-9 {
                k
            } else {
                most
            }
        });
        self.axis == most && self.high == (normal[most] > 0.0)
    }

    /// The electrode behind this wall of a liquid.
    ///
    /// # Errors
    /// The axis of revolution, a coordinate that is not there, a liquid without end.
    pub fn slab<const D: usize>(
        self,
        space: Space,
        liquid: &Solid<D>,
    ) -> Result<Solid<D>, TankError> {
        let of_revolution = space == Space::Axisymmetric;
        if self.axis >= D || (of_revolution && self.axis == 0 && !self.high) {
            return Err(TankError::NoWall);
        }
        let bounds = liquid.bounds();
        let longest_m = (0..D)
            .map(|k| bounds.high[k] - bounds.low[k])
            .fold(0.0, f64::max);
        if !longest_m.is_finite() {
            return Err(TankError::Endless);
        }
        let mut low = bounds.low.map(|x| x - SLAB * longest_m);
        let mut high = bounds.high.map(|x| x + SLAB * longest_m);
        if of_revolution {
            low[0] = low[0].max(0.0);
        }
        if self.high {
            low[self.axis] = bounds.high[self.axis];
        } else {
            high[self.axis] = bounds.low[self.axis];
        }
        Ok(Solid::new(Cuboid::new(low, high)?))
    }
}
