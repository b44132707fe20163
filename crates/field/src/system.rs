//! The network in the solver's own numbering: its balance, and the derivative of it.
//!
//! Two operators share one code. The *corrected* one is the network as it stands. The *plain* one
//! takes the potential of a facet's own cell for that of its probe and leaves the flux corrections
//! out; it is symmetric, and its graph is what the multigrid is built on.
//!
//! Corrections and facets are *terms*: currents that leave one node and enter another. They are
//! computed once each, in parallel, and then gathered by node, so that nothing is lost between
//! the two ends and the order of summation never changes.

use crate::graph::Graph;
use crate::hierarchy::{Coarse, Hierarchy};
use crate::law::Response;
use crate::network::{Forms, Network};
use crate::order::Order;
use crate::pattern::{NO_SLOT, Pattern};
use crate::real::Real;
use crate::vector::{each_piece, round};
use rayon::prelude::*;
use std::sync::{Arc, Mutex, PoisonError};

/// Which operator.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Operator {
    Plain,
    Corrected,
}

/// Least conductance of a facet in the preconditioner, as a share of the largest: a facet at its
/// limiting current would otherwise let go of its cell altogether.
const FLOOR: f64 = 1e-9;

/// A facet by the numbers of the solver.
#[derive(Clone, Copy, Debug)]
struct Place {
    cell: u32,
    metal: u32,
    /// Slot of the graph between the two, if both are unknown.
    slot: u32,
}

/// The network, ready to be evaluated. As long as it lives the rows of the network name nodes by
/// their places: a second list of them would be a tenth of the memory of a run.
#[derive(Debug)]
pub(crate) struct System<'a> {
    pub network: &'a mut Network,
    pub order: Order,
    /// Links among the unknowns; facets have slots, but of no conductance.
    graph: Graph<f64>,
    /// Injected currents and those that prescribed potentials drive through links, A, and where.
    source: Vec<(u32, f64)>,
    places: Vec<Place>,
    /// Terms of every unknown: number and, in the last bit, whether the term enters it.
    term_start: Vec<u32>,
    terms: Vec<u32>,
    /// The currents of the terms while they are being gathered.
    flux: Mutex<Vec<f64>>,
    /// Is a facet that of a plain node? Empty if there are none.
    plain_facet: Vec<bool>,
    /// Corrections that touch plain nodes.
    left_out: Vec<u32>,
}

/// What sorting a network yields.
pub(crate) struct Sorted {
    order: Order,
    graph: Graph<f64>,
    source: Vec<(u32, f64)>,
    places: Vec<Place>,
    term_start: Vec<u32>,
    terms: Vec<u32>,
}

impl Sorted {
    /// Numbers and sorts a network whose node numbers are good.
    pub fn new(network: &Network) -> Self {
        let order = Order::new(&network.addresses, network.dimension, &network.fixed);
        let place = |node: u32| order.place[node as usize];
        let unknowns = order.unknowns();
        let free = |node: u32| (node as usize) < unknowns;
        let facets = network.facets.iter();
        let mut places: Vec<Place> = facets
            .map(|f| Place {
                cell: place(f.cell),
                metal: place(f.metal),
                slot: NO_SLOT,
            })
            .collect();
        let mut potential = vec![0.0; order.place.len()];
        for &(node, value) in &network.fixed {
            potential[place(node) as usize] = value;
        }
        let mut source = vec![0.0; order.place.len()];
        for &(node, current) in &network.injected {
            source[place(node) as usize] += current;
        }
        let from_to = (network.corrections.iter())
            .map(|c| [place(c.from), place(c.to)])
            .chain(places.iter().map(|p| [p.metal, p.cell]));
        let sort_links = || {
            let links = network.links.iter().map(|l| (place(l.a), place(l.b)));
            let inside = |&(a, b): &(u32, u32)| free(a) && free(b);
            let all = links.chain(places.iter().map(|p| (p.cell, p.metal)));
            Pattern::new(order.chunks.clone(), order.hubs, all.filter(inside))
        };
        let ((pattern, slots), (term_start, terms)) =
            rayon::join(sort_links, || gather(unknowns, from_to));
        let mut graph = Graph::zero(Arc::new(pattern));
        let mut slots = slots.into_iter();
        for link in &network.links {
            let (a, b) = (place(link.a), place(link.b));
            let g = link.conductance_s;
            if free(a) && free(b) {
                let slot = slots.next().unwrap_or(NO_SLOT);
                if slot != NO_SLOT {
                    graph.value[slot as usize] += g;
                }
            } else if free(a) || free(b) {
                let (node, other) = (a.min(b) as usize, a.max(b) as usize);
                graph.ground[node] += g;
                source[node] += g * potential[other];
            }
        }
        for p in places.iter_mut().filter(|p| free(p.cell) && free(p.metal)) {
            p.slot = slots.next().unwrap_or(NO_SLOT);
        }
        Sorted {
            graph,
            source: (0..).zip(source).filter(|s| s.1 != 0.0).collect(),
            places,
            term_start,
            terms,
            order,
        }
    }
}

