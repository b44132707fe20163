//! The scene: everything that bounds the electrolyte, as one heap of flat elements, and the
//! question *what is this point of a surface?*
//!
//! The electrolyte is the tank (below the liquid level) without the bodies. Its boundary lies on
//! the surfaces of the primitives of tank and bodies. A point `x` of such a surface with normal
//! `n` belongs to the boundary exactly if one of `x + e n`, `x - e n` is electrolyte and the other
//! is not; what owns the solid side is the owner of the surface there. Two surfaces that coincide
//! (a plate leaning on a wall, a patch flush with it) are told apart by the same test, and gaps
//! narrower than `2 e` count as closed.

use super::domain::{BodyKind, Domain, Space};
use super::fragment::area_vector;
use super::tree::Root;
use crate::solid::{Bounds, BoxTree, Fineness, Members, Point, Primitive, Solid};
use ionfall_numerics::vector::{add_scaled, unit};
use rayon::prelude::*;
use std::sync::Arc;

/// Half the distance, over the size of the finest cells, below which surfaces are in contact: points are
/// asked for what they bound this far off their surface, elements this far twice from a cell reach it.
pub const CONTACT: f64 = 1e-4;

/// Least cosine between normals of one side of a surface (39.6 degrees): pieces that turn by more
/// belong to two facets, and to two sides when gaps and edges are looked for.
pub const SAME_SIDE: f64 = 0.77;

/// Convex parts from which a body is looked through for what lies inside of it.
const MANY: usize = 32;

/// What a surface is part of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Wall of the tank or surface of the liquid.
    Tank,
    /// A body of [`Domain::bodies`].
    Body(usize),
    /// A stop-off solid: marks others' surfaces, bounds nothing.
    StopOff,
    /// A sheet of [`Domain::sheets`]: electrolyte on both sides.
    Sheet(usize),
    /// The surface of that sheet past its rim, where it is open (`grid/beyond.rs`).
    Beyond(usize),
}

/// A flat element of a surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Element<const D: usize> {
    /// Corners.
    pub corners: [Point<D>; D],
    /// Unit normal out of the primitive.
    pub normal: Point<D>,
    /// Surface it is part of (number in [`Scene::surfaces`]).
    pub surface: u32,
    /// Smooth patch of the surface.
    pub patch: u16,
    /// True area over flat area.
    pub area_factor: f32,
}

/// A surface: a primitive or a sheet.
#[derive(Clone, Debug)]
pub struct Surface<const D: usize> {
    /// Its primitive; sheets have none.
    pub primitive: Option<Arc<dyn Primitive<D>>>,
    /// What it is part of.
    pub role: Role,
    /// Is everything inside the primitive in the solid it is part of?
    pub fills: bool,
    /// Is it known to be convex?
    pub convex: bool,
    /// A box around it.
    pub bounds: Bounds<D>,
}

/// What a piece of surface is to the electrolyte.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Label {
    /// No boundary.
    Inside,
    /// Electrolyte on one side (`up`: the side of the normal).
    Wall {
        /// Is the electrolyte on the side the normal points to?
        up: bool,
        /// The electrode (body number) behind; `None` for insulators.
        electrode: Option<u16>,
    },
    /// A sheet with electrolyte on both sides.
    Sheet(u16),
    /// The surface of that sheet past its rim: electrolyte on both sides, and nothing between.
    Beyond(u16),
    /// Two electrodes touch here.
    Touch(u16, u16),
}

impl Label {
    /// The sheet that lies, or would go on, here.
    pub fn sheet(self) -> Option<u16> {
        match self {
            Self::Sheet(i) | Self::Beyond(i) => Some(i),
            _ => None,
        }
    }
}

/// All surfaces with the domain they belong to.
#[derive(Debug)]
pub struct Scene<'a, const D: usize> {
    /// The domain.
    pub domain: &'a Domain<D>,
    /// All flat elements.
    pub elements: Vec<Element<D>>,
    /// Surfaces of the elements.
    pub surfaces: Vec<Surface<D>>,
    contact_m: f64,
    /// Where there can be electrolyte, and a hair more.
    room: Bounds<D>,
    tank: Members<D>,
    bodies: Vec<Members<D>>,
    body_bounds: Vec<Bounds<D>>,
    stop_offs: Vec<Members<D>>,
}

