//! The builder: a tank put together by a program, in SI units.
//!
//! Words about a body (`cells_m`) or an electrode (`law`, `lead_ohm`, `coat_ohm_per_square` ...)
//! speak of the one added last. What is not said is as in a job file: electrodes follow the law
//! of the bath, anodes that of its usual anodes; anodes that no other supply names hang on the main one; cells follow from the
//! size of the tank, and are made smaller where it is narrow. Mistakes are told by [`Tank::model`].

use crate::error::TankError;
use crate::flow::Flow;
use crate::geometry::{Coat, Contact, Face, Line, Reading, Travel, Turn, Zone};
use crate::model::{COVERED_M, Wanted};
use crate::role::Role;
use crate::supply::{Hold, Limits, Step, Supply, Until};
use crate::wall::Wall;
use ionfall_bath::{Electrolyte, Kinetics};
use ionfall_mesh::grid::{Region, Space, StopOff};
use ionfall_mesh::solid::{Cuboid, Placement, Point, Sheet, Solid};

/// A tank in the making.
///
/// ```
/// use ionfall_mesh::solid::{Cuboid, Solid};
/// use ionfall_model::Tank;
///
/// let plate = |x0: f64, x1: f64| Cuboid::new([x0, 0.0], [x1, 0.05]).map(Solid::new);
/// let model = Tank::planar(plate(0.0, 0.1)?, 0.1)
///     .conductivity_s_per_m(20.0)
///     .anode("anode", plate(-0.01, 0.0)?)
///     .work("work", plate(0.1, 0.11)?)
///     .voltage_v(1.0)
///     .time_s(3600.0)
///     .model()?;
/// assert_eq!(model.geometry.electrodes().len(), 2);
/// # Ok::<(), ionfall_model::TankError>(())
/// ```
#[derive(Clone, Debug)]
#[must_use]
pub struct Tank<const D: usize> {
    pub(crate) title: String,
    pub(crate) space: Space,
    pub(crate) liquid: Solid<D>,
    pub(crate) bodies: Vec<Hung<D>>,
    pub(crate) sheets: Vec<(String, Sheet<D>, Cells)>,
    pub(crate) stop_offs: Vec<StopOff<D>>,
    pub(crate) regions: Vec<Region<D>>,
    pub(crate) cells: Cells,
    pub(crate) across: Option<f64>,
    pub(crate) wall_m: Option<f64>,
    pub(crate) coarsest_m: Option<f64>,
    pub(crate) bath: Bath,
    pub(crate) electrodes: Vec<Pending>,
    pub(crate) coats: Vec<Coat<D>>,
    pub(crate) contacts: Vec<Contact<D>>,
    pub(crate) turns: Vec<Turn<D>>,
    pub(crate) travels: Vec<Travel<D>>,
    pub(crate) flow: Option<Flow<D>>,
    pub(crate) zones: Vec<Zone<D>>,
    /// With the name of the work each lies on.
    pub(crate) lines: Vec<(Option<String>, Line<D>)>,
    pub(crate) faces: Vec<Face<D>>,
    pub(crate) readings: Vec<Reading<D>>,
    pub(crate) hold: Option<Hold>,
    pub(crate) limits: Limits,
    pub(crate) supplies: Vec<Supply>,
    pub(crate) plan: Vec<Planned>,
    pub(crate) wanted: Option<Wanted>,
    pub(crate) covered_m: f64,
    pub(crate) save_s: Vec<f64>,
    /// The first word that had nothing to speak of, and what it speaks of.
    pub(crate) stray: Option<(&'static str, &'static str)>,
}

/// A body, and the sizes of the cells at it.
#[derive(Clone, Debug)]
pub(crate) struct Hung<const D: usize> {
    pub name: String,
    pub solid: Solid<D>,
    pub cells: Cells,
}

/// Largest cells at a surface and at its edges, m, as far as they are said.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Cells {
    pub finest_m: Option<f64>,
    pub edge_m: Option<f64>,
}

