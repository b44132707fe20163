//! Sheltered places: what diffusion feeds where stirring does not reach.
//!
//! One linear problem on the cells of the grid, before the field:
//!
//! ```text
//! div(D_e grad c) = 0      c = 0 on cathodes, c = 1 in the stirred bulk, no flux elsewhere
//! ```
//! with the diffusivity `D_e` of [`film`](crate::film) at the depth of [`stirring`](crate::stirring). The flux into
//! a facet over that into a flat plate in the open, `D / delta`, is its *shelter*, 0 to 1: what it gets
//! of the limiting current. Facets above [`UNTOUCHED`] count as open and keep their law.
//!
//! Films are far thinner than cells, so what lies between two cells, or a cell and the wall, is the
//! resistance of the film in closed form: a link of the grid times the mean of `D_e` along it, and
//! in front of a facet the probe's weights on `F(s)` in place of the distance. A flat plate in the open is
//! then exact on any grid. Where stirred cells are larger than [`THIN`] films links are all there is: the grid's
//! corrections are meant for an even medium, and there they would outweigh the differences that they mend. Only
//! cells that hang together with sheltered facets are solved for: cells deeper in the stirred liquid than [`DEPTH`]
//! films are the bulk, with the rest of the film up to them, and along an open wall the film is that of a plate
//! from [`ASIDE`] films on. The network is an ordinary one for the solver of the field, whose maximum principle
//! keeps `0 <= c <= 1`.

use crate::error::NetworkError;
use crate::film::EddyFilm;
use crate::law::law;
use crate::stirring::{Depth, Stirred};
use ionfall_bath::Kinetics;
use ionfall_field::network::{Address, Conductivity, Facet, Network};
use ionfall_field::{Settings, Solver};
use ionfall_mesh::grid::Grid;
use ionfall_mesh::grid::surroundings::Adjacency;
use ionfall_model::Parts;
use ionfall_numerics::couplings::{Corrections, Coupling, Couplings};
use ionfall_numerics::groups::Groups;
use ionfall_numerics::rows::Rows;
use ionfall_numerics::vector::{distance, dot, sub};
use rayon::prelude::*;
use std::sync::Arc;

/// Depth over the film at which a cell is bulk: what is left of the film there is 0.3 %.
const DEPTH: f64 = 10.0;
/// How far along an open wall, over the film, the film is not yet that of a plate.
const ASIDE: f64 = 4.0;
/// The least radius of stirring over the film: eddies smaller than that do not make the film.
const LEAST_RADIUS: f64 = 2.0;
/// A facet that gets more than this counts as open.
pub const UNTOUCHED: f64 = 0.98;
/// The least that is told apart: below it next to nothing is fed.
const LEAST: f64 = 1e-4;
/// A film is thinner than cells if they are larger than this share of it; a cell's centre is then taken to be at
/// least so far from the wall, over its size.
const THIN: f64 = 0.5;
const NEAREST: f64 = 0.25;
/// Imbalance left: the shelter is told in classes of 2 %.
const TOLERANCE: f64 = 1e-7;

/// The shelter of each facet of the grid, in the film of open flow, where a ball of this radius stirs;
/// 1 at whatever is no cathode. Nothing if no place is sheltered.
///
/// # Errors
/// [`NetworkError::Field`], if the solver does not get there.
pub fn shelter<const D: usize>(
    grid: &Grid<D>,
    parts: &Parts<D>,
    film_m: f64,
    radius_m: f64,
) -> Result<Option<Vec<f64>>, NetworkError> {
    if !(film_m > 0.0 && radius_m > LEAST_RADIUS * film_m) {
        return Ok(None);
    }
    let cathode = cathodes(grid, parts);
    let stirred = Stirred::new(grid, parts, film_m, radius_m);
    let hidden = |f: usize| cathode[f] && !stirred.open[f];
    if !(0..grid.facets.len()).any(hidden) {
        return Ok(None);
    }
    let film = EddyFilm::new(film_m);
    let cells = Cells::around(grid, &stirred, &cathode, film);
    let Some((network, facets)) = cells.network(&cathode) else {
        return Ok(None);
    };
    let settings = Settings {
        tolerance: TOLERANCE,
        ..Settings::default()
    };
    let solution = Solver::new(network)?.solve(&settings, None)?;
    let mut shelter = vec![1.0; grid.facets.len()];
    for (f, i) in facets.iter().zip(&solution.current_density_a_per_m2) {
        let share = film_m * -i;
        if share < UNTOUCHED {
            shelter[*f as usize] = share.max(LEAST);
        }
    }
    Ok(shelter.iter().any(|s| *s < 1.0).then_some(shelter))
}

