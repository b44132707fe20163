//! What was found in a mesh file, and what was done about it.

use super::super::error::{PLACES, places};
use super::super::{Bounds, Point};
use std::fmt;

/// One kind of repair or remark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum RepairKind {
    /// Points along open edges, closer than 1e-5 of the mesh's size, were joined.
    ClosedCracks,
    /// Triangles with two corners in one point were left out.
    DroppedDegenerate,
    /// Triangles that were there more than once were left out.
    DroppedDuplicates,
    /// Triangles that faced the other way than their neighbours were turned.
    TurnedTriangles,
    /// Closed shells that faced inwards were turned.
    TurnedShells,
    /// Small holes were filled.
    FilledHoles,
    /// Triangles without area were kept because they join their neighbours (not a repair).
    KeptSlivers,
    /// Edges at which bodies touch (not a repair).
    TouchingEdges,
}

impl fmt::Display for RepairKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::ClosedCracks => "points joined to close hairline cracks",
            Self::DroppedDegenerate => "triangles with coinciding corners left out",
            Self::DroppedDuplicates => "repeated triangles left out",
            Self::TurnedTriangles => "triangles turned to face as their neighbours do",
            Self::TurnedShells => "shells that faced inwards turned over",
            Self::FilledHoles => "small holes filled",
            Self::KeptSlivers => "triangles without area kept",
            Self::TouchingEdges => "edges at which bodies only touch",
        })
    }
}

/// How often and where something was done.
#[derive(Clone, Debug)]
pub struct Repair {
    /// What.
    pub kind: RepairKind,
    /// How often.
    pub count: usize,
    /// Some of the places, in the units of the file.
    pub places: Vec<Point<3>>,
}

impl fmt::Display for Repair {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.count, self.kind)?;
        if !self.places.is_empty() {
            write!(f, ", at {} (units of the file)", places(&self.places))?;
        }
        Ok(())
    }
}

/// What a mesh file holds.
#[derive(Clone, Debug)]
pub struct MeshReport {
    /// Triangles in the file (other faces cut into triangles).
    pub triangles_read: usize,
    /// Triangles used.
    pub triangles: usize,
    /// Distinct points used.
    pub vertices: usize,
    /// Closed shells, cavities included.
    pub shells: usize,
    /// Shells that are cavities.
    pub cavities: usize,
    /// Enclosed volume, m3.
    pub volume_m3: f64,
    /// Surface, m2.
    pub area_m2: f64,
    /// Extent, metres.
    pub bounds: Bounds<3>,
    /// What was mended or is worth knowing; empty for a sound mesh.
    pub repairs: Vec<Repair>,
}

/// Collects repairs.
#[derive(Debug, Default)]
pub(super) struct Log(pub Vec<Repair>);

impl Log {
    /// Notes a repair unless it was done nowhere.
    pub(super) fn note(&mut self, kind: RepairKind, at: Vec<Point<3>>) {
        if !at.is_empty() {
            self.0.push(Repair {
                kind,
                count: at.len(),
                places: some(at),
            });
        }
    }
}

/// The first few places.
pub(super) fn some(mut at: Vec<Point<3>>) -> Vec<Point<3>> {
    at.truncate(PLACES);
    at
}