impl Cells {
    fn said(finest_m: f64, edge_m: f64) -> Self {
        Self {
            finest_m: Some(finest_m),
            edge_m: Some(edge_m),
        }
    }
}

/// An electrode whose law may still come from the bath.
#[derive(Clone, Debug)]
pub(crate) struct Pending {
    pub body: usize,
    pub role: Role,
    pub law: Option<Kinetics>,
    pub lead_ohm: f64,
    pub film_ohm_m2: f64,
}

/// What is known of the bath.
#[derive(Clone, Debug)]
pub(crate) enum Bath {
    Unsaid,
    Conductivity(f64),
    Whole(Box<Electrolyte>),
}

/// A step, of which the supply may still say what it holds.
#[derive(Clone, Debug)]
pub(crate) enum Planned {
    AsSupplied { until: Until, at_most_s: f64 },
    Whole(Step),
}

impl Tank<3> {
    /// A tank in space, filled with liquid.
    pub fn new(liquid: Solid<3>) -> Self {
        Self::in_space(Space::Tank, liquid)
    }

    /// A box with a corner at the origin and sides of these lengths, filled with liquid.
    ///
    /// # Errors
    /// A side without length.
    pub fn sized_m(sides_m: Point<3>) -> Result<Self, TankError> {
        Ok(Self::new(Solid::new(Cuboid::sized(sides_m)?)))
    }
}

impl Tank<2> {
    /// A section (x, y) that is the same over a depth in metres.
    pub fn planar(liquid: Solid<2>, depth_m: f64) -> Self {
        Self::in_space(Space::Planar { depth_m }, liquid)
    }

    /// A section (r, z), revolved about the axis r = 0.
    pub fn axisymmetric(liquid: Solid<2>) -> Self {
        Self::in_space(Space::Axisymmetric, liquid)
    }
}

/// The tank, its bath and all that has a place in it.
impl<const D: usize> Tank<D> {
    /// A tank in any space.
    pub fn in_space(space: Space, liquid: Solid<D>) -> Self {
        Self {
            title: String::new(),
            space,
            liquid,
            bodies: Vec::new(),
            sheets: Vec::new(),
            stop_offs: Vec::new(),
            regions: Vec::new(),
            cells: Cells::default(),
            across: None,
            wall_m: None,
            coarsest_m: None,
            bath: Bath::Unsaid,
            electrodes: Vec::new(),
            coats: Vec::new(),
            contacts: Vec::new(),
            turns: Vec::new(),
            travels: Vec::new(),
            flow: None,
            zones: Vec::new(),
            lines: Vec::new(),
            faces: Vec::new(),
            readings: Vec::new(),
            hold: None,
            limits: Limits::default(),
            supplies: Vec::new(),
            plan: Vec::new(),
            wanted: None,
            covered_m: COVERED_M,
            save_s: Vec::new(),
            stray: None,
        }
    }

    /// A title for reports.
    pub fn title(mut self, title: &str) -> Self {
        self.title = title.into();
        self
    }

    /// What the tank is filled with.
    pub fn bath(mut self, bath: Electrolyte) -> Self {
        self.bath = Bath::Whole(Box::new(bath));
        self
    }

    /// A copper bath of which nothing else is known.
    pub fn conductivity_s_per_m(mut self, conductivity: f64) -> Self {
        self.bath = Bath::Conductivity(conductivity);
        self
    }

    /// Metal that dissolves or gasses.
    pub fn anode(self, name: &str, solid: Solid<D>) -> Self {
        self.electrode(Role::Anode, name, solid)
    }

    /// What is to be plated.
    pub fn work(self, name: &str, solid: Solid<D>) -> Self {
        self.electrode(Role::Work, name, solid)
    }

    /// Metal on the work's pole that takes current away from its edges.
    pub fn thief(self, name: &str, solid: Solid<D>) -> Self {
        self.electrode(Role::Thief, name, solid)
    }

