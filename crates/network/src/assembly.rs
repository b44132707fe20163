//! The one way from a grid to a network: cells first, then whatever stands behind the facets.
//!
//! Couplings and probes of the grid are lengths and shares; the network reads them where the grid has
//! them, with the conductivity as a factor beside. A facet that nothing conducts behind is left out.

use ionfall_field::law::Law;
use ionfall_field::network::{Address, Conductivity, Facet, Link, Network, Rows};
use ionfall_mesh::grid::Grid;
use std::sync::Arc;

/// What is behind a facet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Behind {
    /// Node of a metal or coat.
    pub node: u32,
    /// Number of the facet's law.
    pub law: u32,
}

/// A network in the making.
///
/// ```
/// use ionfall_field::network::Conductivity;
/// use ionfall_field::{Settings, Solver};
/// use ionfall_mesh::grid::build;
/// use ionfall_mesh::solid::{Cuboid, Solid};
/// use ionfall_model::{Parts, Tank};
/// use ionfall_network::{Assembly, Behind, law};
///
/// let end = |x0: f64, x1: f64| Cuboid::new([x0, 0.0], [x1, 0.05]).map(Solid::new);
/// let model = Tank::planar(end(0.0, 0.1)?, 0.1)
///     .conductivity_s_per_m(20.0)
///     .anode("anode", end(-0.01, 0.0)?)
///     .work("work", end(0.1, 0.11)?)
///     .voltage_v(1.0)
///     .model()?;
/// let parts = Parts::<2>::try_from(model.geometry).expect("a planar tank");
/// let grid = build(&parts.domain, 1 << 30)?;
///
/// // A node of metal behind the facets of each body, and one law for all.
/// let mut assembly = Assembly::new(&grid, 2);
/// let metals = [assembly.metal(), assembly.metal()];
/// let laws = vec![law(&ionfall_bath::Kinetics::Primary)];
/// let behind = |f: usize| {
///     let node = metals[usize::from(grid.facets[f].body)];
///     Some(Behind { node, law: 0 })
/// };
/// let (mut network, _) = assembly.network(Conductivity::uniform(20.0), laws, behind);
/// network.fixed = vec![(metals[0], 1.0), (metals[1], 0.0)];
/// let solution = Solver::new(network)?.solve(&Settings::default(), None)?;
/// // A volt over 0.1 m of 20 S/m.
/// let i = solution.current_density_a_per_m2[0];
/// assert!((i.abs() - 200.0).abs() < 1e-6, "{i}");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug)]
pub struct Assembly<'a, const D: usize> {
    grid: &'a Grid<D>,
    addresses: Vec<Address>,
    links: Vec<Link>,
}

impl<'a, const D: usize> Assembly<'a, D> {
    /// The cells of a grid, with room for so many `other` nodes.
    pub fn new(grid: &'a Grid<D>, other: usize) -> Self {
        let mut addresses = Vec::with_capacity(grid.len() + other);
        addresses.extend(grid.node_cell.iter().copied().map(Address::electrolyte));
        Self {
            grid,
            addresses,
            links: Vec::new(),
        }
    }

    /// Another node of coat, in the cell of a facet.
    pub fn coat(&mut self, facet: usize) -> u32 {
        let cell = self.grid.node_cell[self.grid.facet_node[facet] as usize];
        self.node(Address::coat(cell))
    }

    /// Another node of metal.
    pub fn metal(&mut self) -> u32 {
        self.node(Address::metal())
    }

    fn node(&mut self, address: Address) -> u32 {
        self.addresses.push(address);
        self.addresses.len() as u32 - 1
    }

    /// Joins two nodes by a conductance, S; gives the number of the link.
    pub fn join(&mut self, a: u32, b: u32, conductance_s: f64) -> usize {
        self.links.push(Link {
            a,
            b,
            conductance_s,
        });
        self.links.len() - 1
    }

    /// Number of links so far, which is that of the next.
    pub fn links(&self) -> usize {
        self.links.len()
    }

    /// The network, with no supply yet, and the facet of the grid that each of its facets is.
    pub fn network(
        self,
        conductivity: Conductivity,
        laws: Vec<Box<dyn Law>>,
        behind: impl Fn(usize) -> Option<Behind>,
    ) -> (Network, Vec<u32>) {
        let grid = self.grid;
        let (mut facets, mut live) = (Vec::new(), Vec::new());
        for (f, facet) in grid.facets.iter().enumerate() {
            if let Some(behind) = behind(f) {
                let scale = grid.probe_scale[f];
                live.push(f as u32);
                facets.push(Facet {
                    cell: grid.facet_node[f],
                    metal: behind.node,
                    area_m2: facet.area_m2,
                    series_m: 1.0 / scale.per_m,
                    depth: scale.depth(),
                    law: behind.law,
                });
            }
        }
        let probes = if live.len() == grid.facets.len() {
            grid.probe_rows.clone()
        } else {
            let mut probes = Rows::default();
            for &f in &live {
                probes.push(grid.probe_rows.row(f as usize));
            }
            Arc::new(probes)
        };
        let network = Network {
            addresses: self.addresses,
            dimension: D as u8,
            couplings: grid.couplings.clone(),
            conductivity,
            links: self.links,
            facets,
            probes,
            laws,
            ..Network::default()
        };
        (network, live)
    }
}
