//! What a grid is built from: the tank, and what stands and hangs in it.

use crate::solid::{Sheet, Solid};

/// Kind of space.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Space {
    /// 2-D, the same over a depth in metres.
    Planar {
        /// Depth, metres.
        depth_m: f64,
    },
    /// 2-D in (r, z), revolved about the z axis (coordinate 0 is r).
    Axisymmetric,
    /// 3-D.
    Tank,
}

/// Does a body carry current?
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BodyKind {
    /// Its surface is an electrode.
    Electrode,
    /// It insulates.
    Insulator,
}

/// A body in or at the tank.
#[derive(Clone, Debug)]
pub struct Body<const D: usize> {
    /// Name, for messages.
    pub name: String,
    /// Shape.
    pub solid: Solid<D>,
    /// Electrode or insulator.
    pub kind: BodyKind,
    /// Largest cell at its surface, metres.
    pub finest_m: f64,
    /// Largest cell at its sharp edges and where it meets an insulator, metres.
    pub edge_m: f64,
    /// Cells wanted across its thin walls and the gaps before it; zero: whatever its sizes give.
    pub across: f64,
}

/// A solid that insulates the electrode surface inside it.
#[derive(Clone, Debug)]
pub struct StopOff<const D: usize> {
    /// Shape.
    pub solid: Solid<D>,
    /// Only this body (number), or all.
    pub body: Option<usize>,
}

/// A sheet of no thickness in the electrolyte.
#[derive(Clone, Debug)]
pub struct PlacedSheet<const D: usize> {
    /// Name, for messages.
    pub name: String,
    /// Surface and openness.
    pub sheet: Sheet<D>,
    /// Largest cell at its surface, metres.
    pub finest_m: f64,
    /// Largest cell along its rim, metres.
    pub edge_m: f64,
}

/// A region that asks for small cells.
#[derive(Clone, Debug)]
pub struct Region<const D: usize> {
    /// Shape.
    pub solid: Solid<D>,
    /// Largest cell in it, metres.
    pub finest_m: f64,
}

/// Everything the grid is built from.
#[derive(Clone, Debug)]
pub struct Domain<const D: usize> {
    /// Kind of space.
    pub space: Space,
    /// The liquid's room: tank, cut at the liquid level if there is one.
    pub tank: Solid<D>,
    /// Bodies.
    pub bodies: Vec<Body<D>>,
    /// Stop-offs.
    pub stop_offs: Vec<StopOff<D>>,
    /// Sheets.
    pub sheets: Vec<PlacedSheet<D>>,
    /// Regions.
    pub regions: Vec<Region<D>>,
    /// Largest cell at the tank's walls, metres.
    pub wall_m: f64,
    /// Largest cell anywhere, metres.
    pub coarsest_m: f64,
}
