//! What a finished run has to say of each electrode.

use crate::crowding::CROWDED_SHARE;
use crate::edge::Body;
use crate::ledger::Ledger;
use crate::outcome::{Anodic, BodyOutcome, Cover, Crowding};
use crate::place::{Place, padded};
use crate::state::State;
use crate::statistics::{Distribution, distribution, share_below};
use crate::surface::Surface;
use ionfall_field::Solution;
use ionfall_mesh::grid::Grid;
use ionfall_model::{Electrode, Model, Parts, Role};

/// The facets of the grid at the end.
pub(crate) struct End {
    pub conducts: Vec<bool>,
    /// Node potentials; currents and surface potentials of the grid's facets.
    pub solution: Solution,
    pub overpotential_v: Vec<f64>,
    pub metal_potential_v: Vec<f64>,
}

/// Everything known at the facets.
pub(crate) struct Fields<'a, const D: usize> {
    pub grid: &'a Grid<D>,
    pub surface: &'a Surface,
    /// Wagner length at a facet that conducts, m.
    pub wagner_length_m: &'a dyn Fn(usize) -> f64,
    pub end: &'a End,
    pub state: &'a State,
    /// Is there a plan, in which metal grows?
    pub plated: bool,
    pub ledger: &'a Ledger,
    pub gaps_m: Vec<f64>,
}

impl<const D: usize> Fields<'_, D> {
    /// The answers of electrode `e`, whose metal is at `metal_v`.
    pub fn body(&self, model: &Model<Parts<D>>, e: usize, metal_v: f64) -> BodyOutcome {
        let parts = &model.geometry;
        let electrode: &Electrode = &parts.electrodes[e];
        let grid = self.grid;
        let own: Vec<usize> = (0..grid.facets.len())
            .filter(|&f| usize::from(grid.facets[f].body) == electrode.body && self.end.conducts[f])
            .collect();
        let area = |f: usize| grid.facets[f].area_m2;
        let body = Body {
            domain: &parts.domain,
            grid,
            patches: &self.surface.patches,
            facets: &own,
            wagner_length_m: self.wagner_length_m,
        };
        let extreme = |value: &dyn Fn(usize) -> f64, largest| body.extreme(value, largest);
        let deciding = self.deciding(&own);
        let decides = Body {
            facets: &deciding,
            ..body
        };
        let read = |value: &dyn Fn(usize) -> f64, f: usize| self.surface.patches.at(f, value);
        let current = |f: usize| self.end.solution.current_density_a_per_m2[f];
        let sum =
            |value: &dyn Fn(usize) -> f64| -> f64 { own.iter().map(|&f| area(f) * value(f)).sum() };
        let spread = |value: &dyn Fn(usize) -> f64| {
            let pairs = own.iter().map(|&f| (read(value, f), area(f)));
            distribution(pairs).map_or_else(Distribution::default, |spread| Distribution {
                mean: sum(value) / sum(&|_| 1.0),
                max: extreme(value, true).map_or(spread.max, |place| place.value),
                ..spread
            })
        };
        let cathode = electrode.role.is_cathode();
        let thickness = |f: usize| self.thickness_m(f);
        let plated = self.plated;
        let covered = |f: usize| !self.state.covered_s[f].is_nan();
        let on_cathode = plated && cathode;
        let area_m2 = sum(&|_| 1.0);
        let wanted = model.wanted.as_ref().filter(|w| w.names(electrode));
        let last = own
            .iter()
            .map(|&f| self.state.covered_s[f])
            .reduce(f64::max);
        let coated = parts.coats.iter().any(|c| c.electrode == e);
        let drop = |f: usize| (self.end.metal_potential_v[f] - metal_v).abs();
        let metal_kg = if cathode {
            self.ledger.deposited_kg[e]
        } else {
            self.ledger.dissolved_kg[e]
        };
        let passive_a_per_m2 = self.passivates(model, electrode);
        BodyOutcome {
            name: electrode.name.clone(),
            copy_of: electrode.copy_of.clone(),
            role: electrode.role,
            area_m2,
            current_a: sum(&current),
            anodic: Anodic {
                area_m2: sum(&|f| if current(f) > 0.0 { 1.0 } else { 0.0 }),
                current_a: sum(&|f| current(f).max(0.0)),
            },
            current_density_a_per_m2: spread(&|f| current(f).abs()),
            overpotential_v: spread(&|f| self.end.overpotential_v[f].abs()),
            metal_kg: plated.then_some(metal_kg),
            volume_m3: plated.then(|| metal_kg / model.bath.metal.density.value),
            thickness_m: plated.then(|| spread(&|f| thickness(f).abs())),
            thinnest: plated.then(|| decides.extreme(&thickness, false)).flatten(),
            thickest: plated.then(|| extreme(&thickness, true)).flatten(),
            share_below_wanted: wanted.filter(|_| plated).map(|w| {
                let pairs = deciding.iter().map(|&f| (read(&thickness, f), area(f)));
                share_below(pairs, w.thickness_m)
            }),
            cover: Cover {
                share: on_cathode.then(|| sum(&|f| if covered(f) { 1.0 } else { 0.0 }) / area_m2),
                after_s: last.filter(|_| on_cathode && own.iter().all(|&f| covered(f))),
            },
            limit_share: own
                .iter()
                .any(|&f| self.state.limit_share[f].is_finite())
                .then(|| extreme(&|f| self.state.limit_share[f], true))
                .flatten(),
            passivation_share: passive_a_per_m2
                .and_then(|limit| extreme(&|f| current(f).max(0.0) / limit(f), true)),
            crowding: self.crowding(&own, area_m2),
            coat_drop_v: coated.then(|| own.iter().map(|&f| drop(f)).fold(0.0, f64::max)),
        }
    }
}

