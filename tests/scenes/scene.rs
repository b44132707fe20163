//! A scene: tank, bodies, laws, what is held, and cells, from a seed.

use crate::dice::Dice;
use crate::shapes::{self, Shape, block, moved};
use ionfall_bath::kinetics::{Branch, Limit, Transfer};
use ionfall_bath::{Kinetics, Polarisation};
use ionfall_deposit::{Outcome, Settings, run};
use ionfall_mesh::solid::{HalfSpace, Placement, Point, Solid};
use ionfall_model::{Hold, Model, Parts, Role, Tank, TankError};

const MM: f64 = 1e-3;
/// Inside of the tank, mm.
const TANK: Point<3> = [80.0, 60.0, 60.0];
/// Height of the liquid where there is a level, mm.
const LEVEL: f64 = 48.0;
/// What kind of part hangs in the tank.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Concave,
    Thin,
    Notched,
    Lettered,
    Immersed,
    Wires,
    Round,
    Rack,
    Shielded,
}

impl Kind {
    pub const ALL: [Self; 9] = [
        Self::Concave,
        Self::Thin,
        Self::Notched,
        Self::Lettered,
        Self::Immersed,
        Self::Wires,
        Self::Round,
        Self::Rack,
        Self::Shielded,
    ];
}

/// A body of the scene.
#[derive(Clone)]
pub struct Part {
    /// What it is for; nothing for an insulator.
    pub role: Option<Role>,
    pub solid: Solid<3>,
    pub kinetics: Kinetics,
    pub finest_m: f64,
}

/// A scene.
#[derive(Clone)]
pub struct Scene {
    pub seed: u64,
    pub kind: Kind,
    /// What it shows, for a person.
    pub says: String,
    pub tank: Solid<3>,
    pub parts: Vec<Part>,
    law: Law,
    pub hold: Hold,
    pub coarsest_m: f64,
    pub conductivity_s_per_m: f64,
}

impl Scene {
    /// Plating time, s.
    pub const TIME_S: f64 = 3600.0;

    /// The scene of a seed; the kinds take turns.
    pub fn random(seed: u64) -> Self {
        let kinds = Kind::ALL.len() as u64;
        let kind = Kind::ALL[(seed % kinds) as usize];
        let mut dice = Dice::new(seed);
        let size = dice.octaves(12.0, 36.0);
        let finest = f64::max(0.8, size / 26.0);
        let cell = dice.octaves(finest, f64::clamp(size / 6.0, 1.01 * finest, 2.5));
        let law = Law::random(&mut dice);
        let mut scene = Self {
            seed,
            kind,
            says: format!("{size:.1} mm, cells {cell:.2} mm, {law:?}"),
            tank: block([0.0; 3], TANK),
            parts: Vec::new(),
            law,
            hold: law.hold(&mut dice),
            coarsest_m: MM * dice.between(f64::max(4.0, cell), 7.0),
            conductivity_s_per_m: 20.0,
        };
        scene.hang(&mut dice, size, cell);
        scene.anodes(&mut dice, cell);
        scene.says += &format!(", {:?}", scene.hold);
        scene
    }

    fn hang(&mut self, dice: &mut Dice, size: f64, cell: f64) {
        let middle = [dice.between(28.0, 40.0), 30.0, 30.0];
        let at = |dice: &mut Dice, half: f64| -> Point<3> {
            let off = dice.within(half);
            std::array::from_fn(|k| middle[k] + off[k])
        };
        match self.kind {
            Kind::Immersed => {
                let shape = self.cut(dice, size, cell);
                self.work(shape, cell);
            }
            Kind::Rack => {
                for y in [16.0, 44.0] {
                    let s = f64::min(size, 16.0);
                    let shape = any(dice, s, cell);
                    let shape = placed(dice, shape);
                    let to = [dice.between(28.0, 40.0), y, dice.between(27.0, 33.0)];
                    self.work((moved(&shape.0, to), shape.1), cell);
                }
            }
            Kind::Shielded => {
                let shape = shapes::convex(dice, size);
                let shape = placed(dice, shape);
                let to = at(dice, 3.0);
                self.work((moved(&shape.0, to), shape.1), cell);
                self.shield(dice, to, size, cell);
            }
            kind => {
                let shape = of(kind, dice, size, cell);
                let shape = placed(dice, shape);
                let to = at(dice, 3.0);
                self.work((moved(&shape.0, to), shape.1), cell);
            }
        }
    }

