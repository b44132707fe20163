//! From grid and model to the circuit: the resistor network with coats, contacts, leads and supplies.
//!
//! Behind the facets there are, from the metal outward,
//!
//! ```text
//! facet - coat node - contact - electrode - lead - pole of a supply
//! ```
//! where whatever has no resistance of its own is one node with what comes next. The works and all
//! thieves without a supply of their own hang on the common negative pole, which is at 0 V.

use crate::assembly::{Assembly, Behind};
use crate::classes::Classes;
use crate::coat::{Back, Coats};
use crate::error::NetworkError;
use crate::law::{behind_film, law};
use crate::terminals::{Poles, Terminals};
use ionfall_bath::Kinetics;
use ionfall_field::law::Law;
use ionfall_field::network::{Conductivity, Link};
use ionfall_field::{FieldError, Solution, Solver};
use ionfall_mesh::grid::Grid;
use ionfall_model::{Parts, Role, Supply, Zone};

/// The network of a tank and what its parts stand for.
#[derive(Debug)]
pub struct Circuit {
    /// The network; coat links, fixed potentials and injected currents change from solve to solve.
    pub solver: Solver,
    /// Coats.
    pub coats: Coats,
    /// Facet of the grid of each facet of the network.
    pub live: Vec<u32>,
    /// Laws of the network: for each electrode its own, then the same in each zone; then those of facets with a share.
    pub laws: Vec<Kinetics>,
    /// The same in a steady current.
    steady: Vec<Kinetics>,
    /// Film in series with each law, ohm m2.
    film_ohm_m2: Vec<f64>,
    /// Role of the electrode of each law.
    role: Vec<Role>,
    /// Times the limiting currents of the laws that the network has now.
    limits_times: f64,
    /// Electrode of each facet of the grid.
    pub electrode: Vec<u16>,
    /// Metal node of each electrode.
    pub metal: Vec<u32>,
    /// Lead of each electrode that has one: number of its link.
    pub leads: Vec<Option<usize>>,
    /// Resistance of each contact that has one: number of its link.
    pub contact_link: Vec<Option<usize>>,
    /// Poles of each supply.
    pub poles: Vec<Poles>,
    /// The common negative pole, at 0 V.
    pub ground: u32,
    /// First link of the coats.
    first_square: usize,
}

/// The coats, if every contact touches one.
fn touched<const D: usize>(
    grid: &Grid<D>,
    parts: &Parts<D>,
    electrode: &[u16],
) -> Result<Coats, NetworkError> {
    let coats = Coats::new(grid, parts, electrode);
    match coats.idle_contact(parts.contacts.len()) {
        None => Ok(coats),
        Some(idle) => Err(NetworkError::IdleContact {
            name: parts.contacts[idle].name.clone(),
        }),
    }
}

/// Refuses contacts that touch no coat, as [`Circuit::new`] does.
///
/// # Errors
/// [`NetworkError::IdleContact`].
pub fn check_contacts<const D: usize>(
    grid: &Grid<D>,
    parts: &Parts<D>,
) -> Result<(), NetworkError> {
    touched(grid, parts, &electrode_of_facets(grid, parts)).map(|_| ())
}

impl Circuit {
    /// Of a grid whose electrodes are all in `parts`. Coats have no conductance yet; see
    /// [`grow`](Self::grow).
    ///
    /// # Errors
    /// [`NetworkError`].
    pub fn new<const D: usize>(
        grid: &Grid<D>,
        parts: &Parts<D>,
        supplies: &[Supply],
        conductivity_s_per_m: f64,
    ) -> Result<Self, NetworkError> {
        Self::with_shares(grid, parts, supplies, conductivity_s_per_m, &[])
    }

    /// The same where facets of the grid have a share of their limiting currents, by
    /// [shelter](crate::shelter) or by films that [vary](crate::local_limits); without shares all of it.
    ///
    /// # Errors
    /// [`NetworkError`].
    pub fn with_shares<const D: usize>(
        grid: &Grid<D>,
        parts: &Parts<D>,
        supplies: &[Supply],
        conductivity_s_per_m: f64,
        shares: &[f64],
    ) -> Result<Self, NetworkError> {
        let electrode = electrode_of_facets(grid, parts);
        let coats = touched(grid, parts, &electrode)?;
        let others = coats.most_nodes() + Terminals::most(parts, supplies);
        let mut assembly = Assembly::new(grid, others);
        let coat_node = coat_nodes(&mut assembly, &coats);
        let terminals = Terminals::new(&mut assembly, parts, supplies);
        let node = |f: usize| match coats.back[f] {
            Back::Metal => Some(terminals.metal[usize::from(electrode[f])]),
            Back::Coat(n) => Some(coat_node[n as usize]),
            Back::Contact(c) => Some(terminals.contact[c as usize]),
            Back::Bare => None,
        };
        let conducting = |f: usize| node(f).unwrap_or(terminals.ground);
        let first_square = coats.join(&mut assembly, conducting, |c| terminals.contact[c]);
        let of_each = 1 + parts.zones.len();
        let in_open = |f: usize| usize::from(electrode[f]) * of_each + zone(grid, parts, f);
        let classes = Classes::new(laws(parts), shares, in_open);
        let behind = |f: usize| {
            let node = node(f)?;
            let law = classes.law(in_open(f), shares.get(f)) as u32;
            Some(Behind { node, law })
        };
        let laws = classes.laws();
        let conductivity = Conductivity::uniform(conductivity_s_per_m);
        let electrode_of = |n: usize| &parts.electrodes[classes.in_open(n) / of_each];
        let film_ohm_m2: Vec<f64> = (0..laws.len())
            .map(|n| electrode_of(n).film_ohm_m2)
            .collect();
        let role = (0..laws.len()).map(|n| electrode_of(n).role).collect();
        let of_network = laws.iter().zip(&film_ohm_m2);
        let of_network = of_network.map(|(own, film)| behind_film(law(own), *film));
        let of_network = of_network.collect();
        let (mut network, live) = assembly.network(conductivity, of_network, behind);
        network.fixed = vec![(terminals.ground, 0.0)];
        Ok(Self {
            solver: Solver::new(network)?,
            coats,
            live,
            steady: laws.clone(),
            laws,
            film_ohm_m2,
            role,
            limits_times: 1.0,
            electrode,
            metal: terminals.metal,
            leads: terminals.leads,
            contact_link: terminals.contact_link,
            poles: terminals.poles,
            ground: terminals.ground,
            first_square,
        })
    }