/// Is each facet one of a cathode?
fn cathodes<const D: usize>(grid: &Grid<D>, parts: &Parts<D>) -> Vec<bool> {
    let mut of_body = vec![false; parts.domain.bodies.len()];
    for electrode in &parts.electrodes {
        of_body[electrode.body] = electrode.role.is_cathode();
    }
    let facets = grid.facets.iter();
    facets.map(|f| of_body[usize::from(f.body)]).collect()
}

/// Has each cell open facets, and no others?
fn open_cells<const D: usize>(grid: &Grid<D>, stirred: &Stirred<D>) -> Vec<bool> {
    let mut open = vec![false; grid.len()];
    for (&node, &is_open) in grid.facet_node.iter().zip(&stirred.open) {
        open[node as usize] |= is_open;
    }
    for (&node, &is_open) in grid.facet_node.iter().zip(&stirred.open) {
        open[node as usize] &= is_open;
    }
    open
}

/// What a cell is in the problem.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    /// No part of it.
    Outside,
    /// Its concentration is sought.
    Sought,
    /// Its concentration is that of a plate in the open.
    Plate,
    /// Deep in the stirred liquid.
    Bulk,
}

/// The cells that hang together with sheltered facets, as far as the bulk.
struct Cells<'a, const D: usize> {
    grid: &'a Grid<D>,
    stirred: &'a Stirred<D>,
    film: EddyFilm,
    kind: Vec<Kind>,
    /// Depth of each cell that was looked at, m, and whether it lies in front of an open wall.
    depth_m: Vec<f64>,
    /// The same before those of open cells of a thin film were lifted off the wall.
    centre_m: Vec<f64>,
    before_wall: Vec<bool>,
    /// Has a cell open facets alone?
    open: Vec<bool>,
}

impl<'a, const D: usize> Cells<'a, D> {
    /// From the cells of the sheltered facets outwards.
    fn around(
        grid: &'a Grid<D>,
        stirred: &'a Stirred<D>,
        cathode: &[bool],
        film: EddyFilm,
    ) -> Self {
        let mut cells = Self {
            grid,
            stirred,
            film,
            kind: vec![Kind::Outside; grid.len()],
            depth_m: vec![f64::NAN; grid.len()],
            centre_m: vec![f64::NAN; grid.len()],
            before_wall: vec![false; grid.len()],
            open: open_cells(grid, stirred),
        };
        let adjacency = Adjacency::new(grid.len(), &grid.couplings.links);
        let bulk_m = (DEPTH * film.thickness_m).min(stirred.radius());
        let mut reached = Vec::new();
        let hidden = (0..grid.facets.len()).filter(|&f| cathode[f] && !stirred.open[f]);
        let hidden: Vec<u32> = hidden.map(|f| grid.facet_node[f]).collect();
        cells.look_at(hidden.iter().copied());
        for node in hidden.into_iter().map(|n| n as usize) {
            if cells.kind[node] == Kind::Outside {
                cells.kind[node] = if cells.depth_m[node] < bulk_m {
                    reached.push((node as u32, 0.0));
                    Kind::Sought
                } else {
                    Kind::Bulk
                };
            }
        }
        // Shell by shell, so that the depths of one are found side by side.
        while !reached.is_empty() {
            let around = reached.iter().flat_map(|(node, _)| adjacency.of(*node));
            cells.look_at(around.copied());
            let mut next_shell = Vec::new();
            for (node, aside_m) in reached {
                for &next in adjacency.of(node) {
                    if let Some(aside_m) = cells.reach(node, aside_m, next, bulk_m) {
                        next_shell.push((next, aside_m));
                    }
                }
            }
            reached = next_shell;
        }
        cells
    }