    /// Metal that is connected to nothing.
    pub fn floating(self, name: &str, solid: Solid<D>) -> Self {
        self.electrode(Role::Floating, name, solid)
    }

    /// An electrode of any role.
    pub fn electrode(mut self, role: Role, name: &str, solid: Solid<D>) -> Self {
        self.electrodes.push(Pending {
            body: self.bodies.len(),
            role,
            law: None,
            lead_ohm: 0.0,
            film_ohm_m2: 0.0,
        });
        self.hang(name, solid)
    }

    /// An electrode that is a wall of the tank.
    ///
    /// # Errors
    /// A side that has no wall.
    pub fn wall(self, role: Role, name: &str, wall: Wall) -> Result<Self, TankError> {
        let slab = wall.slab(self.space, &self.liquid)?;
        Ok(self.electrode(role, name, slab))
    }

    /// An insulating body.
    pub fn shield(self, name: &str, solid: Solid<D>) -> Self {
        self.hang(name, solid)
    }

    /// An insulating sheet without thickness, tight or perforated, with cells of these sizes.
    pub fn sheet(mut self, name: &str, sheet: Sheet<D>, finest_m: f64, edge_m: f64) -> Self {
        let cells = Cells::said(finest_m, edge_m);
        self.sheets.push((name.into(), sheet, cells));
        self
    }

    /// Lacquer on the electrode added last, where it lies in a solid.
    pub fn stop_off(mut self, solid: Solid<D>) -> Self {
        match self.electrodes.last().map(|e| e.body) {
            Some(body) => {
                let body = Some(body);
                self.stop_offs.push(StopOff { solid, body });
                self
            }
            None => self.stray("stop_off", "electrode"),
        }
    }

    /// Which way the liquid moves along the faces, so that their films can vary: up in free convection (in space the
    /// last coordinate, if nothing is said), else as the flow or the rod does; onto the face along the axis of a jet,
    /// of which `at` is a point, m.
    pub fn flow_along(mut self, direction: [f64; D], at: Point<D>) -> Self {
        self.flow = Some(Flow::new(direction, at));
        self
    }

    /// A place that is stirred otherwise: faces inside have the limiting current of the bath times
    /// a factor.
    pub fn zone(mut self, name: &str, solid: Solid<D>, limit_factor: f64) -> Self {
        self.zones.push(Zone {
            name: name.into(),
            solid,
            limit_factor,
        });
        self
    }

    /// A line through these points along which the thickness is wanted, on a work (or any).
    pub fn line_m(mut self, name: &str, on: Option<&str>, points: &[Point<D>]) -> Self {
        let line = Line {
            name: name.into(),
            on: None,
            points: points.to_vec(),
        };
        self.lines.push((on.map(str::to_owned), line));
        self
    }

    /// A point where values are read: the potential of the bath, and what grows if it lies on an electrode.
    pub fn reading_m(mut self, name: &str, at: Point<D>) -> Self {
        self.readings.push(Reading {
            name: name.into(),
            at,
        });
        self
    }

    /// Number of bodies so far, electrodes and shields.
    pub fn bodies(&self) -> usize {
        self.bodies.len()
    }

    fn hang(mut self, name: &str, solid: Solid<D>) -> Self {
        self.bodies.push(Hung {
            name: name.into(),
            solid,
            cells: Cells::default(),
        });
        self
    }

    fn stray(mut self, word: &'static str, of: &'static str) -> Self {
        self.stray.get_or_insert((word, of));
        self
    }
}

/// Words about the electrode added last.
impl<const D: usize> Tank<D> {
    /// What of it looks to a wall of the tank, by a name of its own, so that its current is told.
    pub fn face(mut self, name: &str, side: Wall) -> Self {
        match self.electrodes.len() {
            0 => self.stray("face", "electrode"),
            count => {
                self.faces.push(Face {
                    name: name.into(),
                    on: count - 1,
                    side: Some(side),
                    region: None,
                    moved: Placement::identity(),
                });
                self
            }
        }
    }

