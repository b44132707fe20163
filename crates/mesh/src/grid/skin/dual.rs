//! The dual mesh: which facets meet at each corner of the outlines.
//!
//! A *seam* is a run of sides along which a plate has one neighbour (or none: the border). Both
//! plates are unfolded into one plane over the straight line through the ends of their seam: the
//! distance of their points there is the length of the dual side, and the angles of the points at
//! the ends of the seam add up to the way around each corner. Plates around an inner corner make a
//! dual polygon, cut into triangles by its shortest diagonals (law of cosines at the corner); plates
//! around a corner on the border make a row of strips.

use super::conductor::Place;
use super::intrinsic::{Mesh, Strip};
use super::outline::{NONE, Outlines, Plate, cross};
use ionfall_numerics::vector::{add_scaled, dot, norm, sub};
use rayon::prelude::*;
use std::f64::consts::TAU;

/// The dual mesh with what else is known of seams and border.
#[derive(Debug)]
pub struct Dual {
    /// Triangles and strips.
    pub mesh: Mesh,
    /// Conductance from each plate to fed border that no strip of the mesh reaches: at the ends of
    /// fed stretches, and where a skin is one facet wide.
    pub rims: Vec<(u32, f64)>,
}

/// A run of sides of one plate.
#[derive(Clone, Copy, Debug)]
struct Run {
    plate: u32,
    first: u32,
    last: u32,
    /// The same seam seen from the neighbour; [`NONE`] on the border.
    across: u32,
    /// Dual side, if this run is where it starts or ends.
    edge: u32,
    /// Is it seen from the plate at the first end of the dual side?
    leading: bool,
}

/// A seam with its two plates in one plane: `along` the seam from its start, and `away` from it.
#[derive(Clone, Copy, Debug)]
struct Unfolded {
    length_m: f64,
    along_m: [f64; 2],
    away_m: [f64; 2],
}

impl Unfolded {
    /// Distance of the plate points.
    fn apart_m(&self) -> f64 {
        (self.along_m[0] - self.along_m[1]).hypot(self.away_m[0] + self.away_m[1])
    }

    /// Angles between the seam and the plate points at its start or end.
    fn angles(&self, at_start: bool) -> [f64; 2] {
        [0, 1].map(|n| {
            let along = if at_start {
                self.along_m[n]
            } else {
                self.length_m - self.along_m[n]
            };
            self.away_m[n].atan2(along)
        })
    }
}

/// Position of a plate's point beside the line from `a` to `b`, which has the plate on its left.
fn beside(plate: &Plate, a: &Place, b: &Place) -> [f64; 2] {
    let line = sub(b, a);
    let length = norm(&line);
    let line = line.map(|x| x / length);
    let apart = sub(&plate.point, a);
    let along = dot(&apart, &line);
    let away = norm(&add_scaled(&apart, -along, &line));
    let left = cross(&plate.normal, &line);
    [along, away.copysign(dot(&apart, &left))]
}

/// The runs with the outlines they are made of.
struct Seams<'a> {
    plates: &'a [Plate],
    outlines: &'a Outlines,
    runs: Vec<Run>,
    run_of: Vec<u32>,
}

/// Builds the dual mesh; `fed` tells where the border is held by a contact.
pub fn dual(plates: &[Plate], outlines: &Outlines, fed: impl Fn(&Place) -> bool) -> Dual {
    let mut seams = Seams::new(plates, outlines);
    let mut mesh = Mesh::default();
    let unfolded = seams.add_edges(&mut mesh);
    let mut seen = vec![false; seams.runs.len()];
    let mut reached_m = vec![0.0; seams.runs.len()];
    // Rows along the border start at a border run; all other corners are closed.
    let (border, inner): (Vec<u32>, Vec<u32>) =
        (0..seams.runs.len() as u32).partition(|&r| seams.runs[r as usize].across == NONE);
    for &start in &border {
        let (fan, last) = seams.around(start, &mut seen);
        if let Some(last) = last
            && let Some(feet) = seams.feet(start, &fan, last, &unfolded)
        {
            let fed = seams.is_fed(start, last, &fed);
            seams.add_strips(&fan, &feet, fed, &mut mesh);
            if fed {
                reached_m[start as usize] -= feet[0][0];
                reached_m[last as usize] += feet[fan.len()][0];
            }
        }
    }
    let rims = border
        .iter()
        .filter_map(|&run| seams.unreached(run, reached_m[run as usize], &fed))
        .collect();
    for start in inner {
        if !seen[start as usize] {
            let (fan, last) = seams.around(start, &mut seen);
            if last.is_none() && fan.len() > 2 {
                seams.add_polygon(start, &fan, &unfolded, &mut mesh);
            }
        }
    }
    Dual { mesh, rims }
}