impl<const D: usize> Fields<'_, D> {
    /// The current density at which a facet of an electrode passivates, A/m2.
    fn passivates(
        &self,
        model: &Model<Parts<D>>,
        electrode: &Electrode,
    ) -> Option<impl Fn(usize) -> f64> {
        let dissolves = electrode.role == Role::Anode && electrode.kinetics.dissolves();
        let anode = model.bath.anode.filter(|_| dissolves)?;
        let mean = anode.passivation?.value;
        let local = anode.passivates_by_film;
        let share = move |f: usize| self.surface.shares.get(f).filter(|_| local).copied();
        Some(move |f: usize| mean * share(f).unwrap_or(1.0))
    }

    fn thickness_m(&self, f: usize) -> f64 {
        if self.plated {
            self.state.thickness_m[f]
        } else {
            0.0
        }
    }

    /// The facets that decide about the thinnest place; all of them, if none is where the wish asks for it.
    fn deciding(&self, own: &[usize]) -> Vec<usize> {
        let decide = own.iter().copied().filter(|&f| self.surface.decides(f));
        let deciding: Vec<usize> = decide.collect();
        match deciding.is_empty() {
            true => own.to_vec(),
            false => deciding,
        }
    }

    fn crowding(&self, own: &[usize], area_m2: f64) -> Option<Crowding> {
        let filled = |f: usize| 2.0 * self.thickness_m(f) / self.gaps_m[f];
        let area = |f: usize| self.grid.facets[f].area_m2;
        let crowded = own.iter().filter(|&&f| filled(f) > CROWDED_SHARE);
        let read = |&f: &usize| (f, self.surface.patches.at(f, filled));
        let places = crowded.clone().map(read);
        let (worst, value) = places.max_by(|a, b| a.1.total_cmp(&b.1))?;
        (value > CROWDED_SHARE).then(|| Crowding {
            area_share: crowded.map(|&f| area(f)).sum::<f64>() / area_m2,
            worst: Place {
                at_m: padded(&self.grid.facets[worst].point),
                value,
                edge: None,
            },
            gap_m: self.gaps_m[worst],
            // Growth in proportion to time.
            met_after_s: (value >= 1.0).then(|| self.state.time_s / value),
        })
    }
}