    /// Settles what a cell is that one is reached from, which lies so far along an open wall; how far it does itself
    /// if others are reached from it.
    fn reach(&mut self, from: u32, aside_m: f64, next: u32, bulk_m: f64) -> Option<f64> {
        let (grid, from, next) = (self.grid, from as usize, next as usize);
        if self.kind[next] != Kind::Outside {
            return None;
        }
        let depth_m = self.depth_m[next];
        let step_m = distance(&grid.centre(from), &grid.centre(next));
        let wall = self.open[next] || (depth_m > 0.0 && self.before_wall[next]);
        let up_m = (depth_m - self.depth_m[from]).abs().min(step_m);
        let along_m = ((step_m - up_m) * (step_m + up_m)).sqrt();
        let aside_m = if wall { aside_m + along_m } else { 0.0 };
        let far_m = ASIDE * self.film.thickness_m + 2.0 * grid.size_m(next);
        self.kind[next] = if depth_m >= bulk_m {
            Kind::Bulk
        } else if aside_m > far_m {
            Kind::Plate
        } else {
            Kind::Sought
        };
        (self.kind[next] == Kind::Sought).then_some(aside_m)
    }

    /// Finds the depths of cells in the stirred liquid that are not known yet.
    fn look_at(&mut self, nodes: impl Iterator<Item = u32>) {
        let mut new: Vec<u32> = nodes
            .filter(|&n| self.depth_m[n as usize].is_nan())
            .collect();
        new.sort_unstable();
        new.dedup();
        let depth = |&n: &u32| {
            let node = n as usize;
            self.depth_at(&self.grid.centre(node), self.grid.size_m(node))
        };
        let depths: Vec<Depth> = new.par_iter().map(depth).collect();
        for (node, depth) in new.into_iter().map(|n| n as usize).zip(depths) {
            let size_m = self.grid.size_m(node);
            let thin = self.open[node] && size_m > THIN * self.film.thickness_m;
            let least_m = if thin {
                NEAREST * size_m
            } else {
                f64::NEG_INFINITY
            };
            self.depth_m[node] = depth.metres.max(least_m);
            self.centre_m[node] = depth.metres;
            self.before_wall[node] = depth.before_wall;
        }
    }

    fn depth_at(&self, x: &[f64; D], size_m: f64) -> Depth {
        self.stirred.depth(x, 2.0 * size_m)
    }

    /// The network, with the grid's facet of each of its facets that is a cathode's; nothing where no bulk
    /// feeds any of them.
    fn network(mut self, cathode: &[bool]) -> Option<(Network, Vec<u32>)> {
        let grid = self.grid;
        let fed = self.fed();
        let rows = &grid.couplings.corrections;
        let sought = |kind: &[Kind], n: u32| kind[n as usize] == Kind::Sought && fed[n as usize];
        let kept: Vec<usize> = (0..rows.ends.len())
            .filter(|&c| {
                let ends = rows.ends[c];
                [ends.from, ends.to].iter().any(|n| sought(&self.kind, *n))
            })
            .collect();
        let facets: Vec<u32> = (0..grid.facets.len() as u32)
            .filter(|&f| cathode[f as usize] && sought(&self.kind, grid.facet_node[f as usize]))
            .collect();
        // Whatever rows name besides is as in front of a plate.
        let by_rows = kept.iter().flat_map(|&c| rows.rows.row(c));
        let by_facets = facets.iter().flat_map(|&f| grid.probe_rows.row(f as usize));
        let named: Vec<u32> = by_rows.chain(by_facets).map(|(n, _)| n).collect();
        let mut numbers = Numbers::new(grid.len());
        self.look_at(named.iter().copied());
        for node in named {
            numbers.of(node);
        }
        let mut couplings = Couplings::default();
        let mut bulk = Vec::new();
        for link in &grid.couplings.links {
            for (a, b) in [(link.a, link.b), (link.b, link.a)] {
                if !sought(&self.kind, a) {
                    continue;
                }
                match self.kind[b as usize] {
                    Kind::Bulk => bulk.extend(self.to_bulk(numbers.of(a), a, b, link.metres)),
                    Kind::Sought if a > b => {}
                    _ => couplings.links.push(Coupling {
                        a: numbers.of(a),
                        b: numbers.of(b),
                        metres: link.metres * self.along(a, b),
                    }),
                }
            }
        }
        couplings.corrections = self.corrections(&kept, &mut numbers);
        let mut network = Network {
            dimension: D as u8,
            couplings: Arc::new(couplings),
            conductivity: Conductivity::default(),
            laws: vec![law(&Kinetics::Primary)],
            ..Network::default()
        };
        if bulk.is_empty() {
            return None;
        }
        let mut probes = Rows::default();
        let before = facets.par_iter().map(|&f| self.before(f as usize));
        let before: Vec<Before> = before.collect();
        for (&f, before) in facets.iter().zip(&before) {
            let row = grid.probe_rows.row(f as usize);
            let row: Vec<_> = if before.own_cell {
                vec![(numbers.of(grid.facet_node[f as usize]), 1.0)]
            } else {
                row.map(|(n, w)| (numbers.of(n), w)).collect()
            };
            probes.push(row);
        }
        for (cell, _) in &bulk {
            probes.push([(*cell, 1.0)]);
        }
        let of = |n: u32| grid.node_cell[n as usize];
        let nodes = numbers.nodes.iter().map(|&n| Address::electrolyte(of(n)));
        network.addresses = nodes.collect();
        let wall = network.addresses.len() as u32;
        network
            .addresses
            .extend([Address::metal(), Address::metal()]);
        for (&f, before) in facets.iter().zip(&before) {
            let cell = numbers.of(grid.facet_node[f as usize]);
            let area_m2 = grid.facets[f as usize].area_m2;
            network.facets.push(before.facet(cell, wall, area_m2));
        }
        let to_bulk = |&(cell, metres): &(u32, f64)| Facet {
            cell,
            metal: wall + 1,
            area_m2: metres,
            series_m: 1.0,
            depth: 0.0,
            law: 0,
        };
        network.facets.extend(bulk.iter().map(to_bulk));
        network.probes = Arc::new(probes);
        network.fixed = vec![(wall, 0.0), (wall + 1, 1.0)];
        let plate = (0..)
            .zip(&numbers.nodes)
            .filter(|(_, n)| !sought(&self.kind, **n));
        let plate = plate.map(|(own, &n)| (own, self.of_plate(n as usize)));
        network.fixed.extend(plate);
        Some((network, facets))
    }