impl<'a> Seams<'a> {
    fn new(plates: &'a [Plate], outlines: &'a Outlines) -> Self {
        let n = outlines.sides.len();
        let next = &outlines.next;
        let across = |side: u32| outlines.across(side);
        // Does the run end with this side?
        let ends: Vec<bool> = (0..n as u32)
            .into_par_iter()
            .map(|side| {
                let on = next[side as usize];
                if on == NONE {
                    return true;
                }
                match (across(side), across(on)) {
                    (NONE, NONE) => false,
                    (NONE, _) | (_, NONE) => true,
                    (here, there) => next[there as usize] != here,
                }
            })
            .collect();
        let mut starts = vec![true; n];
        for side in 0..n {
            if next[side] != NONE {
                starts[next[side] as usize] = ends[side];
            }
        }
        let mut run_of = vec![NONE; n];
        let mut runs = Vec::new();
        for first in (0..n as u32).filter(|&s| starts[s as usize]) {
            let number = runs.len() as u32;
            let mut last = first;
            run_of[last as usize] = number;
            while !ends[last as usize] {
                last = next[last as usize];
                run_of[last as usize] = number;
            }
            runs.push(Run {
                plate: outlines.sides[first as usize].plate,
                first,
                last,
                across: NONE,
                edge: NONE,
                leading: false,
            });
        }
        for run in &mut runs {
            if across(run.first) != NONE {
                run.across = run_of[across(run.first) as usize];
            }
        }
        Self {
            plates,
            outlines,
            runs,
            run_of,
        }
    }

    fn start(&self, run: u32) -> Place {
        let side = self.outlines.sides[self.runs[run as usize].first as usize];
        self.outlines.points[side.from as usize]
    }

    fn end(&self, run: u32) -> Place {
        let side = self.outlines.sides[self.runs[run as usize].last as usize];
        self.outlines.points[side.to as usize]
    }

    fn plate(&self, run: u32) -> &Plate {
        &self.plates[self.runs[run as usize].plate as usize]
    }

    /// One dual side for each seam.
    fn add_edges(&mut self, mesh: &mut Mesh) -> Vec<Unfolded> {
        let pairs: Vec<[u32; 2]> = (0..self.runs.len() as u32)
            .map(|run| [run, self.runs[run as usize].across])
            .filter(|&[run, across]| {
                across != NONE && run < across && self.runs[across as usize].across == run
            })
            .collect();
        let unfolded: Vec<Unfolded> = pairs.par_iter().map(|p| self.unfold(p[0], p[1])).collect();
        for (&[run, across], flat) in pairs.iter().zip(&unfolded) {
            let ends = [run, across].map(|r| self.runs[r as usize].plate);
            let edge = mesh.add_edge(ends, flat.apart_m());
            for (r, leading) in [(run, true), (across, false)] {
                self.runs[r as usize].edge = edge;
                self.runs[r as usize].leading = leading;
            }
        }
        unfolded
    }

    fn unfold(&self, run: u32, across: u32) -> Unfolded {
        let (a, b) = (self.plate(run), self.plate(across));
        let start = self.start(run);
        let mut end = self.end(run);
        let mut length_m = norm(&sub(&end, &start));
        // The direction of a point is anyone's: take it square to the way between the plates.
        let nothing = 1e-5 * a.size_m.min(b.size_m);
        if length_m < nothing {
            let square = cross(&a.normal, &sub(&b.point, &a.point));
            end = add_scaled(&start, -a.size_m / norm(&square).max(1e-300), &square);
            length_m = 0.0;
        }
        let [along_a, away_a] = beside(a, &start, &end);
        let [back_b, away_b] = beside(b, &end, &start);
        let span = norm(&sub(&end, &start));
        Unfolded {
            length_m,
            along_m: [along_a, span - back_b],
            away_m: [away_a, away_b],
        }
    }

