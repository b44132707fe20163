//! The scene: everything that bounds the electrolyte, as one heap of flat elements, and the
//! question *what is this point of a surface?*
//!
//! The electrolyte is the tank (below the liquid level) without the bodies. Its boundary lies on
//! the surfaces of the primitives of tank and bodies. A point `x` of such a surface with normal
//! `n` belongs to the boundary exactly if one of `x + e n`, `x - e n` is electrolyte and the other
//! is not; what owns the solid side is the owner of the surface there. Two surfaces that coincide
//! (a plate leaning on a wall, a patch flush with it) are told apart by the same test, and gaps
//! narrower than `2 e` count as closed.

use super::fragment::{add_scaled, area_vector, unit};
use super::tree::Root;
use super::{BodyKind, Domain, Space};
use crate::solid::{Bounds, Fineness, Point, Primitive, Solid};
use std::sync::Arc;

/// `e` over the size of the finest cells: surfaces nearer than twice this are in contact.
const CONTACT: f64 = 1e-4;

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
}

/// A flat element of a surface.
#[derive(Clone, Copy, Debug)]
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
    /// Two electrodes touch here.
    Touch(u16, u16),
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
    body_bounds: Vec<Bounds<D>>,
}

impl<'a, const D: usize> Scene<'a, D> {
    /// Tessellates everything. `sagitta_m` gives the fineness for each body; tank and stop-offs
    /// take the last entry.
    pub fn new(domain: &'a Domain<D>, root: &Root<D>, finest_m: f64, sagitta_m: &[f64]) -> Self {
        let within = Bounds {
            low: root.origin,
            high: root.origin.map(|x| x + root.side_m),
        };
        let mut scene = Self {
            domain,
            elements: Vec::new(),
            surfaces: Vec::new(),
            contact_m: CONTACT * finest_m,
            body_bounds: domain
                .bodies
                .iter()
                .map(|b| b.solid.bounds().grown(finest_m))
                .collect(),
        };
        let tank_sagitta = sagitta_m[domain.bodies.len()];
        scene.add(&domain.tank, Role::Tank, tank_sagitta, within);
        for (i, body) in domain.bodies.iter().enumerate() {
            scene.add(&body.solid, Role::Body(i), sagitta_m[i], within);
        }
        for stop in &domain.stop_offs {
            scene.add(&stop.solid, Role::StopOff, tank_sagitta, within);
        }
        for (i, sheet) in domain.sheets.iter().enumerate() {
            let surface = scene.surfaces.len() as u32;
            scene.surfaces.push(Surface {
                primitive: None,
                role: Role::Sheet(i),
            });
            scene.add_soup(&sheet.sheet.soup, surface);
        }
        scene
    }

    fn add(&mut self, solid: &Solid<D>, role: Role, sagitta_m: f64, within: Bounds<D>) {
        for primitive in solid.primitives() {
            let surface = self.surfaces.len() as u32;
            let soup = primitive.tessellate(&Fineness { sagitta_m, within });
            self.surfaces.push(Surface {
                primitive: Some(primitive),
                role,
            });
            self.add_soup(&soup, surface);
        }
    }

    fn add_soup(&mut self, soup: &crate::solid::Soup<D>, surface: u32) {
        let on_axis = |corners: &[Point<D>; D]| {
            self.domain.space == Space::Axisymmetric
                && corners.iter().all(|c| c[0] <= self.contact_m)
        };
        let elements = soup.elements.iter().enumerate().filter_map(|(e, numbers)| {
            let corners = numbers.map(|v| soup.vertices[v as usize]);
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
        self.domain.tank.contains(&x) && self.body_at(&x).is_none()
    }

    /// First body that holds the point; electrodes before insulators.
    fn body_at(&self, x: &Point<D>) -> Option<usize> {
        let mut insulator = None;
        for (i, body) in self.domain.bodies.iter().enumerate() {
            if self.body_bounds[i].contains(x) && body.solid.contains(x) {
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

    /// Labels a point `x` of an element; `also` names the other surfaces in the neighbourhood.
    pub fn label(&self, element: &Element<D>, x: &Point<D>, also: &[u32]) -> Label {
        let surface = &self.surfaces[element.surface as usize];
        let (point, normal) = match &surface.primitive {
            Some(p) => {
                let s = p.project(element.patch, x, &element.normal);
                (s.point, s.normal)
            }
            None => (*x, element.normal),
        };
        let above = add_scaled(&point, self.contact_m, &normal);
        let below = add_scaled(&point, -self.contact_m, &normal);
        let (wet_above, wet_below) = (self.is_electrolyte(&above), self.is_electrolyte(&below));
        match surface.role {
            Role::StopOff => Label::Inside,
            Role::Sheet(i) => {
                if wet_above && wet_below {
                    Label::Sheet(i as u16)
                } else {
                    Label::Inside
                }
            }
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
        self.domain
            .stop_offs
            .iter()
            .any(|s| s.body.is_none_or(|only| only == usize::from(body)) && s.solid.contains(x))
    }
}
