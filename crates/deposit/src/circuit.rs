//! From the grid to the circuit: the resistor network with coats, contacts, leads and supplies.
//!
//! Geometric conductances (metres) times conductivity (S/m) are conductances (S). Behind the
//! facets there are, from the metal outward,
//!
//! ```text
//! facet - coat node - contact - electrode - lead - pole of a supply
//! ```
//! where whatever has no resistance of its own is one node with what comes next. The works and all
//! thieves without a supply of their own hang on the common negative pole, which is at 0 V.

use crate::coat::{Back, Coats};
use crate::law::law;
use crate::loan;
use crate::run::DepositError;
use ionfall_bath::Kinetics;
use ionfall_field::Solver;
use ionfall_field::network::{Address, Facet, Forms, Link, Network, NodeKind};
use ionfall_mesh::grid::Grid;
use ionfall_model::{Parts, Role, Supply, Zone};

/// The poles of a supply.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Poles {
    pub positive: u32,
    pub negative: u32,
}

/// The network and what its parts stand for.
#[derive(Debug)]
pub(crate) struct Circuit {
    /// The network; coat links, fixed potentials and injected currents change from solve to solve.
    pub solver: Solver,
    /// Coats.
    pub coats: Coats,
    /// Facet of the grid of each facet of the network.
    pub live: Vec<u32>,
    /// Laws of the network: for each electrode its own, then the same in each zone.
    pub laws: Vec<Kinetics>,
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
    /// The common negative pole.
    pub ground: u32,
    /// Number of links lent by the grid; they come first.
    grid_links: usize,
    /// First link of the coats.
    first_square: usize,
}

impl Circuit {
    /// Of a grid whose electrodes are all in `parts`; the grid lends its couplings until
    /// [`Circuit::give_back`].
    pub fn new<const D: usize>(
        grid: &mut Grid<D>,
        parts: &Parts<D>,
        supplies: &[Supply],
        conductivity_s_per_m: f64,
    ) -> Result<Self, DepositError> {
        let kappa = conductivity_s_per_m;
        let electrode = electrode_of_facets(grid, parts);
        let coats = Coats::new(grid, parts, &electrode);
        if let Some(idle) = coats.idle_contact(parts.contacts.len()) {
            return Err(DepositError::IdleContact {
                name: parts.contacts[idle].name.clone(),
            });
        }
        let joints = parts.electrodes.len() + parts.contacts.len();
        let mut nodes = Nodes::new(grid, &coats, joints + 1 + 2 * supplies.len());
        let grid_links = grid.links.len();
        let mut links = loan::links(grid, kappa, joints + coats.count_links());
        let ground = nodes.metal();
        let mut poles: Vec<Poles> = Vec::new();
        for supply in supplies {
            let positive = match poles.first() {
                Some(main) if supply.anodes.is_empty() => main.positive,
                _ => nodes.metal(),
            };
            let negative = if supply.thieves.is_empty() {
                ground
            } else {
                nodes.metal()
            };
            poles.push(Poles { positive, negative });
        }
        let mut join = |nodes: &mut Nodes, to: u32, resistance_ohm: f64| {
            if resistance_ohm == 0.0 {
                return (to, None);
            }
            let node = nodes.metal();
            links.push(Link {
                a: node,
                b: to,
                conductance_s: 1.0 / resistance_ohm,
            });
            let link = links.len() - 1;
            (node, Some(link))
        };
        let (mut metal, mut leads) = (Vec::new(), Vec::new());
        for (n, e) in parts.electrodes.iter().enumerate() {
            let on =
                |list: fn(&Supply) -> &[usize]| supplies.iter().position(|s| list(s).contains(&n));
            let pole = match e.role {
                Role::Anode => poles[on(|s| &s.anodes).unwrap_or(0)].positive,
                Role::Work => ground,
                Role::Thief => on(|s| &s.thieves).map_or(ground, |s| poles[s].negative),
                Role::Floating => nodes.metal(),
            };
            let (node, lead) = join(&mut nodes, pole, e.lead_ohm);
            metal.push(node);
            leads.push(lead);
        }
        let (contact_node, contact_link): (Vec<u32>, Vec<_>) = parts
            .contacts
            .iter()
            .map(|c| join(&mut nodes, metal[c.electrode], c.resistance_ohm))
            .unzip();
        let first_coat = grid.len() as u32;
        let behind = |f: usize| match coats.back[f] {
            Back::Metal => Some(metal[usize::from(electrode[f])]),
            Back::Coat(n) => Some(first_coat + n),
            Back::Contact(c) => Some(contact_node[c as usize]),
            Back::Bare => None,
        };
        let live: Vec<u32> = (0..grid.facets.len() as u32)
            .filter(|&f| behind(f as usize).is_some())
            .collect();
        let zones = parts.zones.len() + 1;
        let zone = |f: usize| {
            let at = |z: &Zone<D>| z.solid.contains(&grid.facets[f].point);
            parts.zones.iter().rposition(at).map_or(0, |z| z + 1)
        };
        let laws: Vec<Kinetics> = parts
            .electrodes
            .iter()
            .flat_map(|e| {
                let within = |z: &Zone<D>| match e.role {
                    Role::Anode => e.kinetics,
                    _ => e.kinetics.with_limit_times(z.limit_factor),
                };
                std::iter::once(e.kinetics).chain(parts.zones.iter().map(within))
            })
            .collect();
        let facets = live
            .iter()
            .map(|&f| {
                let f = f as usize;
                Facet {
                    cell: grid.facet_node[f],
                    metal: behind(f).unwrap_or(ground),
                    area_m2: grid.facets[f].area_m2,
                    series_ohm_m2: 1.0 / (kappa * grid.probe_scale[f].per_m),
                    depth: grid.probe_scale[f].depth(),
                    law: (usize::from(electrode[f]) * zones + zone(f)) as u32,
                }
            })
            .collect();
        let probes = if live.len() == grid.facets.len() {
            loan::forms(&mut grid.probe_rows, 1.0)
        } else {
            let mut probes = Forms {
                start: vec![0],
                ..Forms::default()
            };
            for &f in &live {
                probes.push(grid.probe_rows.row(f as usize));
            }
            probes
        };
        let first_square = links.len();
        let node = |f: usize| behind(f).unwrap_or(ground);
        links.extend(coats.links(node, |c| contact_node[c]));
        let network = Network {
            addresses: nodes.addresses,
            dimension: D as u8,
            links,
            corrections: loan::corrections(grid),
            correction_forms: loan::forms(&mut grid.correction_rows, kappa),
            facets,
            probes,
            laws: laws.iter().map(law).collect(),
            fixed: vec![(ground, 0.0)],
            injected: Vec::new(),
            plain: Vec::new(),
        };
        Ok(Self {
            solver: Solver::new(network)?,
            coats,
            live,
            laws,
            electrode,
            metal,
            leads,
            contact_link,
            poles,
            ground,
            grid_links,
            first_square,
        })
    }