    /// The runs that lead away from the corner at the end of `start`, from plate to plate; the
    /// border run that ends the row, if there is one. A corner that cannot be walked around gives
    /// an empty fan.
    fn around(&self, start: u32, seen: &mut [bool]) -> (Vec<u32>, Option<u32>) {
        let mut fan = Vec::new();
        let mut coming = start;
        loop {
            seen[coming as usize] = true;
            let on = self.outlines.next[self.runs[coming as usize].last as usize];
            if on == NONE || self.run_of[on as usize] == NONE {
                return (Vec::new(), None);
            }
            let leaving = self.run_of[on as usize];
            let run = &self.runs[leaving as usize];
            if run.across == NONE {
                return (fan, Some(leaving));
            }
            if run.edge == NONE {
                return (Vec::new(), None);
            }
            fan.push(leaving);
            coming = run.across;
            if coming == start {
                return (fan, None);
            }
            if seen[coming as usize] {
                return (Vec::new(), None);
            }
        }
    }

    /// Angles at the start of a run: to its own plate's point and to the neighbour's.
    fn step(&self, run: u32, unfolded: &[Unfolded]) -> [f64; 2] {
        let run = &self.runs[run as usize];
        let [a, b] = unfolded[run.edge as usize].angles(run.leading);
        if run.leading { [a, b] } else { [b, a] }
    }

    /// Distance of each plate of a fan from the corner.
    fn radius_m(&self, run: u32, corner: &Place) -> f64 {
        norm(&sub(&self.plate(run).point, corner))
    }

    fn add_polygon(&self, start: u32, fan: &[u32], unfolded: &[Unfolded], mesh: &mut Mesh) {
        let corner = self.end(start);
        let whole: f64 = fan.iter().flat_map(|&r| self.step(r, unfolded)).sum();
        let mut turned = 0.0;
        // Plate, distance, angle, dual side to the next.
        let mut ring: Vec<(u32, f64, f64, u32)> = fan
            .iter()
            .map(|&run| {
                let at = turned;
                turned += self.step(run, unfolded).iter().sum::<f64>() * TAU / whole;
                let Run { plate, edge, .. } = self.runs[run as usize];
                (plate, self.radius_m(run, &corner), at, edge)
            })
            .collect();
        while ring.len() > 3 {
            let n = ring.len();
            let diagonal = |k: usize| {
                let (p, q) = (ring[(k + n - 1) % n], ring[(k + 1) % n]);
                let square = p.1 * p.1 + q.1 * q.1 - 2.0 * p.1 * q.1 * (q.2 - p.2).cos();
                square.max(0.0).sqrt()
            };
            let ear = (0..n)
                .min_by(|&j, &k| diagonal(j).total_cmp(&diagonal(k)))
                .unwrap_or(0);
            let length = diagonal(ear).max(1e-9 * ring[ear].1);
            let before = (ear + n - 1) % n;
            let (p, here, q) = (ring[before], ring[ear], ring[(ear + 1) % n]);
            let edge = mesh.add_edge([p.0, q.0], length);
            mesh.add_triangle([p.0, here.0, q.0], [here.3, edge, p.3]);
            ring[before].3 = edge;
            ring.remove(ear);
        }
        let [p, q, r] = [ring[0], ring[1], ring[2]];
        mesh.add_triangle([p.0, q.0, r.0], [q.3, r.3, p.3]);
    }

    /// The border beside the corner at the end (`back`) or start of a border run: a point on it
    /// far enough to give a direction.
    fn along_border(&self, run: u32, back: bool) -> Place {
        let Run { first, last, .. } = self.runs[run as usize];
        let size_m = self.plate(run).size_m;
        let corner = if back { self.end(run) } else { self.start(run) };
        let mut row = vec![first];
        while *row.last().unwrap_or(&last) != last {
            row.push(self.outlines.next[row[row.len() - 1] as usize]);
        }
        let far = |&side: &u32| {
            let side = self.outlines.sides[side as usize];
            let id = if back { side.from } else { side.to };
            let at = self.outlines.points[id as usize];
            (norm(&sub(&at, &corner)) > 1e-3 * size_m).then_some(at)
        };
        let found = if back {
            row.iter().rev().find_map(far)
        } else {
            row.iter().find_map(far)
        };
        found.unwrap_or(if back { self.start(run) } else { self.end(run) })
    }

