//! The coat of an electrode as part of the network.
//!
//! Every coated facet has a node of its own. Neighbours are joined by
//!
//! ```text
//! g = w (s_a + s_b) / 2          w: geometry of the skin (mesh crate), 1 per square
//! s = 1 / R_sheet + (h - h0) / rho      coat and deposit of thickness h side by side
//! ```
//! with the resistivity `rho` of the deposited metal and the thickness `h0` up to which it grows in
//! islands that do not touch (none unless the job says so; on graphite usual, common practice, no
//! source). Facets so near to each other that `w` is
//! thirty times that of a whole cell (slivers at the borders of cells) share one node: what lies
//! between them is a thirtieth of a square, and links that stiff would cost the solver digits. The facets that a contact touches are one
//! node, the contact; on the way from there to a neighbour only the part outside the contact
//! counts, so the place of its rim does not depend on the cells.

use crate::assembly::Assembly;
use ionfall_mesh::grid::skin::{RimLink, Skin, skin};
use ionfall_mesh::grid::{Grid, Space};
use ionfall_mesh::solid::{Point, Solid};
use ionfall_model::{Contact, Parts};
use ionfall_numerics::groups::Groups;
use std::f64::consts::TAU;

/// Steps of the search for the rim of a contact: a millionth of the way.
const BISECTIONS: usize = 20;
/// Smallest part of the way to a neighbour that counts.
const LEAST_WAY: f64 = 0.02;

/// Weight, over that of a piece as long as a cell, from which on a link counts as a short circuit.
const SHORT: f64 = 30.0;

/// What is behind a facet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Back {
    /// The metal of its electrode.
    Metal,
    /// A coat: its node has this number among the coat nodes.
    Coat(u32),
    /// A contact of this number in [`Parts::contacts`].
    Contact(u32),
    /// Nothing that conducts.
    Bare,
}

/// A piece of coat between two facets.
#[derive(Clone, Copy, Debug)]
struct Square {
    a: u32,
    b: u32,
    /// Conductance over sheet conductance.
    weight: f64,
}

/// A piece of coat between a facet and a contact at the border of the skin.
#[derive(Clone, Copy, Debug)]
struct Rim {
    facet: u32,
    contact: u32,
    weight: f64,
}

/// All coats of a job.
#[derive(Debug, Default)]
pub struct Coats {
    /// What is behind each facet.
    pub back: Vec<Back>,
    /// Sheet conductance of the coat alone at each facet, S; zero where there is none.
    bare_s: Vec<f64>,
    /// Deposit that does not conduct yet at each facet, m.
    islands_m: Vec<f64>,
    squares: Vec<Square>,
    rims: Vec<Rim>,
}

impl Coats {
    /// Lays the coats on the facets. `electrode` is the number of each facet's electrode.
    pub fn new<const D: usize>(grid: &Grid<D>, parts: &Parts<D>, electrode: &[u16]) -> Self {
        if parts.coats.is_empty() {
            return Self {
                back: vec![Back::Metal; grid.facets.len()],
                ..Self::default()
            };
        }
        let mut coats = Self::laid(grid, parts, electrode);
        let fed = |x: &Point<D>| parts.contacts.iter().any(|c| c.region.contains(x));
        let skin = skin(grid, |f| coats.bare_s[f] > 0.0, fed);
        coats.rims = rims(grid, parts, electrode, &coats.back, &skin);
        let squares = squares(grid, parts, &coats.back, &skin);
        coats.squares = shorten(squares, &mut coats.back, |f| whole(grid, f));
        coats
    }

