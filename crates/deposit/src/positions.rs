//! Work that travels: on a rod to and fro, on a carousel around. Its metal is the mean over positions.
//!
//! Each position is a tank of its own: the bodies that travel are moved, the grid is laid anew, the same is asked of
//! the supplies. A place of the work grows by the mean over the positions,
//!
//! ```text
//! dh/dt = 1/N sum_k (dh/dt)_k      amounts and energy likewise
//! ```
//! where the growth in position `k` is that of the facets there nearest to the moved place, weighted by the inverse
//! squares of their distances, and scaled so that each body gets what it gets in that position. Volts, current densities
//! and shares of the limiting current are those of the position that is drawn, which is one of them.

use crate::drive::{Demand, settle};
use crate::error::DepositError;
use crate::rates::Rates;
use crate::settings::Settings;
use ionfall_mesh::grid::facet::Facet;
use ionfall_mesh::grid::{Grid, build};
use ionfall_mesh::solid::Point;
use ionfall_model::{Model, Parts};
use ionfall_network::{Circuit, local_limits};
use ionfall_numerics::vector::{distance, dot};
use serde::Serialize;
use std::collections::HashMap;

/// Facets that a place is read from.
const NEAREST: usize = 4;
/// Least cosine between the normals of a place and of a facet that it is read from.
const SAME_SIDE: f64 = 0.7;
/// By how much the surface of a body may differ from position to position.
const SAME_AREA: f64 = 0.03;

/// Bodies that travelled, as they are told.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Travelled {
    /// Their names.
    pub names: Vec<String>,
    /// Number of positions.
    pub positions: usize,
}

/// The positions beside the one that is drawn.
pub(crate) struct Positions {
    others: Vec<Position>,
    /// Area of each facet of the grid, m2, and the electrode of those that are read.
    facets: Vec<(f64, Option<usize>)>,
    pub travelled: Option<Travelled>,
}

/// A position.
struct Position {
    circuit: Circuit,
    /// Area of each facet there, m2, and its electrode.
    facets: Vec<(f64, usize)>,
    /// The facets there that each facet of the grid is read from, with their weights; none where it is not.
    read: Vec<Vec<(u32, f64)>>,
}

impl Positions {
    /// Of a model; none where nothing travels.
    pub fn new<const D: usize>(
        model: &Model<Parts<D>>,
        grid: &Grid<D>,
        settings: &Settings,
    ) -> Result<Self, DepositError> {
        let parts = &model.geometry;
        let number = parts.travels.iter().map(|t| t.others.len()).max();
        let body = electrode_of_body(parts);
        let facet = |f: &Facet<D>| {
            let own = body[usize::from(f.body)];
            (
                f.area_m2,
                own.filter(|e| parts.electrodes[*e].role.is_cathode()),
            )
        };
        let mut all = Self {
            others: Vec::new(),
            facets: grid.facets.iter().map(facet).collect(),
            travelled: None,
        };
        let Some(number) = number else {
            return Ok(all);
        };
        for k in 0..number {
            all.others.push(Position::new(model, grid, settings, k)?);
        }
        let names = parts
            .travels
            .iter()
            .map(|t| &parts.electrodes[t.electrode].name);
        all.travelled = Some(Travelled {
            names: names.cloned().collect(),
            positions: 1 + number,
        });
        Ok(all)
    }

    /// Makes means over all positions of the rates in the one that is drawn.
    pub fn mean<const D: usize>(
        &mut self,
        rates: &mut Rates,
        model: &Model<Parts<D>>,
        settings: &Settings,
        demands: &[Demand],
        limits_times: f64,
    ) -> Result<(), DepositError> {
        if self.others.is_empty() {
            return Ok(());
        }
        let share = 1.0 / (1 + self.others.len()) as f64;
        let drawn = rates.growth_m_per_s.clone();
        let mut mean = rates.clone();
        mean.add(share - 1.0, rates);
        for position in &mut self.others {
            let mut there = position.rates(model, settings, demands, limits_times)?;
            there.growth_m_per_s = position.seen(&there.growth_m_per_s, &drawn, &self.facets);
            mean.add(share, &there);
        }
        if mean.standing_m_per_s.is_empty() {
            mean.standing_m_per_s = drawn;
        }
        *rates = mean;
        Ok(())
    }
}

/// The electrode of each body.
fn electrode_of_body<const D: usize>(parts: &Parts<D>) -> Vec<Option<usize>> {
    let mut of_body = vec![None; parts.domain.bodies.len()];
    for (n, electrode) in parts.electrodes.iter().enumerate() {
        of_body[electrode.body] = Some(n);
    }
    of_body
}

