//! Which node feeds each facet, and which nodes the probes may read.
//!
//! The current of a facet leaves the balance of one node, as a rule that of its own cell. A cut
//! cell whose potential would not continue the field smoothly is not fit for that:
//!
//! * a *starved* cell, whose facets are larger than its openings (at the foot of a notch, behind a
//!   pinhole). By the divergence theorem the openings of a cell with one flat facet sum to at least
//!   the facet's area; where they do not, the current of the facets, which a probe reads off other
//!   cells, must come through openings too small for it, and the potential runs away;
//! * a cell that holds both sides of the edge of a thin wall. Its one potential would be the
//!   continuation of two different fields into the wall, and the stronger would draw current out of
//!   the weaker.
//!
//! Facets of unfit cells are fed by the cell straight in front of them, and no probe reads unfit
//! cells. Where nothing lies in front (a slot narrower than a cell) the facet stays with its cell and
//! sees that cell alone, half a cell away: a plain conductor, which can never turn a current round.

use super::facet::Facet;
use super::surroundings::Adjacency;
use super::tree::{Cell, Root};
use crate::solid::Point;
use ionfall_numerics::couplings::Coupling;
use ionfall_numerics::vector::{add_scaled, dot, norm, sub};

/// Largest area of a cell's facets over that of its openings. One flat facet gives at most 1, a
/// right-angled notch up to 1.41; a facet's own probe has slopes of up to 2.2 potentials a cell, so
/// that beyond some 1.5 the cell moves its neighbours more than they move it.
const STARVED: f64 = 1.5;

/// Facets of a body in one cell whose normals have a smaller cosine than this, and each of which lies
/// behind the other (by this share of their distance), are the two sides of a thin wall.
const BACK_TO_BACK: f64 = -0.5;
const BEHIND: f64 = 0.3;

/// A cell in front of a facet lies this far along its normal, over the cell size.
const IN_FRONT: [f64; 2] = [0.4, 2.0];

/// Farthest cell looked at, over the cell size.
const FARTHEST: f64 = 2.6;

/// Feeds the facets; says which nodes are fit to be read.
pub fn feed<const D: usize>(
    root: &Root<D>,
    node_cell: &[Cell],
    links: &[Coupling],
    adjacency: &Adjacency,
    facets: &[Facet<D>],
    facet_node: &mut [u32],
) -> Vec<bool> {
    let size = |node: u32| root.size_m(node_cell[node as usize].level);
    let mut order: Vec<u32> = (0..facets.len() as u32).collect();
    order.sort_by_key(|&f| facet_node[f as usize]);
    let mut room_m2 = vec![0.0; node_cell.len()];
    for link in links {
        for node in [link.a, link.b] {
            room_m2[node as usize] += STARVED * link.metres * size(node);
        }
    }
    for (facet, &node) in facets.iter().zip(&*facet_node) {
        room_m2[node as usize] -= facet.area_m2;
    }
    let mut fit = vec![true; node_cell.len()];
    let mut unfit: Vec<u32> = Vec::new();
    for own in order.chunk_by(|&a, &b| facet_node[a as usize] == facet_node[b as usize]) {
        let node = facet_node[own[0] as usize] as usize;
        if room_m2[node] < 0.0 || back_to_back(own.iter().map(|&f| &facets[f as usize])) {
            fit[node] = false;
            unfit.extend(own);
        }
    }
    let mut search = Search::default();
    for f in unfit {
        let facet = &facets[f as usize];
        let node = &mut facet_node[f as usize];
        let h = size(*node);
        let centre = |n: u32| root.centre(node_cell[n as usize]);
        let good = |n: u32| fit[n as usize] && room_m2[n as usize] >= facet.area_m2;
        if let Some(ahead) = search.ahead(*node, facet, h, adjacency, good, centre) {
            room_m2[*node as usize] += facet.area_m2;
            room_m2[ahead as usize] -= facet.area_m2;
            *node = ahead;
        }
    }
    fit
}

/// Is any facet of a body behind another that faces the other way?
fn back_to_back<'a, const D: usize>(facets: impl Iterator<Item = &'a Facet<D>> + Clone) -> bool {
    let pair = |a: &Facet<D>, b: &Facet<D>| {
        let way = sub(&b.point, &a.point);
        let deep = BEHIND * norm(&way);
        a.body == b.body
            && dot(&a.normal, &b.normal) < BACK_TO_BACK
            && dot(&way, &b.normal) > deep
            && -dot(&way, &a.normal) > deep
    };
    let mut rest = facets.clone();
    facets.into_iter().any(|a| {
        rest.next();
        rest.clone().any(|b| pair(a, b))
    })
}

/// Looks for the cell in front of a facet.
#[derive(Default)]
struct Search {
    reached: Vec<u32>,
}

impl Search {
    /// The good node nearest to the normal through the facet, if there is one.
    fn ahead<const D: usize>(
        &mut self,
        node: u32,
        facet: &Facet<D>,
        h: f64,
        adjacency: &Adjacency,
        good: impl Fn(u32) -> bool,
        centre: impl Fn(u32) -> Point<D>,
    ) -> Option<u32> {
        self.reached.clear();
        self.reached.push(node);
        let mut best: Option<(f64, u32)> = None;
        let mut at = 0;
        while at < self.reached.len() {
            let n = self.reached[at];
            at += 1;
            let away = sub(&centre(n), &facet.point);
            if norm(&away) > FARTHEST * h {
                continue;
            }
            let height = dot(&away, &facet.normal);
            if good(n) && (IN_FRONT[0] * h..=IN_FRONT[1] * h).contains(&height) {
                let aside = norm(&add_scaled(&away, -height, &facet.normal));
                let miss = aside + 0.5 * (height - h).abs();
                if best.is_none_or(|(least, _)| miss < least) {
                    best = Some((miss, n));
                }
            }
            for &m in adjacency.of(n) {
                if !self.reached.contains(&m) {
                    self.reached.push(m);
                }
            }
        }
        best.map(|(_, n)| n)
    }
}