    /// Sets the coats' conductances for a thickness of deposit on each facet of the grid.
    pub fn grow(
        &mut self,
        thickness_m: &[f64],
        resistivity_ohm_m: f64,
    ) -> Result<(), DepositError> {
        let conductances_s = self.coats.conductances_s(thickness_m, resistivity_ohm_m);
        let first = self.first_square;
        Ok(self.solver.set_conductances(first, &conductances_s)?)
    }

    /// Slope of the law at a facet that conducts, at a drop from its metal to the electrolyte;
    /// infinite without kinetics.
    pub fn slope_s_per_m2(&self, facet: usize, drop_v: f64) -> f64 {
        let at = self.live.partition_point(|&f| (f as usize) < facet);
        let law = self.solver.facets()[at].law as usize;
        self.solver.laws()[law].at_drop(drop_v).slope_s_per_m2
    }

    /// Gives the grid's couplings back to it.
    pub fn give_back<const D: usize>(self, grid: &mut Grid<D>, conductivity_s_per_m: f64) {
        loan::give_back(
            self.solver.into_network(),
            grid,
            self.grid_links,
            conductivity_s_per_m,
        );
    }

    /// The coats' links.
    pub fn squares(&self) -> &[Link] {
        &self.solver.links()[self.first_square..]
    }
}

/// Numbers the nodes: cells, coat, metals.
struct Nodes {
    addresses: Vec<Address>,
    metals: u64,
}

impl Nodes {
    /// Of cells and coat, with room for so many metals.
    fn new<const D: usize>(grid: &Grid<D>, coats: &Coats, metals: usize) -> Self {
        let cell = |n: usize, kind| Address {
            kind,
            key: grid.node_cell[n].key,
            level: grid.node_cell[n].level,
        };
        let cells = grid.len();
        let mut addresses = Vec::with_capacity(cells + coats.most_nodes() + metals);
        addresses.extend((0..cells).map(|n| cell(n, NodeKind::Electrolyte)));
        for (back, &n) in coats.back.iter().zip(&grid.facet_node) {
            // Nodes are numbered in the order of their first facets.
            if *back == Back::Coat((addresses.len() - cells) as u32) {
                addresses.push(cell(n as usize, NodeKind::Coat));
            }
        }
        Self {
            addresses,
            metals: 0,
        }
    }

    fn metal(&mut self) -> u32 {
        self.addresses.push(Address {
            kind: NodeKind::Metal,
            key: self.metals,
            level: 0,
        });
        self.metals += 1;
        self.addresses.len() as u32 - 1
    }
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