    /// A body through the liquid level, a side or the floor.
    fn cut(&mut self, dice: &mut Dice, size: f64, cell: f64) -> Shape {
        let s = f64::min(size, 30.0);
        let hangs = dice.chance(0.6);
        let (x, y) = (dice.between(28.0, 40.0), dice.between(26.0, 34.0));
        if hangs {
            let level = HalfSpace::new([0.0, 0.0, MM * LEVEL], [0.0, 0.0, 1.0]).expect("a level");
            let room = self.tank.clone();
            self.tank = Solid::Intersection(vec![room, Solid::new(level)]);
        }
        if hangs && dice.chance(0.5) {
            let (tube, what) = shapes::tube(dice, s, cell);
            let tube = tube.placed(&dice.tilt(0.5));
            let to = [x, y, LEVEL - dice.between(0.05, 0.3) * s];
            return (moved(&tube, to), format!("{what}, through the level"));
        }
        let shape = shapes::convex(dice, s);
        let (body, what) = placed(dice, shape);
        let out = dice.between(-0.3, 0.3) * s;
        let (to, where_) = match (hangs, dice.pick(3)) {
            (true, _) => ([x, y, LEVEL + out], "the level"),
            (_, 0) => ([x, y, out], "the floor"),
            (_, 1) => ([x, out, 30.0], "a long side"),
            _ => ([out, y, 30.0], "the end"),
        };
        (moved(&body, to), format!("{what} through {where_}"))
    }

    /// A thin insulating plate at or into the work.
    fn shield(&mut self, dice: &mut Dice, work: Point<3>, size: f64, cell: f64) {
        let cells = dice.between(0.3, 2.0);
        let (w, a, b) = (
            0.5 * cells * cell,
            dice.between(0.2, 0.6) * size,
            dice.between(0.2, 0.6) * size,
        );
        let plate = block([-w, -a, -b], [w, a, b]).placed(&dice.turn());
        let far = dice.between(0.1, 0.7) * size;
        let towards = dice.direction();
        let to = std::array::from_fn(|k| work[k] + far * towards[k]);
        self.says += &format!(", insulating plate of {cells:.2} cells");
        self.parts.push(Part {
            role: None,
            solid: moved(&plate, to),
            kinetics: Kinetics::Primary,
            finest_m: MM * cell,
        });
    }

    fn work(&mut self, shape: Shape, cell: f64) {
        self.says += &format!(", {}", shape.1);
        self.parts.push(Part {
            role: Some(Role::Work),
            solid: shape.0,
            kinetics: self.law.cathode(),
            finest_m: MM * cell,
        });
    }

    /// In the end wall, or a slab before it, or a rod.
    fn anodes(&mut self, dice: &mut Dice, cell: f64) {
        let (solid, what) = match dice.pick(4) {
            0 | 1 => (block([75.0, -5.0, -5.0], [85.0, 65.0, 65.0]), "end wall"),
            2 => {
                let x = dice.between(68.0, 72.0);
                let (y, z) = (dice.between(5.0, 20.0), dice.between(5.0, 20.0));
                let slab = block([x, y, z], [x + 4.0, 60.0 - y, 60.0 - z]);
                (slab, "slab")
            }
            _ => {
                let rod = block([-3.0, -3.0, -20.0], [3.0, 3.0, 20.0]).placed(&dice.tilt(0.2));
                (moved(&rod, [69.0, dice.between(20.0, 40.0), 30.0]), "rod")
            }
        };
        self.says += &format!(", anode {what}");
        self.parts.push(Part {
            role: Some(Role::Anode),
            solid,
            kinetics: self.law.anode(),
            finest_m: MM * dice.between(f64::max(cell, 1.5), f64::max(cell, 3.0)),
        });
    }

    /// The same scene with cells smaller by a factor.
    pub fn finer(mut self, factor: f64) -> Self {
        self.coarsest_m /= factor.sqrt();
        for part in &mut self.parts {
            part.finest_m /= factor;
        }
        self
    }

    /// The same scene somewhere else, or mirrored, or turned.
    pub fn moved(mut self, placement: &Placement<3>) -> Self {
        self.tank = self.tank.placed(placement);
        for part in &mut self.parts {
            part.solid = part.solid.placed(placement);
        }
        self
    }

    /// The same scene, larger by a factor, with its cells.
    pub fn larger(mut self, factor: f64) -> Self {
        let scaling = Placement::<3>::scaling(factor).expect("a scaling");
        self = self.moved(&scaling);
        self.coarsest_m *= factor;
        for part in &mut self.parts {
            part.finest_m *= factor;
        }
        self
    }

    /// The same scene in a liquid that conducts better by a factor.
    pub fn conducting(mut self, factor: f64) -> Self {
        self.conductivity_s_per_m *= factor;
        self
    }

    /// The same scene with an insulator in it.
    pub fn with_insulator(mut self, solid: Solid<3>, finest_m: f64) -> Self {
        self.parts.push(Part {
            role: None,
            solid,
            kinetics: Kinetics::Primary,
            finest_m,
        });
        self
    }

    /// Is there no law but that of the liquid?
    pub fn is_primary(&self) -> bool {
        matches!(self.law, Law::Primary)
    }

    /// The same scene at a held voltage.
    pub fn at_volts(mut self, volts: f64) -> Self {
        self.hold = Hold::Voltage(volts);
        self
    }

    /// Does a Tafel law rule at the work?
    pub fn follows_tafel(&self) -> bool {
        matches!(self.law, Law::Tafel | Law::Limited(_))
    }