    /// Changes the last electrode; `word` is what asks for it.
    fn last(mut self, word: &'static str, change: impl FnOnce(&mut Pending)) -> Self {
        match self.electrodes.last_mut() {
            Some(electrode) => change(electrode),
            None => return self.stray(word, "electrode"),
        }
        self
    }

    /// Its polarisation; a [law of one's own](ionfall_bath::OwnLaw) too.
    pub fn law(self, law: impl Into<Kinetics>) -> Self {
        self.last("law", |electrode| electrode.law = Some(law.into()))
    }

    /// Resistance of its lead, ohm.
    pub fn lead_ohm(self, ohm: f64) -> Self {
        self.last("lead_ohm", |electrode| electrode.lead_ohm = ohm)
    }

    /// Resistance of a layer on its surface, in series with its law, ohm m2: a film or a membrane.
    pub fn film_ohm_m2(self, ohm_m2: f64) -> Self {
        self.last("film_ohm_m2", |electrode| electrode.film_ohm_m2 = ohm_m2)
    }

    /// The electrode added last travels: the ways from where it stands to its other positions, over all of which its
    /// metal is the mean. It has no coat.
    pub fn travels(mut self, others: Vec<Placement<D>>) -> Self {
        match self.electrodes.len().checked_sub(1) {
            Some(electrode) => {
                self.travels.push(Travel { electrode, others });
                self
            }
            None => self.stray("travels", "electrode"),
        }
    }

    /// It turns about a line through a point, m, along a direction (any in the plane, where the axis points out
    /// of it): metal is the mean over the turn.
    pub fn turns_m(mut self, at: Point<D>, axis: Point<D>) -> Self {
        match self.electrodes.len().checked_sub(1) {
            Some(electrode) => {
                self.turns.push(Turn::new(electrode, at, axis));
                self
            }
            None => self.stray("turns_m", "electrode"),
        }
    }

    /// It does not conduct itself: a coat of this sheet resistance does, everywhere on it.
    pub fn coat_ohm_per_square(self, ohm: f64) -> Self {
        self.coated(ohm, None)
    }

    /// The same by the thickness of the coat and the resistivity of what it is made of.
    pub fn coat_m(self, thickness_m: f64, resistivity_ohm_m: f64) -> Self {
        self.coated(resistivity_ohm_m / thickness_m, None)
    }

    /// The same where the coat lies in a solid only.
    pub fn coat_within_ohm_per_square(self, region: Solid<D>, ohm: f64) -> Self {
        self.coated(ohm, Some(region))
    }

    fn coated(mut self, sheet_resistance_ohm: f64, region: Option<Solid<D>>) -> Self {
        let Some(electrode) = self.electrodes.len().checked_sub(1) else {
            return self.stray("coat_ohm_per_square", "electrode");
        };
        self.coats.push(Coat {
            electrode,
            region,
            sheet_resistance_ohm,
            islands_m: 0.0,
        });
        self
    }

    /// The first deposit on the coat added last, up to this thickness, is islands that do not
    /// touch.
    pub fn islands_m(mut self, islands_m: f64) -> Self {
        match self.coats.last_mut() {
            Some(coat) => {
                coat.islands_m = islands_m;
                self
            }
            None => self.stray("islands_m", "coat"),
        }
    }

    /// Where current is led into its coat.
    pub fn contact(mut self, name: &str, region: Solid<D>, resistance_ohm: f64) -> Self {
        let Some(electrode) = self.electrodes.len().checked_sub(1) else {
            return self.stray("contact", "electrode");
        };
        self.contacts.push(Contact {
            electrode,
            name: name.into(),
            region,
            resistance_ohm,
        });
        self
    }
}