impl<'a, const D: usize> Scene<'a, D> {
    /// Tessellates everything. `sagitta_m` gives the fineness for each body; tank and stop-offs
    /// take the last entry. Elements wholly outside `region` are left out.
    pub fn new(
        domain: &'a Domain<D>,
        root: &Root<D>,
        region: &Bounds<D>,
        finest_m: f64,
        sagitta_m: &[f64],
    ) -> Self {
        let within = Bounds {
            low: root.origin,
            high: root.origin.map(|x| x + root.side_m),
        };
        let contact_m = CONTACT * finest_m;
        let members = |solid: &Solid<D>| Members::new(solid);
        let mut scene = Self {
            domain,
            elements: Vec::new(),
            surfaces: Vec::new(),
            contact_m,
            room: domain.tank.bounds().grown(2.0 * contact_m),
            tank: members(&domain.tank),
            bodies: domain.bodies.iter().map(|b| members(&b.solid)).collect(),
            stop_offs: domain.stop_offs.iter().map(|s| members(&s.solid)).collect(),
            body_bounds: domain
                .bodies
                .iter()
                .map(|b| b.solid.bounds().grown(finest_m))
                .collect(),
        };
        let tank_sagitta = sagitta_m[domain.bodies.len()];
        let mut add = |solid: &Solid<D>, role, sagitta_m| {
            let fineness = Fineness { sagitta_m, within };
            scene.add(solid, role, &fineness, region);
        };
        add(&domain.tank, Role::Tank, tank_sagitta);
        for (i, body) in domain.bodies.iter().enumerate() {
            add(&body.solid, Role::Body(i), sagitta_m[i]);
        }
        scene.drop_buried();
        let mut add = |solid: &Solid<D>, role, sagitta_m| {
            let fineness = Fineness { sagitta_m, within };
            scene.add(solid, role, &fineness, region);
        };
        for stop in &domain.stop_offs {
            add(&stop.solid, Role::StopOff, tank_sagitta);
        }
        for (i, sheet) in domain.sheets.iter().enumerate() {
            let sheet = &sheet.sheet;
            let both = [
                (Role::Sheet(i), &sheet.soup),
                (Role::Beyond(i), &sheet.beyond),
            ];
            for (role, soup) in both {
                let surface = scene.surfaces.len() as u32;
                scene.surfaces.push(Surface {
                    primitive: None,
                    role,
                    fills: false,
                    convex: false,
                    bounds: within,
                });
                scene.add_soup(soup, surface, region);
            }
        }
        scene
    }

    fn add(&mut self, solid: &Solid<D>, role: Role, fineness: &Fineness<D>, region: &Bounds<D>) {
        for (primitive, fills) in solid.primitives().into_iter().zip(solid.fills()) {
            let surface = self.surfaces.len() as u32;
            let soup = primitive.tessellate(fineness);
            self.surfaces.push(Surface {
                convex: primitive.is_convex(),
                bounds: primitive.bounds().grown(self.contact_m),
                primitive: Some(primitive),
                role,
                fills,
            });
            self.add_soup(&soup, surface, region);
        }
    }

    /// Leaves out elements that lie wholly inside a convex part of their own body, which bound nothing:
    /// of bodies of very many parts, such as wires, few elements remain to be cut.
    fn drop_buried(&mut self) {
        let body = |surface: u32| match self.surfaces[surface as usize].role {
            Role::Body(i) => Some(i),
            _ => None,
        };
        let parts: Vec<u32> = (0..self.surfaces.len() as u32)
            .filter(|&s| self.surfaces[s as usize].convex && self.surfaces[s as usize].fills)
            .filter(|&s| body(s).is_some())
            .collect();
        let mut count = vec![0usize; self.domain.bodies.len()];
        for i in parts.iter().filter_map(|&s| body(s)) {
            count[i] += 1;
        }
        if count.iter().all(|n| *n < MANY) {
            return;
        }
        let around = |s: &u32| self.surfaces[*s as usize].bounds;
        let tree = BoxTree::new(parts.iter().map(around).collect());
        let stays = |e: &Element<D>| {
            let Some(own) = body(e.surface).filter(|i| count[*i] >= MANY) else {
                return true;
            };
            let places = e.corners.map(|c| self.sides(e, &c));
            !tree.any_holding(&places[0][2], |n| {
                let part = parts[n as usize];
                let other = part != e.surface && body(part) == Some(own);
                other && places.iter().all(|sides| self.buries(part, sides))
            })
        };
        let kept: Vec<bool> = self.elements.par_iter().map(stays).collect();
        let mut kept = kept.into_iter();
        self.elements.retain(|_| kept.next().unwrap_or(true));
    }

    fn add_soup(&mut self, soup: &crate::solid::Soup<D>, surface: u32, region: &Bounds<D>) {
        let on_axis = |corners: &[Point<D>; D]| {
            self.domain.space == Space::Axisymmetric
                && corners.iter().all(|c| c[0] <= self.contact_m)
        };
        let elements = soup.elements.iter().enumerate().filter_map(|(e, numbers)| {
            let corners = numbers.map(|v| soup.vertices[v as usize]);
            if !Bounds::around(corners).overlaps(region) {
                return None;
            }
            let area = area_vector(&corners);
            let normal = unit(&area);
            (!on_axis(&corners) && normal != [0.0; D]).then_some(Element {
                corners,
                normal,
                surface,
                patch: soup.patch[e],
                area_factor: soup.area_factor[e],
            })
        });
        let elements: Vec<_> = elements.collect();
        self.elements.extend(elements);
    }

