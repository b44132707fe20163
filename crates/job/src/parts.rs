//! Tank, bodies and grid sizes: the geometry of a job.

use crate::draw;
use crate::drawing::Drawing;
use crate::face;
use crate::flow;
use crate::law::{self, Background};
use crate::line;
use crate::named::{self, Hung, On};
use crate::named_files::NamedFiles;
use crate::overlap::overlap;
use crate::reader::{Item, Table, unusual};
use crate::reading;
use crate::repeat::{self, Copy};
use crate::resolution;
use crate::skin::{self, Skin};
use crate::travel;
use crate::turn;
use crate::unit::Dimension;
use crate::wall::{self, Room};
use crate::zone;
use ionfall_mesh::grid::narrow::{ACROSS, KEPT};
use ionfall_mesh::grid::{Body, BodyKind, Domain, PlacedSheet, Region, Space, StopOff};
use ionfall_mesh::solid::{Bounds, Cuboid, HalfSpace, Placement, Solid};
use ionfall_model::{Coat, Contact, Electrode, Parts, Role, Travel, Turn, usual_cells_m};
use ionfall_numerics::number::significant;
use std::collections::HashSet;
use std::ops::Range;

/// The tables read here.
pub(crate) const TABLES: [&str; 13] = [
    zone::KEY,
    line::KEY,
    face::KEY,
    reading::KEY,
    "depth",
    "tank",
    Role::Anode.key(),
    Role::Work.key(),
    Role::Thief.key(),
    Role::Floating.key(),
    "shield",
    "stop_off",
    "grid",
];

/// Usual lengths of tanks, m.
const TANK_M: [f64; 2] = [0.01, 6.0];
/// Most that leads and contacts usually have, and resistors in front of thieves, ohm.
const LEAD_OHM: f64 = 10.0;
const RESISTOR_OHM: f64 = 1000.0;

/// Cell sizes, metres.
struct Sizes {
    finest: f64,
    /// Does the job say how small cells are at electrodes?
    given: bool,
    edge: f64,
    coarsest: f64,
    wall: f64,
}

impl Sizes {
    /// Cell sizes at the surface of a body and at its edges, m.
    fn of(&self, table: &Table) -> [f64; 2] {
        let finest = table.length("finest").unwrap_or(self.finest);
        let edge = table.length("edge").unwrap_or(self.edge);
        [finest, finest.min(edge)]
    }

    /// Cells across narrow places of a body: sizes that are given are kept to where a cell fits in.
    fn across(&self, table: &Table) -> f64 {
        if self.given || table.has("finest") {
            KEPT
        } else {
            ACROSS
        }
    }
}

/// Reads everything that has a place. `space` is what the job says it is.
pub(crate) fn read<const D: usize, W: Drawing<D>>(
    job: &Table,
    space: Space,
    bath: &Background,
    files: &dyn NamedFiles,
) -> Option<Parts<D>> {
    let liquid = match job.table("tank") {
        Some(table) => tank::<D, W>(&table, files),
        None => {
            job.need("tank", "{ size = \"...\" }");
            None
        }
    };
    let (sizes, regions) = grid::<D, W>(job, liquid.as_ref(), files);
    let mut bodies = Bodies::new(&sizes, liquid.as_ref().map(Solid::bounds));
    let tank = job.table("tank");
    let says = |key| tank.as_ref().is_some_and(|t| t.has(key));
    let room = Room {
        space,
        liquid: liquid.as_ref(),
        is_box: !says("shape") && !says("place"),
        has_level: says("liquid_level"),
    };
    let whole = electrodes::<D, W>(job, &mut bodies, &room, bath, files);
    let sheets = shields::<D, W>(job, &mut bodies, files);
    if let Some(tank) = tank.as_ref().filter(|_| whole) {
        bodies.tell_lost(tank);
    }
    let stop_offs = stop_offs::<D, W>(job, &mut bodies, whole, files);
    let zones = zone::read::<D, W>(job, bath, files);
    let flow = flow::read::<D>(job, space, room.has_level);
    let lines = line::read::<D>(job, whole.then_some(bodies.electrodes.as_slice()));
    let faces = face::read::<D, W>(job, whole.then_some(bodies.hung()), files);
    let readings = reading::read::<D>(job, liquid.as_ref());
    // Without all of its electrodes, places that name one would be told of in vain.
    whole.then_some(())?;
    Some(Parts {
        domain: Domain {
            space,
            tank: liquid?,
            bodies: bodies.list,
            stop_offs: stop_offs?,
            sheets: sheets?,
            regions: regions?,
            wall_m: sizes.wall,
            coarsest_m: sizes.coarsest,
        },
        electrodes: bodies.electrodes,
        coats: bodies.coats,
        contacts: bodies.contacts,
        turns: bodies.turns,
        travels: bodies.travels,
        flow: flow?,
        zones: zones?,
        lines: lines?,
        faces: faces?,
        readings: readings?,
    })
}