/// Cell sizes.
impl<const D: usize> Tank<D> {
    /// Largest cell at the surface of the body added last, and at its sharp edges.
    pub fn cells_m(mut self, finest_m: f64, edge_m: f64) -> Self {
        match self.bodies.last_mut() {
            Some(body) => {
                body.cells = Cells::said(finest_m, edge_m);
                self
            }
            None => self.stray("cells_m", "body"),
        }
    }

    /// The same for all bodies that say none.
    pub fn all_cells_m(mut self, finest_m: f64, edge_m: f64) -> Self {
        self.cells = Cells::said(finest_m, edge_m);
        self
    }

    /// Cells across thin walls and gaps of all bodies; zero: whatever their sizes give. Without it
    /// sizes that are said are kept to where a cell fits in, others are made smaller where it is narrow.
    pub fn cells_across(mut self, across: f64) -> Self {
        self.across = Some(across);
        self
    }

    /// Largest cell at the walls of the tank.
    pub fn wall_cells_m(mut self, wall_m: f64) -> Self {
        self.wall_m = Some(wall_m);
        self
    }

    /// Largest cell anywhere.
    pub fn coarsest_m(mut self, coarsest_m: f64) -> Self {
        self.coarsest_m = Some(coarsest_m);
        self
    }

    /// Largest cell in a solid.
    pub fn region_m(mut self, solid: Solid<D>, finest_m: f64) -> Self {
        self.regions.push(Region { solid, finest_m });
        self
    }
}

/// Supplies, plan, and what is asked.
impl<const D: usize> Tank<D> {
    /// The main supply holds a current, A.
    pub fn current_a(self, current: f64) -> Self {
        self.hold(Hold::Current(current))
    }

    /// The main supply holds a voltage between its poles, V.
    pub fn voltage_v(self, voltage: f64) -> Self {
        self.hold(Hold::Voltage(voltage))
    }

    /// The main supply holds a mean current density on the work, A/m2.
    pub fn mean_current_density_a_per_m2(self, mean: f64) -> Self {
        self.hold(Hold::MeanCurrentDensity(mean))
    }

    /// What the main supply holds.
    pub fn hold(mut self, hold: Hold) -> Self {
        self.hold = Some(hold);
        self
    }

    /// Most volts of the main supply.
    pub fn voltage_limit_v(mut self, limit: f64) -> Self {
        self.limits.voltage_v = Some(limit);
        self
    }

    /// Most amperes of the main supply where it holds a voltage.
    pub fn current_limit_a(mut self, limit: f64) -> Self {
        self.limits.current_a = Some(limit);
        self
    }

    /// A supply beside the main one; its anodes and thieves are numbers of electrodes in the order
    /// in which they were added.
    pub fn supply(mut self, supply: Supply) -> Self {
        self.supplies.push(supply);
        self
    }

    /// One more step of the plan: for so long, as the main supply is set.
    pub fn time_s(self, time: f64) -> Self {
        self.until(Until::Time(time), time)
    }

    /// One more step of the plan, as the main supply is set, until something; at most for so long.
    pub fn until(mut self, until: Until, at_most_s: f64) -> Self {
        self.plan.push(Planned::AsSupplied { until, at_most_s });
        self
    }

    /// One more step of the plan.
    pub fn step(mut self, step: Step) -> Self {
        self.plan.push(Planned::Whole(step));
        self
    }

    /// Least thickness asked for, on a work (or everywhere).
    pub fn wanted_m(mut self, thickness_m: f64, on: Option<&str>) -> Self {
        let on = on.map(str::to_owned);
        self.wanted = Some(Wanted {
            thickness_m,
            at_most_m: self.wanted.and_then(|w| w.at_most_m),
            on,
            face: None,
        });
        self
    }

    /// Thickness from which on a place counts as covered.
    pub fn covered_m(mut self, covered_m: f64) -> Self {
        self.covered_m = covered_m;
        self
    }

    /// When the surfaces are kept, s since the start.
    pub fn save_s(mut self, at: &[f64]) -> Self {
        self.save_s = at.to_vec();
        self
    }
}