impl<'a> System<'a> {
    /// Takes a valid network over, sorted.
    pub fn new(network: &'a mut Network, sorted: Sorted) -> Self {
        let Sorted {
            order,
            graph,
            source,
            places,
            term_start,
            terms,
        } = sorted;
        rename(&mut network.correction_forms, &order.place);
        rename(&mut network.probes, &order.place);
        let mut system = System {
            flux: Mutex::new(vec![0.0; network.corrections.len() + places.len()]),
            network,
            order,
            graph,
            source,
            places,
            term_start,
            terms,
            plain_facet: Vec::new(),
            left_out: Vec::new(),
        };
        system.find_plain();
        system
    }

    /// Makes more nodes plain, by their names in the network. Says whether any of them is new.
    pub fn make_plain(&mut self, nodes: impl IntoIterator<Item = u32>) -> bool {
        let plain = &mut self.network.plain;
        let before = plain.len();
        plain.extend(nodes);
        plain.sort_unstable();
        plain.dedup();
        let more = plain.len() > before;
        self.find_plain();
        more
    }

    fn find_plain(&mut self) {
        let network = &*self.network;
        if network.plain.is_empty() {
            return;
        }
        let mut plain = vec![false; network.addresses.len()];
        for &node in &network.plain {
            plain[node as usize] = true;
        }
        let facets = network.facets.iter();
        self.plain_facet = facets.map(|f| plain[f.cell as usize]).collect();
        let corrections = (0..).zip(&network.corrections);
        let touched = corrections.filter(|(_, c)| plain[c.from as usize] || plain[c.to as usize]);
        self.left_out = touched.map(|(k, _)| k).collect();
    }

    fn sees_own_cell(&self, facet: usize) -> bool {
        self.plain_facet.get(facet).copied().unwrap_or(false)
    }

    /// Nodes, in the solver's numbering unknowns first.
    pub fn nodes(&self) -> usize {
        self.order.place.len()
    }

    /// Anything that makes the corrected operator differ from the plain one?
    pub fn is_plain(&self) -> bool {
        let Forms { start, node, .. } = &self.network.probes;
        let own = |f: usize, p: &Place| node[start[f] as usize..start[f + 1] as usize] == [p.cell];
        let forms = &self.network.correction_forms;
        (forms.len() == self.left_out.len() || forms.node.is_empty())
            && (self.places.iter().enumerate()).all(|(f, p)| self.sees_own_cell(f) || own(f, p))
    }

    /// Potential of a facet's probe, or of its own cell.
    pub fn probe<X: Real>(&self, operator: Operator, facet: usize, x: &[X]) -> f64 {
        if operator == Operator::Plain || self.sees_own_cell(facet) {
            x[self.places[facet].cell as usize].wide()
        } else {
            row_product(&self.network.probes, facet, x)
        }
    }

    /// Metal potential less probe potential of a facet.
    pub fn drive<X: Real>(&self, operator: Operator, facet: usize, x: &[X]) -> f64 {
        x[self.places[facet].metal as usize].wide() - self.probe(operator, facet, x)
    }