/// The electrodes of all roles; false if one could not be read.
fn electrodes<const D: usize, W: Drawing<D>>(
    job: &Table,
    bodies: &mut Bodies<D>,
    room: &Room<'_, D>,
    bath: &Background,
    files: &dyn NamedFiles,
) -> bool {
    let mut whole = true;
    for role in Role::ALL {
        let key = role.key();
        let tables = job.tables(key);
        for (n, table) in tables.iter().enumerate() {
            let name = bodies.name(table, key, n, tables.len());
            let kinetics = law::read(table, role, bath);
            let solid = wall::body::<D, W>(table, room, files);
            let skin = role
                .is_cathode()
                .then(|| skin::read::<D, W>(table, bodies.electrodes.len(), &name, files));
            let lead = match (role != Role::Floating)
                .then(|| table.get("lead"))
                .flatten()
            {
                Some(item) => item.not_negative(Dimension::Resistance).inspect(|ohm| {
                    let most = if role == Role::Thief {
                        RESISTOR_OHM
                    } else {
                        LEAD_OHM
                    };
                    item.usual(Dimension::Resistance, *ohm, [0.0, most], "ohm");
                }),
                None => Some(0.0),
            };
            let film = match table.get("film_resistance") {
                Some(item) => item.not_negative(Dimension::AreaResistance),
                None => Some(0.0),
            };
            let turn = match table.get("turns") {
                Some(item) => turn::read::<D>(&item, room.space, bodies.electrodes.len()).map(Some),
                None => Some(None),
            };
            let ways = match table.get(travel::KEY) {
                Some(item) if table.has("coat") => {
                    item.fault(
                        "a coat grows while it travels, which is not computed",
                        "leave out `travels`, or the coat",
                    );
                    None
                }
                Some(item) => travel::read::<D, W>(&item, room.space),
                None => Some(Vec::new()),
            };
            let added = bodies.add::<W>(table, &name, solid, BodyKind::Electrode);
            if let (
                Some(added),
                Some(kinetics),
                Some(lead_ohm),
                Some(film_ohm_m2),
                Some(turn),
                Some(ways),
            ) = (added, kinetics, lead, film, turn, ways)
            {
                let electrode = Electrode {
                    body: 0,
                    name,
                    copy_of: None,
                    role,
                    kinetics,
                    lead_ohm,
                    film_ohm_m2,
                };
                for hung in added {
                    if !ways.is_empty() {
                        bodies.travels.push(Travel {
                            electrode: bodies.electrodes.len(),
                            others: ways.clone(),
                        });
                    }
                    bodies.hang(&electrode, &hung, skin.as_ref(), turn.as_ref());
                }
            } else {
                whole = false;
            }
        }
        if tables.is_empty() && matches!(role, Role::Anode | Role::Work) {
            job.lacks(
                &[key],
                format!("the job has no {key}"),
                format!("add a table: [[{key}]]"),
            );
        }
    }
    whole
}