    /// Is the border held on both sides of a corner?
    fn is_fed(&self, start: u32, last: u32, fed: &impl Fn(&Place) -> bool) -> bool {
        let before = self.runs[start as usize].last;
        let after = self.runs[last as usize].first;
        fed(&self.middle(before)) && fed(&self.middle(after))
    }

    /// Middle of a side.
    fn middle(&self, side: u32) -> Place {
        let side = self.outlines.sides[side as usize];
        let [a, b] = [side.from, side.to].map(|id| self.outlines.points[id as usize]);
        std::array::from_fn(|k| 0.5 * (a[k] + b[k]))
    }

    /// Positions of the plates around a corner on the border: along the border from the corner,
    /// and away from it, each by the side of the border it is nearer to.
    fn feet(
        &self,
        start: u32,
        fan: &[u32],
        last: u32,
        unfolded: &[Unfolded],
    ) -> Option<Vec<[f64; 2]>> {
        let corner = self.end(start);
        let behind = self.along_border(start, true);
        let ahead = self.along_border(last, false);
        if fan.is_empty() || behind == corner || ahead == corner {
            return None;
        }
        let [before, away] = beside(self.plate(start), &corner, &behind);
        // The plate lies to the right of the way back.
        let first = (-away).atan2(before);
        let [after, away] = beside(self.plate(last), &corner, &ahead);
        let steps: Vec<f64> = fan
            .iter()
            .map(|&run| self.step(run, unfolded).iter().sum())
            .collect();
        let whole = first + steps.iter().sum::<f64>() + away.atan2(after);
        let mut turned = first;
        let plates = fan.iter().chain([&last]).enumerate();
        Some(
            plates
                .map(|(n, &run)| {
                    let radius = self.radius_m(run, &corner);
                    let left = whole - turned;
                    let foot = if turned <= left {
                        [-radius * turned.cos(), radius * turned.sin()]
                    } else {
                        [radius * left.cos(), radius * left.sin()]
                    };
                    turned += steps.get(n).unwrap_or(&0.0);
                    foot
                })
                .collect(),
        )
    }

    fn add_strips(&self, fan: &[u32], feet: &[[f64; 2]], fed: bool, mesh: &mut Mesh) {
        for (pair, &run) in feet.windows(2).zip(fan) {
            let Run { edge, leading, .. } = self.runs[run as usize];
            let along_m = pair[1][0] - pair[0][0];
            let away = [pair[0][1].max(0.0), pair[1][1].max(0.0)];
            // Plates behind each other have no strip between them.
            if along_m > 0.05 * mesh.edge(edge).length_m {
                let away_m = if leading { away } else { [away[1], away[0]] };
                mesh.add_strip(
                    edge,
                    Strip {
                        away_m,
                        along_m,
                        fed,
                    },
                );
            }
        }
    }

    /// Conductance to the fed part of a border run beyond the first `reached_m` metres of it.
    fn unreached(
        &self,
        run: u32,
        reached_m: f64,
        fed: &impl Fn(&Place) -> bool,
    ) -> Option<(u32, f64)> {
        let Run {
            plate, first, last, ..
        } = self.runs[run as usize];
        let (mut length, mut moment) = (0.0, 0.0);
        let mut at = first;
        loop {
            let side = self.outlines.sides[at as usize];
            let [a, b] = [side.from, side.to].map(|id| self.outlines.points[id as usize]);
            if fed(&self.middle(at)) {
                let long = norm(&sub(&b, &a));
                length += long;
                moment += long * beside(self.plate(run), &a, &b)[1];
            }
            if at == last {
                break;
            }
            at = self.outlines.next[at as usize];
        }
        let rest = length - reached_m;
        let away = (moment / length).max(1e-3 * length);
        (rest > 1e-9 * length).then(|| (plate, rest / away))
    }
}