    /// Which cells hang together with the bulk.
    fn fed(&self) -> Vec<bool> {
        let mut groups = Groups::new(self.kind.len());
        let links = &self.grid.couplings.links;
        let kind = |n: u32| self.kind[n as usize];
        for link in links {
            if kind(link.a) == Kind::Sought && kind(link.b) == Kind::Sought {
                groups.join(link.a as usize, link.b as usize);
            }
        }
        let group = groups.numbers();
        let mut fed = vec![false; group.len()];
        for link in links {
            for (a, b) in [(link.a, link.b), (link.b, link.a)] {
                if kind(a) == Kind::Sought && kind(b) == Kind::Bulk {
                    fed[group[a as usize]] = true;
                }
            }
        }
        group.iter().map(|&g| fed[g]).collect()
    }

    /// Mean of `D_e / D` along a link.
    fn along(&self, a: u32, b: u32) -> f64 {
        let [from, to] = [a, b].map(|n| self.depth_m[n as usize]);
        // Cells whose centres were lifted off the wall keep the area across.
        let way_m = self.centre_m[b as usize] - self.centre_m[a as usize];
        let resting_m = self.film.resting_m(to) - self.film.resting_m(from);
        if (to - from) * way_m > 0.0 && way_m.abs() > 1.001 * (to - from).abs() {
            way_m / resting_m
        } else {
            self.film.along(from, to)
        }
    }

    /// The same along the way that a row takes, which makes it exact in front of a plate; `else_` where the row
    /// leads along the plate.
    fn along_row(&self, row: impl Iterator<Item = (u32, f64)>, else_: f64) -> f64 {
        let (mut depth_m, mut resting_m, mut most) = (0.0, 0.0, 0.0_f64);
        for (n, w) in row {
            let s = self.depth_m[n as usize];
            depth_m += w * s;
            resting_m += w * self.film.resting_m(s);
            most = most.max(self.film.along(s, s));
        }
        let times = depth_m / resting_m;
        if (1.0..=most).contains(&times) {
            times
        } else {
            else_
        }
    }