/// The room of the liquid: the tank below the liquid level.
fn tank<const D: usize, W: Drawing<D>>(table: &Table, files: &dyn NamedFiles) -> Option<Solid<D>> {
    let room = if draw::is_drawn::<D, W>(table) {
        draw::body::<D, W>(table, files)
    } else {
        draw::corners::<D>(table).and_then(|(low, high)| {
            Cuboid::new(low, high)
                .map_err(|error| table.fault(error.to_string(), "give the tank a size"))
                .ok()
                .map(Solid::new)
        })
    };
    let level = table.get("liquid_level");
    let height = level.as_ref().map(|i| i.quantity(Dimension::Length));
    table.finish();
    let room = room?;
    let longest_m = longest(&room.bounds());
    if let Some(text) = unusual(Dimension::Length, longest_m, TANK_M, "mm") {
        table.note(format!("the tank at its longest: {text}"));
    }
    let (Some(level), Some(height)) = (level, height) else {
        return Some(room);
    };
    let height = height?;
    let bounds = room.bounds();
    if height <= bounds.low[D - 1] || height > bounds.high[D - 1] {
        level.fault(
            "the liquid level is outside the tank",
            format!(
                "the tank reaches from {} to {} mm in height",
                1e3 * bounds.low[D - 1],
                1e3 * bounds.high[D - 1]
            ),
        );
        return None;
    }
    let mut surface = [0.0; D];
    surface[D - 1] = height;
    let mut up = [0.0; D];
    up[D - 1] = 1.0;
    let below = HalfSpace::new(surface, up)
        .map_err(|error| level.fault(error.to_string(), "change the level"))
        .ok()?;
    Some(Solid::Intersection(vec![room, Solid::new(below)]))
}

/// Cell sizes and regions of the `grid` table.
fn grid<const D: usize, W: Drawing<D>>(
    job: &Table,
    liquid: Option<&Solid<D>>,
    files: &dyn NamedFiles,
) -> (Sizes, Option<Vec<Region<D>>>) {
    let extent = liquid.map_or(1.0, |solid| {
        let b = solid.bounds();
        (0..D).map(|k| b.high[k] - b.low[k]).fold(0.0, f64::max)
    });
    let table = job.table("grid");
    let length = |key| table.as_ref().and_then(|t| t.length(key));
    let [finest, coarsest] = usual_cells_m::<D>(extent);
    let finest = length("finest").unwrap_or(finest);
    let coarsest = length("coarsest").unwrap_or(coarsest.max(finest));
    let sizes = Sizes {
        finest,
        given: table.as_ref().is_some_and(|t| t.has("finest")),
        coarsest,
        edge: length("edge").unwrap_or(finest),
        wall: length("wall").unwrap_or(coarsest),
    };
    let regions = table.map_or(Some(Vec::new()), |table| {
        // Read with the plan.
        table.get(resolution::ACCURACY);
        let read: Vec<_> = table
            .tables("region")
            .iter()
            .map(|region| {
                let finest_m = region.need_length("finest");
                let solid = draw::body::<D, W>(region, files);
                region.finish();
                Some(Region {
                    solid: solid?,
                    finest_m: finest_m?,
                })
            })
            .collect();
        table.finish();
        read.into_iter().collect()
    });
    (sizes, regions)
}

/// Bodies so far, with the names that are taken.
struct Bodies<'a, const D: usize> {
    list: Vec<Body<D>>,
    electrodes: Vec<Electrode>,
    coats: Vec<Coat<D>>,
    contacts: Vec<Contact<D>>,
    turns: Vec<Turn<D>>,
    travels: Vec<Travel<D>>,
    /// From where each electrode is drawn to where it is.
    moved: Vec<Placement<D>>,
    names: HashSet<String>,
    /// Copies so far, in the whole job.
    copies: usize,
    sizes: &'a Sizes,
    liquid: Option<Bounds<D>>,
}

impl<'a, const D: usize> Bodies<'a, D> {
    fn new(sizes: &'a Sizes, liquid: Option<Bounds<D>>) -> Self {
        Self {
            list: Vec::new(),
            electrodes: Vec::new(),
            coats: Vec::new(),
            contacts: Vec::new(),
            turns: Vec::new(),
            travels: Vec::new(),
            moved: Vec::new(),
            names: HashSet::new(),
            copies: 0,
            sizes,
            liquid,
        }
    }