    /// What is behind each facet, not joined yet.
    fn laid<const D: usize>(grid: &Grid<D>, parts: &Parts<D>, electrode: &[u16]) -> Self {
        let count = grid.facets.len();
        let mut laid = Self {
            back: Vec::with_capacity(count),
            bare_s: vec![0.0; count],
            islands_m: vec![0.0; count],
            ..Self::default()
        };
        let mut nodes = 0;
        for (f, facet) in grid.facets.iter().enumerate() {
            let own = usize::from(electrode[f]);
            let mut coats = parts.coats.iter().filter(|c| c.electrode == own).peekable();
            if coats.peek().is_none() {
                laid.back.push(Back::Metal);
                continue;
            }
            let covers = |region: &Option<Solid<D>>| {
                region.as_ref().is_none_or(|r| r.contains(&facet.point))
            };
            let Some(coat) = coats.rfind(|c| covers(&c.region)) else {
                laid.back.push(Back::Bare);
                continue;
            };
            laid.bare_s[f] = 1.0 / coat.sheet_resistance_ohm;
            laid.islands_m[f] = coat.islands_m;
            let touching = |c: &Contact<D>| c.electrode == own && c.region.contains(&facet.point);
            laid.back
                .push(match parts.contacts.iter().position(touching) {
                    Some(contact) => Back::Contact(contact as u32),
                    None => {
                        nodes += 1;
                        Back::Coat(nodes - 1)
                    }
                });
        }
        laid
    }

    /// Is anything coated?
    pub fn is_empty(&self) -> bool {
        self.bare_s.is_empty()
    }

    /// Number of coat nodes, at most.
    pub fn most_nodes(&self) -> usize {
        let coated = self.back.iter().filter(|b| matches!(b, Back::Coat(_)));
        coated.count()
    }

    /// Does each contact touch something? The number of one that does not.
    pub fn idle_contact(&self, contacts: usize) -> Option<usize> {
        let touches = |c: u32| {
            self.back.contains(&Back::Contact(c)) || self.rims.iter().any(|r| r.contact == c)
        };
        (0..contacts).find(|&c| !touches(c as u32))
    }

    /// The thickness of metal that conducts as well as the coat under it, m (zero where no coat
    /// is), and that of the islands.
    pub fn own_thickness_m(&self, resistivity_ohm_m: f64) -> Vec<[f64; 2]> {
        let facets = self.bare_s.iter().zip(&self.islands_m);
        facets.map(|(s, h0)| [s * resistivity_ohm_m, *h0]).collect()
    }

    /// Adds their links, without conductances yet, and gives the number of the first; `node` gives
    /// the node of a facet, `contact` that of a contact.
    pub(crate) fn join<const D: usize>(
        &self,
        assembly: &mut Assembly<'_, D>,
        node: impl Fn(usize) -> u32,
        contact: impl Fn(usize) -> u32,
    ) -> usize {
        let first = assembly.links();
        for s in &self.squares {
            assembly.join(node(s.a as usize), node(s.b as usize), 0.0);
        }
        for r in &self.rims {
            assembly.join(contact(r.contact as usize), node(r.facet as usize), 0.0);
        }
        first
    }

    /// Conductances of the links with the metal grown on the coats.
    pub fn conductances_s(&self, thickness_m: &[f64], resistivity_ohm_m: f64) -> Vec<f64> {
        let sheet_s = |f: u32| {
            let f = f as usize;
            let joined_m = (thickness_m[f] - self.islands_m[f]).max(0.0);
            self.bare_s[f] + joined_m / resistivity_ohm_m
        };
        self.conductances(sheet_s)
    }

    /// Conductances of the links of the coats alone.
    pub fn bare_conductances_s(&self) -> Vec<f64> {
        self.conductances(|f| self.bare_s[f as usize])
    }

    /// Conductances of the links from those of the sheet at each facet.
    fn conductances(&self, sheet_s: impl Fn(u32) -> f64) -> Vec<f64> {
        let squares = self.squares.iter();
        let squares = squares.map(|s| s.weight * 0.5 * (sheet_s(s.a) + sheet_s(s.b)));
        let rims = self.rims.iter().map(|r| r.weight * sheet_s(r.facet));
        squares.chain(rims).collect()
    }

    /// The contacts at the two ends of a link.
    pub fn contacts_at(&self, link: usize) -> [Option<u32>; 2] {
        let at = |f: u32| match self.back[f as usize] {
            Back::Contact(c) => Some(c),
            _ => None,
        };
        match self.squares.get(link) {
            Some(square) => [at(square.a), at(square.b)],
            None => [Some(self.rims[link - self.squares.len()].contact), None],
        }
    }
}

/// The weight of a whole cell at a facet: one, except where a line stands for a surface.
fn whole<const D: usize>(grid: &Grid<D>, facet: u32) -> f64 {
    let f = facet as usize;
    let cell_m = grid.size_m(grid.facet_node[f] as usize);
    match grid.space {
        Space::Tank => 1.0,
        Space::Planar { depth_m } => depth_m / cell_m,
        Space::Axisymmetric => TAU * grid.facets[f].point[0] / cell_m,
    }
}