    /// Is the film resolved where a row leads, so that its weights are good for it?
    fn is_resolved(&self, mut row: impl Iterator<Item = (u32, f64)>) -> bool {
        let thick_m = THIN * self.film.thickness_m;
        row.all(|(n, _)| self.depth_m[n as usize] <= 0.0 || self.grid.size_m(n as usize) <= thick_m)
    }

    /// The way from a cell by a link to the bulk, with the rest of the film behind it, in metres.
    fn to_bulk(&self, cell: u32, a: u32, b: u32, metres: f64) -> Option<(u32, f64)> {
        let [from, to] = [a, b].map(|n| self.centre_m[n as usize]);
        let left_m = self.film.thickness_m - self.film.resting_m(self.depth_m[a as usize]);
        (to > from).then(|| (cell, metres * (to - from) / left_m))
    }

    /// Concentration in front of a plate.
    fn of_plate(&self, node: usize) -> f64 {
        let resting_m = self.film.resting_m(self.depth_m[node]);
        (resting_m / self.film.thickness_m).clamp(0.0, 1.0)
    }

    fn corrections(&self, kept: &[usize], numbers: &mut Numbers) -> Corrections {
        let all = &self.grid.couplings.corrections;
        let mut own = Corrections::default();
        for &c in kept {
            let ends = all.ends[c];
            let known = |n: u32| matches!(self.kind[n as usize], Kind::Sought | Kind::Plate);
            if known(ends.from) && known(ends.to) && self.is_resolved(all.rows.row(c)) {
                let times = self.along_row(all.rows.row(c), self.along(ends.from, ends.to));
                let row = all.rows.row(c);
                let row: Vec<_> = row.map(|(n, w)| (numbers.of(n), times * w)).collect();
                own.push(numbers.of(ends.from), numbers.of(ends.to), row);
            }
        }
        own
    }

    /// What lies between a facet and the cells that feed it. At rest the grid's probe sees the concentration as it
    /// sees a potential, and so it does through a film of several cells. Where it leads into a film thinner than cells
    /// the liquid behind would outweigh the cells before, and concentrations would run away: there the facet's own
    /// cell alone counts.
    fn before(&self, f: usize) -> Before {
        let (grid, film) = (self.grid, self.film);
        let (scale, facet) = (grid.probe_scale[f], &grid.facets[f]);
        let node = grid.facet_node[f] as usize;
        let (cell_m, centre) = (grid.size_m(node), grid.centre(node));
        let wall_m = if self.stirred.open[f] {
            0.0
        } else {
            self.depth_at(&facet.point, cell_m).metres
        };
        let slower = |[depth_m, resting_m]: [f64; 2]| {
            let slower = (resting_m - film.resting_m(wall_m)) / (depth_m - wall_m);
            let sound = depth_m > wall_m && slower > 0.0 && slower < 1.0;
            if sound { slower } else { 1.0 }
        };
        let own_m = self.depth_m[node];
        let mut seen = [0.0; 2];
        for (n, w) in grid.probe_rows.row(f) {
            let s = self.depth_m[n as usize];
            seen[0] += w * s;
            seen[1] += w * film.resting_m(s);
        }
        let seen = slower(seen);
        if self.is_resolved(grid.probe_rows.row(f)) {
            let series_m = seen / scale.per_m;
            return Before {
                series_m,
                depth: (f64::from(scale.depth_m) / series_m) as f32,
                own_cell: false,
            };
        }
        let height_m = dot(&sub(&centre, &facet.point), &facet.normal);
        let lifted_m = wall_m + height_m.max(NEAREST * cell_m);
        let to_m = if self.open[node] { own_m } else { lifted_m };
        Before {
            series_m: (to_m - wall_m) * slower([to_m, film.resting_m(to_m)]),
            depth: 0.0,
            own_cell: true,
        }
    }
}

/// What lies before a facet.
struct Before {
    /// Liquid at rest that resists as much, m.
    series_m: f64,
    /// Depth of its cell's centre behind the surface over that.
    depth: f32,
    /// Is it fed by its own cell alone?
    own_cell: bool,
}

impl Before {
    /// The facet of a cell behind it.
    const fn facet(&self, cell: u32, metal: u32, area_m2: f64) -> Facet {
        Facet {
            cell,
            metal,
            area_m2,
            series_m: self.series_m,
            depth: self.depth,
            law: 0,
        }
    }
}