    /// The name of a table, or one made up: `work`, or `work 2` if there are several.
    fn name(&mut self, table: &Table, word: &str, n: usize, of: usize) -> String {
        let item = table.get("name");
        let name = match item.as_ref().and_then(Item::text) {
            Some(name) => name.to_owned(),
            None if of > 1 => format!("{word} {}", n + 1),
            None => word.to_owned(),
        };
        let span = item.map_or(table.span(), |i| i.span());
        self.take_name(table, span, name.clone());
        name
    }

    /// A name is used from here on.
    fn take_name(&mut self, table: &Table, span: Range<usize>, name: String) {
        if self.names.contains(&name) {
            table.fault_at(
                span,
                format!("the name `{name}` is used twice"),
                "give every body a name of its own",
            );
        }
        self.names.insert(name);
    }

    /// Adds a body and its copies; gives their numbers.
    fn add<W: Drawing<D>>(
        &mut self,
        table: &Table,
        name: &str,
        solid: Option<Solid<D>>,
        kind: BodyKind,
    ) -> Option<Vec<Added<D>>> {
        let [finest_m, edge_m] = self.sizes.of(table);
        let across = self.sizes.across(table);
        let copies = self.copies::<W>(table, name);
        table.finish();
        let (solid, copies) = (solid?, copies?);
        // The first is the one that is drawn, and stays as it is.
        let moved = copies[1..].iter().map(|c| solid.placed(&c.moved));
        let solids: Vec<_> = std::iter::once(solid.clone()).chain(moved).collect();
        self.tell_outside(table, name, &copies, &solids);
        self.tell_small(table, name, &solids[0], finest_m);
        tell_overlap(table, name, &copies, &solids);
        let bodies = copies.into_iter().zip(solids);
        let add = |(copy, solid): (Copy<D>, Solid<D>)| {
            self.list.push(Body {
                name: format!("{name}{}", copy.ending),
                solid,
                kind,
                finest_m,
                edge_m,
                across,
            });
            let body = self.list.len() - 1;
            Added { body, copy }
        };
        Some(bodies.map(add).collect())
    }

    /// The copies that a table asks for, whose names are taken.
    fn copies<W: Drawing<D>>(&mut self, table: &Table, name: &str) -> Option<Vec<Copy<D>>> {
        let copies = repeat::read::<D, W>(table)?;
        let [_, _, ..] = copies.as_slice() else {
            return Some(copies);
        };
        let item = table.get(repeat::KEY)?;
        if table.has(wall::KEY) {
            item.fault(
                format!("{}, which is a wall: there is one of it", item.name()),
                "draw the other electrodes in tables of their own",
            );
            return None;
        }
        self.copies += copies.len();
        if self.copies > repeat::MOST {
            repeat::too_many(&item, self.copies);
            return None;
        }
        for copy in &copies {
            self.take_name(table, item.span(), format!("{name}{}", copy.ending));
        }
        Some(copies)
    }

    /// An electrode of its name and place.
    fn hang(
        &mut self,
        drawn: &Electrode,
        added: &Added<D>,
        skin: Option<&Skin<D>>,
        turn: Option<&Turn<D>>,
    ) {
        let Added { body, copy } = added;
        let electrode = self.electrodes.len();
        let moved = copy.moved;
        self.electrodes.push(Electrode {
            body: *body,
            name: format!("{}{}", drawn.name, copy.ending),
            copy_of: (!copy.ending.is_empty()).then(|| drawn.name.clone()),
            ..drawn.clone()
        });
        self.moved.push(moved);
        let turn = turn.map(|t| Turn::new(electrode, moved.apply(&t.at), moved.turned(&t.axis)));
        self.turns.extend(turn);
        let Some(skin) = skin else { return };
        self.coats.extend(skin.coats.iter().map(|coat| Coat {
            electrode,
            region: coat.region.as_ref().map(|r| r.placed(&moved)),
            ..coat.clone()
        }));
        self.contacts.extend(skin.contacts.iter().map(|c| Contact {
            electrode,
            name: format!("{}{}", c.name, copy.ending),
            region: c.region.placed(&moved),
            resistance_ohm: c.resistance_ohm,
        }));
    }