    /// Responses of all facets to the potentials `x`.
    pub fn responses(&self, operator: Operator, x: &[f64], responses: &mut [Response]) {
        each_piece(responses, |lo, responses| {
            for (k, response) in responses.iter_mut().enumerate() {
                let facet = &self.network.facets[lo + k];
                let law = &self.network.laws[facet.law as usize];
                let drive = self.drive(operator, lo + k, x);
                *response = law.respond(drive, facet.series_ohm_m2);
            }
        });
    }

    /// Imbalance of every unknown, A: what leaves it less what is injected.
    pub fn balance(&self, operator: Operator, x: &[f64], responses: &[Response], y: &mut [f64]) {
        self.apply_terms(operator, x, y, |f, _| responses[f].current_a_per_m2);
        for &(node, current) in &self.source {
            y[node as usize] -= current;
        }
        y[self.order.unknowns()..].fill(0.0);
    }

    /// Derivative of the balance in the direction `x`, which must vanish at prescribed nodes.
    pub fn derivative<X: Real>(
        &self,
        operator: Operator,
        responses: &[Response],
        x: &[X],
        y: &mut [f64],
    ) {
        self.apply_terms(operator, x, y, |f, drive| {
            responses[f].slope_s_per_m2 * drive()
        });
    }

    /// Links, corrections, and facets whose current density is `density(facet, drive)`.
    fn apply_terms<X: Real>(
        &self,
        operator: Operator,
        x: &[X],
        y: &mut [f64],
        density: impl Fn(usize, &dyn Fn() -> f64) -> f64 + Sync,
    ) {
        let corrections = self.network.corrections.len();
        let mut flux = self.flux.lock().unwrap_or_else(PoisonError::into_inner);
        let flux = &mut flux[..];
        let (by_form, by_facet) = flux.split_at_mut(corrections);
        if operator == Operator::Corrected {
            each_piece(by_form, |lo, flux| {
                for (k, flux) in flux.iter_mut().enumerate() {
                    *flux = row_product(&self.network.correction_forms, lo + k, x);
                }
            });
            for &k in &self.left_out {
                by_form[k as usize] = 0.0;
            }
        } else {
            by_form.fill(0.0);
        }
        each_piece(by_facet, |lo, flux| {
            for (k, flux) in flux.iter_mut().enumerate() {
                let f = lo + k;
                let drive = || self.drive(operator, f, x);
                *flux = self.network.facets[f].area_m2 * density(f, &drive);
            }
        });
        let flux = &*flux;
        let unknowns = self.order.unknowns();
        self.graph.apply(x, y);
        each_piece(&mut y[..unknowns], |lo, y| {
            let rows = self.term_start[lo..=lo + y.len()].windows(2);
            for (y, row) in y.iter_mut().zip(rows) {
                for &term in &self.terms[row[0] as usize..row[1] as usize] {
                    let flux = flux[(term >> 1) as usize];
                    *y += if term & 1 == 0 { flux } else { -flux };
                }
            }
        });
        y[unknowns..].fill(0.0);
    }

    /// Multigrid of the links alone; [`load`](Self::load) puts the facets in.
    pub fn hierarchy(&mut self) -> Hierarchy {
        let mut fine = Graph::zero(self.graph.pattern.clone());
        self.copy_links(&mut fine);
        let dimension = u32::from(self.network.dimension);
        Hierarchy::new(fine, std::mem::take(&mut self.order.codes), dimension)
    }

