//! Building and measuring element soups.

use super::bounds::Point;
use super::shape::Soup;
use ionfall_numerics::vector::{cross, norm, scaled, sub};

impl<const D: usize> Soup<D> {
    /// Adds a vertex and returns its number.
    pub(crate) fn vertex(&mut self, x: Point<D>) -> u32 {
        self.vertices.push(x);
        (self.vertices.len() - 1) as u32
    }

    /// Adds an element.
    pub(crate) fn element(&mut self, corners: [u32; D], patch: u16, area_factor: f64) {
        self.elements.push(corners);
        self.patch.push(patch);
        self.area_factor.push(area_factor as f32);
    }

    /// Corner points of element `i`, metres.
    pub fn corners(&self, i: usize) -> [Point<D>; D] {
        self.elements[i].map(|v| self.vertices[v as usize])
    }

    /// Outward normal of element `i` times its flat area (3-D, m2) or length (2-D, m).
    pub fn area_vector(&self, i: usize) -> Point<D> {
        let p = self.corners(i);
        let mut v = [0.0; D];
        if D == 2 {
            v[0] = p[1][1] - p[0][1];
            v[1] = p[0][0] - p[1][0];
        } else {
            let corner = |k: usize| [p[k][0], p[k][1], p[k][2]];
            let n = cross(&sub(&corner(1), &corner(0)), &sub(&corner(2), &corner(0)));
            v.copy_from_slice(&scaled(&n, 0.5));
        }
        v
    }

    /// Flat area (3-D, m2) or length (2-D, m) of element `i`.
    pub fn area(&self, i: usize) -> f64 {
        norm(&self.area_vector(i))
    }
}