    /// Sets the coats' conductances for a thickness of deposit on each facet of the grid.
    ///
    /// # Errors
    /// [`FieldError`], where they are no conductances.
    pub fn grow(&mut self, thickness_m: &[f64], resistivity_ohm_m: f64) -> Result<(), FieldError> {
        let conductances_s = self.coats.conductances_s(thickness_m, resistivity_ohm_m);
        let first = self.first_square;
        self.solver.set_conductances(first, &conductances_s)
    }

    /// Lets the cathodes have their limiting currents times `factor` from now on, as in pulses.
    ///
    /// # Errors
    /// None that the laws of a circuit could cause; those of the solver are handed on.
    pub fn set_limits_times(&mut self, factor: f64) -> Result<(), FieldError> {
        if factor == self.limits_times {
            return Ok(());
        }
        for (n, steady) in self.steady.iter().enumerate() {
            if self.role[n].is_cathode() && steady.limit_a_per_m2().is_some() {
                self.laws[n] = steady.with_limit_times(factor);
                let new = self.law_of(n, &self.laws[n]);
                self.solver.set_law(n, new)?;
            }
        }
        self.limits_times = factor;
        Ok(())
    }

    /// Is a law that of a cathode?
    pub fn is_cathode(&self, law: usize) -> bool {
        self.role[law].is_cathode()
    }

    /// Other kinetics in the place of those of a law, behind its film, as the network sees them.
    pub fn law_of(&self, n: usize, kinetics: &Kinetics) -> Box<dyn Law> {
        behind_film(law(kinetics), self.film_ohm_m2[n])
    }

    /// The coats' links, each with the part of its conductance that is the coat's own and not the deposit's, S.
    pub fn coat_links(&self) -> Vec<(usize, f64)> {
        let bare = self.coats.bare_conductances_s();
        (self.first_square..).zip(bare).collect()
    }

    /// Slope of the law at a facet that conducts, at a drop from its metal to the electrolyte;
    /// infinite without kinetics.
    pub fn slope_s_per_m2(&self, facet: usize, drop_v: f64) -> f64 {
        let at = self.live.partition_point(|&f| (f as usize) < facet);
        let law = self.solver.facets()[at].law as usize;
        self.solver.laws()[law].at_drop(drop_v).slope_s_per_m2
    }

    /// Current of each electrode, A, positive into the bath.
    pub fn currents_a(&self, solution: &Solution) -> Vec<f64> {
        let mut sums = vec![0.0; self.metal.len()];
        let facets = self.solver.facets().iter().zip(&self.live);
        for ((facet, &f), i) in facets.zip(&solution.current_density_a_per_m2) {
            sums[usize::from(self.electrode[f as usize])] += facet.area_m2 * i;
        }
        sums
    }

    /// Conducting area of some electrodes, m2.
    pub fn area_m2(&self, of: impl Fn(usize) -> bool) -> f64 {
        let facets = self.solver.facets().iter().zip(&self.live);
        facets
            .filter(|(_, f)| of(usize::from(self.electrode[**f as usize])))
            .map(|(facet, _)| facet.area_m2)
            .sum()
    }

    /// The coats' links.
    pub fn squares(&self) -> &[Link] {
        &self.solver.links()[self.first_square..]
    }
}

/// A node for each number among the coats, in that order.
fn coat_nodes<const D: usize>(assembly: &mut Assembly<'_, D>, coats: &Coats) -> Vec<u32> {
    let mut nodes = Vec::new();
    for (f, back) in coats.back.iter().enumerate() {
        // They are numbered in the order of their first facets.
        if *back == Back::Coat(nodes.len() as u32) {
            nodes.push(assembly.coat(f));
        }
    }
    nodes
}

/// For each electrode its law, then the same in each zone.
fn laws<const D: usize>(parts: &Parts<D>) -> Vec<Kinetics> {
    let all = parts.electrodes.iter().flat_map(|e| {
        let within = |z: &Zone<D>| match e.role {
            Role::Anode => e.kinetics.clone(),
            _ => e.kinetics.with_limit_times(z.limit_factor),
        };
        std::iter::once(e.kinetics.clone()).chain(parts.zones.iter().map(within))
    });
    all.collect()
}

/// One more than the number of the zone a facet is in; zero outside all.
fn zone<const D: usize>(grid: &Grid<D>, parts: &Parts<D>, facet: usize) -> usize {
    let at = |z: &Zone<D>| z.solid.contains(&grid.facets[facet].point);
    parts.zones.iter().rposition(at).map_or(0, |z| z + 1)
}

/// The electrode of each facet.
fn electrode_of_facets<const D: usize>(grid: &Grid<D>, parts: &Parts<D>) -> Vec<u16> {
    let bodies = parts.domain.bodies.len();
    let mut of_body = vec![0; bodies];
    for (n, e) in parts.electrodes.iter().enumerate() {
        of_body[e.body] = n as u16;
    }
    grid.facets
        .iter()
        .map(|f| of_body[usize::from(f.body)])
        .collect()
}
