//! Checks a network before it is solved.

use crate::error::FieldError;
use crate::network::{Forms, Network, NodeKind};
use crate::order::deepest_level;
use crate::start::{Means, Sums};

/// Share of the limiting current that may be asked for.
const MOST_OF_LIMIT: f64 = 1.0 - 1e-6;

/// Finds out whether a network of good [`shapes`] is consistent and has a solution. Returns the mean
/// current densities of the laws if they follow from the injected currents alone.
pub(crate) fn validate(network: &Network) -> Result<Option<Vec<Means>>, FieldError> {
    values(network)?;
    let parts = parts(network, |_, _| true);
    let mut grounded = vec![false; parts.len()];
    for &(node, _) in &network.fixed {
        grounded[parts[node as usize] as usize] = true;
    }
    if let Some(node) = parts.iter().position(|&part| !grounded[part as usize]) {
        return Err(FieldError::Floating { node: node as u32 });
    }
    demand(network, &parts)
}

/// Lengths and node numbers.
pub(crate) fn shapes(network: &Network) -> Result<(), FieldError> {
    if network.addresses.is_empty() {
        return Err(FieldError::Empty);
    }
    let nodes = network.addresses.len();
    let laws = network.laws.len();
    let dimension = network.dimension;
    if !(1..=3).contains(&dimension) {
        return malformed(format!("dimension {dimension} is not 1, 2 or 3"));
    }
    if u32::try_from(nodes).is_err() {
        return malformed(format!("{nodes} nodes are more than can be numbered"));
    }
    let deepest = deepest_level(dimension);
    if let Some(a) = network.addresses.iter().find(|a| a.level > deepest) {
        return malformed(format!("level {} is deeper than {deepest}", a.level));
    }
    let counts = [
        (
            "corrections",
            network.corrections.len(),
            &network.correction_forms,
        ),
        ("facets", network.facets.len(), &network.probes),
    ];
    for (what, count, forms) in counts {
        if forms.len() != count {
            return malformed(format!("{count} {what}, but {} forms", forms.len()));
        }
        form_shape(what, forms)?;
    }
    let named = (network.links.iter().flat_map(|l| [l.a, l.b]))
        .chain(network.corrections.iter().flat_map(|c| [c.from, c.to]))
        .chain(network.facets.iter().flat_map(|f| [f.cell, f.metal]))
        .chain(network.correction_forms.node.iter().copied())
        .chain(network.probes.node.iter().copied())
        .chain(network.plain.iter().copied())
        .chain(network.fixed.iter().map(|f| f.0))
        .chain(network.injected.iter().map(|f| f.0));
    if let Some(node) = named.max().filter(|&node| node as usize >= nodes) {
        return malformed(format!("node {node} is named, but there are {nodes}"));
    }
    if let Some(facet) = network.facets.iter().position(|f| f.law as usize >= laws) {
        return malformed(format!("facet {facet} has no law"));
    }
    Ok(())
}

fn form_shape(what: &str, forms: &Forms) -> Result<(), FieldError> {
    let entries = forms.node.len();
    let end = forms.start.last().map_or(0, |&end| end as usize);
    if end != entries || forms.weight.len() != entries || !forms.start.is_sorted() {
        return malformed(format!("forms of the {what} are not compressed rows"));
    }
    Ok(())
}

/// Signs and finiteness.
fn values(network: &Network) -> Result<(), FieldError> {
    let good = |x: f64| x.is_finite() && x >= 0.0;
    if let Some(k) = network.links.iter().position(|l| !good(l.conductance_s)) {
        let g = network.links[k].conductance_s;
        return malformed(format!("link {k} has conductance {g} S"));
    }
    let facet = |f: &crate::network::Facet| good(f.area_m2) && good(f.series_ohm_m2);
    if let Some(k) = network.facets.iter().position(|f| !facet(f)) {
        let (a, s) = (network.facets[k].area_m2, network.facets[k].series_ohm_m2);
        return malformed(format!("facet {k} has area {a} m2, resistance {s} ohm m2"));
    }
    let weights = network.correction_forms.weight.iter();
    if weights
        .chain(&network.probes.weight)
        .any(|w| !w.is_finite())
    {
        return malformed("a weight of a form is not finite".into());
    }
    let given = network.fixed.iter().chain(&network.injected);
    for &(node, value) in given {
        if !value.is_finite() {
            return malformed(format!("node {node} is given the value {value}"));
        }
    }
    let mut fixed: Vec<u32> = network.fixed.iter().map(|f| f.0).collect();
    fixed.sort_unstable();
    match fixed.windows(2).find(|w| w[0] == w[1]) {
        Some(twice) => malformed(format!("node {} is fixed twice", twice[0])),
        None => Ok(()),
    }
}

fn malformed<T>(what: String) -> Result<T, FieldError> {
    Err(FieldError::Malformed(what))
}

/// Number of the part each node belongs to when links and those facets count for which `joins`
/// holds; a part is numbered by its first node.
fn parts(network: &Network, joins: impl Fn(u32, u32) -> bool) -> Vec<u32> {
    let mut root: Vec<u32> = (0..network.addresses.len() as u32).collect();
    let links = network.links.iter().filter(|l| l.conductance_s > 0.0);
    let facets = network.facets.iter().filter(|f| f.area_m2 > 0.0);
    let pairs = (links.map(|l| (l.a, l.b))).chain(facets.map(|f| (f.cell, f.metal)));
    for (a, b) in pairs {
        if joins(a, b) {
            let (a, b) = (find(&mut root, a), find(&mut root, b));
            root[a.max(b) as usize] = a.min(b);
        }
    }
    for node in 0..root.len() as u32 {
        root[node as usize] = find(&mut root, node);
    }
    root
}

fn find(root: &mut [u32], mut node: u32) -> u32 {
    while root[node as usize] != node {
        root[node as usize] = root[root[node as usize] as usize];
        node = root[node as usize];
    }
    node
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
fn demand(network: &Network, tanks: &[u32]) -> Result<Option<Vec<Means>>, FieldError> {
    if network.injected.is_empty() {
        return Ok(None);
    }
    let wet = |node: u32| network.addresses[node as usize].kind == NodeKind::Electrolyte;
    let conductors = parts(network, |a, b| wet(a) == wet(b));
    let mut budgets = vec![Budget::default(); conductors.len()];
    let of = |node: u32| conductors[node as usize] as usize;
    for &(node, current) in &network.injected {
        budgets[of(node)].injected += current;
    }
    for &(node, _) in &network.fixed {
        budgets[of(node)].fixed = 1;
    }
    for (node, &conductor) in conductors.iter().enumerate() {
        budgets[conductor as usize].electrolyte |= wet(node as u32);
    }
    // A link between metal and electrolyte carries any current.
    for link in &network.links {
        if wet(link.a) != wet(link.b) {
            let both = f64::INFINITY;
            budgets[of(link.a)].add_facet(1.0, (-both, both));
            budgets[of(link.b)].add_facet(1.0, (-both, both));
        }
    }
    for facet in &network.facets {
        let range = network.laws[facet.law as usize].range_a_per_m2();
        budgets[of(facet.metal)].add_facet(facet.area_m2, range);
    }
    let mut takers = vec![Budget::default(); conductors.len()];
    for (node, budget) in budgets.iter().enumerate() {
        if conductors[node] as usize != node {
            continue;
        }
        let taker = &mut takers[tanks[node] as usize];
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
        let (budget, taker) = (&budgets[conductor], &takers[tanks[conductor] as usize]);
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
