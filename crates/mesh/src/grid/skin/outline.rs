//! Outlines of the facets as directed sides, each matched with the side across.
//!
//! The sides of a facet run counter-clockwise seen from the electrolyte. Those between two flat
//! pieces of one facet cancel. A side with points of others on it (a hanging cell, surfaces of
//! different shapes) is split there. Then each side is met by one of the neighbour that runs the
//! opposite way, or it lies on the border.

use super::conductor::Place;
use super::weld::{Lattice, SHARES, weld};
use crate::grid::facet::Facet;
use crate::grid::finished::Grid;
use crate::solid::Point;
use ionfall_numerics::vector::{add_scaled, dot, norm, sub, unit};
use rayon::prelude::*;
use std::collections::HashMap;
use std::f64::consts::TAU;

/// No side.
pub const NONE: u32 = u32::MAX;

/// A facet as the skin sees it.
#[derive(Clone, Copy, Debug)]
pub struct Plate {
    /// Body number.
    pub body: u16,
    /// Facet point, metres.
    pub point: Place,
    /// Mean unit normal into the electrolyte.
    pub normal: Place,
    /// Cell size, metres.
    pub size_m: f64,
}

/// A side of a plate.
#[derive(Clone, Copy, Debug)]
pub struct Side {
    /// Plate number.
    pub plate: u32,
    /// Point it starts at.
    pub from: u32,
    /// Point it ends at.
    pub to: u32,
}

/// All sides.
#[derive(Debug)]
pub struct Outlines {
    /// Points, metres.
    pub points: Vec<Place>,
    /// Sides: matched ones in pairs at `2 n`, `2 n + 1`, then those of the border.
    pub sides: Vec<Side>,
    /// Number of matched sides.
    pub matched: usize,
    /// The side of the same plate that goes on from the end of each.
    pub next: Vec<u32>,
    /// A point of each plate.
    anchor: Vec<u32>,
    body: Vec<u16>,
}

/// Facets as plates.
pub fn plates<const D: usize>(grid: &Grid<D>, facets: &[u32]) -> Vec<Plate> {
    facets
        .iter()
        .map(|&f| {
            let facet = &grid.facets[f as usize];
            let area = facet.outline.iter().fold([0.0; 3], |sum, piece| {
                let corner = |k: usize| place(&sub(&piece[k], &piece[0]));
                (2..piece.len()).fold(sum, |sum, k| {
                    add_scaled(&sum, 1.0, &cross(&corner(k - 1), &corner(k)))
                })
            });
            Plate {
                body: facet.body,
                point: place(&facet.point),
                normal: unit(&area),
                size_m: grid.size_m(grid.facet_node[f as usize] as usize),
            }
        })
        .collect()
}

fn place<const D: usize>(x: &Point<D>) -> Place {
    std::array::from_fn(|k| if k < D { x[k] } else { 0.0 })
}