    /// Is the point in the electrolyte?
    pub fn is_electrolyte(&self, x: &Point<D>) -> bool {
        let mut x = *x;
        if self.domain.space == Space::Axisymmetric {
            x[0] = x[0].abs().max(self.contact_m);
        }
        self.tank.contains(&x) && self.body_at(&x).is_none()
    }

    /// First body that holds the point; electrodes before insulators.
    fn body_at(&self, x: &Point<D>) -> Option<usize> {
        let mut insulator = None;
        for (i, body) in self.domain.bodies.iter().enumerate() {
            if self.body_bounds[i].contains(x) && self.bodies[i].contains(x) {
                if body.kind == BodyKind::Electrode {
                    return Some(i);
                }
                insulator.get_or_insert(i);
            }
        }
        insulator
    }

    fn electrode_at(&self, x: &Point<D>) -> Option<u16> {
        self.body_at(x)
            .filter(|&i| self.domain.bodies[i].kind == BodyKind::Electrode)
            .map(|i| i as u16)
    }

    /// Can there be no electrolyte at all in a cell that these elements reach? Where no wall of the
    /// tank passes, the middle speaks for the whole cell.
    pub fn is_outside(&self, cell: &Bounds<D>, elements: &[u32]) -> bool {
        let wall = |e: &u32| {
            let surface = self.elements[*e as usize].surface;
            self.surfaces[surface as usize].role == Role::Tank
        };
        let middle = || std::array::from_fn(|k| 0.5 * (cell.low[k] + cell.high[k]));
        !self.room.overlaps(cell) || (!elements.iter().any(wall) && !self.tank.contains(&middle()))
    }

    /// The points just above and below a point `x` of an element, with the true point itself.
    pub fn sides(&self, element: &Element<D>, x: &Point<D>) -> [Point<D>; 3] {
        let (point, normal) = match &self.surfaces[element.surface as usize].primitive {
            Some(p) => {
                let s = p.project(element.patch, x, &element.normal);
                (s.point, s.normal)
            }
            None => (*x, element.normal),
        };
        let off = |s: f64| add_scaled(&point, s * self.contact_m, &normal);
        [off(1.0), off(-1.0), point]
    }

    /// Are both sides inside a primitive that fills a body, so that the element bounds nothing?
    pub fn buries(&self, surface: u32, sides: &[Point<D>; 3]) -> bool {
        let surface = &self.surfaces[surface as usize];
        let inside = |p: &Arc<dyn Primitive<D>>| p.contains(&sides[0]) && p.contains(&sides[1]);
        surface.fills
            && surface.bounds.contains(&sides[2])
            && surface.primitive.as_ref().is_some_and(inside)
    }

    /// Labels a point `x` of an element; `also` names the other surfaces in the neighbourhood.
    pub fn label(&self, element: &Element<D>, x: &Point<D>, also: &[u32]) -> Label {
        let surface = &self.surfaces[element.surface as usize];
        let [above, below, point] = self.sides(element, x);
        let (wet_above, wet_below) = (self.is_electrolyte(&above), self.is_electrolyte(&below));
        match surface.role {
            Role::StopOff => Label::Inside,
            Role::Sheet(_) | Role::Beyond(_) if !(wet_above && wet_below) => Label::Inside,
            Role::Sheet(i) => Label::Sheet(i as u16),
            Role::Beyond(i) => Label::Beyond(i as u16),
            Role::Tank | Role::Body(_) => {
                if wet_above == wet_below {
                    if !wet_above && let Role::Body(_) = surface.role {
                        let pair = (self.electrode_at(&above), self.electrode_at(&below));
                        if let (Some(a), Some(b)) = pair
                            && a != b
                        {
                            return Label::Touch(a.min(b), a.max(b));
                        }
                    }
                    return Label::Inside;
                }
                if self.covered_by_another(element.surface, &above, &below, also) {
                    return Label::Inside;
                }
                let solid = if wet_above { &below } else { &above };
                let electrode = self
                    .electrode_at(solid)
                    .filter(|&body| !self.is_stopped_off(&point, body));
                Label::Wall {
                    up: wet_above,
                    electrode,
                }
            }
        }
    }

    /// Where surfaces coincide, the first of them stands for all.
    fn covered_by_another(
        &self,
        this: u32,
        above: &Point<D>,
        below: &Point<D>,
        also: &[u32],
    ) -> bool {
        also.iter().any(|&other| {
            other < this
                && matches!(
                    self.surfaces[other as usize].role,
                    Role::Tank | Role::Body(_)
                )
                && self.surfaces[other as usize]
                    .primitive
                    .as_ref()
                    .is_some_and(|p| p.contains(above) != p.contains(below))
        })
    }

    fn is_stopped_off(&self, x: &Point<D>, body: u16) -> bool {
        let mut stop_offs = self.domain.stop_offs.iter().zip(&self.stop_offs);
        stop_offs.any(|(s, solid)| {
            s.body.is_none_or(|only| only == usize::from(body)) && solid.contains(x)
        })
    }
}
