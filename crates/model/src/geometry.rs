//! Tank and bodies, with what makes electrodes of some: roles, laws, coats, contacts, zones, lines, faces,
//! readings.

use crate::flow::Flow;
use crate::role::Role;
use crate::wall::Wall;
use ionfall_bath::Kinetics;
use ionfall_mesh::grid::{Domain, GridError, Survey, survey};
use ionfall_mesh::solid::{Placement, Point, Solid};
use ionfall_numerics::vector::norm;

/// Geometry in two or three coordinates.
#[derive(Clone, Debug)]
pub enum Geometry {
    /// Planar or axisymmetric.
    Flat(Parts<2>),
    /// A tank in three dimensions.
    Solid(Parts<3>),
}

impl Geometry {
    /// The electrodes.
    pub fn electrodes(&self) -> &[Electrode] {
        match self {
            Self::Flat(parts) => &parts.electrodes,
            Self::Solid(parts) => &parts.electrodes,
        }
    }

    /// Cells and areas of its grid, cut but not solved.
    ///
    /// # Errors
    /// [`GridError`]: all that a run would be refused for.
    pub fn survey(&self, memory_limit_bytes: u64) -> Result<Survey, GridError> {
        match self {
            Self::Flat(parts) => survey(&parts.domain, memory_limit_bytes),
            Self::Solid(parts) => survey(&parts.domain, memory_limit_bytes),
        }
    }

    /// Does a coat lie on any of them?
    pub fn is_coated(&self) -> bool {
        match self {
            Self::Flat(parts) => !parts.coats.is_empty(),
            Self::Solid(parts) => !parts.coats.is_empty(),
        }
    }
}

impl From<Parts<2>> for Geometry {
    fn from(parts: Parts<2>) -> Self {
        Self::Flat(parts)
    }
}

impl From<Parts<3>> for Geometry {
    fn from(parts: Parts<3>) -> Self {
        Self::Solid(parts)
    }
}

/// Gives a geometry of other coordinates back.
impl TryFrom<Geometry> for Parts<2> {
    type Error = Geometry;

    fn try_from(geometry: Geometry) -> Result<Self, Geometry> {
        match geometry {
            Geometry::Flat(parts) => Ok(parts),
            other @ Geometry::Solid(_) => Err(other),
        }
    }
}

/// Gives a geometry of other coordinates back.
impl TryFrom<Geometry> for Parts<3> {
    type Error = Geometry;

    fn try_from(geometry: Geometry) -> Result<Self, Geometry> {
        match geometry {
            Geometry::Solid(parts) => Ok(parts),
            other @ Geometry::Flat(_) => Err(other),
        }
    }
}

/// Tank and bodies, with the electrodes among them.
#[derive(Clone, Debug)]
pub struct Parts<const D: usize> {
    /// What the grid is built from; lengths in metres.
    pub domain: Domain<D>,
    /// The electrodes.
    pub electrodes: Vec<Electrode>,
    /// Conducting skins of electrodes; where several cover a place, the last one counts.
    pub coats: Vec<Coat<D>>,
    /// Where current is led into coats.
    pub contacts: Vec<Contact<D>>,
    /// Electrodes that turn.
    pub turns: Vec<Turn<D>>,
    /// Electrodes that travel.
    pub travels: Vec<Travel<D>>,
    /// Which way the liquid moves along the faces, where that is known and matters.
    pub flow: Option<Flow<D>>,
    /// Places that are stirred otherwise; where several cover one, the last counts.
    pub zones: Vec<Zone<D>>,
    /// Lines along which the deposit is to be told.
    pub lines: Vec<Line<D>>,
    /// Parts of surfaces whose currents are to be told.
    pub faces: Vec<Face<D>>,
    /// Points at which potential, current density and deposit are to be told.
    pub readings: Vec<Reading<D>>,
}

impl<const D: usize> Parts<D> {
    /// Names of the electrodes that take no volts because no polarisation of them is known.
    pub fn without_polarisation(&self) -> Vec<&str> {
        let connected = self.electrodes.iter().filter(|e| e.role != Role::Floating);
        let bare = connected.filter(|e| e.kinetics.is_primary());
        bare.map(|e| e.name.as_str()).collect()
    }
}

/// An electrode that travels while metal grows: on a rod to and fro, on a carousel around.
#[derive(Clone, Debug)]
pub struct Travel<const D: usize> {
    /// Number in [`Parts::electrodes`].
    pub electrode: usize,
    /// The ways from the place that is drawn, which is its first position, to the others. All that travels is in its
    /// next position at the same time.
    pub others: Vec<Placement<D>>,
}

impl<const D: usize> Parts<D> {
    /// The way of an electrode to a position beside the one that is drawn; none if it stays where it is.
    pub fn way(&self, electrode: usize, position: usize) -> Option<&Placement<D>> {
        let own = self.travels.iter().find(|t| t.electrode == electrode)?;
        own.others.get(position)
    }

    /// The same with all that travels in a position beside the one that is drawn: bodies, and lacquer that is theirs.
    pub fn in_position(&self, position: usize) -> Self {
        let mut parts = self.clone();
        for (n, electrode) in self.electrodes.iter().enumerate() {
            let Some(way) = self.way(n, position) else {
                continue;
            };
            let body = &mut parts.domain.bodies[electrode.body];
            body.solid = body.solid.placed(way);
            let own = |s: &&mut ionfall_mesh::grid::StopOff<D>| s.body == Some(electrode.body);
            for lacquer in parts.domain.stop_offs.iter_mut().filter(own) {
                lacquer.solid = lacquer.solid.placed(way);
            }
        }
        parts
    }
}