/// Vector product.
pub fn cross(a: &Place, b: &Place) -> Place {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

/// Corners, and sides between them, of a facet; what cancels between its pieces is left out.
fn rim<const D: usize>(facet: &Facet<D>) -> (Vec<Place>, Vec<[u32; 2]>) {
    let mut all: Vec<(u32, u32, bool)> = Vec::new();
    for piece in facet.outline.numbered() {
        let ends = piece.iter().zip(piece.iter().cycle().skip(1));
        all.extend(ends.map(|(&a, &b)| (a.min(b), a.max(b), a < b)));
    }
    all.sort_unstable();
    let mut number = vec![NONE; facet.outline.points().len()];
    let mut corners = Vec::new();
    let mut sides = Vec::new();
    for same in all.chunk_by(|x, y| (x.0, x.1) == (y.0, y.1)) {
        let ahead = same.iter().filter(|s| s.2).count();
        let back = same.len() - ahead;
        let (low, high, _) = same[0];
        if ahead == back || low == high {
            continue;
        }
        let side = if ahead > back {
            [low, high]
        } else {
            [high, low]
        };
        let side = side.map(|corner| {
            let known = &mut number[corner as usize];
            if *known == NONE {
                *known = corners.len() as u32;
                corners.push(place(&facet.outline.points()[corner as usize]));
            }
            *known
        });
        sides.extend(std::iter::repeat_n(side, ahead.abs_diff(back)));
    }
    (corners, sides)
}

/// All sides of the plates, matched.
pub fn outlines<const D: usize>(grid: &Grid<D>, facets: &[u32], plates: &[Plate]) -> Outlines {
    let rims: Vec<(Vec<Place>, Vec<[u32; 2]>)> = facets
        .par_iter()
        .map(|&f| rim(&grid.facets[f as usize]))
        .collect();
    let mut points: Vec<Place> = Vec::new();
    let mut size_m: Vec<f64> = Vec::new();
    let mut anchor = Vec::with_capacity(plates.len());
    let mut open: Vec<Side> = Vec::new();
    for (number, (corners, sides)) in rims.into_iter().enumerate() {
        let plate = &plates[number];
        let first = points.len() as u32;
        anchor.push(first);
        points.extend(&corners);
        if corners.is_empty() {
            points.push(plate.point);
        }
        size_m.resize(points.len(), plate.size_m);
        open.extend(sides.iter().map(|s| Side {
            plate: number as u32,
            from: first + s[0],
            to: first + s[1],
        }));
    }
    let mut pairs: Vec<[Side; 2]> = Vec::new();
    let mut alias: Vec<u32> = (0..points.len() as u32).collect();
    for (round, share) in SHARES.into_iter().enumerate() {
        let ids: Vec<u32> = if round == 0 {
            alias.clone()
        } else {
            ends(&open)
        };
        let welded = weld(&points, |id| share * size_m[id as usize], &ids);
        let mut moved: Vec<u32> = (0..points.len() as u32).collect();
        for (&id, &other) in ids.iter().zip(&welded) {
            moved[id as usize] = other;
        }
        let settle = |side: &mut Side| {
            side.from = moved[side.from as usize];
            side.to = moved[side.to as usize];
            side.from != side.to
        };
        open.retain_mut(settle);
        pairs.retain_mut(|pair| settle(&mut pair[0]) & settle(&mut pair[1]));
        alias.iter_mut().for_each(|a| *a = moved[*a as usize]);
        open = matched(open, plates, &mut pairs);
        open = split(&open, &points, |id| share * size_m[id as usize]);
        open = matched(open, plates, &mut pairs);
    }
    let sides: Vec<Side> = pairs.iter().flatten().copied().chain(open).collect();
    Outlines {
        next: following(&sides, &points, plates),
        points,
        matched: 2 * pairs.len(),
        sides,
        anchor: anchor.iter().map(|&a| alias[a as usize]).collect(),
        body: plates.iter().map(|p| p.body).collect(),
    }
}

/// Points at the ends of the sides.
fn ends(sides: &[Side]) -> Vec<u32> {
    let mut ids: Vec<u32> = sides.iter().flat_map(|s| [s.from, s.to]).collect();
    ids.sort_unstable();
    ids.dedup();
    ids
}

/// Moves sides that run opposite ways between the same points into `pairs` (those of one and the
/// same plate are dropped); returns the rest.
fn matched(mut open: Vec<Side>, plates: &[Plate], pairs: &mut Vec<[Side; 2]>) -> Vec<Side> {
    let key = |s: &Side| (s.from.min(s.to), s.from.max(s.to), s.plate, s.from);
    open.par_sort_unstable_by_key(key);
    let mut rest = Vec::new();
    for same in open.chunk_by(|x, y| (key(x).0, key(x).1) == (key(y).0, key(y).1)) {
        if same.len() == 1 {
            rest.push(same[0]);
            continue;
        }
        if let &[one, other] = same
            && one.from == other.to
            && one.plate != other.plate
            && plates[one.plate as usize].body == plates[other.plate as usize].body
        {
            pairs.push([one, other]);
            continue;
        }
        let mut left = same.to_vec();
        let mut take = |fits: &dyn Fn(&Side, &Side) -> bool, keep: &mut dyn FnMut([Side; 2])| {
            let mut at = 0;
            while at < left.len() {
                let one = left[at];
                let across =
                    (at + 1..left.len()).find(|&n| left[n].from == one.to && fits(&one, &left[n]));
                match across {
                    Some(n) => {
                        keep([one, left.remove(n)]);
                        left.remove(at);
                    }
                    None => at += 1,
                }
            }
        };
        take(&|a, b| a.plate == b.plate, &mut |_| {});
        let body = |s: &Side| plates[s.plate as usize].body;
        take(&|a, b| body(a) == body(b), &mut |pair| pairs.push(pair));
        rest.extend(left);
    }
    rest
}

/// Splits sides at the ends of others that lie on them.
fn split(open: &[Side], points: &[Place], reach_m: impl Fn(u32) -> f64 + Sync) -> Vec<Side> {
    if open.is_empty() {
        return Vec::new();
    }
    let length = |s: &Side| norm(&sub(&points[s.to as usize], &points[s.from as usize]));
    let mut lengths: Vec<f64> = open.iter().map(length).collect();
    let middle = lengths.len() / 2;
    let step_m = *lengths.select_nth_unstable_by(middle, f64::total_cmp).1;
    let ends = ends(open);
    let mut lattice = Lattice::new(step_m, ends.len());
    for id in ends {
        lattice.add(id, &points[id as usize]);
    }
    open.par_iter()
        .flat_map_iter(|side| {
            let (p, q) = (points[side.from as usize], points[side.to as usize]);
            let length = length(side);
            let along = sub(&q, &p).map(|x| x / length);
            let reach = reach_m(side.from).max(reach_m(side.to));
            let steps = (length / step_m).ceil().max(1.0) as usize;
            let pace = length / steps as f64;
            let mut on: Vec<(f64, u32)> = Vec::new();
            for n in 0..steps {
                let at = add_scaled(&p, (n as f64 + 0.5) * pace, &along);
                lattice.around(&at, 0.5 * pace + reach, |id| {
                    if id == side.from || id == side.to {
                        return;
                    }
                    let apart = sub(&points[id as usize], &p);
                    let t = dot(&apart, &along);
                    if t > 0.0 && t < length && norm(&add_scaled(&apart, -t, &along)) <= reach {
                        on.push((t, id));
                    }
                });
            }
            on.sort_by(|x, y| x.0.total_cmp(&y.0).then(x.1.cmp(&y.1)));
            on.dedup_by_key(|x| x.1);
            let stops: Vec<u32> = std::iter::once(side.from)
                .chain(on.into_iter().map(|x| x.1))
                .chain([side.to])
                .collect();
            let plate = side.plate;
            (1..stops.len()).map(move |n| Side {
                plate,
                from: stops[n - 1],
                to: stops[n],
            })
        })
        .collect()
}

/// The side that goes on from each, around its plate. Where the outline of a plate touches itself,
/// it is the next one clockwise, so that the plate lies between the two.
fn following(sides: &[Side], points: &[Place], plates: &[Plate]) -> Vec<u32> {
    let mut order: Vec<u32> = (0..sides.len() as u32).collect();
    let key = |&n: &u32| (sides[n as usize].plate, n);
    order.par_sort_unstable_by_key(key);
    let mut next = vec![NONE; sides.len()];
    for own in order.chunk_by(|a, b| key(a).0 == key(b).0) {
        let normal = &plates[key(&own[0]).0 as usize].normal;
        let mut free = own.to_vec();
        for &n in own {
            let Side { from, to, .. } = sides[n as usize];
            let back = sub(&points[from as usize], &points[to as usize]);
            let turn = |side: u32| {
                let end = sides[side as usize].to;
                let way = sub(&points[end as usize], &points[to as usize]);
                let sine = dot(normal, &cross(&way, &back));
                sine.atan2(dot(&way, &back)).rem_euclid(TAU)
            };
            let onward = (0..free.len()).filter(|&m| sides[free[m] as usize].from == to);
            let best = onward.reduce(|x, y| if turn(free[y]) < turn(free[x]) { y } else { x });
            if let Some(best) = best {
                next[n as usize] = free.swap_remove(best);
            }
        }
    }
    next
}

impl Outlines {
    /// The matching side of the neighbour; [`NONE`] on the border.
    pub fn across(&self, side: u32) -> u32 {
        if (side as usize) < self.matched {
            side ^ 1
        } else {
            NONE
        }
    }

    /// Pairs of plates that share a side.
    pub fn neighbours(&self) -> impl Iterator<Item = [u32; 2]> + '_ {
        self.sides[..self.matched]
            .chunks(2)
            .map(|pair| [pair[0].plate, pair[1].plate])
    }

    /// Plates that shrank to a point, with a neighbour at that point.
    pub fn slivers(&self) -> Vec<[u32; 2]> {
        let mut bare = vec![true; self.anchor.len()];
        for side in &self.sides {
            bare[side.plate as usize] = false;
        }
        let lost: Vec<u32> = (0..bare.len() as u32)
            .filter(|&p| bare[p as usize])
            .collect();
        if lost.is_empty() {
            return Vec::new();
        }
        let mut at: HashMap<(u32, u16), u32> = HashMap::new();
        for side in &self.sides {
            let body = self.body[side.plate as usize];
            at.entry((side.from, body)).or_insert(side.plate);
        }
        lost.into_iter()
            .filter_map(|p| {
                let place = (self.anchor[p as usize], self.body[p as usize]);
                Some([p, *at.get(&place)?])
            })
            .collect()
    }
}
