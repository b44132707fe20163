//! Which nodes hang together, and whether the currents asked of them can flow.

use crate::error::FieldError;
use crate::network::{Network, NodeKind};
use crate::start::{Means, Sums};
use ionfall_numerics::groups::Groups;

/// Share of the limiting current that may be asked for.
const MOST_OF_LIMIT: f64 = 1.0 - 1e-6;

/// Parts of a network, numbered by their first nodes, as runs of nodes of one part.
#[derive(Debug)]
struct Parts {
    /// First node of each part.
    first: Vec<u32>,
    /// First node of each run, and its part.
    runs: Vec<(u32, u32)>,
}

impl Parts {
    /// What hangs together by links and by those facets for which `joins` holds.
    fn new(network: &Network, joins: impl Fn(u32, u32) -> bool) -> Self {
        let root = roots(network, joins);
        let nodes = (0..).zip(&root);
        let heads = nodes.filter(|&(node, root)| node == *root);
        let first: Vec<u32> = heads.map(|(node, _)| node).collect();
        let mut runs: Vec<(u32, u32)> = Vec::new();
        let mut last = None;
        for (node, root) in (0..).zip(&root) {
            if last != Some(root) {
                let part = first.partition_point(|first| first < root);
                runs.push((node, part as u32));
                last = Some(root);
            }
        }
        Parts { first, runs }
    }

    fn of(&self, node: u32) -> usize {
        let run = self.runs.partition_point(|&(first, _)| first <= node) - 1;
        self.runs[run].1 as usize
    }
}

/// The parts of a network that hang together by links and facets (*tanks*), and within them its
/// *conductors*: metals and coat that hang together by links, or electrolyte that does. They depend
/// on which conductances and areas are zero, not on their values.
#[derive(Debug)]
pub(crate) struct Conductors {
    tanks: Parts,
    /// Found when currents are injected.
    parts: Option<Parts>,
    /// Conductors with a link between metal and electrolyte, which carries any current.
    bridged: Vec<usize>,
}

impl Conductors {
    /// Of a network whose node numbers are good.
    pub fn new(network: &Network) -> Self {
        let mut conductors = Conductors {
            tanks: Parts::new(network, |_, _| true),
            parts: None,
            bridged: Vec::new(),
        };
        conductors.look_for_parts(network);
        conductors
    }

    fn look_for_parts(&mut self, network: &Network) {
        if self.parts.is_some() || network.injected.is_empty() {
            return;
        }
        let wet = |node: u32| network.addresses[node as usize].kind == NodeKind::Electrolyte;
        let parts = Parts::new(network, |a, b| wet(a) == wet(b));
        let bridges = network.all_links().filter(|l| wet(l.a) != wet(l.b));
        self.bridged = bridges
            .flat_map(|l| [parts.of(l.a), parts.of(l.b)])
            .collect();
        self.parts = Some(parts);
    }

    /// Does every tank have a prescribed potential, and can the injected currents flow? Gives the
    /// mean current densities of the laws if they follow from those currents alone.
    pub fn check(&mut self, network: &Network) -> Result<Option<Vec<Means>>, FieldError> {
        let mut grounded = vec![false; self.tanks.first.len()];
        for &(node, _) in &network.fixed {
            grounded[self.tanks.of(node)] = true;
        }
        if let Some(tank) = grounded.iter().position(|&grounded| !grounded) {
            let node = self.tanks.first[tank];
            return Err(FieldError::Floating { node });
        }
        self.look_for_parts(network);
        match &self.parts {
            Some(parts) if !network.injected.is_empty() => {
                demand(network, &self.tanks, parts, &self.bridged)
            }
            _ => Ok(None),
        }
    }
}

/// First node of the part each node belongs to when links and those facets count for which `joins`
/// holds.
fn roots(network: &Network, joins: impl Fn(u32, u32) -> bool) -> Vec<u32> {
    let mut groups = Groups::new(network.addresses.len());
    let links = network.all_links().filter(|l| l.conductance_s > 0.0);
    let facets = network.facets.iter().filter(|f| f.area_m2 > 0.0);
    let pairs = (links.map(|l| (l.a, l.b))).chain(facets.map(|f| (f.cell, f.metal)));
    for (a, b) in pairs {
        if joins(a, b) {
            groups.join(a as usize, b as usize);
        }
    }
    groups.smallest()
}