    fn hung(&self) -> Hung<'_, D> {
        Hung {
            electrodes: &self.electrodes,
            moved: &self.moved,
        }
    }
}

/// A body that was added.
struct Added<const D: usize> {
    /// Its number.
    body: usize,
    /// Which copy it is.
    copy: Copy<D>,
}

/// Most pairs of copies near each other that are looked at.
const MOST_PAIRS: usize = 100;

/// Notes the first two copies that have room in common.
fn tell_overlap<const D: usize>(
    table: &Table,
    name: &str,
    copies: &[Copy<D>],
    solids: &[Solid<D>],
) {
    let bounds: Vec<_> = solids.iter().map(Solid::bounds).collect();
    let pairs = (0..solids.len()).flat_map(|a| (0..a).map(move |b| [b, a]));
    let mut near = pairs
        .filter(|[a, b]| !apart(&bounds[*a], &bounds[*b]))
        .take(MOST_PAIRS);
    let Some([a, b]) = near.find(|[a, b]| overlap(&solids[*a], &solids[*b])) else {
        return;
    };
    let span = table
        .get(repeat::KEY)
        .map_or(table.span(), |item| item.span());
    let sides = (0..D).map(|k| significant(1e3 * (bounds[a].high[k] - bounds[a].low[k]), 3));
    let sides: Vec<_> = sides.collect();
    table.fault_at(
        span,
        format!(
            "`{name}{}` and `{name}{}` overlap",
            copies[a].ending, copies[b].ending
        ),
        format!(
            "move them farther apart: one is {} mm (pitch is from one to the next, not the gap between them)",
            sides.join(" x ")
        ),
    );
}

/// Share of a tank, in every direction, within which electrodes are lost in it.
const LOST: f64 = 0.1;
/// Cells along a body below which it is told of.
const FEW_CELLS: f64 = 2.0;

impl<const D: usize> Bodies<'_, D> {
    /// Notes electrodes that are lost in their tank, whose unit may be wrong.
    fn tell_lost(&self, tank: &Table) {
        let Some(liquid) = &self.liquid else { return };
        let bounds = |e: &Electrode| self.list[e.body].solid.bounds().intersection(liquid);
        let all = (self.electrodes.iter()).fold(Bounds::EMPTY, |all, e| all.union(&bounds(e)));
        let side = |b: &Bounds<D>, k: usize| b.high[k] - b.low[k];
        if (0..D).all(|k| side(&all, k) < LOST * side(liquid, k)) {
            let [small, large] = [&all, liquid].map(|b| significant(1e3 * longest(b), 3));
            tank.note(format!(
                "the tank is {large} mm at its longest, and all electrodes lie within {small} mm of it; are the \
                 units right?"
            ));
        }
    }

    /// Notes the first of some bodies that lies outside of the liquid.
    fn tell_outside(&self, table: &Table, name: &str, copies: &[Copy<D>], solids: &[Solid<D>]) {
        let Some(liquid) = &self.liquid else { return };
        let is_outside = |solid: &Solid<D>| apart(liquid, &solid.bounds());
        if let Some(n) = solids.iter().position(is_outside) {
            table.fault(
                format!("`{name}{}` lies outside the liquid", copies[n].ending),
                "move it into the tank, below the liquid level",
            );
        }
    }

    /// Notes a body that hardly fills a few of its cells.
    fn tell_small(&self, table: &Table, name: &str, solid: &Solid<D>, finest_m: f64) {
        let Some(liquid) = &self.liquid else { return };
        let longest_m = longest(&solid.bounds().intersection(liquid));
        let cells = longest_m / finest_m;
        if cells > 0.0 && cells < FEW_CELLS {
            table.note(format!(
                "`{name}` is {} mm at its longest, and the cells there are {} mm: with less than {FEW_CELLS} \
                 cells along it nothing on it can be trusted; is its size right? Else give it a smaller `finest`",
                significant(1e3 * longest_m, 3),
                significant(1e3 * finest_m, 3),
            ));
        }
    }
}