/// Numbers of the cells in the problem, given as they are asked for.
struct Numbers {
    number: Vec<Option<u32>>,
    nodes: Vec<u32>,
}

impl Numbers {
    fn new(cells: usize) -> Self {
        Self {
            number: vec![None; cells],
            nodes: Vec::new(),
        }
    }

    fn of(&mut self, cell: u32) -> u32 {
        *self.number[cell as usize].get_or_insert_with(|| {
            self.nodes.push(cell);
            self.nodes.len() as u32 - 1
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ionfall_mesh::grid::build;
    use ionfall_mesh::solid::{Cuboid, Polygon, Solid};
    use ionfall_model::Tank;

    /// A plate in the open with all cells of its film solved for (where nothing is sheltered none are): exact
    /// where it lies along cells larger than the film; else its mean is within 3 %.
    #[test]
    fn a_plate_in_the_open() {
        let end = |x: [f64; 2], y: [f64; 2]| Cuboid::new(x, y).map(Solid::new).unwrap();
        for (turn, cells_m, film_m) in [
            (0.0, 5e-4, 5e-5),
            (0.0, 3e-4, 5e-4),
            (0.0, 2e-4, 1e-4),
            (0.3, 5e-4, 4e-4),
            (0.7, 3.1e-4, 1.3e-4),
            (1.1, 2e-4, 8e-4),
            (2.9, 7e-4, 2e-5),
        ] {
            let (sin, cos) = f64::sin_cos(turn);
            let corners = [[-20.0, -3.0], [20.0, -3.0], [20.0, 3.0], [-20.0, 3.0]];
            let corners = corners
                .map(|[x, y]: [f64; 2]| [1e-3 * (cos * x - sin * y), 1e-3 * (sin * x + cos * y)]);
            let work = Solid::new(Polygon::new(corners.to_vec(), Vec::new()).unwrap());
            let model = Tank::planar(end([-0.05, -0.05], [0.05, 0.05]), 0.1)
                .conductivity_s_per_m(20.0)
                .anode("anode", end([-0.05, 0.04], [0.05, 0.05]))
                .work("work", work)
                .cells_m(cells_m, cells_m)
                .voltage_v(1.0)
                .model()
                .unwrap();
            let parts = Parts::<2>::try_from(model.geometry).unwrap();
            let grid = build(&parts.domain, 1 << 30).unwrap();
            let cathode = cathodes(&grid, &parts);
            let stirred = Stirred::new(&grid, &parts, film_m, 5e-3);
            assert!(stirred.open.iter().all(|open| *open));
            let film = EddyFilm::new(film_m);
            let mut cells = Cells {
                grid: &grid,
                stirred: &stirred,
                film,
                kind: vec![Kind::Outside; grid.len()],
                depth_m: vec![f64::NAN; grid.len()],
                centre_m: vec![f64::NAN; grid.len()],
                before_wall: vec![false; grid.len()],
                open: open_cells(&grid, &stirred),
            };
            cells.look_at(0..grid.len() as u32);
            for node in 0..grid.len() {
                cells.kind[node] = if cells.depth_m[node] < (DEPTH * film_m).min(5e-3) {
                    Kind::Sought
                } else {
                    Kind::Bulk
                };
            }
            let (network, facets) = cells.network(&cathode).unwrap();
            let settings = Settings::default();
            let solution = Solver::new(network)
                .unwrap()
                .solve(&settings, None)
                .unwrap();
            let (mut sum, mut area, mut worst) = (0.0, 0.0, 0.0);
            for (f, i) in facets.iter().zip(&solution.current_density_a_per_m2) {
                let [x, y] = grid.facets[*f as usize].point;
                let along_m = cos * x + sin * y;
                let face = (sin * x - cos * y).abs() > 2.9e-3;
                if face && along_m.abs() < 5e-3 {
                    let share = -film_m * i;
                    worst = f64::max(worst, (share - 1.0).abs());
                    sum += grid.facets[*f as usize].area_m2 * share;
                    area += grid.facets[*f as usize].area_m2;
                }
            }
            let exact = turn == 0.0 && cells_m > film_m;
            assert!(!exact || worst < 1e-6, "{worst}");
            assert!((sum / area - 1.0).abs() < 0.03, "{turn} {}", sum / area);
        }
    }
}
