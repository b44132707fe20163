//! Which cells a grid has: those of the job times a power of two, and smaller ones in boxes.
//!
//! All sizes lie on one ladder, `b 2^-k` with the smallest size `b` that the job names, as the cells of
//! a tree do; so a grid has no smaller cells than were asked for. Boxes lie on a lattice of twice
//! their cells, and are joined to longer ones before a grid is laid.

use super::places::Place;
use crate::uncertainty::scaled;
use ionfall_mesh::grid::Region;
use ionfall_mesh::solid::{Cuboid, Solid};
use ionfall_model::{Model, Parts};
use std::collections::{BTreeMap, BTreeSet};

/// Halvings by which cells in boxes may be smaller than those of the bodies around them.
const LEAD: i32 = 3;
/// Cells of the first grid over the smallest that the job allows, and over the usual ones where it allows any.
const FIRST: [f64; 2] = [4.0, 2.0];
/// Relative slack of comparisons between sizes.
const SAME: f64 = 1e-6;

/// The cells that are wanted.
#[derive(Clone)]
pub(super) struct Sizes<'a, const D: usize> {
    model: &'a Model<Parts<D>>,
    /// The ladder's largest step, m.
    base_m: f64,
    /// Sizes of the job times this.
    times: f64,
    /// Boxes by the step of their cells on the ladder, each by its place on the lattice of that step.
    boxes: BTreeMap<i32, BTreeSet<[i64; D]>>,
}

impl<'a, const D: usize> Sizes<'a, D> {
    /// Of the first grid.
    pub fn first(model: &'a Model<Parts<D>>) -> Self {
        let (domain, smallest_m) = (&model.geometry.domain, model.resolution.smallest_m);
        let bodies = domain.bodies.iter().map(|b| b.finest_m);
        let sheets = domain.sheets.iter().map(|s| s.finest_m);
        Self {
            model,
            base_m: bodies.chain(sheets).fold(domain.coarsest_m, f64::min),
            times: FIRST[usize::from(smallest_m.is_none())],
            boxes: BTreeMap::new(),
        }
    }

    /// The job with these cells.
    pub fn model(&self) -> Model<Parts<D>> {
        let mut model = scaled(self.model, self.times);
        let own = &self.model.geometry.domain;
        let domain = &mut model.geometry.domain;
        for body in &mut domain.bodies {
            body.finest_m = self.on_ladder(body.finest_m);
            body.edge_m = self.on_ladder(body.edge_m);
        }
        for sheet in &mut domain.sheets {
            sheet.finest_m = self.on_ladder(sheet.finest_m);
            sheet.edge_m = self.on_ladder(sheet.edge_m);
        }
        // Large cells far away cost nothing.
        domain.coarsest_m = own.coarsest_m;
        domain.wall_m = own.wall_m;
        for (step, boxes) in &self.boxes {
            domain.regions.extend(self.regions(*step, boxes));
        }
        model
    }

    /// All cells half as large; nothing if the job allows none smaller than its own.
    pub fn halved(&self) -> Option<Self> {
        let bounded = self.model.resolution.smallest_m.is_some();
        (!bounded || self.times > 1.0).then(|| Self {
            times: 0.5 * self.times,
            ..self.clone()
        })
    }

    /// Cells halved so many times around places, as far as the job allows; nothing if they are as small as they may be
    /// already.
    pub fn around(&self, places: &[&Place<D>], halvings: i32) -> Option<Self> {
        let mut finer = self.clone();
        let (own, now) = (&self.model.geometry.domain, self.model().geometry.domain);
        let bounded = self.model.resolution.smallest_m;
        let mut more = false;
        for place in places {
            let lead_m = now.bodies[place.body].finest_m / f64::from(1 << LEAD);
            let least_m = bounded.map_or(0.0, |least_m| least_m.min(own.bodies[place.body].edge_m));
            let step = (self.base_m / place.cell_m).log2().round() as i32;
            let steps = step + 1..=step + halvings;
            for step in steps.filter(|s| self.size_m(*s) > (1.0 - SAME) * lead_m.max(least_m)) {
                more |= finer.lay(step, place);
            }
        }
        more.then_some(finer)
    }

    /// Lays boxes for a place: its own cell and half of another one around it. Are there new ones?
    fn lay(&mut self, step: i32, place: &Place<D>) -> bool {
        let size_m = self.size_m(step);
        let boxes = self.boxes.entry(step).or_default();
        let mut more = false;
        for corner in 0..1usize << D {
            more |= boxes.insert(std::array::from_fn(|k| {
                let side = if corner >> k & 1 == 1 { 1.0 } else { -1.0 };
                ((place.point[k] + side * size_m) / (2.0 * size_m)).floor() as i64
            }));
        }
        more
    }

    fn size_m(&self, step: i32) -> f64 {
        self.base_m * 2f64.powi(-step)
    }

