//! Facets: the pieces of one electrode side in one cell, as one surface element.

use crate::solid::Point;

/// A facet of an electrode.
#[derive(Clone, Debug)]
pub struct Facet<const D: usize> {
    /// Number of the body in [`super::Domain::bodies`].
    pub body: u16,
    /// Separate part of the electrolyte in its cell that it borders.
    pub part: u8,
    /// Point on the true surface near the middle, metres.
    pub point: Point<D>,
    /// Unit normal into the electrolyte.
    pub normal: Point<D>,
    /// True area, m2 (planar jobs: length times depth; axisymmetric ones: band of revolution).
    pub area_m2: f64,
    /// Outlines of its flat pieces, metres; in space counter-clockwise seen from the electrolyte.
    pub outline: Vec<Vec<Point<D>>>,
}

/// A facet in the making.
#[derive(Clone, Debug)]
pub struct FacetGroup<const D: usize> {
    /// Body number.
    pub body: u16,
    /// Part of the electrolyte.
    pub part: u8,
    /// Surface number in the scene.
    pub surface: u32,
    /// Patch of the surface.
    pub patch: u16,
    /// Sum of areas, m2.
    pub area_m2: f64,
    /// Sum of area times normal, m2.
    pub area_vector: Point<D>,
    /// Sum of area times centroid, m3.
    pub moment: Point<D>,
    /// Numbers of the pieces.
    pub pieces: Vec<usize>,
}

impl<const D: usize> FacetGroup<D> {
    /// An empty group.
    pub fn new(body: u16, part: u8, surface: u32, patch: u16) -> Self {
        Self {
            body,
            part,
            surface,
            patch,
            area_m2: 0.0,
            area_vector: [0.0; D],
            moment: [0.0; D],
            pieces: Vec::new(),
        }
    }
}