/// Pieces of coat towards contacts at the border of the skin: each to the nearest of its electrode.
fn rims<const D: usize>(
    grid: &Grid<D>,
    parts: &Parts<D>,
    electrode: &[u16],
    back: &[Back],
    skin: &Skin,
) -> Vec<Rim> {
    let coated = |rim: &&RimLink| matches!(back[rim.facet as usize], Back::Coat(_));
    let to_nearest = |rim: &RimLink| {
        let f = rim.facet as usize;
        let own = usize::from(electrode[f]);
        let far = |c: &Contact<D>| c.region.signed_distance(&grid.facets[f].point);
        let contacts = parts.contacts.iter().enumerate();
        let nearest = contacts
            .filter(|(_, c)| c.electrode == own)
            .min_by(|a, b| far(a.1).total_cmp(&far(b.1)))?;
        Some(Rim {
            facet: rim.facet,
            contact: nearest.0 as u32,
            weight: rim.weight.min(SHORT * whole(grid, rim.facet)),
        })
    };
    let rims = skin.rims.iter().filter(coated);
    rims.filter_map(to_nearest).collect()
}

/// Pieces of coat between facets; of those at a contact only what lies outside it counts.
fn squares<const D: usize>(
    grid: &Grid<D>,
    parts: &Parts<D>,
    back: &[Back],
    skin: &Skin,
) -> Vec<Square> {
    let place = |f: u32| grid.facets[f as usize].point;
    let beyond =
        |c: u32, from: u32, to: u32| outside(&parts.contacts[c as usize], place(from), place(to));
    let links = skin.links.iter();
    links
        .filter_map(|link| {
            let (a, b) = (link.a, link.b);
            let way = match (back[a as usize], back[b as usize]) {
                (Back::Contact(x), Back::Contact(y)) if x == y => return None,
                (Back::Contact(x), Back::Coat(_)) => beyond(x, a, b),
                (Back::Coat(_), Back::Contact(x)) => beyond(x, b, a),
                _ => 1.0,
            };
            let weight = link.weight / way;
            Some(Square { a, b, weight })
        })
        .collect()
}

/// Joins the nodes of facets that a short circuit connects and renumbers them; gives what is left
/// of the links.
fn shorten(squares: Vec<Square>, back: &mut [Back], whole: impl Fn(u32) -> f64) -> Vec<Square> {
    let most = |s: &Square| SHORT * whole(s.a).max(whole(s.b));
    let coated = |f: u32, back: &[Back]| matches!(back[f as usize], Back::Coat(_));
    let mut groups = Groups::new(back.len());
    let shorts = squares.iter().filter(|s| s.weight > most(s));
    for s in shorts.filter(|s| coated(s.a, back) && coated(s.b, back)) {
        groups.join(s.a as usize, s.b as usize);
    }
    let mut nodes = 0;
    for f in 0..back.len() as u32 {
        if !coated(f, back) {
            continue;
        }
        let first = groups.find(f as usize);
        back[f as usize] = if first == f as usize {
            nodes += 1;
            Back::Coat(nodes - 1)
        } else {
            back[first]
        };
    }
    let apart = |s: &Square| back[s.a as usize] != back[s.b as usize];
    let capped = |s: Square| Square {
        weight: s.weight.min(most(&s)),
        ..s
    };
    squares.into_iter().filter(apart).map(capped).collect()
}

/// Share of the way from a facet in a contact to one beside it that lies outside the contact.
fn outside<const D: usize>(contact: &Contact<D>, within: Point<D>, beside: Point<D>) -> f64 {
    let (mut lo, mut hi) = (0.0, 1.0);
    for _ in 0..BISECTIONS {
        let middle = 0.5 * (lo + hi);
        let x = std::array::from_fn(|k| within[k] + middle * (beside[k] - within[k]));
        if contact.region.contains(&x) {
            lo = middle;
        } else {
            hi = middle;
        }
    }
    (1.0 - 0.5 * (lo + hi)).max(LEAST_WAY)
}