    /// The largest size of the ladder that is not above another.
    fn on_ladder(&self, size_m: f64) -> f64 {
        self.size_m(((self.base_m / size_m).log2() - SAME).ceil() as i32)
    }

    /// Boxes of one lattice as regions.
    fn regions(&self, step: i32, boxes: &BTreeSet<[i64; D]>) -> Vec<Region<D>> {
        let finest_m = self.size_m(step);
        let lattice_m = 2.0 * finest_m;
        let region = |[low, high]: [[i64; D]; 2]| {
            let corner = |at: [i64; D]| at.map(|n| n as f64 * lattice_m);
            let cuboid = Cuboid::new(corner(low), corner(high)).ok()?;
            Some(Region {
                solid: Solid::new(cuboid),
                finest_m,
            })
        };
        let single = boxes.iter().map(|at| [*at, at.map(|n| n + 1)]);
        let joined = (0..D).fold(single.collect(), joined);
        joined.into_iter().filter_map(region).collect()
    }
}

/// Boxes, each by its low and high corner, with those joined that follow one another along an axis.
fn joined<const D: usize>(mut boxes: Vec<[[i64; D]; 2]>, axis: usize) -> Vec<[[i64; D]; 2]> {
    let across = |[mut low, mut high]: [[i64; D]; 2]| {
        (low[axis], high[axis]) = (0, 0);
        [low, high]
    };
    boxes.sort_by_key(|b| (across(*b), b[0][axis]));
    boxes.dedup_by(|next, last| {
        let follows = across(*next) == across(*last) && next[0][axis] == last[1][axis];
        if follows {
            last[1][axis] = next[1][axis];
        }
        follows
    });
    boxes
}

#[cfg(test)]
mod tests {
    use super::*;
    use ionfall_mesh::solid::Ball;
    use ionfall_model::Tank;

    fn model() -> Model<Parts<2>> {
        let end = |x0: f64, x1: f64| Cuboid::new([x0, 0.0], [x1, 0.05]).map(Solid::new);
        let work = Ball::new([0.06, 0.02], 0.01).unwrap();
        let model = Tank::planar(end(0.0, 0.1).unwrap(), 0.1)
            .conductivity_s_per_m(20.0)
            .anode("anode", end(-0.01, 0.0).unwrap())
            .work("work", Solid::new(work))
            .voltage_v(1.0)
            .time_s(1.0)
            .model()
            .unwrap();
        Model::<Parts<2>>::try_from(model).unwrap()
    }

    fn place(cell_m: f64) -> Place<2> {
        Place {
            body: 1,
            point: [0.0501, 0.0201],
            cell_m,
            thickness_m: 0.0,
            decides: true,
        }
    }

    #[test]
    fn boxes_in_a_row_are_joined() {
        let at = |x: i64, y: i64| [[x, y], [x + 1, y + 1]];
        let boxes = vec![
            at(0, 0),
            at(2, 0),
            at(1, 0),
            at(0, 1),
            at(1, 1),
            at(2, 1),
            at(5, 5),
        ];
        let all = (0..2).fold(boxes, joined);
        assert_eq!(all, [[[0, 0], [3, 2]], [[5, 5], [6, 6]]]);
    }

    /// Boxes hold their place, get smaller by halves, and end where they would be far smaller than the cells of
    /// their body.
    #[test]
    fn boxes_lead_their_bodies_so_far() {
        let model = model();
        let mut sizes = Sizes::first(&model);
        let body_m = sizes.model().geometry.domain.bodies[1].finest_m;
        let mut cell_m = body_m;
        while let Some(finer) = sizes.around(&[&place(cell_m)], 1) {
            cell_m *= 0.5;
            let domain = finer.model().geometry.domain;
            let mut smallest = domain
                .regions
                .iter()
                .filter(|r| r.finest_m <= 1.001 * cell_m);
            assert!(smallest.any(|r| r.solid.contains(&place(cell_m).point)));
            sizes = finer;
        }
        assert!((cell_m * f64::from(1 << LEAD) / body_m - 1.0).abs() < 1e-9);
        // With smaller cells on the body they may go on.
        let halved = sizes.halved().unwrap();
        assert!(halved.around(&[&place(cell_m)], 1).is_some());
    }

    /// Where the job bounds its cells none is smaller than its own.
    #[test]
    fn a_job_bounds_its_cells() {
        let mut model = model();
        let own_m = model.geometry.domain.bodies[1].finest_m;
        model.resolution.smallest_m = Some(own_m);
        let mut sizes = Sizes::first(&model);
        let mut grids = 1;
        while let Some(finer) = sizes.halved() {
            sizes = finer;
            grids += 1;
        }
        assert_eq!(grids, 3);
        let body_m = sizes.model().geometry.domain.bodies[1].finest_m;
        assert!((body_m / own_m - 1.0).abs() < 1e-9);
        assert!(sizes.around(&[&place(own_m)], 1).is_none());
    }
}