/// Currents a conductor must pass on through its facets, and what they can carry, A.
#[derive(Clone, Copy, Default)]
struct Budget {
    injected: f64,
    lowest: f64,
    highest: f64,
    area_m2: f64,
    /// Conductors with a prescribed potential.
    fixed: usize,
    electrolyte: bool,
}

impl Budget {
    fn add_facet(&mut self, area_m2: f64, range: (f64, f64)) {
        if area_m2 > 0.0 {
            self.area_m2 += area_m2;
            self.lowest += area_m2 * range.0;
            self.highest += area_m2 * range.1;
        }
    }

    /// A conductor without facets can pass on nothing; the range of others is open.
    fn check(&self, demand_a: f64) -> Result<(), FieldError> {
        let (lowest, highest) = (self.lowest, self.highest);
        let bare = lowest == 0.0 && highest == 0.0 && demand_a == 0.0;
        let within = demand_a > MOST_OF_LIMIT * lowest && demand_a < MOST_OF_LIMIT * highest;
        if bare || within {
            return Ok(());
        }
        let largest_a = if demand_a >= MOST_OF_LIMIT * highest {
            highest
        } else {
            lowest
        };
        Err(FieldError::DemandAboveLimit {
            demand_a,
            largest_a,
        })
    }
}

/// Compares the currents the supplies ask for with the limiting currents.
///
/// Metals and coat that hang together by links form a conductor. One without a prescribed
/// potential must pass on through its facets just what is injected into it; those with one must
/// together take up what all others of their tank give.
fn demand(
    network: &Network,
    tanks: &Parts,
    parts: &Parts,
    bridged: &[usize],
) -> Result<Option<Vec<Means>>, FieldError> {
    let wet = |node: u32| network.addresses[node as usize].kind == NodeKind::Electrolyte;
    let mut budgets = vec![Budget::default(); parts.first.len()];
    let of = |node: u32| parts.of(node);
    for &(node, current) in &network.injected {
        budgets[of(node)].injected += current;
    }
    for &(node, _) in &network.fixed {
        budgets[of(node)].fixed = 1;
    }
    for (budget, &first) in budgets.iter_mut().zip(&parts.first) {
        budget.electrolyte = wet(first);
    }
    for &conductor in bridged {
        let both = f64::INFINITY;
        budgets[conductor].add_facet(1.0, (-both, both));
    }
    for facet in &network.facets {
        let range = network.laws[facet.law as usize].range_a_per_m2();
        budgets[of(facet.metal)].add_facet(facet.area_m2, range);
    }
    let tank = |conductor: usize| tanks.of(parts.first[conductor]);
    let mut takers = vec![Budget::default(); tanks.first.len()];
    for (conductor, budget) in budgets.iter().enumerate() {
        let taker = &mut takers[tank(conductor)];
        if budget.fixed > 0 {
            taker.fixed += 1;
            taker.electrolyte |= budget.electrolyte;
            taker.lowest += budget.lowest;
            taker.highest += budget.highest;
        } else {
            taker.injected += budget.injected;
            if !budget.electrolyte {
                budget.check(budget.injected)?;
            }
        }
    }
    for taker in takers.iter().filter(|t| t.fixed > 0 && !t.electrolyte) {
        taker.check(-taker.injected)?;
    }
    // Current through the facets of a conductor; not known if several of a tank share the rest.
    let current = |conductor: usize| {
        let (budget, taker) = (&budgets[conductor], &takers[tank(conductor)]);
        match (budget.fixed, taker.fixed) {
            _ if budget.electrolyte => None,
            (0, _) => Some(budget.injected),
            (_, 1) => Some(-taker.injected),
            _ => None,
        }
    };
    let mut sums = vec![Sums::default(); network.laws.len()];
    for facet in &network.facets {
        let conductor = of(facet.metal);
        let Some(current) = current(conductor) else {
            return Ok(None);
        };
        let density = current / budgets[conductor].area_m2;
        sums[facet.law as usize].add(density, facet.area_m2);
    }
    Ok(Some(sums.iter().map(Sums::means).collect()))
}