    /// Gives the multigrid the present slopes of the facets.
    pub fn load(&self, responses: &[Response], hierarchy: &mut Hierarchy) {
        let fine = &mut hierarchy.levels[0].graph;
        let [_, spokes_at, _] = self.graph.pattern.sections();
        // Metal is a hub or grounded; only facets of a coat lie between cells.
        let between_cells = |p: &Place| p.slot != NO_SLOT && (p.slot as usize) < spokes_at;
        let cells_too = self.places.iter().any(between_cells);
        if cells_too {
            self.copy_links(fine);
        } else {
            let tail = spokes_at..;
            round(&self.graph.value[tail.clone()], &mut fine.value[tail]);
            round(&self.graph.ground, &mut fine.ground);
        }
        let conductance = |f: usize| self.network.facets[f].area_m2 * responses[f].slope_s_per_m2;
        let largest = (0..self.places.len()).map(conductance).fold(0.0, f64::max);
        let unknowns = self.order.unknowns();
        for (f, place) in self.places.iter().enumerate() {
            let g = conductance(f).max(FLOOR * largest) as Coarse;
            if place.slot != NO_SLOT {
                fine.value[place.slot as usize] += g;
            } else {
                let node = place.cell.min(place.metal) as usize;
                if node < unknowns {
                    fine.ground[node] += g;
                }
            }
        }
        hierarchy.refresh(cells_too);
    }

    fn copy_links(&self, fine: &mut Graph<Coarse>) {
        round(&self.graph.value, &mut fine.value);
        round(&self.graph.ground, &mut fine.ground);
    }

    /// Size of rounding errors in the balance: machine precision times the norm of the sums of
    /// the absolute values of all link currents' two halves.
    pub fn rounding(&self, x: &[f64]) -> f64 {
        let diagonal = self.graph.diagonal();
        let sum: f64 = (diagonal.par_iter().zip(x))
            .map(|(d, x)| (d * x).powi(2))
            .collect::<Vec<f64>>()
            .iter()
            .sum();
        f64::EPSILON * sum.sqrt()
    }
}

impl Drop for System<'_> {
    /// Gives the nodes their names back.
    fn drop(&mut self) {
        let node = inverse(&self.order.place);
        rename(&mut self.network.correction_forms, &node);
        rename(&mut self.network.probes, &node);
    }
}

/// Value of a form at `x`, in four interleaved sums.
fn row_product<X: Real>(forms: &Forms, row: usize, x: &[X]) -> f64 {
    let range = forms.start[row] as usize..forms.start[row + 1] as usize;
    let (nodes, last_nodes) = forms.node[range.clone()].as_chunks::<4>();
    let (weights, last_weights) = forms.weight[range].as_chunks::<4>();
    let mut sum = [0.0; 4];
    for (nodes, weights) in nodes.iter().zip(weights) {
        for k in 0..4 {
            sum[k] += weights[k] * x[nodes[k] as usize].wide();
        }
    }
    for ((sum, &node), w) in sum.iter_mut().zip(last_nodes).zip(last_weights) {
        *sum += w * x[node as usize].wide();
    }
    (sum[0] + sum[1]) + (sum[2] + sum[3])
}

/// Renames the nodes of the rows.
fn rename(forms: &mut Forms, names: &[u32]) {
    let nodes = forms.node.par_iter_mut();
    nodes.for_each(|node| *node = names[*node as usize]);
}

/// The node at every place.
fn inverse(place: &[u32]) -> Vec<u32> {
    let mut node = vec![0; place.len()];
    for (n, &p) in place.iter().enumerate() {
        node[p as usize] = n as u32;
    }
    node
}

/// Lists, for every unknown, the terms that leave (`[from, _]`) or enter (`[_, to]`) it.
fn gather(
    unknowns: usize,
    from_to: impl Iterator<Item = [u32; 2]> + Clone,
) -> (Vec<u32>, Vec<u32>) {
    let mut start = vec![0u32; unknowns + 1];
    let ends = from_to
        .enumerate()
        .flat_map(|(term, ends)| [(ends[0], 2 * term as u32), (ends[1], 2 * term as u32 + 1)])
        .filter(|&(node, _)| (node as usize) < unknowns);
    for (node, _) in ends.clone() {
        start[node as usize + 1] += 1;
    }
    for k in 0..unknowns {
        start[k + 1] += start[k];
    }
    let mut fill = start[..unknowns].to_vec();
    let mut terms = vec![0; start[unknowns] as usize];
    for (node, term) in ends {
        let at = &mut fill[node as usize];
        terms[*at as usize] = term;
        *at += 1;
    }
    (start, terms)
}