impl Position {
    fn new<const D: usize>(
        model: &Model<Parts<D>>,
        drawn: &Grid<D>,
        settings: &Settings,
        k: usize,
    ) -> Result<Self, DepositError> {
        let parts = model.geometry.in_position(k);
        let grid = build(&parts.domain, settings.memory_bytes)?;
        let electrode = electrode_of_body(&parts);
        for travel in &model.geometry.travels {
            let body = parts.electrodes[travel.electrode].body;
            let area_m2 = |grid: &Grid<D>| -> f64 {
                let own = grid.facets.iter().filter(|f| usize::from(f.body) == body);
                own.map(|f| f.area_m2).sum()
            };
            let off = area_m2(&grid) / area_m2(drawn) - 1.0;
            if off.is_nan() || off.abs() > SAME_AREA {
                return Err(DepositError::OffItsWay {
                    name: parts.electrodes[travel.electrode].name.clone(),
                    off_percent: 100.0 * off,
                });
            }
        }
        let local = local_limits(&grid, &parts, model.bath.local_film.as_ref());
        let shares = local.as_ref().map_or(&[][..], |local| &local.shares);
        let kappa = model.bath.conductivity.value;
        let circuit = Circuit::with_shares(&grid, &parts, &model.supplies, kappa, shares)?;
        let near = Near::new(&grid);
        let read = |facet: &Facet<D>| {
            let body = usize::from(facet.body);
            let own = electrode[body].filter(|e| parts.electrodes[*e].role.is_cathode());
            let Some(own) = own else { return Vec::new() };
            let way = model.geometry.way(own, k);
            let at = way.map_or(facet.point, |w| w.apply(&facet.point));
            let normal = way.map_or(facet.normal, |w| w.turned(&facet.normal));
            near.read(&grid, facet.body, &at, &normal)
        };
        let read = drawn.facets.iter().map(read).collect();
        let facet = |f: &Facet<D>| {
            (
                f.area_m2,
                electrode[usize::from(f.body)].unwrap_or(usize::MAX),
            )
        };
        let facets = grid.facets.iter().map(facet).collect();
        Ok(Self {
            circuit,
            facets,
            read,
        })
    }

    /// The rates in this position, facets being those of its own grid.
    fn rates<const D: usize>(
        &mut self,
        model: &Model<Parts<D>>,
        settings: &Settings,
        demands: &[Demand],
        limits_times: f64,
    ) -> Result<Rates, DepositError> {
        self.circuit.set_limits_times(limits_times)?;
        let electrodes = &model.geometry.electrodes;
        let supplies = &model.supplies;
        let field = &settings.field;
        let point = settle(
            &mut self.circuit,
            electrodes,
            supplies,
            demands,
            None,
            field,
            &mut |_| {},
        )?;
        let contacts = &model.geometry.contacts;
        Ok(Rates::new(
            &self.circuit,
            &point,
            &model.bath,
            electrodes,
            contacts,
            supplies,
        ))
    }

    /// Growth in this position as the facets of the drawn grid see it: of cathodes, each body all of it; of others that
    /// of the drawn position.
    fn seen(&self, there: &[f64], drawn: &[f64], facets: &[(f64, Option<usize>)]) -> Vec<f64> {
        let read = |f: usize| -> f64 {
            match self.read[f].as_slice() {
                [] => drawn[f],
                nearest => nearest.iter().map(|(n, w)| w * there[*n as usize]).sum(),
            }
        };
        let mut seen: Vec<f64> = (0..drawn.len()).map(read).collect();
        let (mut own, mut found) = (HashMap::new(), HashMap::new());
        for ((area_m2, electrode), growth) in self.facets.iter().zip(there) {
            *own.entry(*electrode).or_insert(0.0) += area_m2 * growth;
        }
        for ((area_m2, electrode), growth) in facets.iter().zip(&seen) {
            if let Some(e) = electrode {
                *found.entry(*e).or_insert(0.0) += area_m2 * growth;
            }
        }
        for ((_, electrode), growth) in facets.iter().zip(&mut seen) {
            let Some(e) = electrode else { continue };
            if found[e] > 0.0 && own[e] > 0.0 {
                *growth *= own[e] / found[e];
            }
        }
        seen
    }
}

/// The facets of a grid by place.
struct Near<const D: usize> {
    edge_m: f64,
    bins: HashMap<[i64; D], Vec<u32>>,
}

impl<const D: usize> Near<D> {
    fn new(grid: &Grid<D>) -> Self {
        let sizes = grid.facet_node.iter().map(|&n| grid.size_m(n as usize));
        let mut near = Self {
            edge_m: sizes.fold(f64::MIN_POSITIVE, f64::max),
            bins: HashMap::new(),
        };
        for (f, facet) in grid.facets.iter().enumerate() {
            let bin = near.bin(&facet.point);
            near.bins.entry(bin).or_default().push(f as u32);
        }
        near
    }

    fn bin(&self, x: &Point<D>) -> [i64; D] {
        x.map(|x| (x / self.edge_m).floor() as i64)
    }

    /// The nearest facets of a body that look the same way, with weights that sum to one.
    fn read(&self, grid: &Grid<D>, body: u16, at: &Point<D>, normal: &Point<D>) -> Vec<(u32, f64)> {
        let middle = self.bin(at);
        let mut found: Vec<(f64, u32)> = Vec::new();
        for n in 0..3_i64.pow(D as u32) {
            let bin = std::array::from_fn(|k| middle[k] + n / 3_i64.pow(k as u32) % 3 - 1);
            for &f in self.bins.get(&bin).into_iter().flatten() {
                let facet = &grid.facets[f as usize];
                if facet.body == body && dot(&facet.normal, normal) > SAME_SIDE {
                    found.push((distance(&facet.point, at), f));
                }
            }
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        found.truncate(NEAREST);
        let weight = |d: f64| 1.0 / (d * d + (1e-6 * self.edge_m).powi(2));
        let sum: f64 = found.iter().map(|(d, _)| weight(*d)).sum();
        found
            .into_iter()
            .map(|(d, f)| (f, weight(d) / sum))
            .collect()
    }
}