fn longest<const D: usize>(b: &Bounds<D>) -> f64 {
    (0..D).map(|k| b.high[k] - b.low[k]).fold(0.0, f64::max)
}

/// Have two boxes nothing in common? A face in common is enough for an electrode in a wall.
fn apart<const D: usize>(a: &Bounds<D>, b: &Bounds<D>) -> bool {
    let common = a.intersection(b);
    (0..D).any(|k| common.low[k] > common.high[k])
}

/// Shields: insulating bodies join the bodies, sheets are given back.
fn shields<const D: usize, W: Drawing<D>>(
    job: &Table,
    bodies: &mut Bodies<D>,
    files: &dyn NamedFiles,
) -> Option<Vec<PlacedSheet<D>>> {
    let tables = job.tables("shield");
    let mut sheets = Vec::new();
    for (n, table) in tables.iter().enumerate() {
        let name = bodies.name(table, "shield", n, tables.len());
        let Some(item) = table.get("sheet") else {
            let solid = draw::body::<D, W>(table, files);
            bodies.add::<W>(table, &name, solid, BodyKind::Insulator);
            continue;
        };
        let mut drawn = None;
        let mut gone = false;
        if let Some(sheet) = item.table() {
            gone = draw::is_gone(&sheet);
            drawn = W::sheet(&sheet, &item);
            sheet.finish();
        }
        let [finest_m, edge_m] = bodies.sizes.of(table);
        let copies = bodies.copies::<W>(table, &name);
        table.finish();
        if gone {
            table.note(format!(
                "`{name}` is open all over: it is left out, as if no shield were there"
            ));
            continue;
        }
        sheets.push(drawn.zip(copies).map(|(sheet, copies)| {
            let placed = copies.into_iter().map(|copy| PlacedSheet {
                name: format!("{name}{}", copy.ending),
                sheet: sheet.placed(&copy.moved),
                finest_m,
                edge_m,
            });
            placed.collect::<Vec<_>>()
        }));
    }
    Some(sheets.into_iter().collect::<Option<Vec<_>>>()?.concat())
}

/// Stop-offs, each on one electrode or on all; `whole` says whether all electrodes could be read. One that is drawn on a
/// body that is repeated lies on each copy.
fn stop_offs<const D: usize, W: Drawing<D>>(
    job: &Table,
    bodies: &mut Bodies<D>,
    whole: bool,
    files: &dyn NamedFiles,
) -> Option<Vec<StopOff<D>>> {
    let tables = job.tables("stop_off");
    let read: Vec<_> = tables
        .iter()
        .enumerate()
        .map(|(n, table)| {
            let name = bodies.name(table, "stop-off", n, tables.len());
            let solid = draw::body::<D, W>(table, files);
            let copies = bodies.copies::<W>(table, &name);
            let known = whole.then_some(bodies.hung());
            let on = table.get("on").map(|item| named::on(&item, known));
            table.finish();
            let (solid, copies) = (solid?, copies?);
            let places: Vec<(Option<usize>, Placement<D>)> = match on {
                Some(on) => {
                    let body = |on: &On<D>| Some(bodies.electrodes[on.electrode].body);
                    on?.iter().map(|on| (body(on), on.moved)).collect()
                }
                None => vec![(None, Placement::identity())],
            };
            let found = copies.len() * places.len();
            if let Some(item) = table.get(repeat::KEY).filter(|_| found > repeat::MOST) {
                repeat::too_many(&item, found);
                return None;
            }
            let lacquer = |(body, moved): &(Option<usize>, Placement<D>)| -> Vec<StopOff<D>> {
                let placed = copies.iter().map(|copy| StopOff {
                    solid: solid.placed(&copy.moved.then(moved)),
                    body: *body,
                });
                placed.collect()
            };
            Some(places.iter().flat_map(lacquer).collect::<Vec<_>>())
        })
        .collect();
    Some(read.into_iter().collect::<Option<Vec<_>>>()?.concat())
}
