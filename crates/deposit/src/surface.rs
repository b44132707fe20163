//! What the time steps need to know of the facets, and figures of the works over them.

use crate::depletion::film_s;
use crate::patch::Patches;
use ionfall_mesh::grid::Grid;
use ionfall_model::{Model, Parts, Role};
use ionfall_network::{Back, Circuit};

/// Tables over the facets of the grid.
#[derive(Clone, Debug)]
pub(crate) struct Surface {
    /// Electrode of each facet.
    electrode: Vec<u16>,
    /// Area, m2.
    area_m2: Vec<f64>,
    /// Facets of works that conduct.
    work: Vec<usize>,
    /// Does a facet decide about the thinnest place of its body?
    decides: Vec<bool>,
    /// How values of the facets are read.
    pub patches: Patches,
    /// The limiting current density, A/m2; not a number without a limit.
    pub limit_a_per_m2: Vec<f64>,
    /// Growth at it, m/s; not a number without a limit.
    pub limit_m_per_s: Vec<f64>,
    /// Time in which the film in front of each facet empties and fills, s; not a number without a limit.
    pub film_s: Vec<f64>,
    /// Limiting current of each facet over that of its law, where films vary; empty where they do not.
    pub shares: Vec<f64>,
    /// Thickness that conducts as well as the coat (zero without a coat) and thickness of the first
    /// islands, m.
    pub own_thickness_m: Vec<[f64; 2]>,
}

impl Surface {
    /// Of facets that have these shares of their limiting currents; of all of it, without shares.
    pub fn new<const D: usize>(
        grid: &Grid<D>,
        circuit: &Circuit,
        model: &Model<Parts<D>>,
        shares: &[f64],
    ) -> Self {
        let parts = &model.geometry;
        let facets = grid.facets.len();
        let electrode = circuit.electrode.clone();
        let own = |f: usize| usize::from(electrode[f]);
        let area_m2: Vec<f64> = grid.facets.iter().map(|f| f.area_m2).collect();
        let live = |f: usize| circuit.coats.back[f] != Back::Bare;
        let is_work = |f: usize| parts.electrodes[own(f)].role == Role::Work;
        let rate = model
            .bath
            .metal
            .thickness_rate_m_per_s(1.0, model.bath.efficiency.value);
        let mut own_thickness_m = circuit
            .coats
            .own_thickness_m(model.bath.metal.resistivity.value);
        own_thickness_m.resize(facets, [0.0; 2]);
        let known = model.bath.limiting_current.map(|figure| figure.value);
        let limits = limits(circuit, parts, shares, known);
        let decides = |f: usize| {
            let facet = &grid.facets[f];
            let wanted = model.wanted.as_ref();
            wanted.is_none_or(|w| w.decides(parts, own(f), &facet.point, &facet.normal))
        };
        Self {
            decides: (0..facets).map(decides).collect(),
            work: (0..facets).filter(|&f| live(f) && is_work(f)).collect(),
            patches: Patches::new(grid, live),
            limit_m_per_s: limits.iter().map(|i| rate * i).collect(),
            film_s: limits.iter().map(|&i| film_s(&model.bath, i)).collect(),
            limit_a_per_m2: limits,
            shares: shares.to_vec(),
            own_thickness_m,
            electrode,
            area_m2,
        }
    }

    /// Electrode of a facet.
    pub fn electrode(&self, f: usize) -> usize {
        usize::from(self.electrode[f])
    }

    /// Is the facet on a work of this name, or on a copy of it (any work, if none is named)?
    fn on<const D: usize>(&self, parts: &Parts<D>, name: &Option<String>, f: usize) -> bool {
        let electrode = &parts.electrodes[usize::from(self.electrode[f])];
        name.as_ref().is_none_or(|name| electrode.answers_to(name))
    }

    /// Does a facet decide about the thinnest place of its body?
    pub fn decides(&self, f: usize) -> bool {
        self.decides[f]
    }

    /// The places of a work that decide about its thinnest; all of them, if none does.
    pub fn deciding<const D: usize>(&self, parts: &Parts<D>, name: &Option<String>) -> Vec<usize> {
        let own: Vec<usize> = (self.work.iter().copied())
            .filter(|&f| self.on(parts, name, f))
            .collect();
        let some = own.iter().any(|&f| self.decides[f]);
        own.into_iter()
            .filter(|&f| self.decides[f] || !some)
            .collect()
    }

    /// Value at the place of a work where it is smallest, of those that decide.
    pub fn least<const D: usize>(
        &self,
        parts: &Parts<D>,
        name: &Option<String>,
        value: impl Fn(usize) -> f64,
    ) -> f64 {
        let deciding = self.deciding(parts, name).into_iter();
        deciding
            .map(|f| self.patches.at(f, &value))
            .fold(f64::INFINITY, f64::min)
    }

    /// The facets that have a limiting current.
    pub fn limited(&self) -> impl Iterator<Item = usize> + '_ {
        let limits = &self.limit_m_per_s;
        (0..limits.len()).filter(|&f| limits[f].is_finite())
    }

    /// Share of the limiting current at a growth of the facets, m/s, as it is read at one of them.
    pub fn share(&self, growth_m_per_s: impl Fn(usize) -> f64, f: usize) -> f64 {
        let share = |f: usize| growth_m_per_s(f) / self.limit_m_per_s[f];
        self.patches.at(f, share)
    }

    /// Mean over a work.
    pub fn mean<const D: usize>(
        &self,
        parts: &Parts<D>,
        name: &Option<String>,
        value: impl Fn(usize) -> f64,
    ) -> f64 {
        let (mut sum, mut area) = (0.0, 0.0);
        for &f in self.work.iter().filter(|&&f| self.on(parts, name, f)) {
            sum += self.area_m2[f] * value(f);
            area += self.area_m2[f];
        }
        sum / area
    }

    /// Share of the works' area where something holds.
    pub fn covered(&self, holds: impl Fn(usize) -> bool) -> f64 {
        let (mut sum, mut area) = (0.0, 0.0);
        for &f in &self.work {
            area += self.area_m2[f];
            if holds(f) {
                sum += self.area_m2[f];
            }
        }
        sum / area
    }
}

/// The limiting current density of each facet of a cathode, A/m2: that of its law, or of a cathode without
/// polarisation its share of that of the bath; not a number where there is none.
fn limits<const D: usize>(
    circuit: &Circuit,
    parts: &Parts<D>,
    shares: &[f64],
    bath_a_per_m2: Option<f64>,
) -> Vec<f64> {
    let mut limits = vec![f64::NAN; circuit.electrode.len()];
    for (facet, &f) in circuit.solver.facets().iter().zip(&circuit.live) {
        let f = f as usize;
        if !parts.electrodes[usize::from(circuit.electrode[f])]
            .role
            .is_cathode()
        {
            continue;
        }
        let law = facet.law as usize;
        let of_law = circuit.laws[law].limit_a_per_m2();
        let of_bath = bath_a_per_m2.filter(|_| circuit.laws[law].is_primary());
        // Laws stand in the order of the electrodes, each in the open and then in every zone.
        let zone = (law % (parts.zones.len() + 1)).checked_sub(1);
        let stirred = zone.map_or(1.0, |z| parts.zones[z].limit_factor);
        let share = stirred * shares.get(f).copied().unwrap_or(1.0);
        if let Some(limit) = of_law.or(of_bath.map(|i| share * i)) {
            limits[f] = limit;
        }
    }
    limits
}