    /// The middle of the tank, m.
    pub fn middle(&self) -> Point<3> {
        TANK.map(|x| 0.5 * MM * x)
    }

    /// Grid, field and deposit.
    pub fn run(&self) -> Result<Outcome<3>, String> {
        let model = self.model().map_err(|e| e.to_string())?;
        let model = Model::<Parts<3>>::try_from(model).expect("a tank in space");
        run(&model, &Settings::default(), &mut ()).map_err(|e| e.to_string())
    }

    fn model(&self) -> Result<Model, TankError> {
        let empty = Tank::new(self.tank.clone())
            .conductivity_s_per_m(self.conductivity_s_per_m)
            .coarsest_m(self.coarsest_m)
            .hold(self.hold)
            .time_s(Self::TIME_S);
        let parts = self.parts.iter().enumerate();
        let tank = parts.fold(empty, |tank, (n, part)| {
            let (name, solid) = (name(n, part), part.solid.clone());
            let tank = match part.role {
                Some(role) => tank
                    .electrode(role, &name, solid)
                    .law(part.kinetics.clone()),
                None => tank.shield(&name, solid),
            };
            tank.cells_m(part.finest_m, part.finest_m)
        });
        tank.model()
    }
}

fn name(n: usize, part: &Part) -> String {
    format!("{} {n}", part.role.map_or("shield", Role::word))
}

/// The shape of a kind that hangs free.
fn of(kind: Kind, dice: &mut Dice, size: f64, cell: f64) -> Shape {
    match kind {
        Kind::Concave => shapes::concave(dice, size, cell),
        Kind::Thin => shapes::thin(dice, size, cell),
        Kind::Notched => shapes::notched(dice, size, cell),
        Kind::Lettered => shapes::lettered(dice, size, cell),
        Kind::Wires => shapes::wires(dice, size, cell),
        _ => shapes::round(dice, size),
    }
}

fn any(dice: &mut Dice, size: f64, cell: f64) -> Shape {
    let kinds = [
        Kind::Concave,
        Kind::Thin,
        Kind::Notched,
        Kind::Wires,
        Kind::Round,
    ];
    let kind = kinds[dice.pick(kinds.len())];
    of(kind, dice, size, cell)
}

/// Mostly turned anyhow; sometimes straight, or just off straight.
fn placed(dice: &mut Dice, (solid, what): Shape) -> Shape {
    match dice.pick(6) {
        0 => (solid, what),
        1 => (solid.placed(&dice.tilt(0.05)), what),
        _ => (solid.placed(&dice.turn()), what),
    }
}

/// Electrode laws of a scene.
#[derive(Clone, Copy, Debug)]
enum Law {
    Primary,
    Tafel,
    /// Tafel up to a limiting current density, A/m2.
    Limited(f64),
    ButlerVolmer,
}

impl Law {
    fn random(dice: &mut Dice) -> Self {
        match dice.pick(10) {
            0..4 => Self::Primary,
            4..6 => Self::Tafel,
            6..8 => Self::Limited(dice.between(300.0, 800.0)),
            _ => Self::ButlerVolmer,
        }
    }

    fn cathode(self) -> Kinetics {
        let tafel = Transfer::Tafel {
            branch: Branch::Cathodic,
            exchange_a_per_m2: 1.0,
            slope_v: 0.05,
        };
        let limit = |current_a_per_m2| Limit {
            current_a_per_m2,
            film_voltage_v: None,
        };
        match self {
            Self::Primary => Kinetics::Primary,
            Self::Tafel => law(tafel, None),
            Self::Limited(most) => law(tafel, Some(limit(most))),
            Self::ButlerVolmer => law(both(20.0), None),
        }
    }

    fn anode(self) -> Kinetics {
        match self {
            Self::ButlerVolmer => law(both(50.0), None),
            _ => Kinetics::Primary,
        }
    }

    /// What the supply holds; never more than the limiting current.
    fn hold(self, dice: &mut Dice) -> Hold {
        match (self, dice.pick(10)) {
            (_, 0..5) => Hold::Voltage(dice.between(0.4, 1.5)),
            (Self::Limited(most), _) => Hold::MeanCurrentDensity(dice.between(0.3, 0.9) * most),
            (_, 5..8) => Hold::MeanCurrentDensity(dice.between(100.0, 500.0)),
            _ => Hold::Current(dice.between(0.1, 1.0)),
        }
    }
}

/// Butler-Volmer for copper, 25 degC.
fn both(exchange_a_per_m2: f64) -> Transfer {
    Transfer::ButlerVolmer {
        exchange_a_per_m2,
        alpha_a: 1.5,
        alpha_c: 0.5,
        temperature_k: 298.15,
    }
}

fn law(transfer: Transfer, limit: Option<Limit>) -> Kinetics {
    Kinetics::Law(Polarisation::new(transfer, limit).expect("a law"))
}