/// An electrode that turns while metal grows, about a line.
#[derive(Clone, Debug)]
pub struct Turn<const D: usize> {
    /// Number in [`Parts::electrodes`].
    pub electrode: usize,
    /// A point of the axis, m.
    pub at: [f64; D],
    /// Its direction, of length one; nought in the plane, where the axis points out of it.
    pub axis: [f64; D],
}

impl<const D: usize> Turn<D> {
    /// About a line along a direction of any length.
    pub fn new(electrode: usize, at: [f64; D], direction: [f64; D]) -> Self {
        let length = norm(&direction);
        let turned = D == 3 && length > 0.0;
        Self {
            electrode,
            at,
            axis: direction.map(|x| if turned { x / length } else { 0.0 }),
        }
    }
}

/// A conducting skin, brushed or sprayed on something that does not conduct. An electrode that has
/// one conducts only where a coat covers it.
#[derive(Clone, Debug)]
pub struct Coat<const D: usize> {
    /// Number in [`Parts::electrodes`].
    pub electrode: usize,
    /// Where it covers; everywhere if nothing is said.
    pub region: Option<Solid<D>>,
    /// Resistance of a square, ohm.
    pub sheet_resistance_ohm: f64,
    /// The first deposit, up to this thickness in m, is islands that do not touch and conducts
    /// nothing along the surface.
    pub islands_m: f64,
}

/// Where the current is led into a coat: clamp, wire or point.
#[derive(Clone, Debug)]
pub struct Contact<const D: usize> {
    /// Number in [`Parts::electrodes`].
    pub electrode: usize,
    /// Name.
    pub name: String,
    /// The coat inside this solid touches the contact.
    pub region: Solid<D>,
    /// Resistance between lead and coat, ohm; spread evenly over the touched area.
    pub resistance_ohm: f64,
}

/// An electrode.
#[derive(Clone, Debug, PartialEq)]
pub struct Electrode {
    /// Its number in [`Domain::bodies`].
    pub body: usize,
    /// Name.
    pub name: String,
    /// What it is a copy of, where one body was drawn for several.
    pub copy_of: Option<String>,
    /// What it is for.
    pub role: Role,
    /// Its polarisation.
    pub kinetics: Kinetics,
    /// Resistance of its lead (or series resistor), ohm.
    pub lead_ohm: f64,
    /// Resistance of a layer on its surface, in series with its law, ohm m2: a film or a membrane.
    pub film_ohm_m2: f64,
}

impl Electrode {
    /// Is it meant by a name: its own, or that of all copies?
    pub fn answers_to(&self, name: &str) -> bool {
        self.name == name || self.copy_of.as_deref() == Some(name)
    }
}

/// A place with an agitation of its own: a face inside has the limiting current of the bath times
/// a factor.
#[derive(Clone, Debug)]
pub struct Zone<const D: usize> {
    /// Name, for messages.
    pub name: String,
    /// Where it is, m.
    pub solid: Solid<D>,
    /// Limiting current there over that of the bath.
    pub limit_factor: f64,
}

/// A line near the surface of a work, along which the thickness is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Line<const D: usize> {
    /// Name.
    pub name: String,
    /// Number in [`Parts::electrodes`]; any work if none is named.
    pub on: Option<usize>,
    /// Corners, m: at least two.
    pub points: Vec<Point<D>>,
}

/// A part of the surface of an electrode, whose area and current are wanted.
#[derive(Clone, Debug)]
pub struct Face<const D: usize> {
    /// Name.
    pub name: String,
    /// Number in [`Parts::electrodes`].
    pub on: usize,
    /// Only what looks most to this wall of the tank: every place of a surface looks to one.
    pub side: Option<Wall>,
    /// Only what lies in here.
    pub region: Option<Solid<D>>,
    /// From where side and region are drawn to the electrode, if it is a copy: the face moves along.
    pub moved: Placement<D>,
}

impl<const D: usize> Face<D> {
    /// Does a place of the electrode's surface belong to it?
    pub fn has(&self, at: &Point<D>, normal: &Point<D>) -> bool {
        let side = (self.side).is_none_or(|side| side.is_faced(&self.moved.turned_back(normal)));
        let region = self.region.as_ref();
        side && region.is_none_or(|r| r.contains(&self.moved.undo(at)))
    }
}

/// A point where values are read.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading<const D: usize> {
    /// Name.
    pub name: String,
    /// Where, m.
    pub at: Point<D>,
}

/// How far outside the liquid a point may lie and still count as on its border, over the extent of the
/// liquid: what rounding does to figures in a job.
const ROUNDING: f64 = 1e-9;

impl<const D: usize> Reading<D> {
    /// Does it lie in the liquid or on its border? The bodies do not matter.
    pub fn lies_in(&self, liquid: &Solid<D>) -> bool {
        let bounds = liquid.bounds();
        let extent_m = (0..D)
            .map(|k| bounds.high[k] - bounds.low[k])
            .fold(0.0, f64::max);
        liquid.signed_distance(&self.at) <= ROUNDING * extent_m
    }
}
